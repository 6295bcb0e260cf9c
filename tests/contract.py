"""The case contract's own words, written here a second time.

Points and states in the contract's order, by which release 0.1.0 numbered them on its labels.
"""

POINTS = (
    "start_battery_voltage",
    "vehicle_feed_drop",
    "vehicle_return_drop",
    "charger_input_voltage",
    "ignition_signal_voltage",
    "charger_output_voltage",
    "house_feed_drop",
    "house_return_drop",
    "house_battery_voltage",
    "solar_open_circuit_voltage",
    "solar_input_voltage",
    "input_current",
    "output_current",
    "house_load_current",
    "solar_current",
    "charger_case_temperature",
    "house_battery_temperature",
    "profile_setting_voltage",
    "sunlight_fraction",
    "charging_indicator",
    "fault_indicator",
)
STATES = ("rest", "idle", "fast_idle", "solar")
