"""Two units in one state: each seen from the other's place, and what they do to each other.

The second unit's limits are the first one's functions, asked with the two in each other's place.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from logic.circuit.second_unit import as_second_unit
from logic.circuit.sound_installation import sound_installation
from logic.circuit.two_units import ring_current
from logic.limits.loop_state import Flow, LoopState
from logic.quantities import Ampere, Ohm
from logic.vehicle.installation import Extra
from logic.vehicle.points import Point, ReadingKey, Run

_IN_ITS_PLACE = {
    Point.CHARGER_INPUT_VOLTAGE: Point.SECOND_UNIT_INPUT_VOLTAGE,
    Point.CHARGER_OUTPUT_VOLTAGE: Point.SECOND_UNIT_OUTPUT_VOLTAGE,
    Point.INPUT_CURRENT: Point.SECOND_UNIT_INPUT_CURRENT,
    Point.OUTPUT_CURRENT: Point.SECOND_UNIT_OUTPUT_CURRENT,
}
_CHANGED = _IN_ITS_PLACE | {there: here for here, there in _IN_ITS_PLACE.items()}
# What both units have in common.
_SHARED = (
    Point.START_BATTERY_VOLTAGE,
    Point.HOUSE_BATTERY_VOLTAGE,
    Point.HOUSE_LOAD_CURRENT,
    Point.HOUSE_BATTERY_TEMPERATURE,
)
# Assumed: share of a return's current that may go another way where two sound ways are alike.
_UNALIKE = 0.2


def seen_by_second(loop: LoopState) -> LoopState:
    """Return a state as the second unit sees it: its own readings stand for the first one's."""
    fitted = as_second_unit(loop.installation)
    return replace(
        loop,
        installation=fitted,
        sound=sound_installation(fitted),
        readings=_exchanged(loop.readings),
        baseline=_exchanged(loop.baseline),
    )


def _exchanged(readings: Mapping[ReadingKey, float]) -> dict[ReadingKey, float]:
    return {
        ReadingKey(_CHANGED.get(key.point, key.point), key.state): value
        for key, value in readings.items()
        if key.point in _CHANGED or key.point in _SHARED
    }


class RoundTheOther(NamedTuple):
    """The second unit's current through the first one's returns; negative the other way."""

    low: Ampere
    high: Ampere


def round_the_other(loop: LoopState) -> RoundTheOther:
    """Return what of the second unit's current may go round by the first one's returns.

    The returns of both, from the house battery's negative by either unit's negative to the start
    battery's, make a ring. A clamp on a feed does not see it.

    Returns
    -------
    A
        Nothing where one unit is fitted.
    """
    if not loop.installation.has(Extra.SECOND_CHARGER):
        return RoundTheOther(0.0, 0.0)
    other = seen_by_second(loop)
    ohms, other_ohms = _returns(loop), _returns(other)
    least, most = _flows(loop)
    other_least, other_most = _flows(other)
    low = ring_current(most, ohms, other_least, other_ohms)
    high = ring_current(least, ohms, other_most, other_ohms)
    reach = _UNALIKE * max(*most, *other_most)
    return RoundTheOther(low - reach, high + reach)


def _flows(loop: LoopState) -> tuple[tuple[Ampere, Ampere], tuple[Ampere, Ampere]]:
    """Return the least and the most that a unit may draw and give, A."""
    drawn, given = loop.flow(Run.VEHICLE_FEED), loop.flow(Run.HOUSE_FEED)
    low = max(drawn.low, 0.0), max(given.low, 0.0)
    return low, (max(drawn.high, 0.0), max(given.high, 0.0))


def _returns(loop: LoopState) -> tuple[Ohm, Ohm]:
    ways = (loop.run_resistance(run).likely for run in (Run.VEHICLE_RETURN, Run.HOUSE_RETURN))
    back, house_back = ways
    return back, house_back


def through(loop: LoopState, run: Run) -> Flow:
    """Return what flows through a run, a second unit's share of a return included.

    Parameters
    ----------
    loop
        The state.
    run
        Of the first unit.

    Returns
    -------
    A
    """
    flow = loop.flow(run)
    if run not in (Run.VEHICLE_RETURN, Run.HOUSE_RETURN):
        return flow
    round_a = round_the_other(loop)
    return flow._replace(low=flow.low + round_a.low, high=flow.high + round_a.high)
