"""Draws sound vehicles, very widely: what a stranger takes workshops to meet.

All ranges are assumed, written from the case contract and the trade's habits alone, without a
look at the program's own.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.simulator.field.vehicle import (
    RUNS,
    HouseBattery,
    Loads,
    Panel,
    Run,
    Runs,
    Signal,
    StartBattery,
    Supply,
    Unit,
    Vehicle,
)

Generator = np.random.Generator

AREAS_MM2 = (2.5, 4.0, 4.6, 6.0, 8.4, 10.0, 13.3, 16.0, 21.0, 25.0, 35.0)
_FUSES_A = (25.0, 30.0, 40.0, 50.0, 60.0, 80.0)
_LENGTHS_M = {
    "vehicle_feed": (1.2, 8.5),
    "vehicle_return": (0.4, 5.5),
    "house_feed": (0.4, 3.2),
    "house_return": (0.4, 3.0),
}
_ABSORPTION_V = {
    "flooded": (14.4, 14.8),
    "agm": (14.4, 14.7),
    "gel": (14.0, 14.3),
    "lifepo4": (14.1, 14.6),
}
# Amperes per ampere-hour that a battery takes at 14.4 V, per share of charge that it lacks.
_ACCEPTANCE = {"flooded": (1.0, 2.2), "agm": (1.5, 3.5), "gel": (1.0, 2.2), "lifepo4": (9.0, 9.0)}
_COPPER_OHM_MM2_PER_M = 0.0178


@dataclass(frozen=True)
class Wishes:
    """What a vehicle must have for a fault to be possible on it; None is free."""

    control: str | None = None
    chemistry: str | None = None
    panel: bool = False
    nominal_v: int | None = None

    def joined(self, other: "Wishes") -> "Wishes":
        """Return both, the other's first."""
        return Wishes(
            other.control or self.control,
            other.chemistry or self.chemistry,
            other.panel or self.panel,
            other.nominal_v or self.nominal_v,
        )


def uniform(rng: Generator, low: float, high: float) -> float:
    """Return a number drawn evenly between two."""
    return float(rng.uniform(low, high))


def log_uniform(rng: Generator, low: float, high: float) -> float:
    """Return a number whose logarithm is drawn evenly."""
    return float(np.exp(uniform(rng, math.log(low), math.log(high))))


def one_of(rng: Generator, values: Sequence[Any], shares: Sequence[float] | None = None) -> Any:
    """Return one of some values, by their shares or evenly."""
    return values[int(rng.choice(len(values), p=shares))]


def draw_vehicle(rng: Generator, wishes: Wishes) -> Vehicle:
    """Return a sound vehicle that fulfils the wishes."""
    nominal = 24 if rng.random() < 0.18 else 12
    nominal = wishes.nominal_v or nominal
    scale = nominal / 12
    supply = _supply(rng, wishes, scale)
    rating = _rating_a(rng, scale)
    location = one_of(rng, ["engine_bay", "cabin", "tray", "trailer"])
    ambient = round(uniform(rng, 0, 38))
    house = draw_house(rng, wishes, scale, rating, ambient)
    warmer = uniform(rng, 8, 26) + (10 if location == "engine_bay" else 0)
    return Vehicle(
        nominal_v=nominal,
        supply=supply,
        start=_start_battery(rng, scale),
        unit=draw_unit(rng, scale, rating, house.chemistry, ambient + warmer),
        house=house,
        loads=draw_loads(rng, rating),
        runs=Runs(**{name: draw_run(rng, name, rating, scale) for name in RUNS}),
        signal=Signal(
            fitted=supply.control == "variable" or bool(rng.random() < 0.45),
            drop_v=scale * uniform(rng, 0.02, 0.55),
        ),
        panel=draw_panel(rng, scale) if wishes.panel or rng.random() < 0.38 else None,
        location=location,
        ambient_c=ambient,
        clamp_at_terminal=bool(rng.random() < 0.5),
    )


def _supply(rng: Generator, wishes: Wishes, scale: float) -> Supply:
    shares = [0.45, 0.55] if scale == 1 else [0.8, 0.2]
    control = wishes.control or one_of(rng, ["fixed", "variable"], shares)
    said = control if wishes.control or rng.random() < 0.82 else "unknown"
    ratings = [70, 90, 110, 120, 140, 150, 180, 220] if scale == 1 else [55, 80, 100, 120]
    rated = float(one_of(rng, ratings))
    share = {"idle": uniform(rng, 0.42, 0.65), "fast_idle": uniform(rng, 0.78, 0.96)}
    # A computer regulates at the battery, an old regulator at the alternator.
    ohm = uniform(rng, 0.001, 0.005) if control == "fixed" else uniform(rng, 0.0002, 0.001)
    if control == "fixed":
        idle = scale * uniform(rng, 13.8, 14.6)
        fast = idle + scale * uniform(rng, 0, 0.1)
    else:
        idle = _computers_choice_v(rng, scale)
        near = rng.random() < 0.7
        fast = idle + scale * uniform(rng, -0.1, 0.1) if near else _computers_choice_v(rng, scale)
    return Supply(
        control=control,
        control_said=said,
        rated_a=rated,
        share=share,
        source_ohm=ohm * scale,
        set_v={"idle": idle, "fast_idle": fast},
        vehicle_a=uniform(rng, 10, 32) / (1 if scale == 1 else 1.6),
    )


