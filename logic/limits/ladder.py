"""The loop in one state: what each run drops, and the potential at each post along it.

A drop is read with the meter across the run, or worked out from the loop (voltages around it add
up), or known only for feed and return together; it is graded against what it should be.
Potentials are against start battery negative.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from logic.case import Judgement, Reading, Verdict
from logic.limits.expectation import Expectation
from logic.limits.loop_state import telling_current
from logic.limits.verdict import decide, expectation
from logic.quantities import Ampere, Volt
from logic.vehicle.assumed import DEAD_V
from logic.vehicle.installation import Installation
from logic.vehicle.meter import COVERAGE, standard_uncertainty
from logic.vehicle.points import DROP_ACROSS, HOUSE_SIDE, Point, Post, Run, State


class Grade(StrEnum):
    """A run by what it drops against what it should."""

    NOT_READ = "not_read"
    NOTHING_FLOWS = "nothing_flows"
    PROVES_NOTHING = "proves_nothing"
    AS_EXPECTED = "as_expected"
    MARGINAL = "marginal"
    TOO_MUCH = "too_much"
    OPEN = "open"
    WRONG_WAY = "wrong_way"


class Origin(StrEnum):
    """Where a drop's volts come from."""

    NONE = "none"
    READ = "read"
    WORKED_OUT = "worked_out"
    TOGETHER = "together"


@dataclass(frozen=True)
class RunDrop:
    """What one run drops; ``low`` and ``high`` are what it should drop now.

    With ``origin`` together, volts and limits are those of ``run`` and ``partner`` in a row.
    ``uncertainty`` is expanded (k = 2).
    """

    run: Run
    low: Volt
    high: Volt
    why: str
    drop_v: Volt | None = None
    grade: Grade = Grade.NOT_READ
    origin: Origin = Origin.NONE
    partner: Run | None = None
    uncertainty: Volt = 0.0
    proves_nothing: str = ""
    """As of a verdict: why so much proves nothing yet, where it is not too much."""

    @property
    def share(self) -> float | None:
        """How many times the most it should be, None where it was not read."""
        if self.drop_v is None:
            return None
        return max(self.drop_v, 0.0) / max(self.high, 1e-3)


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
    drops: tuple[RunDrop, ...]

    def drop(self, run: Run) -> RunDrop:
        """Return what one run drops."""
        return next(drop for drop in self.drops if drop.run is run)


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
        The commissioning readings: they narrow what each run should drop.
    """
    read = _StateReadings(installation, tuple(readings), state, tuple(baseline))
    drops = (*_drops(read, _VEHICLE), *_drops(read, _HOUSE))
    return Ladder(state, tuple(_rungs(read, *drops)), drops)


@dataclass(frozen=True)
class _Side:
    """One side of the charger: source = feed + sink + return, in volts."""

    feed: Run
    back: Run
    source: Point
    sink: Point
    current: Point


_VEHICLE = _Side(
    Run.VEHICLE_FEED,
    Run.VEHICLE_RETURN,
    Point.START_BATTERY_VOLTAGE,
    Point.CHARGER_INPUT_VOLTAGE,
    Point.INPUT_CURRENT,
)
_HOUSE = _Side(
    Run.HOUSE_FEED,
    Run.HOUSE_RETURN,
    Point.CHARGER_OUTPUT_VOLTAGE,
    Point.HOUSE_BATTERY_VOLTAGE,
    Point.OUTPUT_CURRENT,
)


@dataclass(frozen=True)
class _StateReadings:
    """The readings of one state, and what they should be."""

    installation: Installation
    readings: tuple[Reading, ...]
    state: State
    baseline: tuple[Reading, ...]

    @property
    def values(self) -> Mapping[Point, float]:
        """What was read in this state, by point."""
        return {r.point: r.value for r in self.readings if r.state is self.state}

    def expected(self, point: Point) -> Expectation:
        """Return what a point should show."""
        return expectation(self.installation, self.readings, point, self.state, self.baseline)


# Drops


def _drops(read: _StateReadings, side: _Side) -> tuple[RunDrop, RunDrop]:
    """Return what a side's feed and return drop."""
    values = read.values
    source, sink = values.get(side.source), values.get(side.sink)
    across = None if source is None or sink is None else source - sink
    runs = (side.feed, side.back)
    if across is not None and all(values.get(DROP_ACROSS[run]) is None for run in runs):
        return _together(read, side, across)
    return _drop(read, side, side.feed, across), _drop(read, side, side.back, across)


