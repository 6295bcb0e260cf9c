"""What each run of the loop drops in one state of the vehicle, against what it should.

A drop is read with the meter across the run, or worked out from the loop (voltages around it
add up), or known only for feed and return together. What it should be is
:mod:`logic.limits.expectation`'s business.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from logic.case import Judgement, Reading
from logic.limits.expectation import Expectation, expectation
from logic.limits.verdict import decide
from logic.quantities import Ampere, Volt
from logic.vehicle.assumed import DEAD_V, telling_current
from logic.vehicle.installation import Installation
from logic.vehicle.meter import COVERAGE, standard_uncertainty
from logic.vehicle.points import DROP_ACROSS, Point, Run, State


class Grade(StrEnum):
    """A run by what it drops against what it should."""

    NOT_READ = "not_read"
    NOTHING_FLOWS = "nothing_flows"
    AS_EXPECTED = "as_expected"
    MARGINAL = "marginal"
    TOO_MUCH = "too_much"
    OPEN = "open"
    WRONG_WAY = "wrong_way"


class Origin(StrEnum):
    """Where a step's volts come from."""

    NONE = "none"
    READ = "read"
    WORKED_OUT = "worked_out"
    TOGETHER = "together"


@dataclass(frozen=True)
class Step:
    """The step across one run; ``low`` and ``high`` are what it should be now.

    With ``origin`` together, volts and limits are those of ``run`` and ``partner`` in a row.
    ``share`` is the drop over the most it should be.
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

    @property
    def share(self) -> float | None:
        """How many times the most it should be, None where it was not read."""
        if self.drop_v is None:
            return None
        return max(self.drop_v, 0.0) / max(self.high, 1e-3)


Values = Mapping[Point, float]


@dataclass(frozen=True)
class Side:
    """One side of the charger: source = feed + sink + return, in volts."""

    feed: Run
    back: Run
    source: Point
    sink: Point
    current: Point


VEHICLE = Side(
    Run.VEHICLE_FEED,
    Run.VEHICLE_RETURN,
    Point.START_BATTERY_VOLTAGE,
    Point.CHARGER_INPUT_VOLTAGE,
    Point.INPUT_CURRENT,
)
HOUSE = Side(
    Run.HOUSE_FEED,
    Run.HOUSE_RETURN,
    Point.CHARGER_OUTPUT_VOLTAGE,
    Point.HOUSE_BATTERY_VOLTAGE,
    Point.OUTPUT_CURRENT,
)


@dataclass(frozen=True)
class Looking:
    """The readings of one state, and what they should be."""

    installation: Installation
    readings: tuple[Reading, ...]
    state: State
    baseline: tuple[Reading, ...]

    @property
    def values(self) -> Values:
        """What was read in this state, by point."""
        return {r.point: r.value for r in self.readings if r.state is self.state}

    def expected(self, point: Point) -> Expectation:
        """Return what a point should show."""
        return expectation(self.installation, self.readings, point, self.state, self.baseline)

    def steps(self, side: Side) -> tuple[Step, Step]:
        """Return the steps of a side's feed and return."""
        feed, back = self._blank(side.feed), self._blank(side.back)
        values = self.values
        read = {run: values.get(DROP_ACROSS[run]) for run in (side.feed, side.back)}
        across = self._across(side)
        if read[side.feed] is None and read[side.back] is None and across is not None:
            return self._together(side, feed, back, across)
        return (
            self._step(side, feed, read[side.feed], across, read[side.back]),
            self._step(side, back, read[side.back], across, read[side.feed]),
        )

    def _across(self, side: Side) -> Volt | None:
        source, sink = self.values.get(side.source), self.values.get(side.sink)
        return None if source is None or sink is None else source - sink

    def _blank(self, run: Run) -> Step:
        expected = self.expected(DROP_ACROSS[run])
        return Step(run, expected.low or 0.0, expected.high or 0.0, expected.why)

    def _step(
        self,
        side: Side,
        blank: Step,
        read: Volt | None,
        across: Volt | None,
        other: Volt | None,
    ) -> Step:
        if read is not None:
            uncertainty = self._uncertainty(blank.run, (DROP_ACROSS[blank.run],))
            found = replace(blank, drop_v=read, origin=Origin.READ, uncertainty=uncertainty)
        elif across is not None and other is not None:
            partner = side.back if blank.run is side.feed else side.feed
            used = (side.source, side.sink, DROP_ACROSS[partner])
            uncertainty = self._uncertainty(blank.run, used)
            worked, origin = across - other, Origin.WORKED_OUT
            found = replace(blank, drop_v=worked, origin=origin, uncertainty=uncertainty)
        else:
            return blank
        return self._graded(found, side)

    def _together(self, side: Side, feed: Step, back: Step, across: Volt) -> tuple[Step, Step]:
        uncertainty = self._uncertainty(side.feed, (side.source, side.sink))
        both = replace(
            feed,
            low=feed.low + back.low,
            high=feed.high + back.high,
            drop_v=across,
            origin=Origin.TOGETHER,
            uncertainty=uncertainty,
        )
        graded = self._graded(both, side)
        mirrored = replace(graded, run=side.back, partner=side.feed, why=back.why)
        return replace(graded, partner=side.back), mirrored

    def _uncertainty(self, run: Run, used: tuple[Point, ...]) -> Volt:
        meter, values = self.installation.meter, self.values
        parts = [standard_uncertainty(meter, point, values[point]) for point in used]
        return COVERAGE * math.hypot(*parts, self.expected(DROP_ACROSS[run]).inherited)

    def _graded(self, step: Step, side: Side) -> Step:
        return replace(step, grade=self._grade(step, side))

    def _grade(self, step: Step, side: Side) -> Grade:
        drop = step.drop_v or 0.0
        if drop > DEAD_V * self.installation.scale:
            return Grade.OPEN
        judgement = decide(drop, (step.low, step.high), step.uncertainty)
        if judgement is Judgement.OUT_OF_RANGE:
            return Grade.TOO_MUCH if drop > step.high else Grade.WRONG_WAY
        if self._nothing_flows(side):
            return Grade.NOTHING_FLOWS
        return Grade.AS_EXPECTED if judgement is Judgement.IN_RANGE else Grade.MARGINAL

    def _nothing_flows(self, side: Side) -> bool:
        """Whether too little flows for a drop to prove anything (a rule of the trade)."""
        current: Ampere | None = self.values.get(side.current)
        if current is None:
            return self.state is State.REST
        return abs(current) < telling_current(self.installation.charger.rated_output_current_a)
