"""Whether an installation is right by design, before anything is measured.

Each check says its rule, its figures, what would be right, and where the rule comes from. What is
not known is not judged.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from logic.circuit import batteries, tables
from logic.circuit.conductors import (
    ampacity,
    cable_drop,
    greatest_fuse,
    handbook_ampacity,
    run_resistance,
)
from logic.circuit.input_limit import input_for_rating, output_at_limit
from logic.circuit.panels import (
    cold_open_circuit_voltage,
    open_circuit_voltage,
    plate_open_circuit,
    plate_working,
)
from logic.circuit.sound_installation import sound_installation
from logic.circuit.standard_sizes import (
    fuse_ratings,
    fuse_words,
    greatest_fuse_under,
    smallest_cable,
    smallest_fuse,
)
from logic.circuit.supply import fixed_set_point
from logic.quantities import Ampere, Celsius, SquareMillimetre, Volt
from logic.vehicle.assumed import PROFILE_TOLERANCE_V
from logic.vehicle.installation import (
    CableRun,
    Chemistry,
    Control,
    Extra,
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

PRACTICE = "common practice, no published source"
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

    ``rule`` is what has to hold, ``text`` what is found with its figures, ``right`` what would be
    right or what to do ("" where nothing is to be said), ``source`` where the rule comes from.
    """

    rule_id: str
    title: str
    passed: bool | None
    text: str
    source: str
    right: str = ""

    @property
    def rule(self) -> str:
        """What has to hold, in one sentence."""
        return _RULES[next(name for name in _RULES if self.rule_id.endswith(name))]

    @property
    def words(self) -> str:
        """What is found and what would be right."""
        return f"{self.text} {self.right}".rstrip()


_RULES = {
    "charge_current": "All units together give the battery no more than it may be charged with.",
    "profile": "The profile charges to the voltage that the battery asks for.",
    "input_limit": (
        "The input limit costs no more of the output than sparing the vehicle's supply asks for."
    ),
    "trailer_plug": "Full current stays within what one contact of the trailer's plug carries.",
    "trailer_fuse": "The feed through the plug is fused at the battery that feeds it.",
    "trailer_return": "The current comes back from the trailer by a conductor of its own.",
    "trailer_socket": "Nothing is live on the tow socket while no trailer is hitched.",
    "alternator_share": (
        "The units draw no more than the alternator gives, warm and on the road, less what the "
        "vehicle uses itself."
    ),
    "converter_share": (
        "The units draw no more than the vehicle's own supply gives, less what the vehicle uses "
        "itself."
    ),
    "start_signal": "The unit starts whenever the vehicle's supply is on.",
    "thresholds": "The unit stops at a lower voltage than it starts at.",
    "low_supply": (
        "At the lowest supply, less what the vehicle's runs lose at full current, the unit is "
        "still over its stop voltage."
    ),
    "two_in_series": "A unit is fed across both batteries in series, never from one of the two.",
    "two_in_parallel": "A unit is fed from the one of two that the vehicle's supply comes to.",
    "battery_sensor": "No current of the unit goes round the start battery's sensor.",
    "sealing": "The unit's housing keeps out the dust and water of its place.",
    "heat": "The air at the unit stays under its limit on a hot day.",
    "lithium_place": "A lithium battery stays out of the heat under the bonnet.",
    "vented_place": "A flooded battery's gas goes outside, not into where people sit or sleep.",
    "cold_panel": "On the coldest morning the panel stays under the most that the unit takes.",
    "panel_reaches_battery": "Hot, the panel still works over the charging voltage.",
    "fuse_protects_cable": "The fuse is no larger than what its cable carries.",
    "fuse_carries_full_load": "Full current for hours loads the fuse to four fifths at most.",
    "usual_fuse": "No fuse is smaller than what is usual for a unit of this rating.",
    "fuse_breaks_fault": "The fuse can break the current that its battery gives into a short.",
    "second_unit_runs": "A second unit has its own cables, and its own fuse at each battery.",
    "parallel_take_off": "Batteries in parallel carry nearly the same current each.",
    "parallel_alike": (
        "Batteries in parallel are of one age and kind, with equal links, a lithium one fused."
    ),
    "vehicle_isolator": "An isolator carries the full current for as long as it flows.",
    "house_isolator": "An isolator carries the full current for as long as it flows.",
    "other_sources": "All that charges one battery at a time gives no more than it takes.",
    "house_side_drop": "Out and back, the house side loses no more than 3 % at full output.",
    "drop": "At full current the run loses no more than is usual for it.",
}


# The charger against its batteries, alternator, location and panel


