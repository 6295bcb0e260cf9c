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
# The contract's faults, up to the last that the catalogue was to learn with the diagnosis.
FAULTS = (
    "no_fault",
    "house_battery_charged",
    "house_load_high",
    "vehicle_fuse_open",
    "vehicle_feed_resistive",
    "vehicle_return_resistive",
    "charger_negative_open",
    "ignition_signal_missing",
    "ignition_always_live",
    "alternator_not_charging",
    "charger_no_output",
    "charger_thermal_derating",
    "charger_output_limited",
    "profile_too_low",
    "profile_too_high",
    "house_fuse_open",
    "house_feed_resistive",
    "house_return_resistive",
    "house_battery_protected",
    "house_battery_high_resistance",
    "house_battery_low_cell",
    "solar_open",
    "solar_reversed",
    "solar_second_regulator",
    "solar_undersupply",
    "alternator_overvoltage",
    "consumer_on_vehicle_feed",
    "other_source_on_house",
    "input_output_exchanged",
    "start_battery_weak",
    "standing_draw",
    "rating_differs",
)
# And those that came with the further equipment.
EQUIPMENT_FAULTS = (
    "temperature_sensor_wrong",
    "input_limit_low",
    "second_unit_dead",
    "reverse_charge_blocked",
    "monitor_misses_current",
    "supply_not_enabled",
)
