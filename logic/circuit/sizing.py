"""Whether an installation is right by design, before anything is measured.

Each check names its rule, its numbers and its source. What is not known is not judged.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from logic.circuit import batteries, tables
from logic.circuit.conductors import ampacity, cable_drop, greatest_fuse, handbook_ampacity
from logic.circuit.panels import (
    cold_open_circuit_voltage,
    open_circuit_voltage,
    plate_open_circuit,
    plate_working,
)
from logic.circuit.sound_installation import sound_installation
from logic.circuit.supply import fixed_set_point
from logic.quantities import Ampere, Celsius, SquareMillimetre, Volt
from logic.vehicle.assumed import PROFILE_TOLERANCE_V
from logic.vehicle.installation import (
    CableRun,
    Chemistry,
    Control,
    Installation,
    Location,
    StatedAs,
    StatedBy,
)
from logic.vehicle.points import FEEDS, HOUSE_SIDE, VEHICLE_SIDE, Run
from logic.words.figures import (
    as_stated,
    degrees,
    percent,
    square_millimetres,
    volt_range,
    volts,
    whole_amperes,
)
from logic.words.names import CHEMISTRIES, capitalised, counted

_PRACTICE = "common practice, no published source"
_IP_SOURCE = "IEC 60529; which code a location needs: common practice, no published source"
_WORKING_C = 60.0  # assumed: copper at full load near an engine
_SOLD_AS = {StatedAs.AWG: "{} AWG", StatedAs.AUTO_CABLE: "{} mm auto cable"}
_LIMITS = {
    Run.VEHICLE_FEED: "drop_limit.charging_cable",
    Run.VEHICLE_RETURN: "drop_limit.return_cable",
}


@dataclass(frozen=True)
class DesignCheck:
    """One rule held against an installation; ``passed`` is ``None`` where it cannot be told.

    It cannot be told where a figure is not known or only a guess, where the margin is thin, and
    where somebody has to look.

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
    yield _low_supply(installation)
    yield _battery_sensor(installation)
    yield _sealed_for_location(installation)
    yield _heat(installation)
    if installation.house_battery.chemistry is Chemistry.LIFEPO4:
        yield _lithium_place(installation)
    if installation.solar is not None:
        yield _cold_panel(installation)
        yield _panel_reaches_battery(installation)


def _is_guess(installation: Installation, path: str) -> bool:
    """Whether a figure is one that nobody read off the thing itself."""
    return installation.stated(path) in (StatedBy.GUESS, StatedBy.PRESET)


def _charge_current(installation: Installation) -> DesignCheck:
    rule_id, title = "charge_current", "Charge current the battery takes"
    battery, given = installation.house_battery, _all_output(installation)
    who = as_stated(given, "A")
    if installation.fitted.second_charger_rated_output_current_a:
        who += " from both units"
    guessed = _is_guess(installation, "house_battery.max_charge_current_a")
    if battery.max_charge_current_a is not None and not guessed:
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
        known = battery.max_charge_current_a is not None and not guessed
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
    # Where only the unit's own place is known, the battery is taken to be beside it.
    location = installation.house_battery.location or installation.location
    if kind is Chemistry.AGM and location is Location.ENGINE_BAY:
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
    if asked is not None and not _is_guess(installation, "house_battery.absorption_voltage_v"):
        passed: bool | None = abs(profile - asked) <= PROFILE_TOLERANCE_V * scale + 1e-9
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
    elif _is_guess(installation, "charger.absorption_voltage_v"):
        passed = None
        text += " That profile is a guess: take it from the battery's papers."
    return DesignCheck(rule_id, title, passed, text, source)