def unit_checks(installation: Installation) -> Iterator[DesignCheck]:
    """Yield the checks of the units."""
    yield _charge_current(installation)
    yield _profile(installation)
    if installation.has(Extra.CONVERTER):
        yield _converter_share(installation)
    else:
        yield _alternator_share(installation)
    if installation.charger.input_current_limit_a is not None:
        yield _input_limit(installation, installation.charger.input_current_limit_a)
    yield _start_signal(installation)
    yield _thresholds(installation)
    yield _low_supply(installation)
    if installation.has(Extra.START_BATTERIES_IN_SERIES):
        yield _two_in_series(installation)
    if installation.has(Extra.START_BATTERIES_IN_PARALLEL):
        yield _two_in_parallel(installation)
    yield _battery_sensor(installation)
    yield _sealed_for_location(installation)
    yield _heat(installation)
    if installation.house_battery.chemistry is Chemistry.LIFEPO4:
        yield _lithium_place(installation)
    if installation.house_battery.chemistry is Chemistry.FLOODED:
        yield _vented_place(installation)
    if installation.solar is not None:
        yield _cold_panel(installation)
        yield _panel_reaches_battery(installation)


def is_guess(installation: Installation, path: str) -> bool:
    """Whether a figure is one that nobody read off the thing itself."""
    return installation.stated(path) in (StatedBy.GUESS, StatedBy.PRESET)


def _charge_current(installation: Installation) -> DesignCheck:
    rule_id, title = "charge_current", "Charge current the battery takes"
    battery, given = installation.house_battery, all_output(installation)
    who = as_stated(given, "A")
    if installation.fitted.second_charger_rated_output_current_a:
        who += " from both units"
    guessed = is_guess(installation, "house_battery.max_charge_current_a")
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
        return DesignCheck(rule_id, title, None, text, PRACTICE)
    passed, right = given <= most, ""
    if not passed:
        known = battery.max_charge_current_a is not None and not guessed
        right = "Fit" if known else "Look that figure up; if it is no higher, fit"
        right += f" {whole_amperes(math.floor(most))} at most in all, or a larger battery."
    return DesignCheck(rule_id, title, passed, text, source, right)


def all_output(installation: Installation) -> Ampere:
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
    battery, scale = installation.house_battery, installation.house_scale
    profile, asked = installation.charger.absorption_voltage_v, battery.absorption_voltage_v
    if profile is None:
        return DesignCheck(rule_id, title, None, "The profile to be set is not known.", PRACTICE)
    set_to = as_stated(profile, "V")
    if asked is not None and not is_guess(installation, "house_battery.absorption_voltage_v"):
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
    right = ""
    if not passed:
        right = "Set the profile that the battery's maker names."
    elif is_guess(installation, "charger.absorption_voltage_v"):
        passed = None
        right = "That profile is a guess: take it from the battery's papers."
    return DesignCheck(rule_id, title, passed, text, source, right)


def _alternator_share(installation: Installation) -> DesignCheck:
    rule_id, title = "alternator_share", "Current the alternator can spare"
    hot, idle = (
        tables.row("supply", name) for name in ("share.hot_alternator", "share.alternator")
    )
    own = tables.row("supply", "own_use.running")
    source = f"{hot.source}; the vehicle's own use: {own.source}"
    rated, drawn = installation.alternator.rated_current_a, _all_input(installation)
    used = own.value / installation.scale
    needed = _to_fives((drawn + used) / hot.value)
    if rated is None:
        text = f"{_draws(installation, drawn)}; the alternator's rating is not known."
        right = f"It takes an alternator of {whole_amperes(needed)} or more: read its plate."
        return DesignCheck(rule_id, title, None, text, source, right)
    spare, at_idle = (max(row.value * rated - used, 0.0) for row in (hot, idle))
    passed, right = drawn <= spare, ""
    text = (
        f"{_draws(installation, drawn)}; an alternator of "
        f"{as_stated(rated, 'A')} has about {whole_amperes(spare)} to spare on the road, once the "
        f"vehicle has taken its own {whole_amperes(used)}."
    )
    if not passed:
        right = (
            f"Set an input current limit of {whole_amperes(math.floor(spare))}, where the unit has "
            f"one, or fit a smaller unit; all of it takes an alternator of {whole_amperes(needed)}."
        )
    elif drawn > at_idle:
        text += f" At idle only {whole_amperes(at_idle)} are left."
        right = "Long idling with an empty house battery takes the rest out of the start battery."
    return DesignCheck(rule_id, title, passed, text, source, right)


def _draws(installation: Installation, drawn: Ampere) -> str:
    """Say what charging draws; stepping up it is far more than what the unit gives."""
    words = f"Charging draws up to {whole_amperes(drawn)}"
    if not installation.has(Extra.OTHER_OUTPUT_VOLTAGE):
        return words
    given = whole_amperes(all_output(installation))
    sides = (installation.nominal_voltage_v, 12 * installation.house_scale)
    vehicle, house = (as_stated(side, "V") for side in sides)
    return f"{words} at {vehicle} for {given} at {house}"