def _computers_choice_v(rng: Generator, scale: float) -> float:
    at = rng.random()
    if at < 0.2:
        return scale * uniform(rng, 12.35, 12.95)
    return scale * (uniform(rng, 13.1, 14.6) if at < 0.87 else uniform(rng, 14.6, 15.1))


def _start_battery(rng: Generator, scale: float) -> StartBattery:
    chemistry = one_of(rng, ["flooded", "agm", "gel"], [0.68, 0.3, 0.02])
    capacities = [50, 60, 70, 75, 80, 95, 105] if scale == 1 else [100, 120, 140, 170]
    capacity = float(one_of(rng, capacities))
    return StartBattery(
        chemistry=chemistry,
        capacity_ah=capacity,
        charge=uniform(rng, 0.62, 1.0),
        surface_v=scale * min(0.25, float(rng.exponential(0.05))),
        taking_ohm=scale * uniform(rng, 2.5, 6.0) / capacity,
        giving_ohm=scale * uniform(rng, 0.45, 0.9) / capacity,
    )


def _rating_a(rng: Generator, scale: float) -> float:
    if scale == 1:
        return float(one_of(rng, [20, 25, 30, 40, 50], [0.15, 0.27, 0.2, 0.25, 0.13]))
    return float(one_of(rng, [20, 25, 30, 40], [0.35, 0.25, 0.2, 0.2]))


def draw_unit(rng: Generator, scale: float, rating: float, chemistry: str, case_c: float) -> Unit:
    efficiency = uniform(rng, 0.85, 0.965)
    start = round(scale * uniform(rng, 12.8, 13.5), 1)
    signalled_start = round(scale * uniform(rng, 11.4, 12.2), 1)
    limit = round(uniform(rng, 0.75, 1.35) * rating) if rng.random() < 0.15 else None
    return Unit(
        rating_a=rating,
        rating_said_a=rating,
        share=uniform(rng, 0.97, 1.08),
        efficiency=efficiency,
        efficiency_said=efficiency,
        part_load_loss=uniform(rng, 0, 0.07),
        own_use_w=uniform(rng, 1, 15),
        start_v=start,
        stop_v=round(start - scale * uniform(rng, 0.3, 0.9), 1),
        signalled_start_v=signalled_start,
        signalled_stop_v=round(signalled_start - scale * uniform(rng, 0.2, 0.8), 1),
        signal_min_v=round(uniform(rng, 4, 9) * (scale if rng.random() < 0.5 else 1), 1),
        holds_fixed=bool(rng.random() < 0.25),
        holds_over_v=scale * uniform(rng, 0, 0.7),
        holds_at_v=scale * uniform(rng, 11.7, 12.4),
        softness_v=scale * uniform(rng, 0, 0.2) + 0.004,
        overvoltage_cut_v=scale * uniform(rng, 15.4, 16.3) if rng.random() < 0.4 else math.inf,
        unloaded_shows=one_of(rng, ["absorption", "float", "nothing"], [0.45, 0.15, 0.4]),
        works_into_blocked=bool(rng.random() < 0.6),
        wakes_tripped=bool(rng.random() < 0.55),
        floating_v=uniform(rng, 0, 0.4),
        input_limit_a=limit,
        input_limit_said_a=limit,
        absorption_v=round(scale * uniform(rng, *_ABSORPTION_V[chemistry]), 1),
        float_v=round(scale * uniform(rng, 13.3, 13.8), 1),
        absorption_error_v=float(rng.normal(0, 0.03)) * scale,
        case_c=case_c,
        quiet_a=uniform(rng, 0.02, 0.08),
        max_ambient_c=float(one_of(rng, [50, 60, 70, 75])),
        ingress=one_of(rng, ["IP20", "IP65", "IP67", "IP54"]),
    )


