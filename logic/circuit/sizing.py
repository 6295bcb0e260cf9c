"""Whether an installation is right by design, before anything is measured.

Each check names its rule, its numbers and its source. What is not known is not judged.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from logic.circuit import batteries, panels, tables
from logic.circuit.conductors import ampacity, cable_drop, greatest_fuse, handbook_ampacity
from logic.circuit.sound_installation import sound_installation
from logic.circuit.supply import fixed_set_point
from logic.quantities import Ampere, SquareMillimetre, Volt
from logic.vehicle.assumed import PROFILE_TOLERANCE_V
from logic.vehicle.installation import (
    CableRun,
    Chemistry,
    Control,
    Installation,
    Location,
    StatedAs,
)
from logic.vehicle.points import Run
from logic.words.figures import (
    as_stated,
    degrees,
    square_millimetres,
    volt_range,
    volts,
    whole_amperes,
)
from logic.words.names import CHEMISTRIES, capitalised

_PRACTICE = "common practice, no published source"
_IP_SOURCE = "IEC 60529; which code a location needs: common practice, no published source"
_WORKING_C = 60.0  # assumed: copper at full load near an engine
_FEEDS = (Run.VEHICLE_FEED, Run.HOUSE_FEED)
_RETURNS = (Run.VEHICLE_RETURN, Run.HOUSE_RETURN)
_SOLD_AS = {StatedAs.AWG: "{} AWG", StatedAs.AUTO_CABLE: "{} mm auto cable"}
_LIMITS = dict.fromkeys(_FEEDS, "drop_limit.charging_cable") | dict.fromkeys(
    _RETURNS, "drop_limit.return_cable"
)
_OTHER = dict(zip((*_FEEDS, *_RETURNS), (*_RETURNS, *_FEEDS), strict=True))


@dataclass(frozen=True)
class DesignCheck:
    """One rule held against an installation; ``passed`` is ``None`` where it cannot be told.

    ``text`` is one sentence with the numbers, ``source`` where the rule comes from.
    """

    rule_id: str
    title: str
    passed: bool | None
    text: str
    source: str


def design_checks(installation: Installation) -> tuple[DesignCheck, ...]:
    """Return every design check that applies, in the order of the walk."""
    return (*_unit_checks(installation), *_run_checks(installation))


# The charger against its batteries, alternator, location and panel


def _unit_checks(installation: Installation) -> Iterator[DesignCheck]:
    """Yield the checks of the units."""
    yield _charge_current(installation)
    yield _profile(installation)
    yield _alternator_share(installation)
    yield _start_signal(installation)
    yield _thresholds(installation)
    yield _sealed_for_location(installation)
    yield _heat(installation)
    if installation.solar is not None:
        yield _cold_panel(installation)


def _charge_current(installation: Installation) -> DesignCheck:
    rule_id, title = "charge_current", "Charge current the battery takes"
    battery, given = installation.house_battery, _all_output(installation)
    who = as_stated(given, "A")
    if installation.fitted.second_charger_rated_output_current_a:
        who += " from both units"
    if battery.max_charge_current_a is not None:
        most, source = battery.max_charge_current_a, "the battery maker's figure, as entered"
        text = f"{who} into a battery that takes {as_stated(most, 'A')} at most."
    elif battery.capacity_ah is not None:
        most, source, where = _usual_most(installation, battery.capacity_ah)
        text = (
            f"{who} into {as_stated(battery.capacity_ah, 'Ah')} {CHEMISTRIES[battery.chemistry]}, "
            f"which commonly takes up to {whole_amperes(most)}{where}; its maker's figure is not "
            "known."
        )
    else:
        text = "Neither the battery's capacity nor its greatest charge current is known."
        return DesignCheck(rule_id, title, None, text, _PRACTICE)
    passed = given <= most
    if not passed:
        known = battery.max_charge_current_a is not None
        text += " Fit" if known else " Look that figure up; if it is no higher, fit"
        text += " a smaller unit or a larger battery."
    return DesignCheck(rule_id, title, passed, text, source)


def _all_output(installation: Installation) -> Ampere:
    """Return what all units give the one house battery at their rating, A."""
    second = installation.fitted.second_charger_rated_output_current_a or 0.0
    return installation.charger.rated_output_current_a + second


def _all_input(installation: Installation) -> Ampere:
    """Return what all units draw for that, A; the second one is taken to have no limit set."""
    second = installation.fitted.second_charger_rated_output_current_a or 0.0
    unit = sound_installation(installation).charger
    return unit.rated_input_a + second * unit.input_per_output


def _usual_most(installation: Installation, capacity_ah: float) -> tuple[Ampere, str, str]:
    kind = installation.house_battery.chemistry
    most = batteries.usual_charge_current(kind, capacity_ah)
    source = tables.row("batteries", f"charge_share.{kind}").source
    if kind is Chemistry.AGM and installation.location is Location.ENGINE_BAY:
        row = tables.row("batteries", "thumb.agm_under_bonnet")
        if row.value * capacity_ah / 100 < most:
            return row.value * capacity_ah / 100, row.source, " under the bonnet"
    return most, source, ""


def _profile(installation: Installation) -> DesignCheck:
    rule_id, title = "profile", "Profile the battery asks for"
    battery, scale = installation.house_battery, installation.scale
    profile, asked = installation.charger.absorption_voltage_v, battery.absorption_voltage_v
    if profile is None:
        return DesignCheck(rule_id, title, None, "The profile to be set is not known.", _PRACTICE)
    set_to = as_stated(profile, "V")
    if asked is not None:
        passed = abs(profile - asked) <= PROFILE_TOLERANCE_V * scale + 1e-9
        text = f"The profile charges to {set_to}, the battery asks for {as_stated(asked, 'V')}."
        source = "the battery maker's figure, as entered; 0.1 V either way assumed"
    else:
        low, high = batteries.absorption_window(battery.chemistry, scale)
        passed = low - 1e-9 <= profile <= high + 1e-9
        text = (
            f"The profile charges to {set_to}; {CHEMISTRIES[battery.chemistry]} commonly asks for "
            f"{volt_range(low, high)}, its maker's figure is not known."
        )
        source = tables.row("batteries", f"absorption_low.{battery.chemistry}").source
    if not passed:
        text += " Set the profile that the battery's maker names."
    return DesignCheck(rule_id, title, passed, text, source)


def _alternator_share(installation: Installation) -> DesignCheck:
    rule_id, title = "alternator_share", "Current the alternator can spare"
    row = tables.row("supply", "share.alternator")
    rated, drawn = installation.alternator.rated_current_a, _all_input(installation)
    if rated is None:
        text = f"Charging draws up to {whole_amperes(drawn)}; the alternator's rating is not known."
        return DesignCheck(rule_id, title, None, text, row.source)
    most = row.value * rated
    passed = drawn <= most
    text = (
        f"Charging draws up to {whole_amperes(drawn)}; an alternator of "
        f"{as_stated(rated, 'A')} gives about {whole_amperes(most)} at idle."
    )
    if not passed:
        text += " Set an input current limit, where the unit has one, or fit a smaller unit."
    return DesignCheck(rule_id, title, passed, text, row.source)


def _start_signal(installation: Installation) -> DesignCheck:
    rule_id, title = "start_signal", "Starts with this alternator"
    unit, control = installation.charger, installation.alternator.control
    if control is Control.FIXED:
        row = tables.row("supply", "set_point.fixed_low")
        if unit.start_voltage_v is None:
            text = "The unit's start voltage is not known."
            return DesignCheck(rule_id, title, None, text, row.source)
        least = fixed_set_point(installation.ambient_c or 20.0)[0] * installation.scale
        passed = unit.start_voltage_v <= least
        text = (
            f"Starts at {as_stated(unit.start_voltage_v, 'V')}; a fixed alternator holds "
            f"{volts(least)} or more."
        )
        if not passed:
            text += " Wire its trigger terminal."
        return DesignCheck(rule_id, title, passed, text, row.source)
    if control is Control.UNKNOWN:
        text = (
            "The alternator's kind is not known; wire the trigger terminal to be on the safe side."
        )
        return DesignCheck(rule_id, title, None, text, _PRACTICE)
    if unit.ignition_signal_min_v is None:
        text = (
            "A variable alternator needs an ignition signal on the trigger terminal; whether the "
            "unit takes one is not known."
        )
        return DesignCheck(rule_id, title, None, text, _PRACTICE)
    text = (
        f"A variable alternator needs {as_stated(unit.ignition_signal_min_v, 'V')} or more on the "
        "trigger terminal; the unit takes it. Prove it dead with the key off and live with the "
        "engine on."
    )
    return DesignCheck(rule_id, title, True, text, _PRACTICE)


def _thresholds(installation: Installation) -> DesignCheck:
    rule_id, title = "thresholds", "Start voltages over stop voltages"
    unit = installation.charger
    pairs = (
        (unit.start_voltage_v, unit.stop_voltage_v, "without a signal"),
        (unit.ignition_start_voltage_v, unit.ignition_stop_voltage_v, "with one"),
    )
    known = [(a, b, which) for a, b, which in pairs if a is not None and b is not None]
    source = "the unit's own figures, as entered"
    for start, stop, which in known:
        if start <= stop:
            starts, stops = as_stated(start, "V"), as_stated(stop, "V")
            text = f"{starts} start is not over {stops} stop {which}: correct the entry."
            return DesignCheck(rule_id, title, False, text, source)
    if not known:
        return DesignCheck(rule_id, title, None, "The thresholds are not known.", source)
    told = "; ".join(
        f"{as_stated(start, 'V')} over {as_stated(stop, 'V')} {which}"
        for start, stop, which in known
    )
    return DesignCheck(rule_id, title, True, f"{told}.", source)


def _sealed_for_location(installation: Installation) -> DesignCheck:
    rule_id, title = "sealing", "Sealed for its location"
    code, location = installation.charger.ingress_protection, installation.location
    if location is None:
        text = "Where the unit sits is not known."
        return DesignCheck(rule_id, title, None, text, _IP_SOURCE)
    where = location.value.replace("_", " ")
    if location is Location.CABIN:
        return DesignCheck(rule_id, title, True, "A cabin asks for no sealing.", _IP_SOURCE)
    if code is None or "X" in code[2:4]:
        told = code or "not known"
        text = f"In the {where} it needs IP54 or better; its code is {told}."
        return DesignCheck(rule_id, title, None, text, _IP_SOURCE)
    passed = int(code[2]) >= 5 and int(code[3]) >= 4
    text = f"{code} in the {where}, where dust (5) and splashing (4) must stay out."
    if not passed:
        text += " Move it into the cabin or fit a sealed unit."
    elif code[3] in "78":
        text += " Its second numeral says nothing of jets: keep the hose away."
    return DesignCheck(rule_id, title, passed, text, _IP_SOURCE)


def _heat(installation: Installation) -> DesignCheck:
    rule_id, title = "heat", "Cool enough at its location"
    source = tables.row("charger", "temperature.engine_bay").source
    most, location = installation.charger.max_ambient_c, installation.location
    if most is None or location is None:
        missing = "greatest ambient temperature" if most is None else "location"
        return DesignCheck(rule_id, title, None, f"The unit's {missing} is not known.", source)
    hot_day = tables.number("charger", "temperature.hot_day")
    air = max(hot_day, installation.ambient_c or hot_day)
    if location is Location.ENGINE_BAY:
        air += tables.number("charger", "temperature.engine_bay")
    passed = most >= air
    text = (
        f"Rated for {as_stated(most, '°C')}; the air there may reach {degrees(air)} on a hot day "
        "(assumed)."
    )
    if not passed:
        text += " Mount it where it is cooler."
    return DesignCheck(rule_id, title, passed, text, source)


def _cold_panel(installation: Installation) -> DesignCheck:
    rule_id, title = "cold_panel", "Panel voltage on a cold morning"
    source = tables.row("solar", "cold.factor").source
    most, solar = installation.charger.solar_max_voltage_v, installation.solar
    if most is None or solar is None or solar.open_circuit_voltage_v is None:
        missing = (
            "unit's greatest panel voltage" if most is None else "panel's open-circuit voltage"
        )
        return DesignCheck(rule_id, title, None, f"The {missing} is not known.", source)
    coldest = tables.number("solar", "cold.lowest_c")
    cold = panels.cold_open_circuit_voltage(solar.open_circuit_voltage_v, coldest)
    passed = cold <= most
    text = (
        f"{as_stated(solar.open_circuit_voltage_v, 'V')} at {degrees(25)} becomes {volts(cold)} "
        f"at {degrees(coldest)} (assumed); the unit takes {as_stated(most, 'V')}."
    )
    if not passed:
        text += " Do not plug it in: fit a panel of lower voltage."
    return DesignCheck(rule_id, title, passed, text, source)


# Fuses and cables


def _run_checks(installation: Installation) -> Iterator[DesignCheck]:
    """Yield the checks of every run."""
    for run in _FEEDS:
        cable = getattr(installation.runs, run.value)
        yield _fuse_protects(installation, run, cable)
        yield _fuse_carries(installation, run, cable)
    yield _usual_fuses(installation)
    for run in (*_FEEDS, *_RETURNS):
        yield _drop_at_full_load(installation, run, getattr(installation.runs, run.value))


def _fuse_protects(installation: Installation, run: Run, cable: CableRun) -> DesignCheck:
    name = run.full_name
    rule_id, title = f"{run.value}_fuse_protects_cable", f"Fuse protects the {name}"
    source = f"{_PRACTICE}; carried: {tables.row('conductors', 'ampacity.marine').source}"
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
    name, load = run.full_name, sound_installation(installation).full_load_a[run]
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
    fitted = [getattr(installation.runs, run.value).fuse_a for run in _FEEDS]
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
    name, load = run.full_name, sound_installation(installation).full_load_a[run]
    rule_id, title = f"{run.value}_drop", f"{name.capitalize()} cable loss at full load"
    source = tables.row("conductors", _LIMITS[run]).source
    lost = _lost(cable, load)
    if lost is None:
        missing = "length" if cable.length_m is None else "size"
        return DesignCheck(rule_id, title, None, f"The {name}'s {missing} is not known.", source)
    allowed = _allowed(installation, run)
    what = "feed" if run in _FEEDS else "return"
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
    other_lost = _lost(
        getattr(installation.runs, other.value), sound_installation(installation).full_load_a[other]
    )
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