def _converter_share(installation: Installation) -> DesignCheck:
    """Hold what is drawn against a converter's own limit: past it, its volts collapse."""
    rule_id, title = "converter_share", "Current the vehicle's supply can spare"
    share, own = (tables.row("supply", f"converter.{name}") for name in ("share", "own_use"))
    source = f"{share.source}; the vehicle's own use: {own.source}"
    rated, drawn = installation.alternator.rated_current_a, _all_input(installation)
    used = own.value / installation.scale
    needed = whole_amperes(_to_fives((drawn + used) / share.value))
    if rated is None:
        text = f"{_draws(installation, drawn)}; what the vehicle's supply gives is not known."
        right = (
            f"It takes one of {needed} or more: look it up in the vehicle's papers. Some makers "
            "allow less to be taken for what is added."
        )
        return DesignCheck(rule_id, title, None, text, source, right)
    spare = max(share.value * rated - used, 0.0)
    passed: bool | None = drawn <= spare
    text = (
        f"{_draws(installation, drawn)}; a DC-DC supply of {as_stated(rated, 'A')}, "
        f"loaded to {percent(share.value)}, has about "
        f"{whole_amperes(spare)} to spare, once the vehicle has taken its own "
        f"{whole_amperes(used)}."
    )
    right = ""
    if not passed:
        text += " Overloaded, it lets its volts fall to the start battery's, which then empties."
        right = (
            f"Set an input current limit of {whole_amperes(math.floor(spare))}, where the unit has "
            f"one, or fit a smaller unit; all of it takes a supply of {needed}."
        )
    elif installation.stated("alternator.rated_current_a") is StatedBy.GUESS:
        passed, right = None, "That rating is a guess: look it up in the vehicle's papers."
    return DesignCheck(rule_id, title, passed, text, source, right)


def _input_limit(installation: Installation, limit: Ampere) -> DesignCheck:
    """Hold a set input limit against what the rating needs and what the alternator can spare."""
    rule_id, title = "input_limit", "Output that the input limit leaves"
    at, (share, own, supplier) = tables.row("supply", "generator.nominal"), _supplier(installation)
    source = f"efficiency, runs and profile as entered; supply: {at.source}; {share.source}"
    rated, needed = installation.charger.rated_output_current_a, input_for_rating(installation)
    left = output_at_limit(installation, limit)
    held = f"Held to {as_stated(limit, 'A')} the unit"
    if limit >= needed:
        text = f"{held} still gives its whole {as_stated(rated, 'A')}, which takes about "
        return DesignCheck(rule_id, title, True, f"{text}{whole_amperes(needed)}.", source)
    text = (
        f"{held} gives about {whole_amperes(left)} of its {as_stated(rated, 'A')}: it costs "
        f"{whole_amperes(rated - left)}. Its whole rating takes {whole_amperes(needed)}."
    )
    alternator = installation.alternator.rated_current_a
    if alternator is None:
        right = f"Whether the {supplier} asks for so much is not known: look its rating up."
        return DesignCheck(rule_id, title, None, text, source, right)
    spare = max(share.value * alternator - own.value / installation.scale, 0.0)
    most = math.floor(min(spare, math.ceil(needed)))
    if limit >= most - 1:
        text += f" The {supplier} has no more than {whole_amperes(spare)} to spare on the road."
        return DesignCheck(rule_id, title, True, text, source)
    right = (
        f"The {supplier} spares {whole_amperes(spare)} on the road: a limit of "
        f"{whole_amperes(most)} would give {whole_amperes(output_at_limit(installation, most))}, "
        "as far as cable and fuse bear it."
    )
    return DesignCheck(rule_id, title, None, text, source, right)


def _supplier(installation: Installation) -> tuple[tables.FigureRow, tables.FigureRow, str]:
    """Return the share of its rating that a supply gives, the vehicle's own use, and its name."""
    names, words = ("share.hot_alternator", "own_use.running"), "alternator"
    if installation.has(Extra.CONVERTER):
        names, words = ("converter.share", "converter.own_use"), "vehicle's supply"
    share, own = (tables.row("supply", name) for name in names)
    return share, own, words


def _to_fives(amperes: Ampere) -> Ampere:
    return 5.0 * math.ceil(amperes / 5.0 - 1e-9)


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
        right = "" if passed else "Wire its ignition input."
        return DesignCheck(rule_id, title, passed, text, row.source, right)
    if control is Control.CONVERTER:
        return _starts_by_converter(installation, rule_id)
    if control is Control.UNKNOWN:
        text = "The alternator's kind is not known."
        right = "Wire the ignition input to be on the safe side."
        return DesignCheck(rule_id, title, None, text, PRACTICE, right)
    if unit.ignition_signal_min_v is None:
        text = (
            "A variable alternator needs a signal on the ignition input; whether the "
            "unit takes one is not known."
        )
        return DesignCheck(rule_id, title, None, text, PRACTICE)
    text = (
        f"A variable alternator needs {as_stated(unit.ignition_signal_min_v, 'V')} or more on the "
        "ignition input; the unit takes it."
    )
    right = "Prove it dead with the key off and live with the engine on."
    return DesignCheck(rule_id, title, True, text, PRACTICE, right)


