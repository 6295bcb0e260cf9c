"""Fits further equipment to a sound vehicle: what a stranger takes workshops to meet.

A converter, a second unit, an input limit, a sensor, another output voltage, a monitor, batteries
in parallel, reverse charge, other start batteries.  All ranges are assumed, written from the case
contract alone, without a look at the program's own.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tests.simulator.field.drawing import (
    Wishes,
    draw_house,
    draw_loads,
    draw_panel,
    draw_run,
    draw_unit,
    one_of,
    uniform,
)
from tests.simulator.field.vehicle import (
    RUNS,
    Bank,
    Monitor,
    Reverse,
    Runs,
    SecondUnit,
    Sensor,
    Signal,
    Vehicle,
    changed,
)

Generator = np.random.Generator


def _converter(rng: Generator, vehicle: Vehicle, _: Wishes) -> Vehicle:
    """A hybrid's or electric vehicle's own supply: steady, up to its limit, and without idle."""
    scale = vehicle.scale
    volts = scale * uniform(rng, 13.2, 14.8)
    supply = replace(
        vehicle.supply,
        control="converter",
        control_said="converter" if rng.random() < 0.85 else "unknown",
        rated_a=float(round(uniform(rng, 60, 250) / scale)),
        share={"idle": 1.0, "fast_idle": 1.0},
        source_ohm=scale * uniform(rng, 0.0003, 0.002),
        set_v={"idle": volts, "fast_idle": volts},
        vehicle_a=uniform(rng, 8, 30) / scale,
    )
    signal = replace(vehicle.signal, fitted=bool(rng.random() < 0.7))
    return replace(vehicle, supply=supply, signal=signal)


def _second_unit(rng: Generator, vehicle: Vehicle, _: Wishes) -> Vehicle:
    """Another of the same rating or not, between the same batteries."""
    first, scale, stepped = vehicle.unit, vehicle.scale, vehicle.house_scale / vehicle.scale
    rating = first.rating_a
    if rng.random() < 0.45:
        rating = float(one_of(rng, [20, 25, 30, 40, 50]))
        rating = min(rating, 25.0) if stepped > 1 else rating
    unit = draw_unit(rng, scale, rating, vehicle.house.chemistry, first.case_c)
    same_model = bool(rng.random() < 0.6)
    unit = replace(
        unit,
        input_limit_a=None,
        input_limit_said_a=None,
        absorption_v=first.absorption_v,
        float_v=first.float_v,
        absorption_error_v=unit.absorption_error_v * vehicle.house_scale / scale,
        start_v=first.start_v if same_model else unit.start_v,
        stop_v=first.stop_v if same_model else unit.stop_v,
        signalled_start_v=first.signalled_start_v if same_model else unit.signalled_start_v,
        signalled_stop_v=first.signalled_stop_v if same_model else unit.signalled_stop_v,
        signal_min_v=first.signal_min_v if same_model else unit.signal_min_v,
    )
    own_signal = None
    if rng.random() < 0.3:
        own_signal = Signal(vehicle.signal.fitted, scale * uniform(rng, 0.02, 0.55))
    house, both = vehicle.house, (first.rating_a + rating) / first.rating_a
    if house.max_charge_a is not None:
        house = replace(house, max_charge_a=round(house.max_charge_a * both))
    return replace(
        vehicle, house=house, second=SecondUnit(unit, _runs(rng, vehicle, rating), own_signal)
    )


def _runs(rng: Generator, vehicle: Vehicle, rating: float) -> Runs:
    """Return runs laid out for a rating, the vehicle's side for what it takes in there."""
    scale, house_scale = vehicle.scale, vehicle.house_scale
    return Runs(
        **{
            name: draw_run(rng, name, rating * house_scale / scale, scale)
            if name.startswith("vehicle")
            else draw_run(rng, name, rating, house_scale)
            for name in RUNS
        }
    )


def asks_a(vehicle: Vehicle) -> float:
    """Return what the unit takes in at its rating, on a supply of 13.5 V per 12 V."""
    unit = vehicle.unit
    given_w = unit.rating_a * 14.0 * vehicle.house_scale
    return given_w / unit.efficiency / (13.5 * vehicle.scale)


