"""The readings for an answer, those against it, and those that cannot be right.

The evidence of a fit is a chain: each reading's probability given those before it.  Taken in
an order from what is given (rest voltages, supply, currents) to what follows (terminals,
drops), every link says how much that reading favours one hypothesis over another, and what the
other would have shown.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from logic.case import Evidence, Exclusion, FaultId, Reading, ReadingEvidence, Slip, SuspectReading
from logic.diagnosis import wording
from logic.diagnosis.fit import SLIPPING_UNITS, SLIPS, Fit, slip_density, slip_width
from logic.diagnosis.hypotheses import STATE_INDEX
from logic.quantities import Volt
from logic.vehicle.points import Point, ReadingKey, State, Unit

Array = NDArray[np.float64]

# From what is given to what follows from it; any other point comes last.
_ORDER = (
    Point.PROFILE_SETTING_VOLTAGE,
    Point.SUNLIGHT_FRACTION,
    Point.START_BATTERY_VOLTAGE,
    Point.IGNITION_SIGNAL_VOLTAGE,
    Point.HOUSE_LOAD_CURRENT,
    Point.HOUSE_BATTERY_TEMPERATURE,
    Point.CHARGER_CASE_TEMPERATURE,
    Point.OUTPUT_CURRENT,
    Point.INPUT_CURRENT,
    Point.HOUSE_BATTERY_VOLTAGE,
    Point.CHARGER_OUTPUT_VOLTAGE,
    Point.SOLAR_OPEN_CIRCUIT_VOLTAGE,
    Point.SOLAR_CURRENT,
    Point.SOLAR_INPUT_VOLTAGE,
    Point.VEHICLE_FEED_DROP,
    Point.VEHICLE_RETURN_DROP,
    Point.HOUSE_FEED_DROP,
    Point.HOUSE_RETURN_DROP,
    Point.CHARGER_INPUT_VOLTAGE,
)
_RANK = {point: rank for rank, point in enumerate(_ORDER)}
_MOST_FOR, _MOST_AGAINST = 3, 2
# One reading that makes a hypothesis e times likelier is worth a word; the best one for an answer
# is worth it from here on, so that there is something that speaks for it (assumed).
_WORTH_SAYING, _BEST_WORTH_SAYING = 1.0, 0.1
# Less likely than this is called ruled out.
_RULED_OUT = 1e-3
# A reading is good, or suspect, where that is likelier than not.
_GOOD, _SUSPECT = 0.5, 0.5
# Digits kept of what was worked out.
_DECIMALS = 6


@dataclass(frozen=True)
class Link:
    """What one row expected of one reading, given the readings before it."""

    expected: float
    ln_chance: float


def reading_order(readings: Sequence[Reading]) -> list[int]:
    """Return the readings' indices from what is given to what follows."""

    def rank(index: int) -> tuple[int, int, int]:
        reading = readings[index]
        return STATE_INDEX[reading.state], _RANK.get(reading.point, len(_RANK)), index

    return sorted(range(len(readings)), key=rank)


def chain(found: Fit, row: int, readings: Sequence[Reading]) -> dict[int, Link]:
    """Return each reading's link in the chain of one row, by its index.

    The fit is taken as linear around its best point, so each link is a Gaussian update; a
    reading that is likelier spoilt than good updates nothing.
    """
    slope, theta = found.predicted.slope[row], found.theta[row]
    offset = found.predicted.value[row] - slope @ theta
    mean, covariance = found.prior.mean[row].copy(), found.prior.covariance(row)
    links = {}
    for index in reading_order(readings):
        expected = float(slope[index] @ mean + offset[index])
        along = covariance @ slope[index]
        variance = float(slope[index] @ along + found.predicted.noise[row, index] ** 2)
        away = readings[index].value - expected
        chance = -0.5 * (away**2 / variance + np.log(2 * np.pi * variance))
        links[index] = Link(expected, float(chance))
        if found.good[row, index] > _GOOD:
            mean = mean + along * (away / variance)
            covariance = covariance - np.outer(along, along) / variance
    return links


