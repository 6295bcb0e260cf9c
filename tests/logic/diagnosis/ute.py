"""The vet's ute: a sound full sheet, and one with a poor return, worked out by hand."""

import logic

# Our own scenario: the vet's ute of the Fernhollow workshop; all invented.
UTE = {
    "nominal_voltage_v": 12,
    "alternator": {"control": "variable", "rated_current_a": 120},
    "start_battery": {"chemistry": "agm", "capacity_ah": 80},
    "charger": {
        "rated_output_current_a": 30,
        "start_voltage_v": 13.2,
        "stop_voltage_v": 12.7,
        "ignition_start_voltage_v": 12.0,
        "ignition_stop_voltage_v": 11.5,
        "ignition_signal_min_v": 8.0,
        "absorption_voltage_v": 14.4,
        "float_voltage_v": 13.5,
    },
    "house_battery": {"chemistry": "agm", "capacity_ah": 120, "absorption_voltage_v": 14.4},
    "runs": {
        "vehicle_feed": {"length_m": 5.0, "area_mm2": 13.3, "joints": 4, "fuse_a": 60},
        "vehicle_return": {"length_m": 1.5, "area_mm2": 13.3, "joints": 3},
        "house_feed": {"length_m": 1.0, "area_mm2": 13.3, "joints": 3, "fuse_a": 60},
        "house_return": {"length_m": 1.0, "area_mm2": 13.3, "joints": 2},
    },
    "ambient_c": 20,
}
# Worked by hand: 30.9 A out at 13.0 V, efficiency 0.9, runs of 10 and 4, 4 and 2.5 milliohms.
SOUND = {
    ("start_battery_voltage", "rest"): 12.62,
    ("house_battery_voltage", "rest"): 12.30,
    ("ignition_signal_voltage", "rest"): 0.02,
    ("profile_setting_voltage", "rest"): 14.4,
    ("start_battery_voltage", "idle"): 14.10,
    ("ignition_signal_voltage", "idle"): 13.85,
    ("vehicle_feed_drop", "idle"): 0.335,
    ("vehicle_return_drop", "idle"): 0.134,
    ("charger_input_voltage", "idle"): 13.63,
    ("charger_output_voltage", "idle"): 13.20,
    ("house_feed_drop", "idle"): 0.124,
    ("house_return_drop", "idle"): 0.077,
    ("house_battery_voltage", "idle"): 13.00,
    ("input_current", "idle"): 33.5,
    ("output_current", "idle"): 30.9,
    ("house_load_current", "idle"): 0.8,
    ("charger_case_temperature", "idle"): 41,
}
BAD_RETURN = {
    # 36.8 A through 35.6 milliohms: the same 408 W out ask for more current at 12.42 V.
    "vehicle_return_drop__idle": 1.31,
    "charger_input_voltage__idle": 12.42,
    "input_current__idle": 36.8,
    "vehicle_feed_drop__idle": 0.368,
}


def sheet(values: dict, **changed: float) -> list[dict]:
    new = {tuple(name.split("__")): value for name, value in changed.items()}
    return [{"point": p, "state": s, "value": v} for (p, s), v in (values | new).items()]


def diagnosed(installation: dict, readings: list[dict], **more: object) -> logic.Diagnosis:
    case = {"installation": installation, "readings": readings, **more}
    return logic.diagnose(logic.Case.model_validate(case))