def _starts_by_converter(installation: Installation, rule_id: str) -> DesignCheck:
    title, row = "Starts with this supply", tables.row("supply", "converter.low")
    start, least = installation.charger.start_voltage_v, row.value * installation.scale
    signal = (
        "a signal that is live only while the vehicle is ready, not in accessory mode, where the "
        "supply is off"
    )
    if start is None:
        text = "The unit's start voltage is not known."
        return DesignCheck(rule_id, title, None, text, row.source, f"Look it up, or wire {signal}.")
    passed = start <= least
    text = (
        f"Starts at {as_stated(start, 'V')}; switched on, the vehicle's own supply holds "
        f"{volts(least)} or more."
    )
    right = (
        f"By voltage it starts and stops with the supply. If its ignition input is wired: {signal}."
    )
    if not passed:
        right = f"Wire its ignition input to {signal}."
    return DesignCheck(rule_id, title, passed, text, row.source, right)


def _thresholds(installation: Installation) -> DesignCheck:
    rule_id, title = "thresholds", "Start voltages over stop voltages"
    unit = installation.charger
    pairs = (
        (unit.start_voltage_v, unit.stop_voltage_v, "without a signal"),
        (unit.ignition_start_voltage_v, unit.ignition_stop_voltage_v, "with one"),
    )
    known = [(a, b, which) for a, b, which in pairs if a is not None and b is not None]
    source = "the unit's own figures, as entered"
    if any(is_guess(installation, f"charger.{name}") for name in _THRESHOLDS):
        source = "guesses, as entered: these voltages differ from unit to unit, look them up"
    for start, stop, which in known:
        if start <= stop:
            starts, stops = as_stated(start, "V"), as_stated(stop, "V")
            text = f"{starts} start is not over {stops} stop {which}."
            return DesignCheck(rule_id, title, False, text, source, "Correct the entry.")
    if not known:
        text = "The thresholds are not known; they differ from unit to unit."
        return DesignCheck(rule_id, title, None, text, source, "Look them up in its papers.")
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
    unit, scale = installation.charger, installation.scale
    if installation.alternator.control is Control.FIXED:
        row = tables.row("supply", "set_point.fixed_low")
        lowest = fixed_set_point(installation.ambient_c or 20.0)[0] * scale
        stop, where = unit.stop_voltage_v, "a fixed alternator's lowest"
    elif installation.alternator.control is Control.CONVERTER:
        row = tables.row("supply", "converter.low")
        lowest, where = row.value * scale, "the vehicle's own supply at its lowest"
        stop = unit.stop_voltage_v
    else:
        row = tables.row("supply", "lowest.economy")
        lowest, where = row.value * scale, "economy mode"
        stop = unit.ignition_stop_voltage_v
    if not all(is_described(getattr(installation.runs, run.value)) for run in VEHICLE_SIDE):
        text = "The way of the input current is not known."
        return DesignCheck(rule_id, title, None, text, row.source)
    current = input_at_lowest(installation)
    lost = _way_ohm(installation, 0.0) * current
    text = (
        f"{volts(lowest)} ({where}) less {volts(lost)} that feed and return lose at "
        f"{whole_amperes(current)} leaves {volts(lowest - lost)} at the unit"
    )
    if stop is None:
        right = "Its papers must name a stop voltage under that."
        text += "; its stop voltage is not known."
        return DesignCheck(rule_id, title, None, text, row.source, right)
    text += f", which stops under {as_stated(stop, 'V')}."
    passed: bool | None = lowest - lost > stop
    right = ""
    hold = tables.number("charger", "hold.most_over_stop") * scale
    if not passed:
        right = _more_copper(installation, (lowest - stop) / current)
        text += " It will cut back or cut in and out."
    elif lowest - lost < stop + hold:
        right = "So near its stop voltage many a unit already gives less than its rating."
    by_voltage = installation.alternator.control in (Control.FIXED, Control.CONVERTER)
    named = "stop" if by_voltage else "ignition_stop"
    if passed and is_guess(installation, f"charger.{named}_voltage_v"):
        passed = None
        right = f"That stop voltage is a guess: look it up in the unit's papers. {right}".rstrip()
    return DesignCheck(rule_id, title, passed, text, row.source, right)


def is_described(cable: CableRun) -> bool:
    return cable.length_m is not None and cable.area_mm2 is not None


def _way_ohm(installation: Installation, least_mm2: SquareMillimetre) -> float:
    """Return what feed and return have together, Ω, were each at least so thick."""
    ambient_c = sound_installation(installation).ambient_c.mean
    ohm = 0.0
    for run in VEHICLE_SIDE:
        cable = getattr(installation.runs, run.value)
        area_mm2 = max(cable.area_mm2 or 0.0, least_mm2)
        thicker = cable.model_copy(update={"area_mm2": area_mm2})
        ohm += run_resistance(run, thicker, ambient_c).mean
    return ohm


def _more_copper(installation: Installation, most_ohm: float) -> str:
    """Say which cable brings the way of the input current under a resistance."""
    cable = smallest_cable(lambda area_mm2: _way_ohm(installation, area_mm2) < most_ohm)
    if not cable.words:
        return "No cable is thick enough: shorten it, or set a lower input limit."
    return f"Fit {cable.words} out and back, or set a lower input limit."