def evidence_of_readings(
    found: Fit,
    row: int,
    rival: int,
    readings: Sequence[Reading],
    at_commissioning: Mapping[ReadingKey, float],
) -> tuple[Evidence, ...]:
    """Return the readings that favour a row most over its rival, then those against it.

    Parameters
    ----------
    found
        The fitted hypotheses.
    row, rival
        The hypothesis, and the one it is held against.
    readings
        The metered readings in the fit's order.
    at_commissioning : the reading's unit
        What was read there on that day.
    """
    ours, theirs = chain(found, row, readings), chain(found, rival, readings)
    worth = {index: ours[index].ln_chance - theirs[index].ln_chance for index in ours}
    good = [index for index in ours if found.good[row, index] > _GOOD]
    best = sorted(good, key=lambda index: -worth[index])
    worst = sorted(good, key=lambda index: worth[index])
    supply_v = {r.state: r.value for r in readings if r.point is Point.START_BATTERY_VOLTAGE}

    def evidence(
        kind: Literal["supports", "against"], index: int, expected: float | None
    ) -> ReadingEvidence:
        reading = readings[index]
        other = within_the_loop(reading, theirs[index].expected, supply_v)
        typed = ReadingEvidence(
            kind=kind,
            point=reading.point,
            state=reading.state,
            value=reading.value,
            expected=_kept_digits(expected),
            rival=found.rows.faults[rival],
            expected_under_rival=_kept_digits(other),
            at_commissioning=at_commissioning.get(reading.key),
        )
        return typed.model_copy(update={"text": wording.evidence_in_words(typed)})

    likely = [
        evidence("supports", index, float(found.predicted.value[row, index]))
        for index in best
        if worth[index] >= _BEST_WORTH_SAYING
    ]
    telling = [one for one in likely if wording.tells_apart(one)]
    worth_saying = sum(worth[index] >= _WORTH_SAYING for index in best)
    against = [
        evidence("against", index, within_the_loop(readings[index], ours[index].expected, supply_v))
        for index in worst
        if worth[index] <= -_WORTH_SAYING
    ]
    unlike = [one for one in against if wording.tells_apart(one)]
    return (*telling[: max(1, min(_MOST_FOR, worth_saying))], *unlike[:_MOST_AGAINST])


def ruled_out(
    marginals: Mapping[FaultId, float], possible: Sequence[FaultId]
) -> tuple[Exclusion, ...]:
    """Return the possible faults that the readings leave no room for, if there are any."""
    gone = sorted(
        (one for one in possible if marginals[one] < _RULED_OUT), key=lambda one: -marginals[one]
    )
    if not gone:
        return ()
    typed = Exclusion(faults=tuple(gone))
    return (typed.model_copy(update={"text": wording.exclusion_in_words(typed)}),)


# What no circuit can show

# No part of the vehicle side stands above the start battery, none under its negative post.
_VEHICLE_SIDE = frozenset(
    {
        Point.VEHICLE_FEED_DROP,
        Point.VEHICLE_RETURN_DROP,
        Point.CHARGER_INPUT_VOLTAGE,
        Point.IGNITION_SIGNAL_VOLTAGE,
    }
)
# Current flows either way through these.
_EITHER_SIGN = frozenset({Point.HOUSE_FEED_DROP, Point.HOUSE_RETURN_DROP})
# Less than this share of the supply, or of an ampere, past a bound is the meter's.
_SLACK = 0.01


def within_the_loop(
    reading: Reading, predicted: float, supply_v: Mapping[State, Volt]
) -> float | None:
    """Return a prediction within what a circuit can show, ``None`` where none could show it.

    The chain's Gaussian is a straight line and may run past what is possible.

    Parameters
    ----------
    reading
        What was read.
    predicted : the reading's unit
        What a hypothesis expected.
    supply_v : V
        The start battery as read, by state.
    """
    least, most = _bounds(reading, supply_v)
    over = _SLACK * max(abs(most), 1.0) if most != math.inf else _SLACK
    if predicted > most + over or predicted < least - over:
        return None
    return min(max(predicted, least), most)


