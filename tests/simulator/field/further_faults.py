"""The faults of further equipment, put into a sound vehicle that has it; all ranges are assumed."""

from collections.abc import Callable, Collection, Mapping

import numpy as np

from tests.simulator.field.drawing import log_uniform, one_of, uniform
from tests.simulator.field.equipment import asks_a
from tests.simulator.field.faults_put_in import PutIn
from tests.simulator.field.vehicle import Bank, Vehicle

Generator = np.random.Generator

NEEDS: Mapping[str, str] = {
    "supply_not_enabled": "converter",
    "input_limit_low": "input_limit",
    "temperature_sensor_wrong": "sensor",
    "second_unit_dead": "second_unit",
    "reverse_charge_blocked": "reverse",
    "monitor_misses_current": "monitor",
    "house_batteries_unequal": "parallel",
}
"""The extra that each fault needs."""
FURTHER_FAULTS = tuple(NEEDS)

# A sensor that is off takes the unit to the end of what it compensates for.
_OPEN_READS_C = -40.0
_STOPS_ABOVE_C, _STOPS_BELOW_C = 50.0, 0.0


def goes_with(name: str, vehicle: Vehicle) -> bool:
    """Whether any fault can be, and be told from the others, on a vehicle with this equipment."""
    if name == "supply_not_enabled" and vehicle.supply.control_said != "converter":
        return False  # not told from an alternator that gives nothing
    if vehicle.supply.control == "converter":
        # A converter that gives nothing is one that is not enabled.
        return name not in ("alternator_not_charging", "ignition_signal_missing")
    # Twice the voltage on a start battery, or half of it on an input, is seen before any reading.
    stepped = vehicle.house_scale != vehicle.scale
    return not (stepped and name == "input_output_exchanged")


def is_told_from_others(vehicle: Vehicle, points: Collection[str]) -> bool:
    """Whether the sheet can tell a unit that its sensor stops from a dead one."""
    stopped = vehicle.sensor is not None and vehicle.sensor.stops_charge
    return not stopped or "sensor_temperature" in points


def fault(rng: Generator, vehicle: Vehicle, name: str) -> PutIn | None:
    """Draw how bad a fault is on this vehicle; None where it does not come out as one."""
    return _CHANGES[name](rng, vehicle)


def _not_enabled(rng: Generator, vehicle: Vehicle) -> PutIn:
    """The vehicle is on, but not ready: mostly its ignition leads are live all the same."""
    changes: dict[str, object] = {"supply.down": True}
    dark = vehicle.signal.fitted and rng.random() < 0.25
    if dark:
        changes["signal.dead"] = True
    charge = uniform(rng, 0.3, 0.95)
    return PutIn(changes, {"start.charge": charge}, {"start_charge": charge, "no_signal": dark})


def _limit_low(rng: Generator, vehicle: Vehicle) -> PutIn | None:
    asked, said = asks_a(vehicle), vehicle.unit.input_limit_said_a or 0.0
    limit = float(round(asked * uniform(rng, 0.25, 0.7)))
    if limit > said - 3:
        return None
    return PutIn({"unit.input_limit_a": limit}, severity={"a": limit, "of": asked})


def _sensor_wrong(rng: Generator, vehicle: Vehicle) -> PutIn | None:
    """Reads hot or cold, or is off; units differ in what they make of it."""
    battery_c, lithium = vehicle.house.celsius, vehicle.house.chemistry == "lifepo4"
    kind = str(one_of(rng, ["hot", "cold", "open"], [0.35, 0.25, 0.4]))
    if kind == "open":
        way = str(one_of(rng, ["stops", "default", "coldest"], [0.35, 0.4, 0.25]))
        default = one_of(rng, [25.0, None])
        stops = way == "stops" or (way == "coldest" and lithium)
        unstopped = default if way == "default" else one_of(rng, [_OPEN_READS_C, None])
        shown = _OPEN_READS_C if stops else unstopped
        taken = 25.0 if way == "default" else _OPEN_READS_C
    else:
        off = uniform(rng, 15, 50) if kind == "hot" else -uniform(rng, 15, 45)
        shown = taken = battery_c + off
        heeds = rng.random() < 0.6
        stops = heeds and (
            taken > _STOPS_ABOVE_C or (lithium and taken < _STOPS_BELOW_C) or taken < -20
        )
    changes: dict[str, object] = {
        "sensor.fault": kind,
        "sensor.shown_c": shown,
        "sensor.taken_c": taken,
        "sensor.stops_charge": bool(stops),
    }
    lamp = {"unit.fault_lamp": bool(rng.random() < 0.5)}
    # Nearer to full, where the voltage that the unit holds can be read.
    charge = {} if stops else {"house.charge": uniform(rng, 0.4, 0.96)}
    return PutIn(changes, {**lamp, **charge}, {"kind": kind, "reads": shown, "stops": bool(stops)})


def _second_dead(rng: Generator, _: Vehicle) -> PutIn:
    kind = str(one_of(rng, ["dead", "feed_open", "house_open", "tenth"], [0.35, 0.25, 0.2, 0.2]))
    change: Mapping[str, dict[str, object]] = {
        "dead": {"second.unit.dead": True},
        "feed_open": {"second.feed_open": True},
        "house_open": {"second.house_open": True},
        "tenth": {"second.unit.limited_to": uniform(rng, 0.04, 0.15)},
    }
    return PutIn(change[kind], severity={"kind": kind})


def _reverse_blocked(rng: Generator, _: Vehicle) -> PutIn:
    leaks = one_of(rng, [0.0, uniform(rng, 0.05, 0.5)])
    return PutIn({"reverse.blocked": True, "reverse.leaks_a": leaks}, severity={"leaks_a": leaks})


def _monitor_misses(rng: Generator, vehicle: Vehicle) -> PutIn:
    """The units' returns or the loads' go round the shunt, wholly or in part."""
    loads = vehicle.loads.working_a > 1 and rng.random() < 0.4
    wholly = rng.random() < 0.65
    share = 1.0 if wholly else uniform(rng, 0.3, 0.9)
    name = "monitor.loads_missed" if loads else "monitor.charge_missed"
    return PutIn({name: share}, severity={"of": "loads" if loads else "units", "share": share})


def _unequal(rng: Generator, vehicle: Vehicle) -> PutIn | None:
    """One of several has a bad link, or is worn."""
    if vehicle.bank is None:
        return None
    ohms = list(vehicle.bank.ohms)
    bad = int(rng.integers(len(ohms)))
    worn = rng.random() < 0.4
    ohms[bad] = (
        ohms[bad] * uniform(rng, 4, 20) if worn else ohms[bad] + log_uniform(rng, 0.008, 0.1)
    )
    before = sum(1 / ohm for ohm in vehicle.bank.ohms)
    after = sum(1 / ohm for ohm in ohms)
    changes: dict[str, object] = {"bank": Bank(tuple(ohms)), "house.ohm": 1 / after}
    if worn:
        changes["house.acceptance"] = vehicle.house.acceptance * after / before
    return PutIn(changes, severity={"battery": bad, "ohm": ohms[bad], "worn": bool(worn)})


_CHANGES: Mapping[str, Callable[[Generator, Vehicle], PutIn | None]] = {
    "supply_not_enabled": _not_enabled,
    "input_limit_low": _limit_low,
    "temperature_sensor_wrong": _sensor_wrong,
    "second_unit_dead": _second_dead,
    "reverse_charge_blocked": _reverse_blocked,
    "monitor_misses_current": _monitor_misses,
    "house_batteries_unequal": _unequal,
}
