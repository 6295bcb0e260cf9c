"""Design checks of fuses and cables."""

import math
from collections.abc import Iterator

from logic.circuit import tables
from logic.circuit.copper import greatest_resistance_per_metre
from logic.circuit.design import FEEDS, RETURNS, DesignCheck, full_load
from logic.quantities import Ampere, Celsius, Metre, SquareMillimetre, Volt
from logic.vehicle.installation import CableRun, Installation, Location, StatedAs
from logic.vehicle.points import Run
from logic.words.figures import as_stated, square_millimetres, volts, whole_amperes
from logic.words.names import capitalised

_CP = "common practice, no published source"
_WORKING_C = 60.0  # assumed: copper at full load near an engine


def run_checks(installation: Installation) -> Iterator[DesignCheck]:
    """Yield the checks of every run."""
    for run in FEEDS:
        cable = getattr(installation.runs, run.value)
        yield _fuse_protects(installation, run, cable)
        yield _fuse_carries(installation, run, cable)
    yield _usual_fuses(installation)
    for run in (*FEEDS, *RETURNS):
        yield _drop_at_full_load(installation, run, getattr(installation.runs, run.value))


def ampacity(area_mm2: SquareMillimetre, in_engine_space: bool = False) -> Ampere:
    """Current a single cable with 105 °C insulation carries at 30 °C.

    Between the gauge sizes the next smaller size holds, never more.

    Parameters
    ----------
    area_mm2 : mm²
        Copper.
    in_engine_space
        Takes the factor for hot engine spaces off.

    Returns
    -------
    A

    References
    ----------
    33 CFR 183.425, Table 5.
    """
    rows = tables.row("conductors", "ampacity.marine").points
    reached = [amperes for area, amperes in rows if area <= area_mm2 * 1.001]
    carried = reached[-1] if reached else rows[0][1] * area_mm2 / rows[0][0]
    factor = tables.number("conductors", "ampacity.engine_space") if in_engine_space else 1.0
    return carried * factor


def handbook_ampacity(area_mm2: SquareMillimetre) -> Ampere | None:
    """Continuous current by the automotive handbook's current density.

    Returns
    -------
    A
        ``None`` over 95 mm², where the table ends.
    """
    for up_to, density in tables.row("conductors", "density.handbook").points:
        if area_mm2 <= up_to:
            return density * area_mm2
    return None


def greatest_fuse(area_mm2: SquareMillimetre) -> Ampere:
    """Largest fuse that the US small-craft rule allows a cable under 50 V.

    Returns
    -------
    A
        150 % of what the cable carries; not a recommendation.

    References
    ----------
    33 CFR 183.455 (c).
    """
    return ampacity(area_mm2) * tables.number("fuses", "rule.protects_ceiling")


def cable_drop(
    length_m: Metre, area_mm2: SquareMillimetre, current_a: Ampere, temperature_c: Celsius = 20.0
) -> Volt:
    """Voltage lost along one conductor, out only, as IEC 60228 class 5 allows it.

    Returns
    -------
    V
    """
    return length_m * current_a * greatest_resistance_per_metre(area_mm2, temperature_c)


def _fuse_protects(installation: Installation, run: Run, cable: CableRun) -> DesignCheck:
    name = run.full_name
    rule_id, title = f"{run.value}_fuse_protects_cable", f"Fuse protects the {name}"
    source = f"{_CP}; carried: {tables.row('conductors', 'ampacity.marine').source}"
    if cable.fuse_a is None or cable.area_mm2 is None:
        missing = "fuse" if cable.fuse_a is None else "cable size"
        return DesignCheck(rule_id, title, None, f"The {name}'s {missing} is not known.", source)
    hot = run is Run.VEHICLE_FEED or installation.location is Location.ENGINE_BAY
    carried = ampacity(cable.area_mm2, hot)
    where = "in a hot engine space" if hot else "in free air"
    fuse, carries = as_stated(cable.fuse_a, "A"), whole_amperes(carried)
    text = f"{fuse} fuse on {_size(cable)}, which carries {carries} {where}."
    passed = cable.fuse_a <= carried
    if not passed:
        text += f" {_told_off(cable.fuse_a, cable.area_mm2)} Fit a smaller fuse or a thicker cable."
    return DesignCheck(rule_id, title, passed, text, source)


def _told_off(fuse_a: Ampere, area_mm2: SquareMillimetre) -> str:
    handbook, most = handbook_ampacity(area_mm2), greatest_fuse(area_mm2)
    told = f"Even the US small-craft rule ends at {whole_amperes(most)}" if fuse_a > most else ""
    if handbook is None:
        return f"{told}." if told else ""
    lasting = f"the automotive handbook lets it carry {whole_amperes(handbook)} all day"
    return f"{told}; {lasting}." if told else f"{capitalised(lasting)}."


