"""What is really under the bonnet: the true values behind a description, and its faults."""

import math
from dataclasses import dataclass, field, replace

import numpy as np

Generator = np.random.Generator

RUNS = ("vehicle_feed", "vehicle_return", "house_feed", "house_return")
# Rested volts at 20, 50, 80 and 100 % charge: one flooded, sealed and lithium curve each,
# rounded from common tables.
REST_V = {
    "flooded": (12.02, 12.24, 12.50, 12.66),
    "agm": (12.05, 12.40, 12.65, 12.83),
    "gel": (12.05, 12.40, 12.65, 12.83),
    "lifepo4": (12.75, 13.08, 13.22, 13.45),
}


@dataclass(frozen=True)
class Vehicle:
    """True values of one vehicle; volts as they are, 24 V systems included."""

    scale: int
    run_ohm: dict[str, float]
    open_runs: frozenset[str]
    negative_off: bool
    supply_v: dict[str, float]
    signal_v: dict[str, float]
    rating_a: float
    output_share: float
    input_limit_a: float
    efficiency: float
    own_use_w: float
    dead: bool
    runs_at_rest: bool
    shows_absorption: bool
    start_v: float
    stop_v: float
    signalled_start_v: float
    signalled_stop_v: float
    signal_min_v: float
    limit_v: float
    profile_v: float
    house_rest_v: float
    house_rise_v: float
    house_ohm: float
    tail_a: float | None
    blocks: str
    load_a: float
    load_rest_a: float
    case_c: float
    idle_case_c: float
    house_c: float
    sun: dict[str, float]
    panel_a: float
    panel_working_v: float
    panel_open_v: float
    panel_plugged_v: float | None
    floats_at: float
    lamp_fault: bool = False
    steady_v: dict[str, float] = field(default_factory=dict)
    names: tuple[str, ...] = field(default=("no_fault",))


def draw_vehicle(rng: Generator, description: dict) -> Vehicle:
    """Return a sound vehicle of this description."""
    scale = description["nominal_voltage_v"] // 12
    charger = description["charger"]
    ambient = description["ambient_c"]
    ambient = float(rng.uniform(5, 32)) if ambient is None else ambient
    rating = charger["rated_output_current_a"]
    bonnet = float(rng.uniform(8, 25)) if description["location"] == "engine_bay" else 0.0
    return Vehicle(
        scale=scale,
        run_ohm={run: run_ohm(rng, run, description["runs"].get(run) or {}) for run in RUNS},
        open_runs=frozenset(),
        negative_off=False,
        **_supply(rng, description, scale),
        rating_a=rating,
        output_share=float(rng.uniform(0.98, 1.08)),
        input_limit_a=charger["input_current_limit_a"] or math.inf,
        efficiency=_efficiency(rng, charger["efficiency"]),
        own_use_w=float(rng.uniform(1, 6)),
        dead=False,
        runs_at_rest=False,
        shows_absorption=bool(rng.random() < 0.5),
        start_v=charger["start_voltage_v"],
        stop_v=charger["stop_voltage_v"],
        signalled_start_v=charger["ignition_start_voltage_v"],
        signalled_stop_v=charger["ignition_stop_voltage_v"],
        signal_min_v=charger["ignition_signal_min_v"],
        limit_v=charger["absorption_voltage_v"] + float(rng.normal(0, 0.05)) * scale,
        profile_v=charger["absorption_voltage_v"],
        **_house(rng, description["house_battery"], scale),
        load_a=float(rng.uniform(0, 4)) if rng.random() < 0.7 else 0.0,
        load_rest_a=float(rng.uniform(0, 1.5)) if rng.random() < 0.5 else 0.0,
        case_c=ambient + bonnet + float(rng.uniform(8, 32)),
        idle_case_c=ambient + bonnet + float(rng.uniform(-2, 8)),
        house_c=ambient + float(rng.uniform(-4, 8)),
        **_panel(rng, description["solar"], scale),
        floats_at=float(rng.choice([1.0, float(rng.uniform(0.8, 1.0))])),
        lamp_fault=False,
    )