def input_at_lowest(installation: Installation) -> Ampere:
    """Return what the unit draws at full output and the lowest supply that it works at, A."""
    unit = sound_installation(installation).charger
    at_unit = tables.number("supply", "lowest.at_unit") * installation.scale
    drawn = unit.rated_output_a * unit.absorption_v / (unit.efficiency.mean * at_unit)
    return min(drawn, unit.input_limit_a)


def _two_in_series(installation: Installation) -> DesignCheck:
    rule_id, title = "two_in_series", "Fed across both batteries in series"
    if installation.nominal_voltage_v == 12:
        text = (
            "Two start batteries in series, and a 12 V input: two 12 V batteries make 24 V, and on "
            "one of them alone the unit empties that one while the other is overcharged."
        )
        right = "Fit a unit with 24 V input, and set the vehicle up as 24 V."
        right += " Only two 6 V batteries make 12 V: then say so."
        return DesignCheck(rule_id, title, False, text, PRACTICE, right)
    text = "Two start batteries in series: the unit's input is their 24 V together."
    right = (
        "Positive at the end that is not earthed, negative at the earthed end or the body; nothing "
        "on the link between the two. Look at it."
    )
    return DesignCheck(rule_id, title, None, text, PRACTICE, right)


def _two_in_parallel(installation: Installation) -> DesignCheck:
    rule_id, title = "two_in_parallel", "Which of two batteries feeds the unit"
    battery = installation.start_battery
    capacity = battery.capacity_ah if battery else None
    text = "Two start batteries in parallel"
    if capacity is not None:
        text += f", {as_stated(capacity, 'Ah')} together"
    supply = "DC-DC supply" if installation.has(Extra.CONVERTER) else "alternator"
    right = (
        f"Feed and fuse at the battery that the {supply}'s cable comes to; negative at the body, "
        "or at that same battery on the body side of a sensor. The fuse has to break what both "
        "give together. Look at it."
    )
    return DesignCheck(rule_id, title, None, f"{text}.", PRACTICE, right)


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
        text = "A current sensor sits on the start battery's negative post."
        right = f"{capitalised(land)} Look at it."
    else:
        text = "Whether a current sensor sits on the start battery's negative post is not known."
        right = f"With one, {land}"
    return DesignCheck(rule_id, title, None, text, source, right)


def _lithium_place(installation: Installation) -> DesignCheck:
    rule_id, title = "lithium_place", "Place of the lithium battery"
    location = installation.house_battery.location
    if location is None:
        text = "Where the lithium battery sits is not known."
        return DesignCheck(rule_id, title, None, text, PRACTICE)
    where = location.value.replace("_", " ")
    if location is Location.ENGINE_BAY:
        text = "It sits in the engine bay, which gets hotter than nearly any lithium battery may."
        right = "Move it, or fit a kind that its papers allow there."
        return DesignCheck(rule_id, title, False, text, PRACTICE, right)
    return DesignCheck(rule_id, title, True, f"It sits in the {where}, away from heat.", PRACTICE)


def _vented_place(installation: Installation) -> DesignCheck:
    rule_id, title = "vented_place", "Vent of the flooded battery"
    source = (
        "battery handbook, reprint: a flooded cell gives off hydrogen while it is charged; that "
        "its place is vented to the outside: common practice, no published source"
    )
    location = installation.house_battery.location
    if location in (Location.ENGINE_BAY, Location.TRAY):
        where = location.value.replace("_", " ")
        text = f"It sits in the {where}, in the open air."
        return DesignCheck(rule_id, title, True, text, source)
    text = "Where the flooded battery sits is not known."
    if location is not None:
        text = f"It sits in the {location.value}, and gives off hydrogen while it is charged."
    right = "Indoors: a box that is shut to the inside, with a vent to the outside. Look at it."
    return DesignCheck(rule_id, title, None, text, source, right)


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
    text, right = f"{code} in the {where}, where dust (5) and splashing (4) must stay out.", ""
    if not passed and outdoors:
        passed = None
        text, right = f"{text}{outdoors}", "Outdoors fit a sealed unit, IP54 or better."
    elif not passed:
        right = "Move it into the cabin or fit a sealed unit, IP54 or better."
    elif code[3] in "78":
        right = "Its second numeral says nothing of jets: keep the hose away."
    if passed and is_guess(installation, "charger.ingress_protection"):
        passed = None
        right = f"That code is a guess: read it off the plate. {right}".rstrip()
    return DesignCheck(rule_id, title, passed, text, _IP_SOURCE, right)


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
    right = ""
    if not passed:
        right = f"Mount it where it is cooler, or fit a unit rated for {degrees(air)}."
    elif location is Location.ENGINE_BAY and most < soak.value:
        passed, source = None, f"{source}; {soak.source}"
        text += f" Parked hot, it rises on for half an hour, up to {degrees(soak.value)}."
        right = (
            "Look up the unit's highest storage temperature. Started hot, it gives less at first."
        )
    elif is_guess(installation, "charger.max_ambient_c"):
        passed = None
        right = "That rating is a guess: read it off the plate."
    return DesignCheck(rule_id, title, passed, text, source, right)


