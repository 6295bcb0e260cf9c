"""The vehicle's own supply: volts at the start battery's posts and at the ignition input."""

from logic.circuit import tables
from logic.circuit.batteries import rest_voltage
from logic.circuit.estimate import Estimate
from logic.quantities import Celsius
from logic.vehicle.installation import Chemistry, Control, Installation
from logic.vehicle.points import State


def supply_voltage(installation: Installation, state: State, ambient_c: Celsius) -> Estimate:
    """Volts at the start battery's posts in a state, with a sound vehicle.

    A variable alternator may rest the battery at 12.5 V with the engine running: its spread
    covers that, so a low running voltage alone proves nothing. A converter holds its volts: it has
    no idle, and its states of running are one and the same (the vehicle ready).

    Parameters
    ----------
    installation
        For the supply's control, the start battery and the system voltage.
    state
        Of the vehicle.
    ambient_c : °C
        Air outside.

    Returns
    -------
    V
    """
    if not state.engine_runs:
        return _resting(installation, state, ambient_c)
    control = installation.alternator.control
    if control is Control.FIXED:
        found = fixed_supply(ambient_c)
    else:
        mean = tables.number("supply", f"{control}.mean")
        found = Estimate(mean, tables.number("supply", f"{control}.spread"))
    if state is State.IDLE and control is not Control.CONVERTER:
        sag, spread = tables.number("supply", "idle.sag"), tables.number("supply", "idle.spread")
        found = Estimate(found.mean - sag, (found.spread**2 + spread**2) ** 0.5)
    return found.times(installation.scale)


def fixed_supply(ambient_c: Celsius) -> Estimate:
    """Volts that a fixed 12 V regulator holds: anywhere between its set-points with equal right.

    Parameters
    ----------
    ambient_c : °C
        Air outside.

    Returns
    -------
    V

    References
    ----------
    As :func:`fixed_set_point`.
    """
    low, high = fixed_set_point(ambient_c)
    return Estimate((low + high) / 2, (high - low) / 12**0.5)


def fixed_set_point(ambient_c: Celsius) -> tuple[float, float]:
    """Lowest and highest set-point of a fixed 12 V regulator, warm under the bonnet.

    Parameters
    ----------
    ambient_c : °C
        Air outside.

    Returns
    -------
    V, V

    References
    ----------
    One published vehicle service table of set-points against regulator temperature.
    """
    regulator_c = ambient_c + tables.number("supply", "set_point.warming")
    low = tables.curve("supply", "set_point.fixed_low", regulator_c)
    return low, tables.curve("supply", "set_point.fixed_high", regulator_c)


# Assumed: how far over its table a sound fixed regulator may be set, at 12 V; and the most any
# other alternator charges at, in the cold neither (published set-points end at 15.1 V at -20 °C).
_OVER_TABLE_V, _HIGHEST_V = 0.15, 15.15


def highest_set_point(installation: Installation, ambient_c: Estimate) -> float:
    """Volts at the start battery over which no sound regulator charges, hot or cold.

    Parameters
    ----------
    installation
        For the alternator's control and the system voltage.
    ambient_c : °C
        Air outside; the regulator may not have warmed up yet.

    Returns
    -------
    V

    References
    ----------
    As :func:`fixed_set_point`.
    """
    control = installation.alternator.control
    if control is Control.CONVERTER:
        return tables.number("supply", "converter.high") * installation.scale
    if control is not Control.FIXED:
        return _HIGHEST_V * installation.scale
    coldest = ambient_c.mean - ambient_c.spread - tables.number("supply", "set_point.warming")
    _, high = fixed_set_point(coldest)
    return (high + _OVER_TABLE_V) * installation.scale


def signal_drop(scale: float = 1.0) -> Estimate:
    """Voltage that a live ignition input shows under the supply: a switch and its wire.

    Parameters
    ----------
    scale : 1
        Nominal voltage over 12 V.

    Returns
    -------
    V
    """
    drop = tables.number("supply", "ignition.drop")
    return Estimate(drop, tables.number("supply", "ignition.spread")).times(scale)


def dead_signal() -> Estimate:
    """Voltage on a dead ignition input: leakage, the same at 12 and at 24 V.

    Returns
    -------
    V
        Two standard spreads reach the most that counts as dead.
    """
    return Estimate(0.0, tables.number("supply", "ignition.dead") / 2)


def _resting(installation: Installation, state: State, ambient_c: Celsius) -> Estimate:
    battery = installation.start_battery
    chemistry = Chemistry(battery.chemistry) if battery else Chemistry.FLOODED
    charge = tables.number("batteries", "charge_before.start")
    spread = tables.number("batteries", "charge_before.start_spread")
    mean = rest_voltage(chemistry, charge, 1.0, ambient_c)
    slope = (rest_voltage(chemistry, charge) - rest_voltage(chemistry, charge - spread)) / spread
    variance = (slope * spread) ** 2 + tables.number("batteries", f"ocv_spread.{chemistry}") ** 2
    if state is State.SOLAR or battery is None:
        variance += tables.number("batteries", "surface_charge.spread") ** 2
    return Estimate(mean, variance**0.5).times(installation.scale)
