"""A run's resistance: copper at temperature, joints, fuse, and the body where it is the way back.

Each part has a middle and a spread; what is not known widens it.
"""

import math

from logic.circuit import tables
from logic.circuit.copper import greatest_resistance_per_metre, resistance_per_metre
from logic.circuit.estimate import Estimate
from logic.circuit.fuses import fuse_resistance
from logic.quantities import Celsius, Ohm
from logic.vehicle.installation import CableRun
from logic.vehicle.points import Run


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

    Returns
    -------
    Ω
    """
    if cable.length_m is None or cable.area_mm2 is None:
        return 0.0
    return cable.length_m * resistance_per_metre(cable.area_mm2, 0.0) / 2


def _copper(run: Run, cable: CableRun, ambient_c: Celsius) -> Estimate:
    if run is Run.VEHICLE_RETURN and (cable.length_m is None or cable.area_mm2 is None):
        return _conductor("body.resistance", "body.spread")
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
    known = "length.tape_spread" if cable.length_m else "length.spread"
    variance += tables.number("conductors", known) ** 2
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


def _conductor(value: str, spread: str) -> Estimate:
    return Estimate(tables.number("conductors", value), tables.number("conductors", spread))


def _in_series(parts: list[Estimate]) -> Estimate:
    # Medians add to the median of the sum closely enough; spreads by their share of it.
    whole = sum(part.mean for part in parts)
    variance = sum((part.spread * part.mean / whole) ** 2 for part in parts)
    return Estimate(whole, math.sqrt(variance))
