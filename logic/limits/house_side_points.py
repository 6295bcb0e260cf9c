"""What a second unit, a battery monitor and one of several batteries in parallel should show."""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

from logic.circuit.parallel import first_share
from logic.limits import loop_points
from logic.limits.expectation import Expectation
from logic.limits.loop_state import SIGMAS, LoopState, Quantity, telling_current
from logic.limits.second_unit import seen_by_second
from logic.quantities import Ampere
from logic.vehicle.installation import Extra
from logic.vehicle.points import Point, State
from logic.words.figures import ampere_range, amperes, percent
from logic.words.names import other_sources

# The second unit

_SECOND = "second unit: "


def second_unit_input_voltage(loop: LoopState) -> Expectation:
    """As the first one's input, through the second unit's own runs."""
    return _of_second(loop, loop_points.charger_input_voltage)


def second_unit_output_voltage(loop: LoopState) -> Expectation:
    """As the first one's output, through the second unit's own runs."""
    return _of_second(loop, loop_points.charger_output_voltage)


def second_unit_input_current(loop: LoopState) -> Expectation:
    """As the first one's, by the second unit's output and its own input's volts."""
    return _of_second(loop, loop_points.input_current)


def second_unit_output_current(loop: LoopState) -> Expectation:
    """As the first one's: in bulk the rating, whatever the other unit gives beside it."""
    found = _of_second(loop, loop_points.output_current)
    first = loop.read(Point.OUTPUT_CURRENT)
    if not loop.state.engine_runs or first is None or first < _works(loop):
        return found
    return replace(
        found,
        under=f"the first unit gives {amperes(first, read=True)} from the same supply, so look at "
        "the second unit alone: its own fuses, feeds, return and ignition input, then the unit",
    )


def _works(loop: LoopState) -> Ampere:
    return telling_current(loop.sound.charger.rated_output_a)


def _of_second(loop: LoopState, function: Callable[[LoopState], Expectation]) -> Expectation:
    """Ask what the first unit's point should show, with the second unit in its place."""
    if not loop.installation.has(Extra.SECOND_CHARGER):
        return Expectation(why="no second unit is fitted")
    found = function(seen_by_second(loop))
    return replace(found, why=f"{_SECOND}{found.why}")


# What flows into the house battery

# Assumed: of what a monitor shows, beside the clamp's own part.
_SHOWN_A, _SHOWN_SHARE = 0.5, 0.03


def monitor_current(loop: LoopState) -> Expectation:
    """What the units give less what the loads take: all of it has to go through the shunt.

    A lead on the battery's own negative post goes round the shunt, and what flows in it is just
    what the monitor does not show.
    """
    net, is_read = _net(loop)
    if net is None:
        return Expectation(
            why="all that goes in or out of the battery should go through the shunt: read the "
            "output current first, in the same state, to tell"
        )
    reach = SIGMAS * net.spread + _SHOWN_A + _SHOWN_SHARE * abs(net.value)
    sum_words, other = _sum_words(loop), " or ".join(other_sources(loop.installation))
    return Expectation(
        low=net.value - reach,
        high=None if other else net.value + reach,
        why=f"{sum_words} leave {amperes(net.value)} for the battery, and all of it should go "
        f"through the shunt, {ampere_range(net.value - reach, net.value + reach)}"
        + (f"; {other} may add to it" if other else ""),
        uncertainty=net.uncertainty,
        likely=net.value,
        under="{off} of charge does not go through the shunt, or is drawn behind it: look for a "
        "lead on the battery's own negative post, move it to the shunt's other side, and see that "
        "the shunt's two sides are not exchanged",
        over="{off} of load does not go through the shunt: look for a load's lead on the "
        "battery's own negative post, and move it to the shunt's other side",
        proves_nothing="" if is_read else "read the house load current too, in the same state",
    )


def first_parallel_current(loop: LoopState) -> Expectation:
    """The first battery's share of what flows into all of them, by links and take-off."""
    count = loop.installation.house_battery.in_parallel
    net, _ = _net(loop)
    if count is None or net is None:
        return Expectation(
            why="equal batteries in parallel share the current nearly equally: read the output "
            "current first, in the same state, to tell how much is this one's"
        )
    sharing = first_share(loop.installation)
    reach = SIGMAS * net.spread
    low = sharing.low * (net.value - reach) - _SHOWN_A
    high = sharing.high * (net.value + reach) + _SHOWN_A
    battery = "batteries" if count > 1 else "battery"
    return Expectation(
        low=low,
        high=high,
        why=f"of {amperes(net.value)} into {count} {battery} in parallel the first should take "
        f"{percent(sharing.low)} to {percent(sharing.high)}, {ampere_range(low, high)}",
        uncertainty=sharing.likely * net.uncertainty,
        likely=sharing.likely * net.value,
        under="it takes too little: look at its own cable terminals, links and fuse, whether its "
        "own protection is open, and whether it is older or of another kind than the rest",
        over="it takes what another one does not: clamp the others' leads one after the other; "
        "one left out has a loose link, a blown fuse or its own protection open. Otherwise both "
        "leads sit on this battery: move one to the far end",
        proves_nothing="so little current says nothing of how they share: load the batteries "
        "first, and read it again",
        proves_from=sharing.low * _works(loop),
    )


def _net(loop: LoopState) -> tuple[Quantity | None, bool]:
    """Return what flows into the battery, A, and whether the loads in it were read."""
    given = loop.measured(Point.OUTPUT_CURRENT)
    if given is None and loop.state is State.REST:
        given = Quantity(0.0, 0.0, 0.0, False)
    if given is None:
        return None, False
    value, spread, uncertainty = given.value, 0.0, given.uncertainty
    if loop.installation.has(Extra.SECOND_CHARGER):
        beside = loop.beside()
        value, uncertainty = value + beside.value, math.hypot(uncertainty, beside.uncertainty)
        spread = beside.spread
    load = loop.measured(Point.HOUSE_LOAD_CURRENT)
    usual = loop.sound.house.load_a
    if load is None:
        load = Quantity(usual.mean, usual.spread, 0.0, False)
    return (
        Quantity(
            value - load.value,
            math.hypot(spread, load.spread),
            math.hypot(uncertainty, load.uncertainty),
            True,
        ),
        load.is_read,
    )


def _sum_words(loop: LoopState) -> str:
    """Say what was added up: the units' amperes out, and the loads'."""
    given = loop.read(Point.OUTPUT_CURRENT) or 0.0
    load = loop.read(Point.HOUSE_LOAD_CURRENT)
    words = f"{amperes(given, read=True)} out"
    if loop.installation.has(Extra.SECOND_CHARGER):
        words += f" and {amperes(loop.beside().value)} of the second unit"
    if load is None:
        return f"{words}, less usual loads,"
    return f"{words}, less {amperes(load, read=True)} of loads,"


EXPECTED: Mapping[Point, Callable[[LoopState], Expectation]] = {
    Point.SECOND_UNIT_INPUT_VOLTAGE: second_unit_input_voltage,
    Point.SECOND_UNIT_OUTPUT_VOLTAGE: second_unit_output_voltage,
    Point.SECOND_UNIT_INPUT_CURRENT: second_unit_input_current,
    Point.SECOND_UNIT_OUTPUT_CURRENT: second_unit_output_current,
    Point.MONITOR_CURRENT: monitor_current,
    Point.FIRST_PARALLEL_CURRENT: first_parallel_current,
}
"""What each point of this module should show, by point."""
