"""A lithium battery too cold to be charged: charge must be refused, and what is seen then."""

from logic.circuit import tables
from logic.limits.expectation import Expectation
from logic.limits.loop_state import SIGMAS, LoopState
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
    battery = loop.installation.house_battery
    case = thermometer(loop) if battery.chemistry is Chemistry.LIFEPO4 else None
    if case is None:
        return None
    least = battery.min_charge_temperature_c
    if least is None:
        least = tables.number("batteries", "charging.lithium_lowest_c")
    if case > least - tables.number("functions", "sensor.refusal_margin"):
        return None
    load, usual = loop.measured(Point.HOUSE_LOAD_CURRENT), loop.sound.house.load_a
    fed = max(load.value, 0.0) if load else usual.mean + SIGMAS * usual.spread
    loads = f"the {amperes(fed, read=True)} of the loads" if load else "what the loads take"
    return Expectation(
        low=-_STANDING_A,
        high=fed + _STANDING_A,
        why=f"at {as_read(Point.HOUSE_BATTERY_TEMPERATURE, case)} a lithium battery must be "
        f"refused charge (under {as_stated(least, '°C')} it is damaged for good): no more than "
        f"{loads} should flow, and the unit shows absorption voltage or nothing",
        uncertainty=load.uncertainty if load else 0.0,
        over="a heater of its own may draw some of it, its papers say; else nothing refuses: "
        "switch the vehicle off, take the house fuse out, and find out which device should",
    )