def _fuse_carries(installation: Installation, run: Run, cable: CableRun) -> DesignCheck:
    name, load = run.full_name, full_load(installation, run)
    rule_id, title = (
        f"{run.value}_fuse_carries_full_load",
        f"{name.capitalize()} fuse holds at full load",
    )
    source = tables.row("fuses", "rule.continuous_share").source
    if cable.fuse_a is None:
        return DesignCheck(rule_id, title, None, f"The {name}'s fuse is not known.", source)
    passed = cable.fuse_a >= load
    fuse = as_stated(cable.fuse_a, "A")
    text = f"Full load is {whole_amperes(load)} through a {fuse} fuse."
    if not passed:
        text += " It will open in time: fit a larger one that the cable allows."
    return DesignCheck(rule_id, title, passed, text, source)


def _usual_fuses(installation: Installation) -> DesignCheck:
    rule_id, title = "usual_fuse", "Fuses as usual for this rating"
    row = tables.row("fuses", "thumb.rating")
    rated = installation.charger.rated_output_current_a
    usual = dict(row.points).get(rated)
    unit = f"{as_stated(rated, 'A')} unit"
    fitted = [getattr(installation.runs, run.value).fuse_a for run in FEEDS]
    if usual is None:
        text = f"There is no rule of thumb for a {unit}."
        return DesignCheck(rule_id, title, None, text, row.source)
    if None in fitted:
        text = f"Usual is {as_stated(usual, 'A')} at both batteries; not both fuses are known."
        return DesignCheck(rule_id, title, None, text, row.source)
    text = (
        f"{as_stated(fitted[0], 'A')} at the start battery, {as_stated(fitted[1], 'A')} at the "
        f"house battery; usual for a {unit} is {as_stated(usual, 'A')} at both."
    )
    if min(fitted) < usual:
        text += " A smaller one may open on a long hot drive."
    if max(fitted) > usual:
        text += " A larger one only as far as the cable and the unit's instructions allow it."
    return DesignCheck(rule_id, title, all(fuse == usual for fuse in fitted), text, row.source)


def _drop_at_full_load(installation: Installation, run: Run, cable: CableRun) -> DesignCheck:
    name, load = run.full_name, full_load(installation, run)
    rule_id, title = f"{run.value}_drop", f"{name.capitalize()} cable loss at full load"
    source = tables.row("conductors", _LIMITS[run]).source
    lost = _lost(cable, load)
    if lost is None:
        missing = "length" if cable.length_m is None else "size"
        return DesignCheck(rule_id, title, None, f"The {name}'s {missing} is not known.", source)
    allowed = _allowed(installation, run)
    what = "feed" if run in FEEDS else "return"
    text = (
        f"{as_stated(cable.length_m, 'm')} of {_size(cable)} loses {volts(lost)} at "
        f"{whole_amperes(load)}, warm; {as_stated(allowed, 'V')} at most is usual in a {what}."
    )
    if round(lost, 2) <= allowed:
        return DesignCheck(rule_id, title, True, text, source)
    left, more = _left_by_the_other(installation, run, lost)
    passed = round(lost, 2) <= left
    if not passed:
        needed = (cable.area_mm2 or 0.0) * lost / left
        more += f" Shorten it, or fit at least {math.ceil(needed)} mm²{_sold(needed)}."
    return DesignCheck(rule_id, title, passed, text + more, source)


def _left_by_the_other(installation: Installation, run: Run, lost: Volt) -> tuple[Volt, str]:
    """Return what a run may lose by its whole way, and the words.

    The unit feels what feed and return lose together: what one saves the other may lose.
    """
    other, allowed = _OTHER[run], _allowed(installation, run)
    other_lost = _lost(getattr(installation.runs, other.value), full_load(installation, other))
    if other_lost is None:
        return allowed, ""
    both = allowed + _allowed(installation, other)
    words = (
        f" Out and back, with the {other.full_name}, it is {volts(lost + other_lost)} of the "
        f"{as_stated(both, 'V')} that both may lose."
    )
    return max(allowed, round(both - round(other_lost, 2), 2)), words


def _lost(cable: CableRun, load: Ampere) -> Volt | None:
    if cable.length_m is None or cable.area_mm2 is None:
        return None
    return cable_drop(cable.length_m, cable.area_mm2, load, _WORKING_C)


def _allowed(installation: Installation, run: Run) -> Volt:
    return tables.row("conductors", _LIMITS[run]).value * installation.scale


def _size(cable: CableRun) -> str:
    """Say a conductor's copper, and what it was sold as where that is another number."""
    copper = square_millimetres(cable.area_mm2 or 0.0)
    words = _SOLD_AS.get(cable.stated.stated_as) if cable.stated else None
    return f"{copper} ({words.format(cable.stated.size)})" if words and cable.stated else copper


def _sold(needed_mm2: SquareMillimetre) -> str:
    sizes = [area for area, _ in tables.row("conductors", "iec_60228.class_5").points]
    larger = [area for area in sizes if area >= needed_mm2]
    return f" (sold: {square_millimetres(larger[0])})" if larger else ""


_SOLD_AS = {StatedAs.AWG: "{} AWG", StatedAs.AUTO_CABLE: "{} mm auto cable"}
_LIMITS = dict.fromkeys(FEEDS, "drop_limit.charging_cable") | dict.fromkeys(
    RETURNS, "drop_limit.return_cable"
)
_OTHER = dict(zip((*FEEDS, *RETURNS), (*RETURNS, *FEEDS), strict=True))
