"""Evidence in words: what each reading adds for a finding and against its rival.

The evidence of a fit is a chain: each reading's probability given those before it.  Taken in
an order from what is given (rest voltages, supply, currents) to what follows (terminals,
drops), every link says how much that reading speaks for one hypothesis over another, and what
the other would have shown.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId, Reading
from logic.diagnosis.catalogue import fault
from logic.diagnosis.inference import Fit
from logic.diagnosis.loop_limits import loop_limits
from logic.diagnosis.readout import Place
from logic.vehicle.points import Point, State
from logic.words.figures import as_read, worked_out
from logic.words.names import reading_name

Array = NDArray[np.float64]

# From what is given to what follows from it.
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
_MOST = 3
_MOST_AGAINST = 2
# One reading that makes a hypothesis e times likelier is worth a word.
_WORTH = 1.0
# Less likely than this is called ruled out.
_GONE = 1e-3
# How many of those are named, the likeliest first.
_NAMED = 6


@dataclass(frozen=True)
class Link:
    """What one row expected of one reading, given the readings before it."""

    expected: float
    spread: float
    ln_chance: float


def reading_order(readings: Sequence[Reading]) -> list[int]:
    """Return the readings' places from what is given to what follows."""
    states = list(State)
    return sorted(
        range(len(readings)),
        key=lambda place: (
            states.index(readings[place].state),
            _RANK.get(readings[place].point, len(_RANK)),
            place,
        ),
    )


def chain(found: Fit, row: int, values: Array, order: Sequence[int]) -> dict[int, Link]:
    """Return each good reading's link in the chain of one row, by its place.

    The fit is taken as linear around its best point, so each link is a Gaussian update.
    """
    slope, theta = found.shown.slope[row], found.theta[row]
    offset = found.shown.value[row] - slope @ theta
    mean, covariance = found.prior.mean[row].copy(), np.linalg.inv(found.prior.precision[row])
    links = {}
    for place in order:
        expected = float(slope[place] @ mean + offset[place])
        along = covariance @ slope[place]
        variance = float(slope[place] @ along + found.shown.noise[row, place] ** 2)
        away = values[place] - expected
        chance = -0.5 * (away**2 / variance + np.log(2 * np.pi * variance))
        links[place] = Link(expected, variance**0.5, float(chance))
        if found.good[row, place] > 0.5:
            mean = mean + along * (away / variance)
            covariance = covariance - np.outer(along, along) / variance
    return links


def evidence(
    found: Fit,
    rows: tuple[int, int],
    readings: Sequence[Reading],
    values: Array,
    then: Mapping[Place, float],
) -> tuple[str, ...]:
    """Return the readings that speak most for a row against its rival, then those against it.

    Lines of the second kind begin with ``Against: ``.

    Parameters
    ----------
    found
        The fitted hypotheses.
    rows
        The row, and its rival.
    readings, values
        The metered readings in the fit's order, and their values.
    then
        What was read at the same places at commissioning.
    """
    row, rival = rows
    order = reading_order(readings)
    ours, theirs = chain(found, row, values, order), chain(found, rival, values, order)
    worth = {place: ours[place].ln_chance - theirs[place].ln_chance for place in order}
    good = [place for place in order if found.good[row, place] > 0.5]
    best = sorted(good, key=lambda place: -worth[place])[:_MOST]
    other = named(found.rows.faults[rival])
    limits = loop_limits(readings)
    said = []
    for place in best:
        if worth[place] >= _WORTH:
            fitted = float(found.shown.value[row, place])
            would = limits.held(readings[place], theirs[place].expected)
            said.append(_sentence(readings[place], fitted, (would, other), then))
    contrary = sorted(good, key=lambda place: worth[place])[:_MOST_AGAINST]
    for place in contrary:
        if worth[place] <= -_WORTH:
            would = limits.held(readings[place], ours[place].expected)
            said.append(_against(readings[place], would, other))
    return tuple(said)


def _sentence(
    reading: Reading,
    fitted: float,
    rival: tuple[float | None, str],
    then: Mapping[Place, float],
) -> str:
    point = reading.point
    said = f"{reading_name(point, reading.state)}: {as_read(point, reading.value)}"
    would, other = rival
    before = then.get((point, reading.state))
    once = "" if before is None else f" At commissioning it read {as_read(point, before)}."
    fits = f"fits this answer (about {worked_out(point, fitted)})"
    if would is None:
        return f"{said} {fits}; “{other}” hardly explains it.{once}"
    return f"{said} {fits}; with “{other}” it would be about {worked_out(point, would)}.{once}"


def _against(reading: Reading, would: float | None, other: str) -> str:
    point, name = reading.point, reading_name(reading.point, reading.state)
    expected = "" if would is None else f" instead of about {worked_out(point, would)}"
    return f"Against: {name}: {as_read(point, reading.value)}{expected} suits “{other}” better."


def named(faults: Sequence[FaultId]) -> str:
    """Return a finding's title or titles."""
    return " and ".join(fault(one).title for one in faults)


def ruled_out(marginals: dict[FaultId, float], possible: Sequence[FaultId]) -> tuple[str, ...]:
    """Say what the readings leave no room for."""
    gone = [one for one in possible if marginals[one] < _GONE]
    if not gone:
        return ()
    nearest = sorted(gone, key=lambda one: -marginals[one])[:_NAMED]
    titles = [fault(one).title for one in nearest]
    said = "; ".join(title[0].lower() + title[1:] for title in titles)
    more = len(gone) - len(nearest)
    return (f"Ruled out: {said}{f'; and {more} more' if more else ''}.",)
