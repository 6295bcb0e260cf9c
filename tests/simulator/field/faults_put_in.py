"""Every fault of the contract up to ``rating_differs``, put into a sound vehicle.

How bad each is gets drawn very widely; all ranges are assumed.  What belongs to the fault is kept
apart from what merely comes with it (a flat start battery where something drew all night), so
that the fault alone can be taken back out.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from tests.simulator.field.drawing import Wishes, log_uniform, one_of, uniform
from tests.simulator.field.vehicle import (
    RUNS,
    Changes,
    Consumer,
    OtherSource,
    Vehicle,
    changed,
)

Generator = np.random.Generator

NORMAL = ("no_fault", "house_battery_charged", "house_load_high")
RESISTIVE = tuple(f"{run}_resistive" for run in RUNS)
SOLAR = ("solar_open", "solar_reversed", "solar_second_regulator", "solar_undersupply")
FAULTS = (
    *NORMAL,
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
    *SOLAR,
    "alternator_overvoltage",
    "consumer_on_vehicle_feed",
    "other_source_on_house",
    "input_output_exchanged",
    "start_battery_weak",
    "standing_draw",
    "rating_differs",
)
MILD_OHM = (0.004, 0.012)
ANY_OHM = (0.014, 0.15)
_RATINGS_A = (10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0)
# A rating counts as another from here on: the share that units differ by anyway lies between.
_LOWER, _HIGHER = 0.81, 1.24
# By readings alone a lower rating is a limited unit: it is drawn seldom beside a higher one.
_LOWER_RATING_DRAWN = 0.25


@dataclass(frozen=True)
class PutIn:
    """What a fault changes, what comes with it, and how bad it is."""

    fault: Changes
    beside: Changes = field(default_factory=dict)
    severity: Mapping[str, object] = field(default_factory=dict)

    def into(self, vehicle: Vehicle) -> Vehicle:
        """Return the vehicle with it."""
        bad: Vehicle = changed(vehicle, {**self.beside, **self.fault})
        return bad


def draw_name(rng: Generator) -> str:
    """Draw what is wrong: 15 % nothing, 6 % charged, 4 % heavy load, the rest even."""
    at = rng.random()
    if at < 0.15:
        return "no_fault"
    if at < 0.21:
        return "house_battery_charged"
    if at < 0.25:
        return "house_load_high"
    name: str = one_of(rng, [name for name in FAULTS if name not in NORMAL])
    return name


def wishes(rng: Generator, name: str) -> Wishes:
    """Return what a vehicle must have for this fault to be possible on it."""
    lead = ("flooded", "agm", "gel")
    if name == "ignition_signal_missing":
        return Wishes(control="variable")
    if name == "house_battery_protected":
        return Wishes(chemistry="lifepo4")
    if name == "house_battery_low_cell":
        return Wishes(chemistry=one_of(rng, lead, [0.35, 0.5, 0.15]))
    if name == "house_battery_high_resistance" and rng.random() < 0.85:
        return Wishes(chemistry=one_of(rng, lead, [0.35, 0.5, 0.15]))
    return Wishes(panel=name in SOLAR)


def is_possible(name: str, vehicle: Vehicle) -> bool:
    """Whether this vehicle can have the fault, as it is described."""
    if name == "ignition_signal_missing":
        return vehicle.supply.control_said == "variable"
    if name == "ignition_always_live":
        return vehicle.signal.fitted
    if name == "house_battery_protected":
        return vehicle.house.chemistry == "lifepo4"
    if name == "house_battery_low_cell":
        return vehicle.house.chemistry != "lifepo4"
    return vehicle.panel is not None or name not in SOLAR


@dataclass(frozen=True)
class Ways:
    """Which way a trial's faults go: drawn once, however many vehicles it takes."""

    mild: bool = False
    lower_rating: bool = False


def draw_ways(rng: Generator, mild: bool = False) -> Ways:
    """Draw which way the faults go."""
    return Ways(mild, bool(rng.random() < _LOWER_RATING_DRAWN))


def fault(rng: Generator, vehicle: Vehicle, name: str, ways: Ways) -> PutIn | None:
    """Draw how bad a fault is on this vehicle; None where it cannot go that way."""
    if name == "no_fault":
        return PutIn({})
    if name == "rating_differs":
        return _other_rating(rng, vehicle, ways.lower_rating)
    if name in RESISTIVE:
        extra = uniform(rng, *MILD_OHM) if ways.mild else log_uniform(rng, *ANY_OHM)
        run = name.removesuffix("_resistive")
        return PutIn({f"runs.{run}.extra_ohm": extra}, severity={"ohm": extra})
    return _CHANGES[name](rng, vehicle)


# Charge and loads


def _charged(rng: Generator, vehicle: Vehicle) -> PutIn:
    charge, scale = uniform(rng, 0.97, 1.0), vehicle.house_scale
    lithium = vehicle.house.chemistry == "lifepo4"
    surface = scale * (uniform(rng, 0, 0.15) if lithium else uniform(rng, 0, 0.3))
    floats = bool(rng.random() < 0.45)
    return PutIn(
        {"house.charge": charge, "house.surface_v": surface, "unit.in_float": floats},
        severity={"charge": charge, "float": floats},
    )


