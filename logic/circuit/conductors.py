"""Conductors: a run's resistance, what copper loses and carries, sizes in the trade's words.

    R = rho20 / A * (1 + alpha * (t - 20 °C)) * length + joints + fuse

Each part of a run has a middle and a spread; what is not known widens it. Where the way back is
not described, it is taken to be the vehicle's body.
"""

import math
import re

from logic.circuit import tables
from logic.circuit.estimate import Estimate
from logic.errors import InputError
from logic.quantities import Ampere, Celsius, Metre, Ohm, SquareMillimetre, Volt
from logic.vehicle.installation import CableRun, ConductorSize, StatedAs
from logic.vehicle.points import Run

_GREATEST_AREA = 300.0
_AUGHTS = {"1/0": 0, "2/0": -1, "3/0": -2, "4/0": -3, "0": 0, "00": -1, "000": -2, "0000": -3}

# Whole runs


def run_resistance(run: Run, cable: CableRun, ambient_c: Celsius) -> Estimate:
    """Resistance of a sound run between its two posts.

    Parameters
    ----------
    run
        Which one: where nothing is known, usual lengths differ.
    cable
        Its length, area, joints and fuse, any of them unknown.
    ambient_c : °C
        Air outside; the copper is taken some 15 K warmer.

    Returns
    -------
    Ω (ln)
    """
    parts = [_copper(run, cable, ambient_c), _joints(cable)]
    if cable.fuse_a is not None:
        fuse = fuse_resistance(cable.fuse_a)
        parts.append(Estimate(fuse, tables.number("fuses", "fuse.spread")))
    return _in_series(parts)


def least_resistance(cable: CableRun) -> Ohm:
    """Least that a run may have: half its copper at freezing point, or nothing if not described.

    Parameters
    ----------
    cable
        Its length and area, either of them unknown.

    Returns
    -------
    Ω
    """
    if cable.length_m is None or cable.area_mm2 is None:
        return 0.0
    return cable.length_m * resistance_per_metre(cable.area_mm2, 0.0) / 2


def _copper(run: Run, cable: CableRun, ambient_c: Celsius) -> Estimate:
    if run is Run.VEHICLE_RETURN and (cable.length_m is None or cable.area_mm2 is None):
        body = tables.number("conductors", "body.resistance")
        return Estimate(body, tables.number("conductors", "body.spread"))
    temperature = ambient_c + tables.number("conductors", "temperature.warming")
    area = cable.area_mm2 or tables.number("conductors", "size.area")
    solid = resistance_per_metre(area, temperature)
    stranded = greatest_resistance_per_metre(area, temperature)
    variance = (math.log(stranded / solid) / 12**0.5) ** 2
    alpha = tables.number("conductors", "copper.temperature_coefficient")
    variance += (alpha * tables.number("conductors", "temperature.spread")) ** 2
    if cable.area_mm2 is None:
        variance += tables.number("conductors", "size.area_spread") ** 2
    length = cable.length_m or _usual_length(run)
    length_spread = "length.tape_spread" if cable.length_m else "length.spread"
    variance += tables.number("conductors", length_spread) ** 2
    return Estimate(length * math.sqrt(solid * stranded), math.sqrt(variance))


def _joints(cable: CableRun) -> Estimate:
    each = tables.number("conductors", "joint.resistance")
    spread = tables.number("conductors", "joint.spread")
    if cable.joints is not None:
        return Estimate(each * cable.joints, spread)
    wider = math.hypot(spread, tables.number("conductors", "joint.count_spread"))
    return Estimate(each * tables.number("conductors", "joint.count"), wider)


def _usual_length(run: Run) -> float:
    far = run in (Run.VEHICLE_FEED, Run.SOLAR_FEED)
    return tables.number("conductors", "length.feed" if far else "length.near")


def _in_series(parts: list[Estimate]) -> Estimate:
    # Medians add to the median of the sum closely enough; spreads by their share of it.
    whole = sum(part.mean for part in parts)
    variance = sum((part.spread * part.mean / whole) ** 2 for part in parts)
    return Estimate(whole, math.sqrt(variance))


def fuse_resistance(rating_a: Ampere) -> Ohm:
    """Cold resistance of a fuse link.

    Parameters
    ----------
    rating_a : A
        As marked on it.

    Returns
    -------
    Ω
        Assumed: links lose about the same voltage at their rating whatever it is.
    """
    return tables.number("fuses", "fuse.cold_drop") / rating_a


