"""Temperatures, lamps and sunlight."""

from logic.circuit import tables
from logic.limits.expected import Expectation
from logic.limits.flows import SIGMAS
from logic.limits.known import Known
from logic.vehicle.installation import Chemistry
from logic.vehicle.points import State
from logic.words.figures import as_stated, degrees

_SOAKED_C = 15.0  # assumed: what sun or a warm engine leaves in a case that is off
_AWAY_FROM_AIR_C = 15.0  # assumed: how far a battery may be from the air around it


def charger_case_temperature(known: Known) -> Expectation:
    """Over the air outside by what it turns to heat, and under where units cut back."""
    air, rise = known.sound.ambient_c, known.sound.charger.case_rise_c
    low = air.mean - SIGMAS * air.spread - 3.0
    derates = tables.number("charger", "temperature.derating")
    if known.state is State.REST:
        high = air.mean + SIGMAS * air.spread + _SOAKED_C
        near, under = degrees(air.mean), degrees(high)
        why = f"off, its case should be near the {near} of the air, under {under}"
        return Expectation(low, high, why)
    high = air.mean + rise.mean + SIGMAS * (air.spread**2 + rise.spread**2) ** 0.5
    why = f"working, its case should stay under {degrees(high)} here"
    if derates < high:
        high = derates
        why = f"units commonly begin to cut back at {degrees(derates)} (assumed)"
    return Expectation(low, high, why, over="give it air, or a cooler place")


def house_battery_temperature(known: Known) -> Expectation:
    """Near the air around it, and where charging does no harm."""
    battery, air = known.installation.house_battery, known.sound.ambient_c
    reach = SIGMAS * air.spread + _AWAY_FROM_AIR_C
    low, high = air.mean - reach, air.mean + reach
    why, harmful = f"near the {degrees(air.mean)} of the air", []
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
    return Expectation(low, high, f"a house battery should be {why}")


def sunlight_fraction(known: Known) -> Expectation:
    """Judged by eye: nothing to hold it against."""
    return Expectation(None, None, "judged by eye: 1 clear noon, 0.5 hazy or low sun, 0.1 dull")


def charging_indicator(known: Known) -> Expectation:
    """Lit while the unit charges; with the key off it should be dark."""
    if known.state is State.REST:
        return Expectation(None, None, "with the key off some units keep this lamp on")
    if known.state is State.SOLAR and not known.has_panel:
        return Expectation(None, None, "no panel is described")
    light = known.sunlight()
    if known.state is State.SOLAR and light is not None and light < 0.2:
        return Expectation(None, None, "in such dull light the unit may or may not charge")
    return Expectation(1.0, 1.0, "it should be lit while the unit charges")


def fault_indicator(known: Known) -> Expectation:
    """Never lit on a sound installation."""
    return Expectation(0.0, 0.0, "it should never be lit: see the unit's own instructions for why")
