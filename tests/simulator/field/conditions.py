"""How a vehicle moves between two readings of one state: six moments of it.

In the plain world all but stands still; in the rough one the supply wanders and loads switch.
Ranges are assumed.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tests.contract import STATES
from tests.simulator.field.drawing import uniform
from tests.simulator.field.vehicle import Vehicle

Generator = np.random.Generator
World = Literal["plain", "rough"]
WORLDS: tuple[World, ...] = ("plain", "rough")

MOMENTS = 6


@dataclass(frozen=True)
class Moment:
    """What differs at one moment from the vehicle's own figures."""

    supply_v: float
    load_a: float
    vehicle_a: float
    sun: float
    polarisation: float  # the battery's voltage creeps up while it charges
    chance: float  # decides what comes and goes


def draw_moments(rng: Generator, vehicle: Vehicle, world: World) -> Mapping[str, list[Moment]]:
    """Return the moments of every state, in the order of time."""
    scale, rating = vehicle.scale, vehicle.unit.rating_a
    swing = scale * uniform(rng, 0.1, 0.3)
    switched = uniform(rng, 0.5, 4.0) * min(1, rating / 30)
    moments: dict[str, list[Moment]] = {}
    for state in STATES:
        moments[state] = []
        for number in range(MOMENTS):
            if world == "rough":
                supply = uniform(rng, -0.5, 0.5) * swing
                load = switched if rng.random() < 0.4 else 0.0
                own, sun = uniform(rng, -4, 9), uniform(rng, 0.78, 1.05)
            else:
                supply = scale * float(rng.normal(0, 0.012))
                load = vehicle.loads.working_a * float(rng.normal(0, 0.03))
                own, sun = float(rng.normal(0, 0.6)), 1 + float(rng.normal(0, 0.02))
            polarisation = 0.93 + 0.14 * number / (MOMENTS - 1)
            chance = uniform(rng, 0, 1)
            moments[state].append(Moment(supply, load, own, sun, polarisation, chance))
    return moments
