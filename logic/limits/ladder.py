"""The voltage ladder: the potential at each post along the loop, in one state of the vehicle.

Potentials are against start battery negative; the steps between them are
:mod:`logic.limits.drops`'s.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from logic.case import Reading
from logic.limits.drops import HOUSE, VEHICLE, Looking, Origin, Side, Step, Values
from logic.quantities import Volt
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, Post, Run, State


@dataclass(frozen=True)
class Rung:
    """One post's potential, and the band where it should be, given the rung before it."""

    post: Post
    potential_v: Volt | None
    low: Volt | None
    high: Volt | None


@dataclass(frozen=True)
class Ladder:
    """The loop in one state; ``rungs`` in the order in which current passes them."""

    state: State
    rungs: tuple[Rung, ...]
    steps: tuple[Step, ...]

    def step(self, run: Run) -> Step:
        """Return one run's step."""
        return next(step for step in self.steps if step.run is run)


def ladder(
    installation: Installation,
    readings: Sequence[Reading],
    state: State,
    baseline: Sequence[Reading] = (),
) -> Ladder:
    """Work out the ladder of one state from the readings taken in it.

    Parameters
    ----------
    installation
        What is fitted.
    readings
        Of any state; only those of ``state`` give volts.
    state
        The state shown.
    baseline
        The commissioning readings: they narrow what each step should be.
    """
    looking = Looking(installation, tuple(readings), state, tuple(baseline))
    steps = (*looking.steps(VEHICLE), *looking.steps(HOUSE))
    return Ladder(state, tuple(_rungs(looking, steps)), steps)


def _rungs(looking: Looking, steps: Sequence[Step]) -> Iterator[Rung]:
    feed, back, house_feed, house_back = steps
    values = looking.values
    supply = values.get(Point.START_BATTERY_VOLTAGE)
    negative = _alone(back)
    at_input = _input_potential(values, feed, negative)
    lifted = negative or 0.0
    output = _plus(values.get(Point.CHARGER_OUTPUT_VOLTAGE), lifted)
    house_low = _plus(_alone(house_back), lifted)
    house_high = _house_potential(values, output, house_feed, house_low, lifted)
    yield _rung(Post.START_BATTERY_POSITIVE, supply, looking, Point.START_BATTERY_VOLTAGE, 0.0)
    yield _after(Post.CHARGER_INPUT, at_input, (supply, feed), looking, (VEHICLE, lifted))
    yield _rung(Post.CHARGER_OUTPUT, output, looking, Point.CHARGER_OUTPUT_VOLTAGE, lifted)
    low = lifted if house_low is None else house_low
    yield _after(
        Post.HOUSE_BATTERY_POSITIVE, house_high, (output, house_feed), looking, (HOUSE, low)
    )
    yield Rung(
        Post.HOUSE_BATTERY_NEGATIVE, house_low, lifted + house_back.low, lifted + house_back.high
    )
    yield Rung(Post.CHARGER_NEGATIVE, negative, back.low, back.high)
    yield Rung(Post.START_BATTERY_NEGATIVE, 0.0, 0.0, 0.0)


def _alone(step: Step) -> Volt | None:
    return None if step.origin is Origin.TOGETHER else step.drop_v


def _plus(volts: Volt | None, lifted: Volt) -> Volt | None:
    return None if volts is None else volts + lifted


def _input_potential(values: Values, feed: Step, negative: Volt | None) -> Volt | None:
    supply = values.get(Point.START_BATTERY_VOLTAGE)
    if supply is not None and _alone(feed) is not None:
        return supply - (feed.drop_v or 0.0)
    return _plus(values.get(Point.CHARGER_INPUT_VOLTAGE), negative or 0.0)


def _house_potential(
    values: Values, output: Volt | None, feed: Step, low: Volt | None, lifted: Volt
) -> Volt | None:
    if output is not None and _alone(feed) is not None:
        return output - (feed.drop_v or 0.0)
    return _plus(values.get(Point.HOUSE_BATTERY_VOLTAGE), lifted if low is None else low)


def _rung(post: Post, potential: Volt | None, looking: Looking, point: Point, lifted: Volt) -> Rung:
    expected = looking.expected(point)
    low, high = _plus(expected.low, lifted), _plus(expected.high, lifted)
    return Rung(post, potential, low, high)


def _after(
    post: Post,
    potential: Volt | None,
    before: tuple[Volt | None, Step],
    looking: Looking,
    behind: tuple[Side, Volt],
) -> Rung:
    """A post after a run: below the rung before it, or where that is not known, as usual."""
    above, step = before
    if above is not None:
        return Rung(post, potential, above - step.high, above - step.low)
    side, lifted = behind
    return _rung(post, potential, looking, side.sink, lifted)
