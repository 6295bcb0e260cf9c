"""A lithium battery too cold to be charged: charge must be refused, and what is seen then."""

from logic.circuit import tables
from logic.limits.expectation import Expectation
from logic.limits.loop_state import LoopState
from logic.quantities import Celsius
from logic.vehicle.installation import Chemistry
from logic.vehicle.points import Point, State
from logic.words.figures import amperes, as_read, as_stated

_STANDING_A = 1.0  # assumed: as near to nothing as a clamp with a zero error can tell


def thermometer(loop: LoopState) -> Celsius | None:
    """Temperature read on the house battery's case, in this state or an earlier one.

    Returns
    -------
    °C
    """
    states = (loop.state, State.IDLE, State.REST, State.FAST_IDLE, State.SOLAR)
    read = (loop.read(Point.HOUSE_BATTERY_TEMPERATURE, state) for state in states)
    return next((one for one in read if one is not None), None)


def refused_for_cold(loop: LoopState) -> Expectation | None:
    """What should flow into a lithium battery that is too cold to be charged; None where it is not.

    Its own protection or the unit refuses; what still flows goes to the loads.
    """
    battery, case = loop.installation.house_battery, thermometer(loop)
    if battery.chemistry is not Chemistry.LIFEPO4 or case is None:
        return None
    least = battery.min_charge_temperature_c
    if least is None:
        least = tables.number("batteries", "charging.lithium_lowest_c")
    if case > least - tables.number("functions", "sensor.refusal_margin"):
        return None
    load = loop.measured(Point.HOUSE_LOAD_CURRENT)
    fed = max(load.value, 0.0) if load else 0.0
    return Expectation(
        low=-_STANDING_A,
        high=fed + _STANDING_A,
        why=f"at {as_read(Point.HOUSE_BATTERY_TEMPERATURE, case)} a lithium battery must be "
        f"refused charge (under {as_stated(least, '°C')} it is damaged for good): no more than "
        f"the loads' {amperes(fed)} should flow, and the unit shows absorption voltage or nothing",
        uncertainty=load.uncertainty if load else 0.0,
        over="stop the engine and take the house fuse out: nothing refuses. Find out which device "
        "should, and warm the battery before it is charged",
    )