def _alternator_share(installation: Installation) -> DesignCheck:
    rule_id, title = "alternator_share", "Current the alternator can spare"
    hot, idle = (
        tables.row("supply", name) for name in ("share.hot_alternator", "share.alternator")
    )
    own = tables.row("supply", "own_use.running")
    source = f"{hot.source}; the vehicle's own use: {own.source}"
    rated, drawn = installation.alternator.rated_current_a, _all_input(installation)
    if rated is None:
        text = f"Charging draws up to {whole_amperes(drawn)}; the alternator's rating is not known."
        return DesignCheck(rule_id, title, None, text, source)
    used = own.value / installation.scale
    spare, at_idle = (max(row.value * rated - used, 0.0) for row in (hot, idle))
    passed = drawn <= spare
    text = (
        f"Charging draws up to {whole_amperes(drawn)}; an alternator of "
        f"{as_stated(rated, 'A')} has about {whole_amperes(spare)} to spare on the road, once the "
        f"vehicle has taken its own {whole_amperes(used)}."
    )
    if not passed:
        text += " Set an input current limit, where the unit has one, or fit a smaller unit."
    elif drawn > at_idle:
        text += (
            f" At idle only {whole_amperes(at_idle)} are left: long idling with an empty house "
            "battery takes the rest out of the start battery."
        )
    return DesignCheck(rule_id, title, passed, text, source)


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
            text += " Wire its ignition input."
        return DesignCheck(rule_id, title, passed, text, row.source)
    if control is Control.UNKNOWN:
        text = "The alternator's kind is not known; wire the ignition input to be on the safe side."
        return DesignCheck(rule_id, title, None, text, _PRACTICE)
    if unit.ignition_signal_min_v is None:
        text = (
            "A variable alternator needs a signal on the ignition input; whether the "
            "unit takes one is not known."
        )
        return DesignCheck(rule_id, title, None, text, _PRACTICE)
    text = (
        f"A variable alternator needs {as_stated(unit.ignition_signal_min_v, 'V')} or more on the "
        "ignition input; the unit takes it. Prove it dead with the key off and live with the "
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
    if any(_is_guess(installation, f"charger.{name}") for name in _THRESHOLDS):
        source = "guesses, as entered: these voltages differ from unit to unit, look them up"
    for start, stop, which in known:
        if start <= stop:
            starts, stops = as_stated(start, "V"), as_stated(stop, "V")
            text = f"{starts} start is not over {stops} stop {which}: correct the entry."
            return DesignCheck(rule_id, title, False, text, source)
    if not known:
        text = "The thresholds are not known; they differ from unit to unit: look them up."
        return DesignCheck(rule_id, title, None, text, source)
    told = "; ".join(
        f"{as_stated(start, 'V')} over {as_stated(stop, 'V')} {which}"
        for start, stop, which in known
    )
    return DesignCheck(rule_id, title, True, f"{told}.", source)


_THRESHOLDS = (
    "start_voltage_v",
    "stop_voltage_v",
    "ignition_start_voltage_v",
    "ignition_stop_voltage_v",
)


def _low_supply(installation: Installation) -> DesignCheck:
    """Hold the lowest supply, less what the vehicle's runs lose, against the stop voltage."""
    rule_id, title = "low_supply", "Runs on at the lowest supply"
    unit, runs, scale = installation.charger, installation.runs, installation.scale
    if installation.alternator.control is Control.FIXED:
        row = tables.row("supply", "set_point.fixed_low")
        lowest = fixed_set_point(installation.ambient_c or 20.0)[0] * scale
        stop, where = unit.stop_voltage_v, "a fixed alternator's lowest"
    else:
        row = tables.row("supply", "lowest.economy")
        lowest, where = row.value * scale, "economy mode"
        stop = unit.ignition_stop_voltage_v
    described = all(
        cable.length_m is not None and cable.area_mm2 is not None
        for cable in (runs.vehicle_feed, runs.vehicle_return)
    )
    if stop is None or not described:
        missing = "The unit's stop voltage" if stop is None else "The way of the input current"
        return DesignCheck(rule_id, title, None, f"{missing} is not known.", row.source)
    sound = sound_installation(installation)
    ohm = sum(sound.run_ohm[run].mean for run in VEHICLE_SIDE)
    lost = ohm * _input_at_lowest(installation)
    passed = lowest - lost > stop
    text = (
        f"{volts(lowest)} ({where}) less {volts(lost)} that feed and return lose at full load "
        f"leaves {volts(lowest - lost)} at the unit, which stops under {as_stated(stop, 'V')}."
    )
    if not passed:
        text += " It will cut back or cut in and out: thicker cable, or a lower input limit."
    return DesignCheck(rule_id, title, passed, text, row.source)


def _input_at_lowest(installation: Installation) -> Ampere:
    """Return what the unit draws at full output and the lowest supply that it works at, A."""
    unit = sound_installation(installation).charger
    at_unit = tables.number("supply", "lowest.at_unit") * installation.scale
    drawn = unit.rated_output_a * unit.absorption_v / (unit.efficiency.mean * at_unit)
    return min(drawn, unit.input_limit_a)


def _battery_sensor(installation: Installation) -> DesignCheck:
    rule_id, title = "battery_sensor", "Negative clear of a battery sensor"
    source = (
        "a vehicle maker's service bulletin, trade journal: an added earth cable past the sensor "
        "falsifies its count; where to land it: common practice, no published source"
    )
    battery = installation.start_battery
    sensor = battery.sensor_on_negative if battery else None
    if sensor is False:
        text = "No current sensor on the start battery's negative post."
        return DesignCheck(rule_id, title, True, text, source)
    land = (
        "the unit's negative lands on the body side of it or on the maker's earth stud, and "
        "nothing is added on the post itself."
    )
    if sensor:
        text = f"A current sensor sits on the start battery's negative post: {land} Look at it."
    else:
        text = f"Whether a current sensor sits on the negative post is not known; with one, {land}"
    return DesignCheck(rule_id, title, None, text, source)


def _lithium_place(installation: Installation) -> DesignCheck:
    rule_id, title = "lithium_place", "Place of the lithium battery"
    location = installation.house_battery.location
    if location is None:
        text = "Where the lithium battery sits is not known."
        return DesignCheck(rule_id, title, None, text, _PRACTICE)
    where = location.value.replace("_", " ")
    if location is Location.ENGINE_BAY:
        text = (
            "It sits in the engine bay, where it gets hotter than hardly any lithium battery may: "
            "move it, or fit a kind that its papers allow there."
        )
        return DesignCheck(rule_id, title, False, text, _PRACTICE)
    return DesignCheck(rule_id, title, True, f"It sits in the {where}, away from heat.", _PRACTICE)


def _sealed_for_location(installation: Installation) -> DesignCheck:
    rule_id, title = "sealing", "Sealed for its location"
    code, location = installation.charger.ingress_protection, installation.location
    if location is None:
        text = "Where the unit sits is not known."
        return DesignCheck(rule_id, title, None, text, _IP_SOURCE)
    where = location.value.replace("_", " ")
    outdoors = ""
    if location is Location.TRAILER:
        outdoors = " That is for its drawbar and underside; the inside of a caravan asks for none."
    if location is Location.CABIN:
        text = "A cabin, or the inside of a caravan, asks for no sealing."
        return DesignCheck(rule_id, title, True, text, _IP_SOURCE)
    if code is None or "X" in code[2:4]:
        told = code or "not known"
        text = f"In the {where} it needs IP54 or better; its code is {told}.{outdoors}"
        return DesignCheck(rule_id, title, None, text, _IP_SOURCE)
    passed: bool | None = int(code[2]) >= 5 and int(code[3]) >= 4
    text = f"{code} in the {where}, where dust (5) and splashing (4) must stay out."
    if not passed and outdoors:
        passed = None
        text += f"{outdoors} Outdoors fit a sealed unit."
    elif not passed:
        text += " Move it into the cabin or fit a sealed unit."
    elif code[3] in "78":
        text += " Its second numeral says nothing of jets: keep the hose away."
    if passed and _is_guess(installation, "charger.ingress_protection"):
        passed = None
        text += " That code is a guess: read it off the plate."
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
    passed: bool | None = most >= air
    soak = tables.row("charger", "temperature.hot_soak")
    text = (
        f"Rated for {as_stated(most, '°C')}; the air there may reach {degrees(air)} on a hot day "
        "(assumed)."
    )
    if not passed:
        text += " Mount it where it is cooler."
    elif location is Location.ENGINE_BAY and most < soak.value:
        passed, source = None, f"{source}; {soak.source}"
        text += (
            f" Parked hot, it rises on for half an hour, up to {degrees(soak.value)}: look up the "
            "unit's highest storage temperature. Started hot, it gives less at first."
        )
    elif _is_guess(installation, "charger.max_ambient_c"):
        passed = None
        text += " That rating is a guess: read it off the plate."
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
    cold = cold_open_circuit_voltage(solar.open_circuit_voltage_v, coldest)
    passed = cold <= most
    text = (
        f"{as_stated(solar.open_circuit_voltage_v, 'V')} at {degrees(25)} becomes {volts(cold)} "
        f"at {degrees(coldest)} (assumed); the unit takes {as_stated(most, 'V')}."
    )
    if not passed:
        text += " Do not plug it in: fit a panel of lower voltage."
    return DesignCheck(rule_id, title, passed, text, source)


def _panel_reaches_battery(installation: Installation) -> DesignCheck:
    rule_id, title = "panel_reaches_battery", "Panel voltage over the battery's"
    source = (
        f"{tables.row('solar', 'coefficient.open_circuit').source}; that most units cannot step "
        "a panel's voltage up: common practice, no published source"
    )
    solar = installation.solar
    if solar is None or (
        solar.open_circuit_voltage_v is None and solar.max_power_voltage_v is None
    ):
        text = "The panel's voltages are not known."
        return DesignCheck(rule_id, title, None, text, source)
    needed = sound_installation(installation).charger.absorption_v
    open_v, working = (
        open_circuit_voltage(plate, _HOT_CELLS_C)
        for plate in (
            plate_open_circuit(solar, installation.scale),
            plate_working(solar, installation.scale),
        )
    )
    passed = True if working >= needed else None if open_v >= needed else False
    text = (
        f"Hot, the panel works at about {volts(working)}, {volts(open_v)} open; charging the house "
        f"battery takes {volts(needed)}."
    )
    if not passed:
        text += " It cannot fill the battery, unless the unit's papers say that it steps up."
    return DesignCheck(rule_id, title, passed, text, source)


_HOT_CELLS_C = 60.0  # assumed: cells in full sun on a summer's day


# Fuses and cables


def _run_checks(installation: Installation) -> Iterator[DesignCheck]:
    """Yield the checks of every run."""
    for run in FEEDS:
        cable = getattr(installation.runs, run.value)
        yield _fuse_protects(installation, run, cable)
        yield _fuse_carries(installation, run, cable)
    yield _usual_fuses(installation)
    if installation.house_battery.chemistry is Chemistry.LIFEPO4:
        yield _fuse_breaks(installation)
    for run in VEHICLE_SIDE:
        yield _drop_at_full_load(installation, run, getattr(installation.runs, run.value))
    yield _house_side_drop(installation)


def _fuse_protects(installation: Installation, run: Run, cable: CableRun) -> DesignCheck:
    name = run.full_name
    rule_id, title = f"{run.value}_fuse_protects_cable", f"Fuse protects the {name}"
    source = f"{_PRACTICE}; carried: {tables.row('conductors', 'ampacity.105_c').source}"
    if cable.fuse_a is None or cable.area_mm2 is None:
        missing = "fuse" if cable.fuse_a is None else "cable size"
        return DesignCheck(rule_id, title, None, f"The {name}'s {missing} is not known.", source)
    places = (installation.location, installation.house_battery.location)
    hot = run is Run.VEHICLE_FEED or Location.ENGINE_BAY in places
    where = "in a hot engine space" if hot else "in free air"
    least_c, least_n, best_c, best_n = _laid(cable)
    least = ampacity(cable.area_mm2, hot, least_c, least_n)
    best = ampacity(cable.area_mm2, hot, best_c, best_n)
    text = f"{as_stated(cable.fuse_a, 'A')} fuse on {_size(cable)}, which carries "
    passed: bool | None
    if cable.fuse_a > best:
        passed = False
        text += f"{whole_amperes(best)} {where} ({_laid_words(best_c, best_n)})."
        text += f" {_told_off(cable, best_c)} Fit a smaller fuse or a thicker cable."
    elif cable.fuse_a <= least:
        passed = True
        text += f"{whole_amperes(least)} {where} ({_laid_words(least_c, least_n)})."
    else:
        passed = None
        text += (
            f"{whole_amperes(best)} {where} ({_laid_words(best_c, best_n)}), but only "
            f"{whole_amperes(least)} with {_laid_words(least_c, least_n)}: read the print on the "
            "sheath, and enter insulation and bundling."
        )
    return DesignCheck(rule_id, title, passed, text, source)


def _laid(cable: CableRun) -> tuple[Celsius, int, Celsius, int]:
    """Return insulation, °C, and bundled cables: the cautious ones, then the best possible."""
    cautious_c = tables.number("conductors", "insulation.cautious")
    best_c = tables.number("conductors", "insulation.best")
    bundled = int(tables.number("conductors", "bundle.cautious"))
    return (
        cable.insulation_c or cautious_c,
        cable.bundled_cables or bundled,
        cable.insulation_c or best_c,
        cable.bundled_cables or 1,
    )


def _laid_words(insulation_c: Celsius, bundled_cables: int) -> str:
    bundle = "alone" if bundled_cables == 1 else f"{counted(bundled_cables, 'cable')} together"
    return f"{degrees(insulation_c)} insulation, {bundle}"


def _told_off(cable: CableRun, insulation_c: Celsius) -> str:
    fuse_a, area_mm2 = cable.fuse_a or 0.0, cable.area_mm2 or 0.0
    handbook, most = handbook_ampacity(area_mm2), greatest_fuse(area_mm2, insulation_c)
    told = f"Even the US small-craft rule ends at {whole_amperes(most)}" if fuse_a > most else ""
    if handbook is None:
        return f"{told}." if told else ""
    lasting = f"the automotive handbook lets it carry {whole_amperes(handbook)} all day"
    return f"{told}; {lasting}." if told else f"{capitalised(lasting)}."


def _fuse_carries(installation: Installation, run: Run, cable: CableRun) -> DesignCheck:
    name = run.full_name
    rule_id = f"{run.value}_fuse_carries_full_load"
    title = f"{name.capitalize()} fuse holds at full load"
    lasting, carried = (
        tables.row("fuses", f"rule.{name}") for name in ("lasting_share", "carried_share")
    )
    source = f"{lasting.source}; {carried.source}"
    if cable.fuse_a is None:
        return DesignCheck(rule_id, title, None, f"The {name}'s fuse is not known.", source)
    load, at = sound_installation(installation).charger.rated_output_a, ""
    if run is Run.VEHICLE_FEED:
        load = _input_at_lowest(installation)
        at = f" at {volts(tables.number('supply', 'lowest.at_unit') * installation.scale)} supply"
    fuse = as_stated(cable.fuse_a, "A")
    text = (
        f"Full load is {whole_amperes(load)}{at}, {percent(load / cable.fuse_a)} of the {fuse} "
        f"fuse, which lasts at {percent(lasting.value)} or less."
    )
    sized = _fuse_for(load / lasting.value)
    practice = dict(tables.row("fuses", "thumb.rating").points).get(
        installation.charger.rated_output_current_a
    )
    passed: bool | None = load <= lasting.value * cable.fuse_a + 1e-9
    if not passed and (
        load <= carried.value * cable.fuse_a or (practice and cable.fuse_a >= practice)
    ):
        passed = None
        text += (
            f" Fits by practice, margin thin: it may open on a long hot drive. {sized} on a cable "
            "that carries it would not."
        )
    elif not passed:
        text += f" It will open in time: fit {sized}, and a cable that carries it."
    return DesignCheck(rule_id, title, passed, text, source)


def _fuse_for(least_a: Ampere) -> str:
    sold = [rating for rating, _ in tables.row("fuses", "rule.sold").points]
    fitting = next((rating for rating in sold if rating >= least_a - 1e-9), least_a)
    return whole_amperes(fitting)


def _usual_fuses(installation: Installation) -> DesignCheck:
    rule_id, title = "usual_fuse", "Fuses beside what is usual"
    row = tables.row("fuses", "thumb.rating")
    rated = installation.charger.rated_output_current_a
    usual = dict(row.points).get(rated)
    unit = f"{as_stated(rated, 'A')} unit"
    fitted = [getattr(installation.runs, run.value).fuse_a for run in FEEDS]
    if usual is None:
        text = f"There is no rule of thumb for a {unit}; the current decides."
        return DesignCheck(rule_id, title, None, text, row.source)
    if None in fitted:
        text = f"Usual is {as_stated(usual, 'A')} at both batteries; not both fuses are known."
        return DesignCheck(rule_id, title, None, text, row.source)
    text = (
        f"{as_stated(fitted[0], 'A')} at the start battery, {as_stated(fitted[1], 'A')} at the "
        f"house battery; usual for a {unit} is {as_stated(usual, 'A')} at both, with a thin margin."
    )
    if min(fitted) < usual:
        text += " The smaller one may open on a long hot drive."
    elif max(fitted) > usual:
        text += " Larger is right as far as cable and unit's instructions allow it."
    return DesignCheck(rule_id, title, min(fitted) >= usual or None, text, row.source)


def _fuse_breaks(installation: Installation) -> DesignCheck:
    rule_id, title = "house_fuse_breaks_fault", "House fuse breaks a short circuit"
    capacity = installation.house_battery.capacity_ah
    large = tables.row("fuses", "rule.large_battery").value
    name = "rule.large_battery_fault" if (capacity or 0.0) > large else "rule.battery_fault"
    row, blade = tables.row("fuses", name), tables.row("fuses", "rule.blade_breaks")
    text = (
        "A lithium battery feeds thousands of amperes into a short circuit. Read the interrupting "
        "rating off the fuse or breaker at its post: it must reach the battery's own short-circuit "
        f"figure, or {whole_amperes(row.value)} where that is not known (battery-post or class T "
        f"links do); a blade fuse breaks {whole_amperes(blade.value)}."
    )
    return DesignCheck(rule_id, title, None, text, f"{row.source}; {blade.source}")


def _drop_at_full_load(installation: Installation, run: Run, cable: CableRun) -> DesignCheck:
    name, load = run.full_name, sound_installation(installation).full_load_a[run]
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
    other = next(one for one in VEHICLE_SIDE if one is not run)
    allowed = _allowed(installation, run)
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


def _house_side_drop(installation: Installation) -> DesignCheck:
    """Hold the two house runs together against 3 %, unless the unit senses at the battery."""
    rule_id, title = "house_side_drop", "House side cable loss at full load"
    row = tables.row("conductors", "drop_limit.house_side")
    load = sound_installation(installation).charger.rated_output_a
    feed, back = (getattr(installation.runs, run.value) for run in HOUSE_SIDE)
    lost_there, lost_back = _lost(feed, load), _lost(back, load)
    if lost_there is None or lost_back is None:
        run = Run.HOUSE_FEED if lost_there is None else Run.HOUSE_RETURN
        text = f"The {run.full_name}'s length or size is not known."
        return DesignCheck(rule_id, title, None, text, row.source)
    lost, allowed = lost_there + lost_back, row.value * installation.nominal_voltage_v
    text = (
        f"{as_stated(feed.length_m, 'm')} of {_size(feed)} out and "
        f"{as_stated(back.length_m, 'm')} of {_size(back)} back lose {volts(lost)} at "
        f"{whole_amperes(load)}, warm; {volts(allowed)}, {percent(row.value)}, for both is usual."
    )
    passed = round(lost, 2) <= round(allowed, 2)
    if not passed and installation.fitted.output_voltage_sensing:
        passed = True
        text += " The unit senses at the battery's posts and makes up for it."
    elif not passed:
        needed = max(feed.area_mm2 or 0.0, back.area_mm2 or 0.0) * lost / allowed
        text += (
            f" Move the unit nearer to the house battery, or fit at least {math.ceil(needed)} mm²"
            f"{_sold(needed)} both ways."
        )
    return DesignCheck(rule_id, title, passed, text, row.source)


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
