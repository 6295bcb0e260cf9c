"""Two units side by side on one house battery: what each gives, and what the battery comes to.

    posts = emf + R x (sum of what the units give - house loads)

The units hang on each other in two ways. Both lift the volts at the house battery's posts, which
ends each one's current the sooner. And their returns, from the house battery's negative by either
unit's negative to the start battery's, make a ring: where one way loses more, some of its current
goes round by the other unit's negative. With the posts' volts and that current in the ring given,
each unit is in closed form; both are then found by halving.

The start battery's post voltage is given as it is under all that flows. Left out: a battery whose
own protection is open (:mod:`logic.circuit.operating_point` has that, of one unit), and what goes
round the ring where a return is quite open; an open run puts its unit off. Plain floats, no numpy,
so that a limit can ask for it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from logic.quantities import Ampere, Fraction, Ohm, Volt, Watt


class Held(StrEnum):
    """What holds a unit's output where it is."""

    RATING = "rating"
    VOLTAGE = "voltage"
    INPUT_VOLTAGE = "input_voltage"
    INPUT_LIMIT = "input_limit"
    OFF = "off"


@dataclass(frozen=True, kw_only=True)
class UnitBeside:
    """One of the units: its figures as they work out now, and its own runs.

    ``hold_v`` is where it holds its input; ``works`` is false for one that is off or dead.
    """

    supply_v: Volt
    vehicle_feed_ohm: Ohm
    vehicle_return_ohm: Ohm
    house_feed_ohm: Ohm
    house_return_ohm: Ohm
    rated_output_a: Ampere
    voltage_limit_v: Volt
    hold_v: Volt
    efficiency: Fraction = 0.92
    own_use_w: Watt = 3.0
    input_limit_a: Ampere = math.inf
    works: bool = True

    @property
    def vehicle_ohm(self) -> Ohm:
        """Feed and return on the vehicle side together.

        Returns
        -------
        Ω
        """
        return self.vehicle_feed_ohm + self.vehicle_return_ohm

    @property
    def house_ohm(self) -> Ohm:
        """Feed and return on the house side together.

        Returns
        -------
        Ω
        """
        return self.house_feed_ohm + self.house_return_ohm

    @property
    def is_off(self) -> bool:
        """Whether it gives nothing: off, dead, or a run open."""
        return not self.works or math.isinf(self.vehicle_ohm) or math.isinf(self.house_ohm)

    def given_at(self, posts_v: Volt, ring_a: Ampere = 0.0) -> tuple[Ampere, Held]:
        """Return what it gives at the house battery's volts, and what holds it there.

        Parameters
        ----------
        posts_v : V
            At the house battery's posts.
        ring_a : A
            Of the other unit's, through its own returns.

        Returns
        -------
        A
        """
        if self.is_off:
            return 0.0, Held.OFF
        loop, supply, posts = max(self.vehicle_ohm, 1e-9), *self._seen(posts_v, ring_a)
        # Past half of the supply more current would bring less power.
        most = max(supply, 0.0) / (2 * loop)
        held = min(max((supply - self.hold_v) / loop, 0.0), most)
        limits = (
            (self.rated_output_a, Held.RATING),
            ((self.voltage_limit_v - posts) / max(self.house_ohm, 1e-9), Held.VOLTAGE),
            (self._fed_by(held, supply, posts), Held.INPUT_VOLTAGE),
            (self._fed_by(min(self.input_limit_a, most), supply, posts), Held.INPUT_LIMIT),
        )
        least, held_by = min(limits, key=lambda limit: limit[0])
        return max(least, 0.0), held_by

    def drawn_for(self, given_a: Ampere, posts_v: Volt, ring_a: Ampere = 0.0) -> Ampere:
        """Return what it draws from the vehicle to give a current.

        Parameters
        ----------
        given_a : A
            Into its house feed.
        posts_v : V
            At the house battery's posts.
        ring_a : A
            Of the other unit's, through its own returns.

        Returns
        -------
        A
        """
        if self.is_off:
            return 0.0
        supply, posts = self._seen(posts_v, ring_a)
        power = ((posts + given_a * self.house_ohm) * given_a + self.own_use_w) / self.efficiency
        root = math.sqrt(max(supply**2 - 4 * self.vehicle_ohm * power, 0.0))
        return 2 * power / max(supply + root, 1e-3)

    def _seen(self, posts_v: Volt, ring_a: Ampere) -> tuple[Volt, Volt]:
        """Return supply and posts as it sees them through returns that carry the ring's, V."""
        supply = self.supply_v - (ring_a * self.vehicle_return_ohm if ring_a else 0.0)
        return supply, posts_v + (ring_a * self.house_return_ohm if ring_a else 0.0)

    def _fed_by(self, drawn_a: Ampere, supply_v: Volt, posts_v: Volt) -> Ampere:
        """Return the output current that an input current feeds: the power balance's root, A."""
        taken = (supply_v - self.vehicle_ohm * drawn_a) * drawn_a
        power = max(self.efficiency * taken - self.own_use_w, 0.0)
        root = math.sqrt(posts_v**2 + 4 * self.house_ohm * power)
        return 2 * power / max(posts_v + root, 1e-3)