def run_ohm(rng: Generator, run: str, cable: dict) -> float:
    """Return a sound run's resistance: copper, joints and fuse."""
    lengths = {"vehicle_feed": (2, 7), "vehicle_return": (0.8, 5)}
    length = cable.get("length_m") or float(rng.uniform(*lengths.get(run, (0.5, 3))))
    area = cable.get("area_mm2") or float(rng.choice([8.0, 10.0, 13.3, 16.0]))
    joints = cable.get("joints") or int(rng.integers(2, 6))
    copper = 0.0175 * length / area * float(rng.uniform(0.97, 1.2))
    fuse = float(rng.uniform(0.7, 1.8)) if run.endswith("feed") else 0.0
    return copper + joints * float(rng.uniform(0.15, 0.6)) * 1e-3 + fuse * 1e-3


def _efficiency(rng: Generator, stated: float | None) -> float:
    return float(rng.uniform(0.86, 0.96)) if stated is None else stated + float(rng.normal(0, 0.01))


def _supply(rng: Generator, description: dict, scale: int) -> dict:
    control = description["alternator"]["control"]
    varies = control == "variable" or (control == "unknown" and rng.random() < 0.5)
    if varies:
        economy = rng.random() < 0.35
        idle = float(rng.uniform(12.5, 13.2) if economy else rng.uniform(13.2, 14.8))
        fast = idle + float(rng.normal(0.03, 0.2))
    else:
        idle = float(rng.uniform(13.6, 14.5))
        fast = idle + float(rng.normal(0.05, 0.08))
    rest = float(rng.uniform(12.3, 12.85))
    wired = varies or rng.random() < 0.4
    drop = float(rng.uniform(0.0, 0.5))
    signal = {"idle": idle - drop, "fast_idle": fast - drop} if wired else {}
    dead = {
        state: abs(float(rng.normal(0, 0.05))) for state in ("rest", "idle", "fast_idle", "solar")
    }
    volts = {
        "rest": rest,
        "idle": idle,
        "fast_idle": fast,
        "solar": rest + float(rng.normal(0, 0.03)),
    }
    return {
        "supply_v": {state: value * scale for state, value in volts.items()},
        "signal_v": dead | {state: value * scale for state, value in signal.items()},
    }


def rest_voltage(chemistry: str, charge: float) -> float:
    """Rested volts of a 12 V battery at a state of charge of 0.2 to 1."""
    return float(np.interp(charge, (0.2, 0.5, 0.8, 1.0), REST_V[chemistry]))


def _house(rng: Generator, battery: dict, scale: int) -> dict:
    chemistry, capacity = battery["chemistry"], battery["capacity_ah"] or 100.0
    lithium = chemistry == "lifepo4"
    rest = rest_voltage(chemistry, float(rng.uniform(0.2, 0.85))) + float(rng.normal(0, 0.04))
    rise = float(rng.uniform(0.05, 0.3) if lithium else rng.uniform(0.15, 0.8))
    milliohm = float(rng.uniform(4, 14)) * (100 / capacity) ** 0.7
    return {
        "house_rest_v": rest * scale,
        "house_rise_v": rise * scale,
        "house_ohm": milliohm * 1e-3 * scale,
        "tail_a": None,
        "blocks": "nothing",
    }


def _panel(rng: Generator, solar: dict | None, scale: int) -> dict:
    outside = float(rng.choice([1.0, 0.8, 0.5, 0.3]))
    sun = {"solar": outside, "idle": outside * float(rng.choice([0.0, 1.0, 0.9]))}
    sun["fast_idle"] = sun["idle"]
    if solar is None:
        empty = {"panel_a": 0.0, "panel_working_v": 18.0 * scale, "panel_open_v": 0.0}
        return {"sun": dict.fromkeys(sun, 0.0), "panel_plugged_v": None, **empty}
    open_circuit = solar["open_circuit_voltage_v"] * float(rng.uniform(0.9, 1.0))
    working = (solar["max_power_voltage_v"] or 0.82 * open_circuit) * float(rng.uniform(0.9, 1.0))
    return {
        "sun": sun,
        "panel_a": solar["rated_power_w"] / working * float(rng.uniform(0.65, 0.98)),
        "panel_working_v": working,
        "panel_open_v": open_circuit,
        "panel_plugged_v": None,
    }


def changed(vehicle: Vehicle, name: str, **values: object) -> Vehicle:
    """Return the vehicle with a fault's values in place and its name noted."""
    names = (*(n for n in vehicle.names if n != "no_fault"), name)
    return replace(vehicle, names=names, **values)
