"""A week of a house battery: hour by hour what driving and sun bring and what the loads take.

Ampere-hours at the battery's voltage. Day 1 begins at midnight with a full battery; the loads
run evenly through day and night, the driving begins at the same hour each day that it is
driven, the sun shines as half a sine wave from six to six. The sun is used first and the
vehicle makes up the rest, as far as the unit's rating goes.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

from logic.choosing import figures
from logic.circuit import batteries
from logic.quantities import Ampere, AmpereHour, Fraction
from logic.vehicle.installation import Chemistry

STEPS_AN_HOUR = 8
HOURS = 7 * 24
_GRID = 1000


@dataclass(frozen=True)
class Supply:
    """What feeds the house battery, and what draws from it.

    ``vehicle_a`` is the most that the alternator allows at the unit's output, infinite where it
    is not known. ``panel_a`` flows at the unit's output in full sun.
    """

    chemistry: Chemistry
    capacity_ah: AmpereHour
    rated_a: Ampere
    vehicle_a: Ampere
    loads_a: Ampere
    driving_h: float
    driving_days: int
    panel_a: Ampere
    peak_sun_h: float


@dataclass(frozen=True)
class Week:
    """How a week came out. Sums are Ah at the battery.

    ``charge`` is the state of charge at each step's beginning and at the end, ``driven`` and
    ``sun`` whether the engine ran and how strong the sun was in each step. ``unserved_ah`` is
    what the loads went without, ``lost_ah`` what charging turned into heat and gas.
    """

    charge: tuple[Fraction, ...]
    driven: tuple[bool, ...]
    sun: tuple[Fraction, ...]
    vehicle_ah: AmpereHour
    solar_ah: AmpereHour
    served_ah: AmpereHour
    unserved_ah: AmpereHour
    lost_ah: AmpereHour
    stored_ah: AmpereHour

    @property
    def lowest(self) -> Fraction:
        """Lowest state of charge in the week."""
        return min(self.charge)

    @property
    def brought_ah(self) -> AmpereHour:
        """What driving and sun brought, less what charging lost."""
        return self.vehicle_ah + self.solar_ah - self.lost_ah

    def by_the_hour(self) -> tuple[Fraction, ...]:
        """Return the state of charge at each full hour, the end counted."""
        return self.charge[::STEPS_AN_HOUR]


@lru_cache(maxsize=8)
def _curves(chemistry: Chemistry) -> tuple[tuple[float, float], ...]:
    """Return acceptance and efficiency on a fine grid of charge: each step asks for them."""
    grid = (index / _GRID for index in range(_GRID + 1))
    return tuple(
        (batteries.charge_acceptance(chemistry, s), batteries.charge_efficiency(chemistry, s))
        for s in grid
    )


@lru_cache(maxsize=32)
def _sky(peak_sun_h: float, steps_an_hour: int) -> tuple[float, ...]:
    """Return the sun's strength in the middle of each step of a day, 1 for 1000 W/m²."""
    rises = figures.number("sun.rises")
    daylight = 24 - 2 * rises
    most = peak_sun_h * math.pi / (2 * daylight)
    middles = ((step + 0.5) / steps_an_hour for step in range(24 * steps_an_hour))
    return tuple(
        most * math.sin(math.pi * (hour - rises) / daylight)
        if rises < hour < rises + daylight
        else 0.0
        for hour in middles
    )


# Kept: one answer asks for the same week several times.
@lru_cache(maxsize=24)
def week(supply: Supply, start: Fraction = 1.0, steps_an_hour: int = STEPS_AN_HOUR) -> Week:
    """Work out a week.

    Parameters
    ----------
    supply
        What feeds and what draws.
    start : 1
        State of charge at the first midnight.
    steps_an_hour
        How finely it is worked out.

    Returns
    -------
    Week
        What came in is what was used, lost and stored.
    """
    sky = _sky(supply.peak_sun_h, steps_an_hour)
    a_day, span = 24 * steps_an_hour, 1 / steps_an_hour
    begins = min(figures.number("driving.begins"), 24 - supply.driving_h)
    first, last = begins * steps_an_hour, (begins + supply.driving_h) * steps_an_hour
    # The share of each step of a day that is driven: hours need not be whole steps.
    driven_share = [max(0.0, min(last, of + 1.0) - max(first, float(of))) for of in range(a_day)]
    capacity, load, rated = supply.capacity_ah, supply.loads_a, supply.rated_a
    accepted = [accepts * capacity + load for accepts, _ in _curves(supply.chemistry)]
    efficiencies = [efficiency for _, efficiency in _curves(supply.chemistry)]
    sun = [min(rated, supply.panel_a * strength) for strength in sky]
    vehicle, to_grid = supply.vehicle_a, _GRID / capacity
    held = start * capacity
    charge, driven = [start], []
    vehicle_ah = solar_ah = unserved_ah = lost_ah = 0.0
    for step in range(7 * a_day):
        day, of_day = divmod(step, a_day)
        share = driven_share[of_day] if day < supply.driving_days else 0.0
        from_sun, from_vehicle = sun[of_day], 0.0
        if from_sun == 0.0 and share == 0.0:
            stored = max(-load * span, -held)
            unserved_ah += stored + load * span
        else:
            at = held
            for _ in range(2):
                place = int(at * to_grid)
                wanted = accepted[place]
                from_sun = min(sun[of_day], wanted)
                from_vehicle = share * min(vehicle, rated - from_sun, wanted - from_sun)
                net = (from_sun + from_vehicle - load) * span
                if net <= 0:
                    stored = max(net, -held)
                    break
                # What it takes and stores falls within the step: again, from the step's middle.
                stored = min(net * efficiencies[place], capacity - held)
                at = held + stored / 2
            if net > 0:
                lost_ah += net - stored
            else:
                unserved_ah += stored - net
        held = min(capacity, max(0.0, held + stored))
        vehicle_ah += from_vehicle * span
        solar_ah += from_sun * span
        driven.append(share > 0)
        charge.append(held / capacity)
    return Week(
        charge=tuple(charge),
        driven=tuple(driven),
        sun=sky * 7,
        vehicle_ah=vehicle_ah,
        solar_ah=solar_ah,
        served_ah=load * HOURS - unserved_ah,
        unserved_ah=unserved_ah,
        lost_ah=lost_ah,
        stored_ah=held - start * capacity,
    )


def hours_to_charge(supply: Supply, start: Fraction, end: Fraction) -> float | None:
    """Return how long the engine has to run to bring the battery up, loads on and no sun.

    Parameters
    ----------
    supply
        What feeds and what draws.
    start, end : 1
        States of charge.

    Returns
    -------
    h
        None where two days of it do not.
    """
    curves, span = _curves(supply.chemistry), 1 / STEPS_AN_HOUR
    capacity, held = supply.capacity_ah, start * supply.capacity_ah
    for step in range(48 * STEPS_AN_HOUR):
        accepts, efficiency = curves[int(held / capacity * _GRID)]
        given = min(supply.vehicle_a, supply.rated_a, accepts * capacity + supply.loads_a)
        net = given - supply.loads_a
        gained = net * (efficiency if net > 0 else 1.0) * span
        if held + gained >= end * capacity:
            return (step + (end * capacity - held) / gained) * span
        held = max(0.0, held + gained)
    return None
