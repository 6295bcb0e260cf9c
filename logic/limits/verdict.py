"""A reading held against its limits: in range, marginal, out of range, and why in one sentence.

The decision rule is ILAC-G8's guard band of one expanded uncertainty on both sides of a limit:
in range only where the reading stays inside by that much, out of range only where it is
outside by that much; between, the meter cannot tell, and the verdict says so.
"""

import math
from collections.abc import Sequence

from logic.case import Judgement, Reading, Verdict
from logic.limits.expectation import Expectation, expectation
from logic.vehicle.installation import Installation
from logic.vehicle.meter import COVERAGE, comparison_uncertainty, standard_uncertainty
from logic.words import figures


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
    uncertainty = COVERAGE * math.hypot(_own(installation, reading, expected), expected.inherited)
    limits = (expected.low, expected.high)
    judgement = decide(reading.value, limits, uncertainty)
    return Verdict(
        point=reading.point,
        state=reading.state,
        value=reading.value,
        expected_low=expected.low,
        expected_high=expected.high,
        uncertainty=uncertainty,
        verdict=judgement,
        reason=_reason(reading, expected, uncertainty, judgement),
    )


def judge_all(
    installation: Installation, readings: Sequence[Reading], baseline: Sequence[Reading] = ()
) -> tuple[Verdict, ...]:
    """Judge every reading, in their order."""
    return tuple(judge(installation, readings, reading, baseline) for reading in readings)


def decide(
    value: float, limits: tuple[float | None, float | None], uncertainty: float
) -> Judgement:
    """Apply the decision rule.

    Parameters
    ----------
    value
        As read.
    limits
        Lowest and highest that is right; ``None`` where there is no such limit.
    uncertainty
        Expanded uncertainty, in the value's unit; the guard band's width.

    References
    ----------
    ILAC-G8:09/2019, 4.2.2: pass up to TL - w, conditional to TL + w (here one word,
    marginal), fail beyond, with w = U.
    """
    low, high = limits
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
            sentence += f"; {hint}"
    return f"{sentence}."