def _bounds(reading: Reading, supply_v: Mapping[State, Volt]) -> tuple[float, float]:
    point = reading.point
    is_panel_voltage = point.unit is Unit.VOLT and point.needs_panel
    is_electrical = point.unit in (Unit.VOLT, Unit.AMPERE)
    if not is_electrical or is_panel_voltage or point in _EITHER_SIGN:
        return -math.inf, math.inf
    # A clamp's zero lets a reading of nothing be a little under it.
    least = min(0.0, reading.value)
    if point in _VEHICLE_SIDE:
        return least, supply_v.get(reading.state, math.inf)
    return least, math.inf


# Readings that cannot be right

# Voltages around a loop add up: total, and its parts.
_LOOPS: tuple[tuple[Point, tuple[Point, ...]], ...] = (
    (
        Point.START_BATTERY_VOLTAGE,
        (Point.VEHICLE_FEED_DROP, Point.CHARGER_INPUT_VOLTAGE, Point.VEHICLE_RETURN_DROP),
    ),
    (
        Point.CHARGER_OUTPUT_VOLTAGE,
        (Point.HOUSE_FEED_DROP, Point.HOUSE_BATTERY_VOLTAGE, Point.HOUSE_RETURN_DROP),
    ),
)


def suspect_readings(
    found: Fit, weight: Array, readings: Sequence[Reading]
) -> tuple[SuspectReading, ...]:
    """Return the readings to take again, with the reason.

    Parameters
    ----------
    found
        The fitted hypotheses.
    weight : 1
        ``[h]``, their probabilities.
    readings
        The metered readings in the fit's order.
    """
    if not readings:
        return ()
    spoilt = weight @ (1 - found.good)
    best = int(np.argmax(weight))
    values = {r.key: r.value for r in readings}
    return tuple(
        _doubt(
            reading,
            float(found.predicted.value[best, index]),
            float(found.predicted.noise[best, index]),
            values,
        )
        for index, reading in enumerate(readings)
        if spoilt[index] > _SUSPECT
    )


def _doubt(
    reading: Reading, predicted: float, spread: float, values: Mapping[ReadingKey, float]
) -> SuspectReading:
    typed = SuspectReading(
        point=reading.point,
        state=reading.state,
        reason="",
        value=reading.value,
        expected=_kept_digits(predicted),
        slip=_slip(reading, predicted, spread),
        loop_gap_v=_kept_digits(_loop_gap(reading, values)),
    )
    return typed.model_copy(update={"reason": wording.doubt_in_words(typed)})


def _slip(reading: Reading, predicted: float, spread: float) -> Slip | None:
    """Return the usual slip that explains a value, if one does."""
    unit, value = reading.point.unit, reading.value
    if unit not in SLIPPING_UNITS:
        return None
    arrays = np.array(value), np.array(predicted), np.array(spread)
    likely = {
        slip: share * float(slip_density(*arrays, factor))
        for slip, (factor, share) in SLIPS.items()
    }
    best = max(likely, key=lambda slip: likely[slip])
    factor, _ = SLIPS[best]
    if abs(value - factor * predicted) <= 3 * slip_width(*arrays[1:], factor):
        return best
    return "wrong_post" if unit is Unit.VOLT else None


def _loop_gap(reading: Reading, values: Mapping[ReadingKey, float]) -> Volt | None:
    """Return by how much the loop of a reading misses adding up, where all of it was read."""
    for total, parts in _LOOPS:
        if reading.point is not total and reading.point not in parts:
            continue
        around = [values.get(ReadingKey(point, reading.state)) for point in (total, *parts)]
        read = [value for value in around if value is not None]
        if len(read) == len(around):
            return read[0] - sum(read[1:])
    return None


def _kept_digits(value: float | None) -> float | None:
    return None if value is None else round(value, _DECIMALS)