def _cold_panel(installation: Installation) -> DesignCheck:
    rule_id, title = "cold_panel", "Panel voltage on a cold morning"
    source = tables.row("solar", "cold.factor").source
    most, solar = installation.charger.solar_max_voltage_v, installation.solar
    if most is None or solar is None or solar.open_circuit_voltage_v is None:
        missing = (
            "unit's greatest panel voltage" if most is None else "panel's open-circuit voltage"
        )
        return DesignCheck(rule_id, title, None, f"The {missing} is not known.", source)
    coldest = min(tables.number("solar", "cold.lowest_c"), installation.ambient_c or 0.0)
    cold = cold_open_circuit_voltage(solar.open_circuit_voltage_v, coldest)
    thin = tables.row("solar", "cold.margin")
    passed: bool | None = cold <= most
    text = (
        f"{as_stated(solar.open_circuit_voltage_v, 'V')} at {degrees(25)} becomes {volts(cold)} "
        f"at {degrees(coldest)} (assumed); the unit takes {as_stated(most, 'V')}."
    )
    right = ""
    if not passed:
        least = most * solar.open_circuit_voltage_v / cold
        right = f"Do not plug it in: its plate may say {volts(least)} at most."
    elif cold * thin.value > most:
        passed, source = None, f"{source}; {thin.source}"
        text += f" Some panels go on to {volts(cold * thin.value)}: a thin margin."
        right = "Take the coefficient from the panel's own papers, or fit one of lower voltage."
    elif any(is_guess(installation, path) for path in _COLD_PANEL):
        passed = None
        right = "A voltage of it is a guess: read it off the panel's and the unit's plates."
    return DesignCheck(rule_id, title, passed, text, source, right)


_COLD_PANEL = ("solar.open_circuit_voltage_v", "charger.solar_max_voltage_v")


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
            plate_open_circuit(solar, installation.house_scale),
            plate_working(solar, installation.house_scale),
        )
    )
    passed = True if working >= needed else None if open_v >= needed else False
    text = (
        f"Hot, the panel works at about {volts(working)}, {volts(open_v)} open; charging the house "
        f"battery takes {volts(needed)}."
    )
    right = ""
    if not passed:
        text += " It cannot fill the battery, unless the unit's papers say that it steps up."
        least = needed / open_circuit_voltage(1.0, _HOT_CELLS_C)
        right = f"Fit a panel that works at {volts(least)} or more by its plate."
    return DesignCheck(rule_id, title, passed, text, source, right)


_HOT_CELLS_C = 60.0  # assumed: cells in full sun on a summer's day


# Fuses and cables


def run_checks(installation: Installation) -> Iterator[DesignCheck]:
    """Yield the checks of every run."""
    for run in FEEDS:
        cable = getattr(installation.runs, run.value)
        yield _fuse_protects(installation, run, cable)
        yield _fuse_carries(installation, run, cable)
    yield _usual_fuses(installation)
    yield _vehicle_fuse_breaks(installation)
    yield _house_fuse_breaks(installation)
    for run in VEHICLE_SIDE:
        yield _drop_at_full_load(installation, run, getattr(installation.runs, run.value))
    yield _house_side_drop(installation)


def _fuse_protects(installation: Installation, run: Run, cable: CableRun) -> DesignCheck:
    name = run.full_name
    rule_id, title = f"{run.value}_fuse_protects_cable", f"Fuse protects the {name}"
    source = f"{PRACTICE}; carried: {tables.row('conductors', 'ampacity.105_c').source}"
    if cable.fuse_a is None or cable.area_mm2 is None:
        missing = "fuse" if cable.fuse_a is None else "cable size"
        return DesignCheck(rule_id, title, None, f"The {name}'s {missing} is not known.", source)
    places = (installation.location, installation.house_battery.location)
    hot = run is Run.VEHICLE_FEED or Location.ENGINE_BAY in places
    where = "in a hot engine space" if hot else "in free air"
    least_c, least_n, best_c, best_n = _laid(cable)
    least = ampacity(cable.area_mm2, hot, least_c, least_n)
    best = ampacity(cable.area_mm2, hot, best_c, best_n)
    text = f"{as_stated(cable.fuse_a, 'A')} fuse on {size_words(cable)}, which carries "
    passed: bool | None
    if cable.fuse_a > best:
        passed = False
        text += f"{whole_amperes(best)} {where} ({_laid_words(best_c, best_n)})."
        text += f" {_told_off(cable, best_c)}".rstrip()
    elif cable.fuse_a <= least:
        passed = True
        text += f"{whole_amperes(least)} {where} ({_laid_words(least_c, least_n)})."
    else:
        passed = None
        text += (
            f"{whole_amperes(best)} {where} ({_laid_words(best_c, best_n)}), but only "
            f"{whole_amperes(least)} with {_laid_words(least_c, least_n)}."
        )
        right = "Read the print on the sheath, and enter insulation and bundling."
    if passed is not None:
        carries = smallest_cable(
            lambda area_mm2: ampacity(area_mm2, hot, least_c, least_n) >= (cable.fuse_a or 0.0)
        )
        right = _protected(carries.words, greatest_fuse_under(least), passed)
    return DesignCheck(rule_id, title, passed, text, source, right)