def _input_limit(rng: Generator, vehicle: Vehicle, _: Wishes) -> Vehicle:
    """Mostly set to what the rating asks for or more, in part under it to spare the supply."""
    spares = rng.random() < 0.2
    share = uniform(rng, 0.72, 0.95) if spares else uniform(rng, 1.02, 1.6)
    limit = float(round(asks_a(vehicle) * share))
    limited: Vehicle = changed(
        vehicle,
        {"unit.input_limit_a": limit, "unit.input_limit_said_a": limit, "limit_fitted": True},
    )
    return limited


def _sensor(rng: Generator, vehicle: Vehicle, _: Wishes) -> Vehicle:
    """A lead-acid profile moves by none, some or all of the usual; lithium by nothing."""
    share = one_of(rng, [0.0, 1.0, uniform(rng, 0.3, 1.0)], [0.25, 0.5, 0.25])
    if vehicle.house.chemistry == "lifepo4":
        share = 0.0
    sensor = Sensor(
        volts_per_kelvin=-share * vehicle.house_scale * uniform(rng, 0.018, 0.030),
        error_c=uniform(rng, -3, 3),
        lowest_c=one_of(rng, [-20.0, -10.0, 0.0]),
        highest_c=one_of(rng, [40.0, 45.0, 50.0]),
    )
    return replace(vehicle, sensor=sensor)


def _other_voltage(rng: Generator, vehicle: Vehicle, wishes: Wishes) -> Vehicle:
    """The unit steps up or down: everything behind it is drawn anew for its own voltage."""
    nominal = 12 if vehicle.nominal_v == 24 else 24
    vehicle = replace(vehicle, output_nominal_v=nominal)
    scale, house_scale = vehicle.scale, vehicle.house_scale
    ratings = [20, 25, 30, 40] if nominal == 12 else [10, 12, 15, 20, 25]
    rating = float(one_of(rng, ratings))
    chemistry = wishes.chemistry or vehicle.house.chemistry
    house = draw_house(rng, Wishes(chemistry=chemistry), house_scale, rating, vehicle.ambient_c)
    unit = draw_unit(rng, scale, rating, chemistry, vehicle.unit.case_c)
    to_house = house_scale / scale
    limit = None if unit.input_limit_a is None else float(round(unit.input_limit_a * to_house))
    unit = replace(
        unit,
        absorption_v=round(unit.absorption_v * to_house, 1),
        float_v=round(unit.float_v * to_house, 1),
        absorption_error_v=unit.absorption_error_v * to_house,
        softness_v=unit.softness_v * to_house,
        input_limit_a=limit,
        input_limit_said_a=limit,
    )
    return replace(
        vehicle,
        unit=unit,
        house=house,
        loads=draw_loads(rng, rating),
        runs=_runs(rng, vehicle, rating),
        panel=draw_panel(rng, house_scale) if vehicle.panel else None,
    )


def _monitor(rng: Generator, vehicle: Vehicle, _: Wishes) -> Vehicle:
    return replace(
        vehicle, monitor=Monitor(1 + uniform(rng, -0.015, 0.015), uniform(rng, -0.2, 0.2))
    )


def _parallel(rng: Generator, vehicle: Vehicle, _: Wishes) -> Vehicle:
    """Two to four alike, each with links of its own; more of them mostly hold more."""
    count = int(one_of(rng, [2, 3, 4], [0.6, 0.25, 0.15]))
    more = count if rng.random() < 0.6 else 1
    whole = vehicle.house.ohm / more
    ohms = tuple(
        count * whole * uniform(rng, 0.88, 1.14) + uniform(rng, 0.0001, 0.0006)
        for _ in range(count)
    )
    together = 1 / sum(1 / ohm for ohm in ohms)
    changes: dict[str, object] = {
        "bank": Bank(ohms),
        "house.ohm": together,
        "house.capacity_ah": vehicle.house.capacity_ah * more,
    }
    banked: Vehicle = changed(vehicle, changes)
    return banked


