"""Copper and conductor sizes: area from the words a cable is sold by, resistance from area.

R / L = rho20 / A * (1 + alpha * (t - 20 °C))
"""

import math
import re

from logic.circuit import tables
from logic.errors import InputError
from logic.quantities import Celsius, SquareMillimetre
from logic.vehicle.installation import ConductorSize, StatedAs

_GREATEST_AREA = 300.0
_AUGHTS = {"1/0": 0, "2/0": -1, "3/0": -2, "4/0": -3, "0": 0, "00": -1, "000": -2, "0000": -3}


def resistance_per_metre(area_mm2: SquareMillimetre, temperature_c: Celsius = 20.0) -> float:
    """Resistance of one metre of solid annealed copper.

    Parameters
    ----------
    area_mm2 : mm²
        Of the copper itself.
    temperature_c : °C
        Of the copper.

    Returns
    -------
    Ω/m

    References
    ----------
    IEC 60028:1925 (1/58 Ω·mm²/m at 20 °C); temperature coefficient 0.00393 /K of IEC 60287.
    """
    rho = tables.number("conductors", "copper.resistivity_20c")
    return rho / area_mm2 * temperature_factor(temperature_c)


def greatest_resistance_per_metre(
    area_mm2: SquareMillimetre, temperature_c: Celsius = 20.0
) -> float:
    """Most that one metre of flexible stranded copper of this size may have.

    IEC 60228 class 5 at its own sizes; between them the ratio to solid copper is drawn straight.

    Parameters
    ----------
    area_mm2 : mm²
        As marked on the cable.
    temperature_c : °C
        Of the copper.

    Returns
    -------
    Ω/m
    """
    solid = resistance_per_metre(area_mm2, 20.0)
    return solid * _strand_ratio(area_mm2) * temperature_factor(temperature_c)


def temperature_factor(temperature_c: Celsius) -> float:
    """Resistance at a temperature over that at 20 °C.

    Parameters
    ----------
    temperature_c : °C
        Of the copper.
    """
    alpha = tables.number("conductors", "copper.temperature_coefficient")
    return 1 + alpha * (temperature_c - 20.0)


def area_of_awg(gauge: str) -> SquareMillimetre:
    """Copper area of an American Wire Gauge size; B&S is the same gauge.

        d = 0.127 mm * 92 ** ((36 - n) / 39), n = 0, -1, -2, -3 for 1/0 ... 4/0   (ASTM B258)

    Raises
    ------
    InputError
        The text is no gauge from 40 to 4/0.
    """
    text = re.sub(r"(?i)awg|b\s*&\s*s|gauge|#|\s", "", gauge)
    number = _AUGHTS.get(text)
    if number is None and re.fullmatch(r"\d{1,2}", text) and int(text) <= 40:
        number = int(text)
    if number is None:
        raise InputError(
            f"'{gauge.strip()}' is no AWG (B&S) size. Type a whole number up to 40, such as 6, "
            "or 1/0, 2/0, 3/0, 4/0.",
            "size",
        )
    least = tables.number("conductors", "awg.diameter_36")
    ratio = tables.number("conductors", "awg.ratio")
    diameter = least * ratio ** ((36 - number) / 39)
    return float(math.pi * diameter**2 / 4)


def area_of_auto_cable(diameter: str) -> SquareMillimetre:
    """Copper area of cable sold by the diameter over its insulation ("6 mm auto cable").

    Only the outside is defined, so makers differ; the row's source says by how much.

    Raises
    ------
    InputError
        No such size is sold.
    """
    points = tables.row("conductors", "auto_cable.area").points
    millimetres = _plain_number(diameter)
    for size, area in points:
        if millimetres is not None and abs(size - millimetres) < 1e-9:
            return area
    sold = ", ".join(f"{size:g}" for size, _ in points)
    raise InputError(
        f"'{diameter.strip()}' is no auto cable size. It is sold as {sold} mm over the insulation; "
        "for anything else type the copper area in mm².",
        "size",
    )


def conductor(stated_as: StatedAs, size: str) -> tuple[SquareMillimetre, ConductorSize]:
    """Return the copper area of a size in the trade's words, and the words to keep with it.

    Raises
    ------
    InputError
        Says what to type instead.
    """
    if stated_as is StatedAs.AWG:
        area = area_of_awg(size)
    elif stated_as is StatedAs.AUTO_CABLE:
        area = area_of_auto_cable(size)
    else:
        area = _area_of_square_millimetres(size)
    return area, ConductorSize(stated_as=stated_as, size=size.strip()[:16])


def _area_of_square_millimetres(size: str) -> SquareMillimetre:
    area = _plain_number(size)
    if area is None or not 0.2 <= area <= _GREATEST_AREA:
        raise InputError(
            f"'{size.strip()}' is no copper area. Type it in mm², from 0.2 to 300, such as 16.",
            "size",
        )
    return area


def _plain_number(text: str) -> float | None:
    cleaned = re.sub(r"(?i)mm(2|²)?|\s", "", text).replace(",", ".")
    return float(cleaned) if re.fullmatch(r"\d{1,4}(\.\d{0,3})?", cleaned) else None


def _strand_ratio(area_mm2: SquareMillimetre) -> float:
    sizes = tables.row("conductors", "iec_60228.class_5").points
    ratios = [(math.log(a), r * 1e-3 / resistance_per_metre(a)) for a, r in sizes]
    return tables.interpolated(tuple(ratios), math.log(area_mm2))
