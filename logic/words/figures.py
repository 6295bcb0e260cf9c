"""Numbers as the trade says them, for the sentences of verdicts and evidence."""

from logic.quantities import Ampere, Ohm, Volt
from logic.vehicle.points import PROBES, Point, Run

RUN_NAMES = {
    Run.VEHICLE_FEED: "vehicle feed",
    Run.VEHICLE_RETURN: "vehicle return",
    Run.HOUSE_FEED: "house feed",
    Run.HOUSE_RETURN: "house return",
    Run.SOLAR_FEED: "solar feed",
}


def volts(value: Volt) -> str:
    """Hundredths of a volt, millivolts under a tenth; what was read to the millivolt stays so."""
    if 0 < abs(value) < 0.0995:
        return f"{round(value * 1000)} mV"
    value += 0.0  # a lone minus before nought goes
    to_the_millivolt = abs(value - round(value, 3)) < 1e-9
    return f"{value:.3f}".removesuffix("0") + " V" if to_the_millivolt else f"{value:.2f} V"


def amperes(value: Ampere) -> str:
    """Tenths of an ampere, as a clamp shows them; whole ones without a nought behind."""
    return f"{round(value, 1) + 0.0:.1f}".removesuffix(".0") + " A"


def milliohms(value: Ohm) -> str:
    """Whole milliohms from three up, tenths below."""
    scaled = value * 1000
    return f"{scaled:.0f} mΩ" if abs(scaled) >= 2.95 else f"{scaled:.1f} mΩ"


def quantity(point: Point, value: float) -> str:
    """Return a reading's value with its unit."""
    unit = PROBES[point].unit
    if unit == "V":
        return volts(value)
    if unit == "A":
        return f"{round(value, 2) + 0.0:.2f}".removesuffix("0") + " A"
    if unit == "°C":
        return f"{value:.0f} °C"
    if unit == "lit":
        return "Lit" if value else "Not lit"
    return f"{value:.2f} of full sun"


def volt_range(low: Volt, high: Volt) -> str:
    """Return a range of volts, "13.5 to 14.5 V"."""
    if abs(high) < 0.0995:
        return f"{low * 1000:.0f} to {high * 1000:.0f} mV"
    return f"{low:.2f} to {high:.2f} V"
