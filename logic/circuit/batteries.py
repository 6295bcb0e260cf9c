"""Batteries: volts at rest by chemistry and charge, resistance, and how they are charged.

All volts here are for the vehicle's nominal voltage: 24 V is two 12 V batteries in series.
"""

from functools import lru_cache
from typing import NamedTuple

from logic.circuit import tables
from logic.quantities import Ampere, AmpereHour, Celsius, Fraction, Ohm, Volt
from logic.vehicle.installation import Chemistry

_REFERENCE_C = 26.7


class Window(NamedTuple):
    """A lowest and a highest value."""

    low: float
    high: float


# Cached: a verdict, which asks for them several times, is made at every key that is typed.
@lru_cache(maxsize=256)
def rest_voltage(
    chemistry: Chemistry,
    charge: Fraction,
    scale: float = 1.0,
    temperature_c: Celsius = _REFERENCE_C,
) -> Volt:
    """Open-circuit voltage of a rested battery.

    Parameters
    ----------
    chemistry
        Sealed lead-acid is taken as gel where no table of its own was found.
    charge : 1
        State of charge.
    scale : 1
        Nominal voltage over 12 V.
    temperature_c : °C
        Lead-acid only, 2 to 3 mV/K. A second, widely copied table says ten times as much;
        it contradicts measured ones and is not used.

    Returns
    -------
    V
    """
    volts = tables.curve("batteries", f"ocv.{chemistry}", charge)
    if chemistry is not Chemistry.LIFEPO4:
        volts += tables.curve("batteries", "ocv_temperature.flooded", temperature_c)
    return volts * scale


@lru_cache(maxsize=256)
def charge_from_rest(chemistry: Chemistry, volts: Volt, scale: float = 1.0) -> tuple[float, float]:
    """State of charge that a rest voltage stands for, lowest and highest.

    Parameters
    ----------
    chemistry
        As for :func:`rest_voltage`.
    volts : V
        Rested, at the posts.
    scale : 1
        Nominal voltage over 12 V.

    Returns
    -------
    1, 1
        Wide where the curve is flat: a lithium battery's rest voltage says little.
    """
    spread = 2 * tables.number("batteries", f"ocv_spread.{chemistry}")
    points = tables.row("batteries", f"ocv.{chemistry}").points
    turned = tuple((v, s) for s, v in points)
    volts = volts / scale
    return tables.interpolated(turned, volts - spread), tables.interpolated(turned, volts + spread)


@lru_cache(maxsize=8)
def most_surface_charge(scale: float = 1.0, fresh: bool = False) -> Volt:
    """Most that charging leaves on a lead battery over its settled voltage (assumed).

    Parameters
    ----------
    scale : 1
        Nominal voltage over 12 V.
    fresh
        Just after charging, instead of five minutes later.

    Returns
    -------
    V
        Two standard spreads over the middle.
    """
    left = tables.number("batteries", f"surface_charge.{'fresh' if fresh else 'rested'}")
    return (left + 2 * tables.number("batteries", "surface_charge.spread")) * scale


def internal_resistance(chemistry: Chemistry, capacity_ah: AmpereHour, scale: float = 1.0) -> Ohm:
    """Internal resistance of a sound battery: inversely as its capacity (assumed).

    Parameters
    ----------
    chemistry
        Of the battery.
    capacity_ah : Ah
        Of the battery.
    scale : 1
        Nominal voltage over 12 V.

    Returns
    -------
    Ω
    """
    per_100ah = tables.number("batteries", f"resistance_100ah.{chemistry}")
    return per_100ah * 100.0 / capacity_ah * scale


@lru_cache(maxsize=16)
def absorption_window(chemistry: Chemistry, scale: float = 1.0) -> Window:
    """Absorption voltage that a battery of this chemistry commonly asks for, at 25 °C.

    Parameters
    ----------
    chemistry
        Of the battery.
    scale : 1
        Nominal voltage over 12 V.

    Returns
    -------
    V, V
    """
    low = tables.number("batteries", f"absorption_low.{chemistry}")
    high = tables.number("batteries", f"absorption_high.{chemistry}")
    return Window(low * scale, high * scale)


def float_voltage(chemistry: Chemistry, scale: float = 1.0) -> Volt:
    """Usual float voltage at 20 °C.

    Parameters
    ----------
    chemistry
        Of the battery.
    scale : 1
        Nominal voltage over 12 V.

    Returns
    -------
    V
    """
    return tables.number("batteries", f"float.{chemistry}") * scale


def temperature_compensation(cells: int, temperature_c: Celsius) -> Volt:
    """Change of a lead-acid charging voltage away from 25 °C.

    Parameters
    ----------
    cells : 1
        In series.
    temperature_c : °C
        Of the battery.

    Returns
    -------
    V

    References
    ----------
    Battery handbook, reprint: minus 3 mV per kelvin and cell.
    """
    per_cell = tables.number("batteries", "temperature_compensation.cell")
    return per_cell * cells * (temperature_c - 25.0)


def usual_charge_current(chemistry: Chemistry, capacity_ah: AmpereHour) -> Ampere:
    """Most current that a battery of this kind commonly takes, where its maker does not say.

    Parameters
    ----------
    chemistry
        Of the battery.
    capacity_ah : Ah
        Of the battery.

    Returns
    -------
    A
    """
    return tables.number("batteries", f"charge_share.{chemistry}") * capacity_ah


def charge_acceptance(chemistry: Chemistry, charge: Fraction) -> float:
    """Most current that a battery takes, held at its absorption voltage, over its capacity.

    A lithium battery takes what the volts over its rest voltage drive through its resistance; a
    lead battery takes less and less from about two thirds on, long before its volts say so.

    Parameters
    ----------
    chemistry
        Of the battery.
    charge : 1
        State of charge.

    Returns
    -------
    1/h
        Amperes for each ampere-hour of capacity; never more than is usual for the chemistry.
    """
    most = tables.number("batteries", f"charge_share.{chemistry}")
    if chemistry is not Chemistry.LIFEPO4:
        return min(most, tables.curve("batteries", "acceptance.lead", charge))
    over = tables.number("batteries", "acceptance.lithium_voltage") - rest_voltage(
        chemistry, charge
    )
    rise = tables.number("batteries", f"rise.{chemistry}")
    at = tables.number("batteries", "acceptance.lithium_rise_at")
    volts_per_share = internal_resistance(chemistry, 1.0) + rise / at
    return min(most, max(0.0, over / volts_per_share))


def charge_efficiency(chemistry: Chemistry, charge: Fraction) -> Fraction:
    """Share of a charging current that is stored at a state of charge.

    Parameters
    ----------
    chemistry
        Of the battery.
    charge : 1
        State of charge.

    Returns
    -------
    1
    """
    return tables.curve("batteries", f"charge_efficiency.{_kind(chemistry)}", charge)


def usable_share(chemistry: Chemistry) -> Fraction:
    """Share of the capacity that is drawn in use, where the battery is to last.

    Parameters
    ----------
    chemistry
        Of the battery.

    Returns
    -------
    1
    """
    return tables.number("batteries", f"usable.{_kind(chemistry)}")


def _kind(chemistry: Chemistry) -> str:
    return "lifepo4" if chemistry is Chemistry.LIFEPO4 else "lead"