def _protected(cable: str, fuse_a: Ampere | None, passed: bool) -> str:
    """Say which cable carries the fuse, and where that is wrong, which fuse the cable allows."""
    if passed:
        return f"Smallest standard cable for this fuse: {cable}." if cable else ""
    smaller = whole_amperes(fuse_a) if fuse_a else f"under {whole_amperes(fuse_ratings()[0])}"
    return f"Fit a fuse of {smaller}, or {cable}." if cable else f"Fit a fuse of {smaller}."


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
        load = input_at_lowest(installation)
        at = f" at {volts(tables.number('supply', 'lowest.at_unit') * installation.scale)} supply"
    fuse = as_stated(cable.fuse_a, "A")
    text = (
        f"Full load is {whole_amperes(load)}{at}, {percent(load / cable.fuse_a)} of the {fuse} "
        f"fuse, which lasts at {percent(lasting.value)} or less."
    )
    least = load / lasting.value
    sized = fuse_words(smallest_fuse(least), least)
    practice = _usual_fuse(installation, run)
    passed: bool | None = load <= lasting.value * cable.fuse_a + 1e-9
    right = ""
    if not passed and (
        load <= carried.value * cable.fuse_a or (practice and cable.fuse_a >= practice)
    ):
        passed = None
        text += " Fits by practice, margin thin: it may open on a long hot drive."
        right = f"{sized} on a cable that carries it would not."
    elif not passed:
        text += " It will open in time."
        right = f"Fit {sized}, and a cable that carries it."
    return DesignCheck(rule_id, title, passed, text, source, right)


def _usual_fuse(installation: Installation, run: Run) -> Ampere | None:
    """Return the fuse that is met with units of this rating or the next larger one, A.

    The rule of thumb is of units with one voltage on both sides; elsewhere the input is that of
    such a unit of the same power.
    """
    pairs = tables.row("fuses", "thumb.rating").points
    rated = installation.charger.rated_output_current_a
    if run in VEHICLE_SIDE:
        rated *= installation.house_scale / installation.scale
    return next((fuse for rating, fuse in pairs if rating >= rated), None)


def _usual_fuses(installation: Installation) -> DesignCheck:
    rule_id, title = "usual_fuse", "Fuses beside what is usual"
    row = tables.row("fuses", "thumb.rating")
    rated = installation.charger.rated_output_current_a
    usual = [_usual_fuse(installation, run) for run in FEEDS]
    unit = f"{as_stated(rated, 'A')} unit"
    fitted = [getattr(installation.runs, run.value).fuse_a for run in FEEDS]
    if None in usual:
        text = f"There is no rule of thumb for a {unit}; the current decides."
        return DesignCheck(rule_id, title, None, text, row.source)
    both = f"{as_stated(usual[0], 'A')} at both"
    if usual[0] != usual[1]:
        both = f"{as_stated(usual[0], 'A')} and {as_stated(usual[1], 'A')}"
    if None in fitted:
        where = "at start and house battery" if usual[0] != usual[1] else "batteries"
        text = f"Usual is {both} {where}; not both fuses are known."
        return DesignCheck(rule_id, title, None, text, row.source)
    text = (
        f"{as_stated(fitted[0], 'A')} at the start battery, {as_stated(fitted[1], 'A')} at the "
        f"house battery; usual for a {unit} is {both}, with a thin margin."
    )
    right = ""
    pairs = [(has, asked or 0.0) for has, asked in zip(fitted, usual, strict=True)]
    is_enough = all(has >= asked for has, asked in pairs)
    if not is_enough:
        right = "The smaller one may open on a long hot drive."
    elif any(has > asked for has, asked in pairs):
        right = "Larger is right as far as cable and unit's instructions allow it."
    return DesignCheck(rule_id, title, is_enough or None, text, row.source, right)


def _vehicle_fuse_breaks(installation: Installation) -> DesignCheck:
    battery = installation.start_battery
    needed, source = _fault_of_lead(battery.capacity_ah if battery else None)
    return _fuse_breaks(installation, Run.VEHICLE_FEED, "start battery", needed, source)


def _house_fuse_breaks(installation: Installation) -> DesignCheck:
    battery = installation.house_battery
    if battery.chemistry is Chemistry.LIFEPO4:
        large = tables.row("fuses", "rule.large_battery").value
        is_large = (battery.capacity_ah or 0.0) > large
        row = tables.row("fuses", "rule.large_battery_fault" if is_large else "rule.battery_fault")
        needed, source = row.value, row.source
    else:
        needed, source = _fault_of_lead(battery.capacity_ah)
    return _fuse_breaks(installation, Run.HOUSE_FEED, "house battery", needed, source)