@dataclass(frozen=True)
class UnitSettled:
    """Where one of the units has settled; the drops are those of its own runs."""

    given_a: Ampere
    drawn_a: Ampere
    input_v: Volt
    output_v: Volt
    vehicle_return_a: Ampere
    house_return_a: Ampere
    held_by: Held


@dataclass(frozen=True)
class SideBySide:
    """Where all of them have settled, in their order."""

    posts_v: Volt
    units: tuple[UnitSettled, ...]

    @property
    def given_a(self) -> Ampere:
        """What they give together.

        Returns
        -------
        A
        """
        return sum(unit.given_a for unit in self.units)

    @property
    def drawn_a(self) -> Ampere:
        """What they draw from the vehicle together.

        Returns
        -------
        A
        """
        return sum(unit.drawn_a for unit in self.units)


@dataclass(frozen=True)
class HouseSide:
    """What the units charge: the house battery, without current, and the loads at its posts."""

    emf_v: Volt
    ohm: Ohm
    load_a: Ampere = 0.0


def settle(first: UnitBeside, second: UnitBeside | None, house: HouseSide) -> SideBySide:
    """Settle two units side by side on one house battery, or the first alone.

    Of both unknowns one answer is right: what the units give never rises with the posts' volts,
    and what a current in the ring brings about is always less than that current.
    """
    if second is None:
        posts = _posts((first,), (0.0,), house)
        return SideBySide(posts, (_settled(first, posts, 0.0),))
    units = (first, second)
    low, high = -_most_round(first, second), _most_round(second, first)
    while high - low > _NEAR_A:
        middle = (low + high) / 2
        if _ring(units, middle, house) > middle:
            low = middle
        else:
            high = middle
    ring = (low + high) / 2
    posts = _posts(units, (ring, -ring), house)
    settled = (_settled(first, posts, ring), _settled(second, posts, -ring))
    return SideBySide(posts, settled)


def ring_current(
    first: tuple[Ampere, Ampere],
    first_ohm: tuple[Ohm, Ohm],
    second: tuple[Ampere, Ampere],
    second_ohm: tuple[Ohm, Ohm],
) -> Ampere:
    """Return what of the second unit's current goes round by the first one's returns.

    Parameters
    ----------
    first, second : A
        Each one's input and output current.
    first_ohm, second_ohm : Ω
        Each one's vehicle and house return.

    Returns
    -------
    A
        Negative where the first one's goes round by the second's.
    """
    ways = sum(first_ohm) + sum(second_ohm)
    if math.isinf(ways) or ways <= 0:
        return 0.0
    here, there = (
        sum(current * ohm for current, ohm in zip(currents, ohms, strict=True))
        for currents, ohms in ((first, first_ohm), (second, second_ohm))
    )
    return (there - here) / ways


_HALVINGS = 50  # a span of 10 V comes down to the last digits of a float
_NEAR_A = 1e-7


def _returns(unit: UnitBeside) -> tuple[Ohm, Ohm]:
    return unit.vehicle_return_ohm, unit.house_return_ohm


def _most_round(by: UnitBeside, other: UnitBeside) -> Ampere:
    """Return more than can ever go round: all that one unit's way may lose, over the ring, A."""
    ways = sum(_returns(by)) + sum(_returns(other))
    if math.isinf(ways) or ways <= 0:
        return 0.0
    return (by.supply_v + by.rated_output_a * by.house_return_ohm) / ways


def _ring(units: tuple[UnitBeside, UnitBeside], ring_a: Ampere, house: HouseSide) -> Ampere:
    """Return the current in the ring that a current in the ring brings about, A."""
    rings = (ring_a, -ring_a)
    posts = _posts(units, rings, house)
    flows = []
    for unit, round_a in zip(units, rings, strict=True):
        given = unit.given_at(posts, round_a)[0]
        flows.append((unit.drawn_for(given, posts, round_a), given))
    first, second = units
    return ring_current(flows[0], _returns(first), flows[1], _returns(second))


def _posts(units: Sequence[UnitBeside], rings: Sequence[Ampere], house: HouseSide) -> Volt:
    """Return the volts at the posts at which all adds up, the ring's current given, V."""
    low = house.emf_v - house.ohm * house.load_a
    high = low + house.ohm * sum(unit.rated_output_a for unit in units)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        given = sum(unit.given_at(middle, ring)[0] for unit, ring in zip(units, rings, strict=True))
        if house.emf_v + house.ohm * (given - house.load_a) > middle:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _settled(unit: UnitBeside, posts_v: Volt, ring_a: Ampere) -> UnitSettled:
    given, held_by = unit.given_at(posts_v, ring_a)
    drawn = unit.drawn_for(given, posts_v, ring_a)
    back, house_back = drawn + ring_a, given + ring_a
    at_input = at_output = 0.0
    if not math.isinf(unit.vehicle_ohm):
        lost = drawn * unit.vehicle_feed_ohm + back * unit.vehicle_return_ohm
        at_input = unit.supply_v - lost
    if not math.isinf(unit.house_ohm):
        lost = given * unit.house_feed_ohm + house_back * unit.house_return_ohm
        at_output = posts_v + lost
    elif unit.works and not math.isinf(unit.vehicle_ohm):
        at_output = unit.voltage_limit_v
    return UnitSettled(given, drawn, at_input, at_output, back, house_back, held_by)
