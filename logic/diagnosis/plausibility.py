"""Readings that cannot be right, and why: the loop does not add up, or no fault explains them."""

import numpy as np
from numpy.typing import NDArray

from logic.case import Reading, SuspectReading
from logic.diagnosis.inference import Fit
from logic.diagnosis.spoilt import SLIPS, slip_density
from logic.vehicle.points import Point, State
from logic.words.figures import as_read, drop_volts, worked_out
from logic.words.names import reading_name

Array = NDArray[np.float64]

# More likely spoilt than not.
_SUSPECT = 0.5

# Voltages around a loop add up: total, and its parts.
LOOPS: tuple[tuple[Point, tuple[Point, ...]], ...] = (
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
    found: Fit, weight: Array, readings: tuple[Reading, ...]
) -> tuple[SuspectReading, ...]:
    """Return the readings to take again, with the reason.

    Parameters
    ----------
    found
        The fitted hypotheses.
    weight : 1
        Their probabilities.
    readings
        The metered readings in the fit's order.
    """
    if not readings:
        return ()
    spoilt = weight @ (1 - found.good)
    best = int(np.argmax(weight))
    others = {(r.point, r.state): r.value for r in readings}
    return tuple(
        SuspectReading(
            point=reading.point,
            state=reading.state,
            reason=_reason(reading, found, best, place, others),
        )
        for place, reading in enumerate(readings)
        if spoilt[place] > _SUSPECT
    )


def _reason(
    reading: Reading,
    found: Fit,
    best: int,
    place: int,
    others: dict[tuple[Point, State], float],
) -> str:
    predicted = float(found.shown.value[best, place])
    spread = float(found.shown.noise[best, place])
    name, unit = reading_name(reading.point, reading.state), reading.point.unit
    should = f"the other readings say about {worked_out(reading.point, predicted)}"
    parts = [f"{name}: {as_read(reading.point, reading.value)} read, but {should}"]
    slip = _slip(reading.value, predicted, spread, unit)
    if slip:
        parts.append(slip)
    loop = _loop(reading, others)
    if loop:
        parts.append(loop)
    return ": ".join(parts[:2]) + "".join(f"; {part}" for part in parts[2:]) + ". Take it again."


def _slip(value: float, predicted: float, spread: float, unit: str) -> str:
    """Say which usual slip explains the value, if one does."""
    if unit not in ("V", "A"):
        return ""
    densities = [
        share * float(slip_density(np.array(value), np.array(predicted), np.array(spread), factor))
        for factor, share, _ in SLIPS
    ]
    best = int(np.argmax(densities))
    factor, _, words = SLIPS[best]
    near = abs(value - factor * predicted) <= 3 * abs(factor) * np.hypot(
        2 * spread, 0.04 * predicted
    )
    if not near:
        return "a wrong post, perhaps" if unit == "V" else ""
    return words.replace("volts", "amperes") if unit == "A" else words


def _loop(reading: Reading, values: dict[tuple[Point, State], float]) -> str:
    """Say how far the loop is from adding up, where all of it was read."""
    for total, parts in LOOPS:
        if reading.point is not total and reading.point not in parts:
            continue
        wanted = [(point, reading.state) for point in (total, *parts)]
        if all(place in values for place in wanted):
            gap = values[wanted[0]] - sum(values[place] for place in wanted[1:])
            return f"the voltages around the loop miss by {drop_volts(abs(gap))}"
    return ""
