"""Every fault of the contract, put into a sound vehicle with a severity drawn at random."""

import numpy as np

from tests.simulator.vehicle import RUNS, Vehicle, changed, rest_voltage

Generator = np.random.Generator

NORMAL = {"no_fault": 0.15, "house_battery_charged": 0.06, "house_load_high": 0.04}
RESISTIVE = tuple(f"{run}_resistive" for run in RUNS)
SOLAR = ("solar_open", "solar_reversed", "solar_second_regulator", "solar_undersupply")
OTHER = (
    "vehicle_fuse_open",
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
    "house_battery_protected",
    "house_battery_high_resistance",
    "house_battery_low_cell",
)
MILD_OHM = (0.004, 0.012)
ANY_OHM = (0.005, 0.15)
# Plain to see, and not so bad that nothing else could show any more.
PLAIN_OHM = (0.012, 0.06)


def possible(description: dict) -> list[str]:
    """Return the real faults that this installation can have."""
    names = [*RESISTIVE, *OTHER, *(SOLAR if description["solar"] else ())]
    lithium = description["house_battery"]["chemistry"] == "lifepo4"
    if not lithium:
        names.remove("house_battery_protected")
    else:
        names.remove("house_battery_low_cell")
    if description["alternator"]["control"] != "variable":
        names.remove("ignition_signal_missing")
    return names


def draw_name(rng: Generator, description: dict) -> str:
    """Draw what is wrong: 15 % nothing, 6 % charged, 4 % heavy load, the rest even."""
    at = rng.random()
    for name, share in NORMAL.items():
        if at < share:
            return name
        at -= share
    return str(rng.choice(possible(description)))


def put_in(
    rng: Generator, vehicle: Vehicle, name: str, description: dict, severity: tuple = ANY_OHM
) -> Vehicle:
    """Return the vehicle with the fault in it; ``severity`` bounds a bad run's extra ohms."""
    if name == "no_fault":
        return vehicle
    if name in RESISTIVE:
        run = name.removesuffix("_resistive")
        extra = float(np.exp(rng.uniform(*np.log(severity))))
        ohms = vehicle.run_ohm | {run: vehicle.run_ohm[run] + extra}
        return changed(vehicle, name, run_ohm=ohms)
    return changed(vehicle, name, **_CHANGES[name](rng, vehicle, description))


def _charged(rng: Generator, v: Vehicle, d: dict) -> dict:
    chemistry = d["house_battery"]["chemistry"]
    rest = (
        rest_voltage(chemistry, float(rng.uniform(0.95, 1.0))) + float(rng.uniform(0, 0.2))
    ) * v.scale
    floats = rng.random() < 0.35
    limit = d["charger"]["float_voltage_v"] if floats else v.limit_v
    tail = float(rng.uniform(0.3, 0.1 * v.rating_a)) * (0.4 if floats else 1)
    return {"tail_a": tail, "house_rest_v": rest, "limit_v": limit}


def _signal_missing(rng: Generator, v: Vehicle, _d: dict) -> dict:
    level = abs(float(rng.normal(0, 0.1)))
    if rng.random() < 0.25:
        level = float(rng.uniform(0.1, 0.85)) * v.signal_min_v
    return {"signal_v": v.signal_v | {"idle": level, "fast_idle": level}}


def _always_live(rng: Generator, v: Vehicle, _d: dict) -> dict:
    drop = float(rng.uniform(0, 0.4)) * v.scale
    live = {state: volts - drop for state, volts in v.supply_v.items()}
    return {"signal_v": live, "runs_at_rest": bool(rng.random() < 0.5)}


def _alternator(rng: Generator, v: Vehicle, _d: dict) -> dict:
    low = v.supply_v["rest"] - float(rng.uniform(0.05, 0.8)) * v.scale
    fast = low - float(rng.uniform(-0.05, 0.1)) * v.scale
    drop = v.supply_v["idle"] - v.signal_v["idle"]
    wired = v.signal_v["idle"] > v.signal_min_v
    signal = {"idle": low - drop, "fast_idle": fast - drop} if wired else {}
    return {
        "supply_v": v.supply_v | {"idle": low, "fast_idle": fast},
        "signal_v": v.signal_v | signal,
    }