def _load_high(rng: Generator, vehicle: Vehicle) -> PutIn:
    load = vehicle.rating_a * uniform(rng, 0.6, 1.25)
    rest = load * one_of(rng, [0, 0, 0.1, 0.5, 1.0])
    return PutIn({"loads.working_a": load, "loads.rest_a": rest}, severity={"a": load})


# The vehicle's side


def _negative_open(rng: Generator, _: Vehicle) -> PutIn:
    kind = "all" if rng.random() < 0.6 else "vehicle_side"
    return PutIn({"negative_open": kind}, severity={"kind": kind})


def _signal_missing(rng: Generator, vehicle: Vehicle) -> PutIn:
    dead = rng.random() < 0.7
    stray = 0.0 if dead else uniform(rng, 0, 0.8 * vehicle.unit.signal_min_v)
    return PutIn({"signal.dead": True, "signal.stray_v": stray}, severity={"v": stray})


def _always_live(rng: Generator, _: Vehicle) -> PutIn:
    charge = uniform(rng, 0.2, 0.95)
    return PutIn({"signal.live": True}, {"start.charge": charge}, {"start_charge": charge})


def _not_charging(rng: Generator, _: Vehicle) -> PutIn:
    charge = uniform(rng, 0.25, 0.9)
    return PutIn({"supply.down": True}, {"start.charge": charge}, {"start_charge": charge})


def _overvoltage(rng: Generator, vehicle: Vehicle) -> PutIn:
    fixed = vehicle.supply.control == "fixed"
    scale = vehicle.scale
    held = scale * (uniform(rng, 15.2, 16.6) if fixed else uniform(rng, 15.6, 17.0))
    idle = held - scale * uniform(rng, 0, 0.3)
    return PutIn({"supply.set_v": {"idle": idle, "fast_idle": held}}, severity={"v": held})


def _weak(rng: Generator, vehicle: Vehicle) -> PutIn:
    start = vehicle.start
    charge = uniform(rng, -0.05, 0.35)
    worse, takes = uniform(rng, 2.5, 8), uniform(rng, 0.6, 2)
    # Of two in series it is one that does not hold.
    in_series = start.second == "series"
    uneven = one_of(rng, [-1, 1]) * uniform(rng, 0.015, 0.05) if in_series else 0.0
    return PutIn(
        {
            "start.first_share": start.first_share + uneven,
            "start.charge": charge,
            "start.surface_v": 0.0,
            "start.giving_ohm": start.giving_ohm * worse,
            "start.taking_ohm": start.taking_ohm * takes,
            "start.offset_v": -vehicle.scale * uniform(rng, 0, 0.5),
        },
        severity={"charge": charge, "times_ohm": worse},
    )


def _consumer(rng: Generator, vehicle: Vehicle) -> PutIn:
    amps = uniform(rng, 5, 30) / (1 if vehicle.scale == 1 else 1.5)
    consumer = Consumer(
        amps=amps,
        along_feed=one_of(rng, [1.0, uniform(rng, 0.3, 1)]),
        returns_at_unit=bool(rng.random() < 0.25),
        at_rest=bool(rng.random() < 0.3),
    )
    return PutIn(
        {"consumer": consumer},
        severity={"a": amps, "returns_at_unit": consumer.returns_at_unit},
    )


def _standing(rng: Generator, _: Vehicle) -> PutIn:
    amps = log_uniform(rng, 0.25, 4)
    return PutIn(
        {"unit.quiet_a": amps}, {"start.charge": uniform(rng, 0.35, 0.95)}, severity={"a": amps}
    )


# The unit


def _dead(rng: Generator, _: Vehicle) -> PutIn:
    return PutIn({"unit.dead": True}, {"unit.fault_lamp": bool(rng.random() < 0.4)})


def _derated(rng: Generator, _: Vehicle) -> PutIn:
    share = uniform(rng, 0.15, 0.75)
    case = uniform(rng, 62, 95)
    return PutIn(
        {"unit.derated_to": share, "unit.case_c": case},
        {"unit.fault_lamp": bool(rng.random() < 0.3)},
        {"share": share},
    )


def _limited(rng: Generator, vehicle: Vehicle) -> PutIn:
    if rng.random() < 0.4:
        limit = vehicle.unit.rating_a * uniform(rng, 0.3, 0.75)
        return PutIn({"unit.input_limit_a": limit}, severity={"input_limit_a": limit})
    share = uniform(rng, 0.25, 0.75)
    return PutIn({"unit.limited_to": share}, severity={"share": share})


def _profile(direction: int) -> Callable[[Generator, Vehicle], PutIn]:
    def shifted(rng: Generator, vehicle: Vehicle) -> PutIn:
        shift = direction * vehicle.house_scale * uniform(rng, 0.3, 0.9)
        charge = uniform(rng, 0.35, 0.96)
        return PutIn({"unit.profile_shift_v": shift}, {"house.charge": charge}, {"v": shift})

    return shifted


