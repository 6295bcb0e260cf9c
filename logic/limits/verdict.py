"""A reading held against what it should be: in range, marginal, out of range, and why.

Each point has a function that says what it should show; a point without one has no limit.

The decision rule is ILAC-G8's guard band of one expanded uncertainty on both sides of a limit:
in range only where the reading stays inside by that much, out of range only where it is
outside by that much; between, the meter cannot tell, and the verdict says so.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from logic.case import Judgement, Reading, Verdict
from logic.limits import (
    function_points,
    house_side_points,
    loop_points,
    panel_points,
    temperatures_and_lamps,
)
from logic.limits.expectation import Expectation
from logic.limits.loop_state import LoopState
from logic.vehicle.installation import Installation
from logic.vehicle.meter import COVERAGE, comparison_uncertainty, standard_uncertainty
from logic.vehicle.points import Point, ReadingKey, State
from logic.words import figures

EXPECTED: Mapping[Point, Callable[[LoopState], Expectation]] = {
    **loop_points.EXPECTED,
    **house_side_points.EXPECTED,
    **panel_points.EXPECTED,
    **temperatures_and_lamps.EXPECTED,
    **function_points.EXPECTED,
}
"""What each point should show; a point that is not here has no limit."""


def expectation(
    installation: Installation,
    readings: Sequence[Reading],
    point: Point,
    state: State,
    baseline: Sequence[Reading] = (),
) -> Expectation:
    """Return what a point should show in a state.

    Parameters
    ----------
    installation
        What is fitted; what is not known widens the limits.
    readings
        Already taken; one at this very point and state is left out.
    point
        Where the meter is.
    state
        What the vehicle is doing.
    baseline
        The commissioning readings: a run's resistance on that day replaces the reckoned one.
    """
    function = EXPECTED.get(point)
    if function is None:
        return Expectation(why="what it should be is not known")
    found = function(LoopState.of(installation, readings, baseline, ReadingKey(point, state)))
    if found.low is None or found.high is None or found.low <= found.high:
        return found
    # Readings that contradict each other turned the band inside out.
    return replace(found, low=found.high, high=found.low)


def judge(
    installation: Installation,
    readings: Sequence[Reading],
    reading: Reading,
    baseline: Sequence[Reading] = (),
) -> Verdict:
    """Judge one reading in the light of the others.

    Parameters
    ----------
    installation
        What is fitted.
    readings
        All readings so far; those at the judged point and state are left out of the reckoning.
    reading
        The one to judge; it need not be among ``readings``.
    baseline
        The commissioning readings, if there are any.

    Returns
    -------
    Verdict
        Its ``uncertainty`` is that of the comparison, expanded (k = 2): the meter's part of the
        reading and of the readings that its limits were worked out from. Where both were taken
        with the same meter, its gain error cancels.
    """
    expected = expectation(installation, readings, reading.point, reading.state, baseline)
    expected = expected.of_value(reading.value)
    uncertainty = COVERAGE * math.hypot(_own(installation, reading, expected), expected.uncertainty)
    judgement = decide(reading.value, expected.low, expected.high, uncertainty)
    return Verdict(
        point=reading.point,
        state=reading.state,
        value=reading.value,
        expected_low=expected.low,
        expected_high=expected.high,
        uncertainty=uncertainty,
        verdict=judgement,
        reason=_reason(reading, expected, uncertainty, judgement),
        proves_nothing=_proves_nothing(reading, expected, judgement),
    )


def judge_all(
    installation: Installation, readings: Sequence[Reading], baseline: Sequence[Reading] = ()
) -> tuple[Verdict, ...]:
    """Judge every reading, in their order."""
    return tuple(judge(installation, readings, reading, baseline) for reading in readings)


def decide(value: float, low: float | None, high: float | None, uncertainty: float) -> Judgement:
    """Apply the decision rule.

    Parameters
    ----------
    value : unit of the point
        As read.
    low, high : unit of the point
        Lowest and highest that is right; ``None`` where there is no such limit.
    uncertainty : unit of the point
        Expanded; the guard band's width.

    References
    ----------
    ILAC-G8:09/2019, 4.2.2: pass up to TL - w, conditional to TL + w (here one word,
    marginal), fail beyond, with w = U.
    """
    if low is None and high is None:
        return Judgement.NO_LIMIT
    inside = min(
        math.inf if low is None else value - low, math.inf if high is None else high - value
    )
    if inside < -uncertainty:
        return Judgement.OUT_OF_RANGE
    return Judgement.IN_RANGE if inside >= uncertainty else Judgement.MARGINAL


def _own(installation: Installation, reading: Reading, expected: Expectation) -> float:
    meter, point = installation.meter, reading.point
    if expected.reference is None:
        return standard_uncertainty(meter, point, reading.value)
    return comparison_uncertainty(meter, point, reading.value, expected.reference)


def _proves_nothing(reading: Reading, expected: Expectation, judgement: Judgement) -> str:
    is_right = judgement in (Judgement.IN_RANGE, Judgement.MARGINAL)
    return expected.proves_nothing if is_right and reading.value < expected.proves_from else ""


def _reason(
    reading: Reading, expected: Expectation, uncertainty: float, judgement: Judgement
) -> str:
    shown = figures.as_read(reading.point, reading.value)
    if expected.current_a is not None:
        ohms = reading.value / expected.current_a
        current = figures.amperes(expected.current_a, read=True)
        shown += f" lost at {current} is {figures.milliohms(ohms)}"
    sentence = f"{shown}; {expected.why}"
    if judgement is Judgement.MARGINAL:
        width = figures.uncertainty(reading.point, uncertainty)
        sentence += f"; too close to the limit to tell, for the meter may be out by {width}"
    if judgement is Judgement.OUT_OF_RANGE:
        is_under = expected.low is not None and reading.value < expected.low
        if hint := expected.under if is_under else expected.over:
            sentence += f"; {_with_difference(hint, reading, expected)}"
    return f"{sentence}."


def _with_difference(hint: str, reading: Reading, expected: Expectation) -> str:
    """Put into a hint how far the value is from what it most likely should be."""
    if expected.likely is None:
        return hint
    off = figures.short(reading.point, abs(reading.value - expected.likely))
    return hint.replace("{off}", off)
