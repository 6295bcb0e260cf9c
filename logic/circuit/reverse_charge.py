"""Reverse charge: what the house battery lifts a start battery to, and when that has to end.

    volts = rest volts of the charge then + amps x ohms + rise x (1 - exp(-minutes / 3))

The rise goes with the current over the capacity. A start battery is lead here, of any kind.
"""

import math
from dataclasses import dataclass

from logic.circuit import batteries, tables
from logic.circuit.estimate import Estimate
from logic.quantities import Ampere, AmpereHour, Fraction, Minute, Volt
from logic.vehicle.installation import Chemistry, HouseBattery, StartBattery


@dataclass(frozen=True)
class LeadBattery:
    """A start battery as the model takes it; a capacity not known is a usual one."""

    chemistry: Chemistry
    capacity_ah: AmpereHour
    capacity_is_known: bool
    scale: float
    """Nominal voltage over 12 V."""

    @classmethod
    def of(cls, battery: StartBattery | None, scale: float) -> "LeadBattery":
        """Take a start battery as described, or a flooded one of usual size."""
        usual = tables.number("batteries", "capacity.unknown")
        if battery is None:
            return cls(Chemistry.FLOODED, usual, False, scale)
        known = battery.capacity_ah is not None
        return cls(Chemistry(battery.chemistry), battery.capacity_ah or usual, known, scale)


def lifted_voltage(
    battery: LeadBattery, rest_v: Volt, current_a: Ampere, minutes: Minute
) -> Estimate:
    """Volts at a start battery's posts after some minutes of reverse charge.

    Parameters
    ----------
    battery
        The start battery.
    rest_v : V
        At its posts before, nothing flowing.
    current_a : A
        Into it.
    minutes : min
        Since it began to flow.

    Returns
    -------
    V

    References
    ----------
    Its curve over time is held against PyBaMM's lead-acid model (Sulzer 2019); how far it rises
    is assumed, see ``rise`` in ``batteries.toml``.
    """
    kind, scale, capacity = battery.chemistry, battery.scale, battery.capacity_ah
    share = max(current_a, 0.0) / capacity
    grown = (share / _figure("reverse.rise_rate")) ** _figure("reverse.rise_power")
    elapsed = 1 - math.exp(-minutes / _figure("reverse.time_constant"))
    rise = tables.number("batteries", f"rise.{kind}") * scale * grown * elapsed
    ohm = batteries.internal_resistance(kind, capacity, scale)
    gained = _rest_gain(battery, rest_v, share * minutes / 60)
    relative = tables.number("batteries", "resistance.spread")
    if not battery.capacity_is_known:
        relative = math.hypot(relative, tables.number("batteries", "capacity.unknown_spread"))
    rise_spread = tables.number("batteries", f"rise_spread.{kind}") * scale * grown * elapsed
    spread = math.hypot(rise_spread, ohm * current_a * relative, _figure("reverse.drift") * scale)
    return Estimate(rest_v + gained + ohm * current_a + rise, spread)


def _rest_gain(battery: LeadBattery, rest_v: Volt, charge: Fraction) -> Volt:
    """Return what the rest voltage gains by a share of the capacity, V."""
    kind, scale = battery.chemistry, battery.scale
    turned = tuple((v, s) for s, v in tables.row("batteries", f"ocv.{kind}").points)
    before = tables.interpolated(turned, rest_v / scale)
    after = min(before + charge, 1.0)
    return batteries.rest_voltage(kind, after, scale) - batteries.rest_voltage(kind, before, scale)


def ends_by(battery: LeadBattery) -> Volt:
    """Volts at which a reverse charge must have ended, to spare the start battery.

    Parameters
    ----------
    battery
        The start battery.

    Returns
    -------
    V
        The most that batteries of its kind are charged at.
    """
    return batteries.absorption_window(battery.chemistry, battery.scale).high


def house_spared_at(battery: HouseBattery, current_a: Ampere, scale: float) -> Volt:
    """Volts at the house battery's posts, while it gives, at which a reverse charge must end.

    Parameters
    ----------
    battery
        The house battery.
    current_a : A
        Taken from it.
    scale : 1
        The house side's nominal voltage over 12 V.

    Returns
    -------
    V
        The rest voltage of the least charge that is left in use (half of a lead battery, a fifth
        of a lithium one), less what the current loses inside.

    References
    ----------
    ``usable`` and ``ocv`` in ``batteries.toml``.
    """
    kind = battery.chemistry
    capacity = battery.capacity_ah or tables.number("batteries", "capacity.unknown")
    left = 1 - batteries.usable_share(kind)
    inside = batteries.internal_resistance(kind, capacity, scale) * max(current_a, 0.0)
    return batteries.rest_voltage(kind, left, scale) - inside


def cranking_tries(charge_ah: AmpereHour, scale: float) -> float:
    """How often an engine can be cranked with a charge.

    Parameters
    ----------
    charge_ah : Ah
        Into the start battery.
    scale : 1
        Nominal voltage over 12 V: at 24 V half the current cranks.

    Returns
    -------
    1
        Tries of five seconds; losses left aside.
    """
    each = _figure("cranking.current") / scale * _figure("cranking.seconds") / 3600
    return charge_ah / each


def _figure(name: str) -> float:
    return tables.number("functions", name)