def _other_rating(rng: Generator, vehicle: Vehicle, lower: bool) -> PutIn | None:
    said = vehicle.unit.rating_said_a
    others = [
        one for one in _RATINGS_A if (one <= _LOWER * said if lower else one >= _HIGHER * said)
    ]
    near = sorted(others, key=lambda one: abs(one - said))[:2]
    if not near:
        return None
    real = float(one_of(rng, near))
    return PutIn({"unit.rating_a": real}, severity={"real_a": real})


# The house side


def _protected(rng: Generator, vehicle: Vehicle) -> PutIn:
    if rng.random() < 0.5:
        ambient = round(uniform(rng, -18, -2))
        return PutIn(
            {"house.protection": "cold"},
            {
                "ambient_c": ambient,
                "house.celsius": ambient + uniform(rng, -1, 2),
                "unit.case_c": ambient + uniform(rng, 8, 25),
            },
            {"kind": "cold"},
        )
    load = max(vehicle.loads.working_a, uniform(rng, 0.05, 3))
    return PutIn(
        {"house.protection": "tripped"},
        {"loads.working_a": load, "loads.rest_a": load},
        {"kind": "tripped", "unit_wakes_it": vehicle.unit.wakes_tripped},
    )


def _worn(rng: Generator, _: Vehicle) -> PutIn:
    worn = log_uniform(rng, 6, 60)
    charge = uniform(rng, 0.25, 0.8)
    return PutIn({"house.worn": worn}, {"house.charge": charge}, {"times": worn})


def _low_cell(rng: Generator, vehicle: Vehicle) -> PutIn:
    cells = 1 if vehicle.house_scale == 1 or rng.random() < 0.7 else 2
    offset = -cells * uniform(rng, 1.75, 2.2)
    return PutIn({"house.offset_v": offset}, severity={"v": offset})


def _other_source(rng: Generator, vehicle: Vehicle) -> PutIn:
    other = OtherSource(
        limit_v=vehicle.house_scale * uniform(rng, 13.4, 14.7),
        amps=uniform(rng, 3, 30),
        at_rest=bool(rng.random() < 0.75),
        ohm=0.015,
    )
    severity = {"v": other.limit_v, "a": other.amps, "at_rest": other.at_rest}
    return PutIn({"other": other}, severity=severity)


# The panel


def _panel_kind(often: float, first: str, other: str) -> Callable[[Generator, Vehicle], PutIn]:
    def broken(rng: Generator, _: Vehicle) -> PutIn:
        kind = first if rng.random() < often else other
        return PutIn({"panel.fault": kind}, severity={"kind": kind})

    return broken


def _second_regulator(rng: Generator, vehicle: Vehicle) -> PutIn:
    volts = vehicle.house_scale * uniform(rng, 13.2, 14.8)
    share = uniform(rng, 0.0, 0.7)
    shown = one_of(rng, [0.0, volts, volts * 1.02, uniform(rng, 0, 6)])
    return PutIn(
        {
            "panel.fault": "regulator",
            "panel.regulator_v": volts,
            "panel.regulator_share": share,
            "panel.regulator_open_v": shown,
        },
        severity={"v": volts, "share": share},
    )


def _undersupplied(rng: Generator, _: Vehicle) -> PutIn:
    share = uniform(rng, 0.04, 0.45)
    volts = 1.0 if rng.random() < 0.6 else uniform(rng, 0.62, 0.97)
    changes = {"panel.current_share": share, "panel.voltage_share": volts}
    return PutIn(changes, severity={"share": share})


_CHANGES: Mapping[str, Callable[[Generator, Vehicle], PutIn]] = {
    "house_battery_charged": _charged,
    "house_load_high": _load_high,
    "vehicle_fuse_open": lambda rng, vehicle: PutIn({"vehicle_fuse_open": True}),
    "charger_negative_open": _negative_open,
    "ignition_signal_missing": _signal_missing,
    "ignition_always_live": _always_live,
    "alternator_not_charging": _not_charging,
    "charger_no_output": _dead,
    "charger_thermal_derating": _derated,
    "charger_output_limited": _limited,
    "profile_too_low": _profile(-1),
    "profile_too_high": _profile(1),
    "house_fuse_open": lambda rng, vehicle: PutIn({"house_fuse_open": True}),
    "house_battery_protected": _protected,
    "house_battery_high_resistance": _worn,
    "house_battery_low_cell": _low_cell,
    "solar_open": _panel_kind(0.65, "open_up", "open_down"),
    "solar_reversed": _panel_kind(0.6, "reversed_clamped", "reversed_blocked"),
    "solar_second_regulator": _second_regulator,
    "solar_undersupply": _undersupplied,
    "alternator_overvoltage": _overvoltage,
    "consumer_on_vehicle_feed": _consumer,
    "other_source_on_house": _other_source,
    "input_output_exchanged": lambda rng, vehicle: PutIn({"exchanged": True}),
    "start_battery_weak": _weak,
    "standing_draw": _standing,
}