def _drop(read: _StateReadings, side: _Side, run: Run, across: Volt | None) -> RunDrop:
    expected = read.expected(DROP_ACROSS[run])
    drop = RunDrop(
        run,
        expected.low or 0.0,
        expected.high or 0.0,
        expected.why,
        proves_nothing=expected.proves_nothing,
    )
    here, beside = DROP_ACROSS[run], DROP_ACROSS[side.back if run is side.feed else side.feed]
    values = read.values
    used: tuple[Point, ...]
    if here in values:
        volts, origin, used = values[here], Origin.READ, (here,)
    elif across is not None and beside in values:
        volts, origin = across - values[beside], Origin.WORKED_OUT
        used = (side.source, side.sink, beside)
    else:
        return drop
    uncertainty = _uncertainty(read, used, expected)
    return _graded(read, side, replace(drop, drop_v=volts, origin=origin, uncertainty=uncertainty))


def _together(read: _StateReadings, side: _Side, across: Volt) -> tuple[RunDrop, RunDrop]:
    """Return feed and return where only what they drop in a row is known."""
    feed, back = (read.expected(DROP_ACROSS[run]) for run in (side.feed, side.back))
    both = RunDrop(
        side.feed,
        (feed.low or 0.0) + (back.low or 0.0),
        (feed.high or 0.0) + (back.high or 0.0),
        feed.why,
        across,
        origin=Origin.TOGETHER,
        partner=side.back,
        uncertainty=_uncertainty(read, (side.source, side.sink), feed),
        proves_nothing=feed.proves_nothing,
    )
    graded = _graded(read, side, both)
    return graded, replace(graded, run=side.back, partner=side.feed, why=back.why)


def _uncertainty(read: _StateReadings, used: tuple[Point, ...], expected: Expectation) -> Volt:
    meter, values = read.installation.meter, read.values
    parts = [standard_uncertainty(meter, point, values[point]) for point in used]
    return COVERAGE * math.hypot(*parts, expected.uncertainty)


def _graded(read: _StateReadings, side: _Side, drop: RunDrop) -> RunDrop:
    judgement = decide(drop.drop_v or 0.0, drop.low, drop.high, drop.uncertainty)
    current = read.values.get(side.current)
    return replace(drop, grade=_grade(read.installation, read.state, drop, judgement, current))


def drop_as_judged(
    verdict: Verdict, installation: Installation, current: Ampere | None
) -> RunDrop | None:
    """Return what a run drops by the verdict on it; None for a verdict on another point.

    Parameters
    ----------
    verdict
        As it stands, in a signed record too: its limits are not worked out anew.
    installation
        What is fitted.
    current : A
        Through the run, if it was read: it tells whether the drop proves anything.
    """
    if verdict.point.run is None:
        return None
    drop = RunDrop(
        verdict.point.run,
        verdict.expected_low or 0.0,
        verdict.expected_high or 0.0,
        verdict.reason,
        verdict.value,
        origin=Origin.READ,
        uncertainty=verdict.uncertainty,
        proves_nothing=verdict.proves_nothing,
    )
    grade = _grade(installation, verdict.state, drop, verdict.verdict, current)
    return replace(drop, grade=grade)