def draw_house(
    rng: Generator, wishes: Wishes, scale: float, rating: float, ambient_c: float
) -> HouseBattery:
    shares = [0.17, 0.37, 0.08, 0.38]
    chemistry = wishes.chemistry or one_of(rng, ["flooded", "agm", "gel", "lifepo4"], shares)
    lithium = chemistry == "lifepo4"
    capacities = (
        [75, 80, 95, 100, 105, 120, 150, 200, 240] if scale == 1 else [75, 100, 120, 150, 200]
    )
    capacity = float(one_of(rng, capacities))
    surface = uniform(rng, 0, 0.06) if lithium else min(0.2, float(rng.exponential(0.04)))
    told = rng.random() >= 0.4
    most = max(rating * uniform(rng, 1.0, 1.6), capacity * (0.5 if lithium else 0.25))
    return HouseBattery(
        chemistry=chemistry,
        chemistry_said=chemistry,
        capacity_ah=capacity,
        charge=uniform(rng, 0.3, 0.85),
        surface_v=scale * surface,
        acceptance=uniform(rng, *_ACCEPTANCE[chemistry]),
        acceptance_exponent=uniform(rng, 0.5, 0.8),
        ohm=scale * (uniform(rng, 0.6, 2.2) if lithium else uniform(rng, 0.35, 0.8)) / capacity,
        polarisation_v=scale * uniform(rng, 0.04, 0.16),
        rest_error_v=scale * float(rng.normal(0, 0.03)),
        tripped_v=uniform(rng, 0, 5),
        max_charge_a=round(most) if told else None,
        celsius=ambient_c + uniform(rng, -3, 6),
    )


def draw_loads(rng: Generator, rating: float) -> Loads:
    working = 0.0 if rng.random() < 0.25 else uniform(rng, 0.2, 5.5) * (rating / 30)
    return Loads(working_a=working, rest_a=one_of(rng, [0.0, 0.05, 0.3, 1.0]) * working)


def draw_run(rng: Generator, name: str, rating: float, scale: float) -> Run:
    """Return a run laid out for a decent drop, as a fitter would."""
    feed, input_a = name.endswith("feed"), rating * 1.25
    length = uniform(rng, *_LENGTHS_M[name])
    allowed = scale * uniform(rng, 0.07, 0.33) * (1.0 if feed else 0.7)
    least = 4 if input_a < 35 else 8
    wide = [
        area
        for area in AREAS_MM2
        if area >= least and _COPPER_OHM_MM2_PER_M * length / area * input_a <= allowed
    ]
    area = wide[0] if wide else AREAS_MM2[-1]
    joints = int(rng.integers(2, 6)) if feed else int(rng.integers(2, 5))
    fuse = _fuse(input_a, input_a if name.startswith("vehicle") else rating) if feed else None
    jointed = sum(float(rng.lognormal(math.log(0.00016), 0.5)) for _ in range(joints))
    ohm = _COPPER_OHM_MM2_PER_M * length / area * uniform(rng, 0.97, 1.12) + jointed
    if fuse:
        ohm += uniform(rng, 0.05, 0.11) / fuse
    if name == "vehicle_return" and rng.random() < 0.6:
        ohm += float(rng.lognormal(math.log(0.0006), 0.5))  # through the body
    described = {"length_m": round(length, 1), "area_mm2": area, "joints": joints, "fuse_a": fuse}
    return Run(ohm=ohm, described=described)


def _fuse(input_a: float, carried_a: float) -> float:
    if input_a * 1.2 > 80:
        return 80.0
    return next(fuse for fuse in _FUSES_A if fuse >= 1.2 * carried_a)


def draw_panel(rng: Generator, scale: float) -> Panel:
    power = float(one_of(rng, [100, 120, 160, 200, 250, 300, 400]))
    in_series = 2 if scale == 2 and rng.random() < 0.8 else 1
    working = uniform(rng, 17.2, 20.5) * in_series
    if scale == 2 and in_series == 1:
        working = uniform(rng, 31, 36)
    open_circuit = working * uniform(rng, 1.17, 1.24)
    short = power / working * uniform(rng, 1.04, 1.09)
    real, hot, tracking = (
        uniform(rng, *limits) for limits in ((0.78, 0.97), (0.90, 1.0), (0.93, 1.0))
    )
    lead = uniform(rng, 0.015, 0.07)
    sky = one_of(rng, [(0.75, 1.0), (0.4, 0.75), (0.15, 0.4)], [0.5, 0.35, 0.15])
    return Panel(
        power_w=power,
        open_v=round(open_circuit, 1),
        short_a=round(short, 2),
        working_v=round(working, 1),
        real=real,
        hot=hot,
        tracking=tracking,
        lead_ohm=lead,
        sun=uniform(rng, *sky),
        # In the open, or under the workshop's roof.
        sun_with_engine=1.0 if rng.random() < 0.75 else 0.03,
        max_v_said=(
            None
            if rng.random() < 0.4
            else float(math.ceil(open_circuit * 1.12) + int(rng.integers(0, 20)))
        ),
    )