def _reverse(rng: Generator, vehicle: Vehicle, _: Wishes) -> Vehicle:
    scale = vehicle.scale
    reverse = Reverse(uniform(rng, 5, 30) / scale, 0.2 * scale, 1.2 * scale)
    return replace(vehicle, reverse=reverse)


def _start_batteries(rng: Generator, vehicle: Vehicle, _: Wishes) -> Vehicle:
    """Enhanced flooded or calcium, one or two of them."""
    start, scale = vehicle.start, vehicle.scale
    shares = [0.35, 0.65, 0.0] if scale == 1 else [0.25, 0.15, 0.6]
    second = one_of(rng, [None, "parallel", "series"], shares)
    factor = 2 if second == "parallel" else 1
    start = replace(
        start,
        chemistry=one_of(rng, ["efb", "calcium", start.chemistry], [0.4, 0.4, 0.2]),
        capacity_ah=start.capacity_ah * factor,
        taking_ohm=start.taking_ohm / factor,
        giving_ohm=start.giving_ohm / factor,
        second=second,
        first_share=0.5 + float(rng.normal(0, 0.0012)),
    )
    return replace(vehicle, start=start)


# In the order in which they are fitted: what is drawn anew comes first.
EXTRAS: Mapping[str, Callable[[Generator, Vehicle, Wishes], Vehicle]] = {
    "converter": _converter,
    "other_voltage": _other_voltage,
    "second_unit": _second_unit,
    "input_limit": _input_limit,
    "sensor": _sensor,
    "monitor": _monitor,
    "parallel": _parallel,
    "reverse": _reverse,
    "start_batteries": _start_batteries,
}


def draw_extras(rng: Generator, needed: str | None = None) -> tuple[str, ...]:
    """Draw one or two extras, the needed one among them."""
    first = needed or str(one_of(rng, list(EXTRAS)))
    if rng.random() < 0.5:
        return (first,)
    return first, str(one_of(rng, [name for name in EXTRAS if name != first]))


def wishes_for(rng: Generator, extras: Sequence[str]) -> Wishes:
    """Return what vehicle these extras are mostly met on: 24 V ones feed 12 V, or crank by two."""
    often = 0.5 if "other_voltage" in extras else 0.4 if "start_batteries" in extras else 0.0
    return Wishes(nominal_v=24 if rng.random() < often else None)


def fit(rng: Generator, vehicle: Vehicle, wishes: Wishes, extras: Sequence[str]) -> Vehicle:
    """Return the vehicle with these extras."""
    for name, fitted in EXTRAS.items():
        if name in extras:
            vehicle = fitted(rng, vehicle, wishes)
    return vehicle


def described(
    rng: Generator, vehicle: Vehicle, told: dict[str, Any], run: Callable[..., dict[str, Any]]
) -> dict[str, Any]:
    """Return the installation as told, with the further equipment; ``run`` describes a run."""
    told = dict(told)
    fitted: dict[str, Any] = {
        name: True
        for name, there in (
            ("temperature_sensor", vehicle.sensor),
            ("battery_monitor", vehicle.monitor),
            ("reverse_charge", vehicle.reverse),
        )
        if there is not None
    }
    if vehicle.output_nominal_v is not None:
        told["output_nominal_voltage_v"] = vehicle.output_nominal_v
    if vehicle.second is not None:
        fitted["second_charger_rated_output_current_a"] = vehicle.second.unit.rating_said_a
        if rng.random() < 0.8:
            told["second_unit_runs"] = {
                name: run(getattr(vehicle.second.runs, name)) for name in RUNS
            }
    if vehicle.bank is not None:
        told["house_battery"] = told["house_battery"] | {"in_parallel": len(vehicle.bank.ohms)}
    if vehicle.start.second is not None:
        told["start_battery"] = {
            "chemistry": vehicle.start.chemistry,
            "capacity_ah": (told["start_battery"] or {}).get("capacity_ah"),
            "second": vehicle.start.second,
        }
    return told | ({"fitted": fitted} if fitted else {})
