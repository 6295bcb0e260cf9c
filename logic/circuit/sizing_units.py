"""Design checks of the charger against its batteries, alternator, place and panel."""

from collections.abc import Iterator

from logic.circuit import batteries, panels, tables
from logic.circuit.design import (
    DesignCheck,
    all_input_current,
    all_output_current,
)
from logic.circuit.supply import fixed_set_point
from logic.quantities import Ampere
from logic.vehicle.assumed import PROFILE_TOLERANCE_V
from logic.vehicle.installation import Chemistry, Control, Installation, Location
from logic.words.figures import as_stated, degrees, volt_range, volts, whole_amperes
from logic.words.names import CHEMISTRIES

_IP_SOURCE = "IEC 60529; which code a place needs: common practice, no published source"
_CP = "common practice, no published source"


def unit_checks(installation: Installation) -> Iterator[DesignCheck]:
    """Yield the checks of the units."""
    yield _charge_current(installation)
    yield _profile(installation)
    yield _alternator_share(installation)
    yield _start_signal(installation)
    yield _thresholds(installation)
    yield _sealed_for_place(installation)
    yield _heat(installation)
    if installation.solar is not None:
        yield _cold_panel(installation)


def _charge_current(installation: Installation) -> DesignCheck:
    rule_id, title = "charge_current", "Charge current the battery takes"
    battery, given = installation.house_battery, all_output_current(installation)
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
        return DesignCheck(rule_id, title, None, text, _CP)
    passed = given <= most
    if not passed:
        known = battery.max_charge_current_a is not None
        text += " Fit" if known else " Look that figure up; if it is no higher, fit"
        text += " a smaller unit or a larger battery."
    return DesignCheck(rule_id, title, passed, text, source)


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
        return DesignCheck(rule_id, title, None, "The profile to be set is not known.", _CP)
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
    rated, drawn = installation.alternator.rated_current_a, all_input_current(installation)
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
        return DesignCheck(rule_id, title, None, text, _CP)
    if unit.ignition_signal_min_v is None:
        text = (
            "A variable alternator needs an ignition signal on the trigger terminal; whether the "
            "unit takes one is not known."
        )
        return DesignCheck(rule_id, title, None, text, _CP)
    text = (
        f"A variable alternator needs {as_stated(unit.ignition_signal_min_v, 'V')} or more on the "
        "trigger terminal; the unit takes it. Prove it dead with the key off and live with the "
        "engine on."
    )
    return DesignCheck(rule_id, title, True, text, _CP)


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


def _sealed_for_place(installation: Installation) -> DesignCheck:
    rule_id, title = "sealing", "Sealed for its place"
    code, place = installation.charger.ingress_protection, installation.location
    if place is None:
        text = "Where the unit sits is not known."
        return DesignCheck(rule_id, title, None, text, _IP_SOURCE)
    where = place.value.replace("_", " ")
    if place is Location.CABIN:
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
    rule_id, title = "heat", "Cool enough at its place"
    source = tables.row("charger", "temperature.engine_bay").source
    most, place = installation.charger.max_ambient_c, installation.location
    if most is None or place is None:
        missing = "greatest ambient temperature" if most is None else "place"
        return DesignCheck(rule_id, title, None, f"The unit's {missing} is not known.", source)
    hot_day = tables.number("charger", "temperature.hot_day")
    air = max(hot_day, installation.ambient_c or hot_day)
    if place is Location.ENGINE_BAY:
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