# What copper loses and carries


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

    Between the standard's sizes the ratio to solid copper is drawn straight.

    Parameters
    ----------
    area_mm2 : mm²
        As marked on the cable.
    temperature_c : °C
        Of the copper.

    Returns
    -------
    Ω/m

    References
    ----------
    IEC 60228, class 5, plain annealed copper.
    """
    solid = resistance_per_metre(area_mm2, 20.0)
    return solid * _strand_ratio(area_mm2) * temperature_factor(temperature_c)


def temperature_factor(temperature_c: Celsius) -> float:
    """Resistance at a temperature over that at 20 °C.

    Parameters
    ----------
    temperature_c : °C
        Of the copper.

    Returns
    -------
    1

    References
    ----------
    IEC 60287: 0.00393 /K for annealed copper of 100 % IACS.
    """
    alpha = tables.number("conductors", "copper.temperature_coefficient")
    return 1 + alpha * (temperature_c - 20.0)


def _strand_ratio(area_mm2: SquareMillimetre) -> float:
    sizes = tables.row("conductors", "iec_60228.class_5").points
    ratios = [(math.log(a), r * 1e-3 / resistance_per_metre(a)) for a, r in sizes]
    return tables.interpolated(tuple(ratios), math.log(area_mm2))


def ampacity(
    area_mm2: SquareMillimetre,
    in_engine_space: bool = False,
    insulation_c: Celsius = 105.0,
    bundled_cables: int = 1,
) -> Ampere:
    """Current a cable carries at 30 °C, or at 50 °C in an engine space.

    Between the gauge sizes and between the ratings of insulation the next smaller one holds,
    never more.

    Parameters
    ----------
    area_mm2 : mm²
        Copper.
    in_engine_space
        Takes the factor for hot engine spaces off.
    insulation_c : °C
        What the insulation is rated to, 60 °C or more.
    bundled_cables
        Loaded cables in its bundle, this one counted.

    Returns
    -------
    A

    References
    ----------
    33 CFR 183.425, Table 5 with its notes.
    """
    factors = tables.row("conductors", "ampacity.engine_space").points
    rated_c, hot = _last_step(factors, insulation_c)
    rows = tables.row("conductors", f"ampacity.{rated_c:g}_c").points
    reached = [amperes for area, amperes in rows if area <= area_mm2 * 1.001]
    carried = reached[-1] if reached else rows[0][1] * area_mm2 / rows[0][0]
    bundle = _last_step(tables.row("conductors", "ampacity.bundled").points, bundled_cables)[1]
    return carried * bundle * (hot if in_engine_space else 1.0)


def _last_step(points: tuple[tuple[float, float], ...], x: float) -> tuple[float, float]:
    """Return the last of rising steps that ``x`` reaches, the first where it reaches none."""
    return next((point for point in reversed(points) if point[0] <= x), points[0])


def handbook_ampacity(area_mm2: SquareMillimetre) -> Ampere | None:
    """Continuous current by the automotive handbook's current density.

    Parameters
    ----------
    area_mm2 : mm²
        Copper.

    Returns
    -------
    A
        ``None`` over 95 mm², where the table ends.

    References
    ----------
    Automotive handbook, table of conductor sizes, as a trade journal reprinted it.
    """
    for up_to, density in tables.row("conductors", "density.handbook").points:
        if area_mm2 <= up_to:
            return density * area_mm2
    return None


def greatest_fuse(area_mm2: SquareMillimetre, insulation_c: Celsius = 105.0) -> Ampere:
    """Largest fuse that the US small-craft rule allows a cable under 50 V.

    Parameters
    ----------
    area_mm2 : mm²
        Copper.
    insulation_c : °C
        What the insulation is rated to.

    Returns
    -------
    A
        150 % of what the cable carries; not a recommendation.

    References
    ----------
    33 CFR 183.455 (c).
    """
    ceiling = tables.number("fuses", "rule.protects_ceiling")
    return ceiling * ampacity(area_mm2, insulation_c=insulation_c)


def cable_drop(
    length_m: Metre, area_mm2: SquareMillimetre, current_a: Ampere, temperature_c: Celsius = 20.0
) -> Volt:
    """Voltage lost along one conductor, out only.

    Parameters
    ----------
    length_m : m
        One way.
    area_mm2 : mm²
        As marked on the cable.
    current_a : A
        Through it.
    temperature_c : °C
        Of the copper.

    Returns
    -------
    V

    References
    ----------
    IEC 60228, class 5: the most that a cable of this size may have.
    """
    return length_m * current_a * greatest_resistance_per_metre(area_mm2, temperature_c)


# Sizes in the words they are sold by


def area_of_awg(gauge: str) -> SquareMillimetre:
    """Copper area of an American Wire Gauge size; B&S is the same gauge.

        d = 0.127 mm * 92 ** ((36 - n) / 39), n = 0, -1, -2, -3 for 1/0 ... 4/0

    Parameters
    ----------
    gauge
        As typed: a number, or 1/0 to 4/0, with or without "AWG".

    Returns
    -------
    mm²

    Raises
    ------
    InputError
        The text is no gauge from 40 to 4/0.

    References
    ----------
    ASTM B258.
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

    Parameters
    ----------
    diameter
        In millimetres, as typed.

    Returns
    -------
    mm²

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

    Returns
    -------
    mm²
        And the words.

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
