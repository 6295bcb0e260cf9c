"""What temperatures and lamps should be."""

import math
from collections.abc import Callable, Mapping

from logic.circuit import tables
from logic.limits.cold_battery import refused_for_cold
from logic.limits.expectation import Expectation
from logic.limits.loop_state import SIGMAS, LoopState
from logic.vehicle.installation import Chemistry
from logic.vehicle.points import Point, State
from logic.words.figures import as_stated, degrees

_TOO_DULL = 0.2  # assumed: share of full sun under which a unit may not charge
_COOLER_C = 3.0  # assumed: how far under the air a case may be read
_SOAKED_C = 15.0  # assumed: what sun or a warm engine leaves in a case that is off
_AWAY_FROM_AIR_C = 15.0  # assumed: how far a battery may be from the air around it


def charger_case_temperature(loop: LoopState) -> Expectation:
    """Over the air outside by what it turns to heat, and under where units cut back."""
    air, rise = loop.sound.ambient_c, loop.sound.charger.case_rise_c
    low = air.mean - SIGMAS * air.spread - _COOLER_C
    if loop.state is State.REST:
        high = air.mean + SIGMAS * air.spread + _SOAKED_C
        why = f"off, its case should be near {_the_air(loop)}, under {degrees(high)}"
        return Expectation(low=low, high=high, why=why)
    high = air.mean + rise.mean + SIGMAS * math.hypot(air.spread, rise.spread)
    why = f"working, its case should stay under {degrees(high)} here"
    derates = tables.number("charger", "temperature.derating")
    if derates < high:
        high = derates
        why = f"units commonly begin to cut back at {degrees(derates)} (assumed)"
    return Expectation(low=low, high=high, why=why, over="give it air, or a cooler location")


def _the_air(loop: LoopState) -> str:
    """Name the air's temperature, as a fact only where somebody gave it."""
    given = loop.installation.ambient_c
    if given is not None:
        return f"the {degrees(given)} of the air"
    return f"the air around it (not given; taken as {degrees(loop.sound.ambient_c.mean)})"


def house_battery_temperature(loop: LoopState) -> Expectation:
    """Near the air around it, and where charging does no harm."""
    battery, air = loop.installation.house_battery, loop.sound.ambient_c
    reach = SIGMAS * air.spread + _AWAY_FROM_AIR_C
    low, high = air.mean - reach, air.mean + reach
    why, harmful = f"near {_the_air(loop)}", []
    least = battery.min_charge_temperature_c
    if least is None and battery.chemistry is Chemistry.LIFEPO4:
        least = tables.number("batteries", "charging.lithium_lowest_c")
    if least is not None and least > low:
        low = least
        harmful.append(f"under {as_stated(least, '°C')}")
    warmest = tables.number("batteries", "charging.warmest_c")
    if warmest < high:
        high = warmest
        harmful.append(f"over {degrees(warmest)}")
    if harmful:
        why += f", and is never charged {' or '.join(harmful)}"
    return Expectation(low=low, high=high, why=f"a house battery should be {why}")


def charging_indicator(loop: LoopState) -> Expectation:
    """Lit while the unit charges; with the key off it should be dark."""
    if loop.state is State.REST:
        return Expectation(why="with the key off some units keep this lamp on")
    if loop.state is State.SOLAR and not loop.has_panel:
        return Expectation(why="no panel is described")
    if refused_for_cold(loop):
        return Expectation(why="a battery too cold to be charged may keep it dark")
    light = loop.sunlight()
    if loop.state is State.SOLAR and light is not None and light < _TOO_DULL:
        return Expectation(why="in such dull light the unit may or may not charge")
    return Expectation(low=1.0, high=1.0, why="it should be lit while the unit charges")


def fault_indicator(_loop: LoopState) -> Expectation:
    """Never lit on a sound installation."""
    why = "it should never be lit: see the unit's own instructions for why"
    return Expectation(low=0.0, high=0.0, why=why)


EXPECTED: Mapping[Point, Callable[[LoopState], Expectation]] = {
    Point.CHARGER_CASE_TEMPERATURE: charger_case_temperature,
    Point.HOUSE_BATTERY_TEMPERATURE: house_battery_temperature,
    Point.CHARGING_INDICATOR: charging_indicator,
    Point.FAULT_INDICATOR: fault_indicator,
}
"""What each point of this module should show, by point."""