def _fault_of_lead(capacity_ah: float | None) -> tuple[Ampere, str]:
    """Return what the fuse at a lead battery must break, A, and where that comes from."""
    each = tables.row("fuses", "rule.cranking_share")
    row = tables.row("fuses", "rule.fault_by_cranking")
    assumed = capacity_ah or tables.number("fuses", "rule.lead_battery")
    cranking = assumed * each.value
    reached = [fault for above, fault in row.points if cranking > above]
    return reached[-1], f"{row.source}; {each.source}"


def _fuse_breaks(
    installation: Installation, run: Run, battery: str, needed: Ampere, source: str
) -> DesignCheck:
    """Hold a fuse's interrupting rating against what its battery gives into a short circuit."""
    rule_id = f"{run.value.removesuffix('_feed')}_fuse_breaks_fault"
    title = f"{capitalised(run.full_name.removesuffix(' feed'))} fuse breaks a short circuit"
    blade = tables.row("fuses", "rule.blade_breaks")
    rating = getattr(installation.runs, run.value).fuse_breaks_a
    gives = f"Into a short circuit the {battery} may give {whole_amperes(needed)}"
    if rating is None:
        text = f"{gives}, where its own figure is not known; what the fuse breaks is not known."
        right = (
            f"Read the interrupting rating off the fuse or breaker: {whole_amperes(needed)} or "
            "more (battery-post and class T links reach high ones). A blade fuse breaks "
            f"{whole_amperes(blade.value)}."
        )
        return DesignCheck(rule_id, title, None, text, f"{source}; {blade.source}", right)
    text = f"{gives}; the fuse breaks {as_stated(rating, 'A')}."
    passed: bool | None = rating >= needed
    right = "" if passed else f"Fit a fuse or breaker that breaks {whole_amperes(needed)} or more."
    if passed and is_guess(installation, f"runs.{run}.fuse_breaks_a"):
        passed, right = None, "That rating is a guess: read it off the fuse or breaker."
    return DesignCheck(rule_id, title, passed, text, source, right)


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
        f"{as_stated(cable.length_m, 'm')} of {size_words(cable)} loses {volts(lost)} at "
        f"{whole_amperes(load)}, warm; {as_stated(allowed, 'V')} at most is usual in a {what}."
    )
    left, more = _left_by_the_other(installation, run, lost)
    passed = round(lost, 2) <= max(allowed, left)
    if round(lost, 2) > allowed:
        text += more
    fits = smallest_cable(_loses_at_most(cable, load, max(allowed, left)))
    right = f"Smallest standard cable for it: {fits.words}." if passed and fits.words else ""
    if not passed:
        right = f"Shorten it, or fit {fits.words}." if fits.words else "Shorten it."
    return DesignCheck(rule_id, title, passed, text, source, right)


def _loses_at_most(
    cable: CableRun, load: Ampere, allowed: Volt
) -> Callable[[SquareMillimetre], bool]:
    """Return what tells whether so much copper keeps a run's loss under a limit."""
    length_m = cable.length_m or 0.0
    return lambda area_mm2: round(cable_drop(length_m, area_mm2, load, _WORKING_C), 2) <= allowed


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
    lost, allowed = lost_there + lost_back, row.value * 12 * installation.house_scale
    text = (
        f"{as_stated(feed.length_m, 'm')} of {size_words(feed)} out and "
        f"{as_stated(back.length_m, 'm')} of {size_words(back)} back lose {volts(lost)} at "
        f"{whole_amperes(load)}, warm; {volts(allowed)}, {percent(row.value)}, for both is usual."
    )
    passed = round(lost, 2) <= round(allowed, 2)
    way = feed.model_copy(update={"length_m": (feed.length_m or 0.0) + (back.length_m or 0.0)})
    fits = smallest_cable(_loses_at_most(way, load, round(allowed, 2)))
    right = f"Smallest standard cable out and back: {fits.words}." if fits.words else ""
    if not passed and installation.fitted.output_voltage_sensing:
        passed = True
        right = "The unit senses at the battery's posts and makes up for it."
    elif not passed:
        right = "Move the unit nearer to the house battery"
        right += f", or fit {fits.words} out and back." if fits.words else "."
    return DesignCheck(rule_id, title, passed, text, row.source, right)


def _lost(cable: CableRun, load: Ampere) -> Volt | None:
    if cable.length_m is None or cable.area_mm2 is None:
        return None
    return cable_drop(cable.length_m, cable.area_mm2, load, _WORKING_C)


def _allowed(installation: Installation, run: Run) -> Volt:
    return tables.row("conductors", _LIMITS[run]).value * installation.scale


def size_words(cable: CableRun) -> str:
    """Say a conductor's copper, and what it was sold as where that is another number."""
    copper = square_millimetres(cable.area_mm2 or 0.0)
    words = _SOLD_AS.get(cable.stated.stated_as) if cable.stated else None
    return f"{copper} ({words.format(cable.stated.size)})" if words and cable.stated else copper