def _protected(rng: Generator, v: Vehicle, _d: dict) -> dict:
    cold = rng.random() < 0.5
    return {
        "blocks": "charging" if rng.random() < 0.7 else "all",
        "house_c": float(rng.uniform(-10, 0)) if cold else v.house_c,
        "shows_absorption": bool(rng.random() < 0.6),
    }


def _regulated(rng: Generator, v: Vehicle, _d: dict) -> dict:
    at = float(rng.uniform(13.2, 14.4)) * v.scale
    return {
        "panel_open_v": at if rng.random() < 0.8 else 0.0,
        "panel_plugged_v": at,
        "panel_a": v.panel_a * float(rng.uniform(0.1, 0.6)),
        "panel_working_v": at,
    }


def _sun_lost(rng: Generator, v: Vehicle, _d: dict) -> dict:
    upstream = rng.random() < 0.7
    return {
        "panel_open_v": abs(float(rng.normal(0, 0.05))) if upstream else v.panel_open_v,
        "panel_a": 0.0,
        "panel_plugged_v": abs(float(rng.normal(0, 0.3))),
    }


def _backwards(rng: Generator, v: Vehicle, _d: dict) -> dict:
    plugged = -v.panel_open_v if rng.random() < 0.5 else -abs(float(rng.normal(0.4, 0.3)))
    return {"panel_open_v": -v.panel_open_v, "panel_a": 0.0, "panel_plugged_v": plugged}


def _sulphated(rng: Generator, v: Vehicle, _d: dict) -> dict:
    return {
        "house_ohm": float(np.exp(rng.uniform(np.log(0.05), np.log(0.3)))) * v.scale,
        "house_rise_v": v.house_rise_v + float(rng.uniform(0, 0.4)) * v.scale,
    }


_CHANGES = {
    "house_battery_charged": _charged,
    "house_load_high": lambda rng, v, d: {"load_a": float(rng.uniform(0.65, 1.1)) * v.rating_a},
    "vehicle_fuse_open": lambda rng, v, d: {"open_runs": v.open_runs | {"vehicle_feed"}},
    "house_fuse_open": lambda rng, v, d: {"open_runs": v.open_runs | {"house_feed"}},
    "charger_negative_open": lambda rng, v, d: {"negative_off": True},
    "ignition_signal_missing": _signal_missing,
    "ignition_always_live": _always_live,
    "alternator_not_charging": _alternator,
    "charger_no_output": lambda rng, v, d: {"dead": True, "lamp_fault": bool(rng.random() < 0.5)},
    "charger_thermal_derating": lambda rng, v, d: {
        "output_share": float(rng.uniform(0.2, 0.75)),
        "case_c": float(rng.uniform(72, 96)),
    },
    "charger_output_limited": lambda rng, v, d: {"output_share": float(rng.uniform(0.15, 0.75))},
    "profile_too_low": lambda rng, v, d: _profile(v, -float(rng.uniform(0.3, 1.1))),
    "profile_too_high": lambda rng, v, d: _profile(v, float(rng.uniform(0.25, 1.0))),
    "house_battery_protected": _protected,
    "house_battery_high_resistance": _sulphated,
    "house_battery_low_cell": lambda rng, v, d: {
        "house_rest_v": v.house_rest_v - float(rng.uniform(1.8, 2.2)) * v.scale
    },
    "solar_open": _sun_lost,
    "solar_reversed": _backwards,
    "solar_second_regulator": _regulated,
    "solar_undersupply": lambda rng, v, d: {
        "panel_a": v.panel_a * float(rng.uniform(0.05, 0.4)),
        "panel_open_v": v.panel_open_v * float(rng.uniform(0.88, 1.0)),
    },
}


def _profile(v: Vehicle, shift: float) -> dict:
    return {
        "profile_v": round(v.profile_v + shift * v.scale, 1),
        "limit_v": v.limit_v + shift * v.scale,
    }
