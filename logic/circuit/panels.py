"""A solar panel's volts and amps from its plate, by temperature and sunlight."""

import math

from logic.circuit import tables
from logic.quantities import Ampere, Celsius, Fraction, Volt
from logic.vehicle.installation import Solar


def cold_open_circuit_voltage(open_circuit_v: Volt, coldest_c: Celsius) -> Volt:
    """Highest open-circuit voltage at the coldest temperature, by table.

    The table lies above the usual coefficient, and is to be used where the panel's own
    coefficient is not known. Between its rows the next colder one holds.

    Parameters
    ----------
    open_circuit_v : V
        At 25 °C, from the plate.
    coldest_c : °C
        Of the air on the coldest morning.

    Returns
    -------
    V

    References
    ----------
    NEC Table 690.7 (10 °C and warmer: value from memory).
    """
    rows = tables.row("solar", "cold.factor").points
    reached = [factor for lowest, factor in rows if lowest <= coldest_c]
    return open_circuit_v * (reached[-1] if reached else rows[0][1])


def open_circuit_voltage(
    open_circuit_v: Volt, cell_c: Celsius, per_kelvin: float | None = None
) -> Volt:
    """Open-circuit voltage at a cell temperature: Voc * (1 + beta * (t - 25)).

    Parameters
    ----------
    open_circuit_v : V
        At 25 °C, from the plate.
    cell_c : °C
        Of the cells.
    per_kelvin : 1/K
        The panel's own coefficient, negative; otherwise the median of crystalline panels.

    Returns
    -------
    V
        Straight rule: a full model gives up to 3 % more in the cold, so it is not the safe side.
    """
    beta = tables.number("solar", "coefficient.open_circuit") if per_kelvin is None else per_kelvin
    return open_circuit_v * (1 + beta * (cell_c - 25.0))


def light_factor(sunlight: Fraction) -> float:
    """Open-circuit voltage in weak light over that in full sun: falls with the logarithm.

    Parameters
    ----------
    sunlight : 1
        Share of full sun.

    Returns
    -------
    1
    """
    weakest = tables.number("solar", "light.dull_open_circuit")
    if sunlight <= 0:
        return 0.0
    return max(0.0, 1 + (1 - weakest) * math.log10(max(sunlight, 1e-3)))


def plate_open_circuit(solar: Solar | None, scale: float = 1.0) -> Volt:
    """Open-circuit voltage at 25 °C: the plate's, else from its working volts, else a usual one.

    Parameters
    ----------
    solar
        The panel, if one is fitted.
    scale : 1
        Nominal voltage over 12 V.

    Returns
    -------
    V
    """
    usual = tables.number("solar", "panel.open_circuit")
    if solar is None:
        return usual * scale
    if solar.open_circuit_voltage_v is not None:
        return solar.open_circuit_voltage_v
    if solar.max_power_voltage_v is not None:
        return solar.max_power_voltage_v * usual / tables.number("solar", "panel.max_power")
    return usual * scale


def plate_working(solar: Solar | None, scale: float = 1.0) -> Volt:
    """Voltage at maximum power: the plate's, else in proportion to the open-circuit voltage.

    Parameters
    ----------
    solar
        The panel, if one is fitted.
    scale : 1
        Nominal voltage over 12 V.

    Returns
    -------
    V
    """
    if solar is not None and solar.max_power_voltage_v is not None:
        return solar.max_power_voltage_v
    share = tables.number("solar", "panel.max_power") / tables.number("solar", "panel.open_circuit")
    return plate_open_circuit(solar, scale) * share


def plate_current(solar: Solar | None, scale: float = 1.0) -> Ampere:
    """Current at maximum power in full sun; zero where there is no panel.

    Parameters
    ----------
    solar
        The panel, if one is fitted.
    scale : 1
        Nominal voltage over 12 V.

    Returns
    -------
    A
    """
    if solar is None:
        return 0.0
    if solar.rated_power_w is not None:
        return solar.rated_power_w / plate_working(solar, scale)
    if solar.short_circuit_current_a is not None:
        return solar.short_circuit_current_a * tables.number("solar", "panel.fill")
    return tables.number("solar", "panel.current")