def _grade(
    installation: Installation,
    state: State,
    drop: RunDrop,
    judgement: Judgement,
    current: Ampere | None,
) -> Grade:
    volts = drop.drop_v or 0.0
    side = installation.house_scale if drop.run in HOUSE_SIDE else installation.scale
    if volts > DEAD_V * side:
        return Grade.OPEN
    if judgement is Judgement.OUT_OF_RANGE:
        return Grade.TOO_MUCH if volts > drop.high else Grade.WRONG_WAY
    if _nothing_flows(installation, state, current):
        return Grade.NOTHING_FLOWS
    if drop.proves_nothing:
        return Grade.PROVES_NOTHING
    return Grade.AS_EXPECTED if judgement is Judgement.IN_RANGE else Grade.MARGINAL


def _nothing_flows(installation: Installation, state: State, current: Ampere | None) -> bool:
    """Whether too little flows for a drop to prove anything (a rule of the trade)."""
    if current is None:
        return state is State.REST
    return abs(current) < telling_current(installation.charger.rated_output_current_a)


# Potentials


def _rungs(
    read: _StateReadings, feed: RunDrop, back: RunDrop, house_feed: RunDrop, house_back: RunDrop
) -> Iterator[Rung]:
    values = read.values
    supply = values.get(Point.START_BATTERY_VOLTAGE)
    negative = _alone(back)
    lifted = negative or 0.0
    output = _plus(values.get(Point.CHARGER_OUTPUT_VOLTAGE), lifted)
    house_low = _plus(_alone(house_back), lifted)
    under_house = lifted if house_low is None else house_low
    at_input = _behind(supply, feed, values.get(Point.CHARGER_INPUT_VOLTAGE), lifted)
    at_house = _behind(output, house_feed, values.get(Point.HOUSE_BATTERY_VOLTAGE), under_house)
    yield _rung(read, Post.START_BATTERY_POSITIVE, supply, Point.START_BATTERY_VOLTAGE, 0.0)
    yield _rung_behind(
        read, Post.CHARGER_INPUT, at_input, supply, feed, Point.CHARGER_INPUT_VOLTAGE, lifted
    )
    yield _rung(read, Post.CHARGER_OUTPUT, output, Point.CHARGER_OUTPUT_VOLTAGE, lifted)
    yield _rung_behind(
        read,
        Post.HOUSE_BATTERY_POSITIVE,
        at_house,
        output,
        house_feed,
        Point.HOUSE_BATTERY_VOLTAGE,
        under_house,
    )
    yield Rung(
        Post.HOUSE_BATTERY_NEGATIVE, house_low, lifted + house_back.low, lifted + house_back.high
    )
    yield Rung(Post.CHARGER_NEGATIVE, negative, back.low, back.high)
    yield Rung(Post.START_BATTERY_NEGATIVE, 0.0, 0.0, 0.0)


def _alone(drop: RunDrop) -> Volt | None:
    return None if drop.origin is Origin.TOGETHER else drop.drop_v


def _plus(volts: Volt | None, lifted: Volt) -> Volt | None:
    return None if volts is None else volts + lifted


def _behind(above: Volt | None, drop: RunDrop, read: Volt | None, lifted: Volt) -> Volt | None:
    """Return the potential behind a run: the rung before it less its drop, or as read there."""
    lost = _alone(drop)
    return above - lost if above is not None and lost is not None else _plus(read, lifted)


def _rung(
    read: _StateReadings, post: Post, potential: Volt | None, point: Point, lifted: Volt
) -> Rung:
    expected = read.expected(point)
    return Rung(post, potential, _plus(expected.low, lifted), _plus(expected.high, lifted))


def _rung_behind(
    read: _StateReadings,
    post: Post,
    potential: Volt | None,
    above: Volt | None,
    drop: RunDrop,
    point: Point,
    lifted: Volt,
) -> Rung:
    """A post behind a run: below the rung before it, or where that is not known, as usual."""
    if above is not None:
        return Rung(post, potential, above - drop.high, above - drop.low)
    return _rung(read, post, potential, point, lifted)
