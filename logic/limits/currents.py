"""The charger's input and output current, and what the house loads take."""

import math
from dataclasses import dataclass

from logic.circuit import tables
from logic.circuit.batteries import rest_voltage
from logic.limits.expected import Expectation
from logic.limits.flows import (
    SIGMAS,
    Flow,
    drawn_for,
    input_voltage,
    output_voltage,
    panel_power,
)
from logic.limits.known import Known, Worked
from logic.quantities import Ampere
from logic.vehicle.assumed import NEAR_PROFILE_V, NEARLY_FULL
from logic.vehicle.installation import Chemistry
from logic.vehicle.points import Point, Run, State
from logic.words.figures import (
    ampere_range,
    amperes,
    as_read,
    as_stated,
    percent,
    watts,
)

_STANDING_A = 1.0  # assumed: as near to nothing as a clamp with a zero error can tell
_HOUSE_POSTS = (Point.HOUSE_BATTERY_VOLTAGE, Point.CHARGER_OUTPUT_VOLTAGE)
_HOT_SHARE = 0.9  # assumed: of the temperature at which units begin to cut back


@dataclass(frozen=True)
class Output:
    """What the unit should give now, and why."""

    low: Ampere
    high: Ampere
    why: str
    meter: Ampere = 0.0
    under: str = ""


def output_current(known: Known) -> Expectation:
    """In bulk the rating; less where volts, supply, input limit or the panel set less."""
    if known.state is State.REST:
        return _none_at_rest()
    due = _due(known)
    return Expectation(due.low, due.high, due.why, inherited=due.meter, under=due.under)


def input_current(known: Known) -> Expectation:
    """What the output current needs, by power, at the input's volts."""
    if not known.is_running:
        why = "with the engine off the unit should draw nothing, under 1 A on a clamp"
        return Expectation(-_STANDING_A, _STANDING_A, why)
    given = known.measured(Point.OUTPUT_CURRENT)
    unit = known.sound.charger
    if given is None:
        due = _due(known)
        most = drawn_for(known, Worked(due.high, 0.0, due.meter, False), with_panel=False)
        least = drawn_for(known, Worked(due.low, 0.0, due.meter, False))
        low = max(least.value - SIGMAS * least.spread, 0.0) if due.low > 0 else 0.0
        high = min(most.value + SIGMAS * most.spread, unit.input_limit_a * 1.05)
        why = f"{due.why}; for that it draws {ampere_range(low, high)}"
        return Expectation(min(low, high) - _STANDING_A, high, why, inherited=most.meter)
    worked = drawn_for(known, given)
    reach = SIGMAS * worked.spread + _STANDING_A
    at_input, at_output = input_voltage(known), output_voltage(known, given.value)
    why = (
        f"{as_read(Point.OUTPUT_CURRENT, given.value)} out at "
        f"{at_output.in_volts} needs about {amperes(worked.value)} in at {at_input.in_volts}, "
        f"{percent(unit.efficiency.mean)} efficient"
    )
    if known.has_panel:
        why += ", the panel's part taken off"
    low, high = worked.value - reach, min(worked.value + reach, unit.input_limit_a * 1.05)
    return Expectation(min(low, high), high, why, reference=worked.value)


def house_load_current(known: Known) -> Expectation:
    """No more than half of what the charger gives, or little is left for the battery."""
    rated = known.sound.charger.rated_output_a
    high = rated * tables.number("charger", "load.share")
    why = (
        f"loads over {amperes(high)}, half of the unit's {as_stated(rated, 'A')}, would leave the "
        "battery little to charge with"
    )
    return Expectation(-_STANDING_A, high, why)


def _none_at_rest() -> Expectation:
    why = "with the key off the unit should give nothing, under 1 A on a clamp"
    return Expectation(-_STANDING_A, _STANDING_A, why)


def _due(known: Known) -> Output:
    due = _by_panel(known) if not known.is_running else _in_bulk(known)
    full = _is_nearly_full(known)
    if not full:
        return due
    why = f"{full}, so anything up to {amperes(due.high)} is right"
    if known.installation.house_battery.chemistry is Chemistry.LIFEPO4:
        why += "; none at all may mean that the battery's own protection blocks charging"
    return Output(-_STANDING_A if _is_full_itself(known) else 0.0, due.high, why)


def _in_bulk(known: Known) -> Output:
    rated = known.sound.charger.rated_output_a
    low, high = (
        rated * tables.number("charger", "bulk.least_share"),
        rated * tables.number("charger", "bulk.most_share"),
    )
    why = (
        f"in bulk a {as_stated(rated, 'A')} unit gives about its rating or a little over, "
        f"{ampere_range(low, high)}"
    )
    fed, supply = _fed(known), known.supply()
    if supply.is_read and fed.high < low:
        why = (
            f"{supply.in_volts} supply can feed about {amperes(fed.likely)} before "
            f"{_what_holds(known)} holds its input"
        )
        low, high = 0.8 * fed.low, min(1.1 * fed.high + _most_of_panel(known), high)
        why += ", and the panel adds its own" if known.has_panel else ""
    if supply.is_read and supply.value < _start_voltage(known):
        low = -_STANDING_A
        why += (
            f"; with {supply.in_volts} supply, under its {as_stated(_start_voltage(known), 'V')} "
            "start voltage, it may also stay off"
        )
    elif not _battery_voltage_known(known):
        low = 0.0
        why += ", less if the battery is nearly full: read its voltage to tell"
    also = _also(known)
    return Output(low, high, why + also, under="" if also else _HELD_BACK)


_HELD_BACK = (
    "its input, its case's temperature, its set limit and the battery's volts tell what holds it"
)


def _also(known: Known) -> str:
    """Name what else that was read makes a low current likely."""
    signal = known.read(Point.IGNITION_SIGNAL_VOLTAGE)
    unit, supply = known.sound.charger, known.supply().value
    is_dead = signal is not None and signal < unit.ignition_signal_min_v
    if is_dead and supply < unit.start_v and known.installation.alternator.control != "fixed":
        dead = as_read(Point.IGNITION_SIGNAL_VOLTAGE, signal or 0.0)
        return f"; the trigger terminal is dead at {dead}: put that right first"
    at_battery, at_output = (known.live(p) for p in _HOUSE_POSTS)
    regulating = unit.absorption_v - SIGMAS * unit.regulation_v.spread
    if at_battery and at_output and at_output.value >= regulating:
        return (
            f"; the unit stands at {at_output.in_volts}, its limit, and only {at_battery.in_volts} "
            "is at the battery: look at the house feed, its fuse and the house return first"
        )
    at_input = known.live(Point.CHARGER_INPUT_VOLTAGE)
    stop = unit.ignition_stop_v if _is_signalled(known) else unit.stop_v
    if at_input and at_input.value < stop + NEAR_PROFILE_V * known.scale < supply:
        return (
            f"; its input is down at {at_input.in_volts}, near the {as_stated(stop, 'V')} where it "
            "cuts back: look at the vehicle feed and return first"
        )
    case = known.read(Point.CHARGER_CASE_TEMPERATURE)
    hot = _HOT_SHARE * tables.number("charger", "temperature.derating")
    if case is not None and case >= hot:
        at = as_read(Point.CHARGER_CASE_TEMPERATURE, case)
        return f"; its case is at {at} and it cuts back when hot: cool it first"
    return ""


def _what_holds(known: Known) -> str:
    limit = known.sound.charger.input_limit_a
    if math.isfinite(limit):
        return f"its set limit of {as_stated(limit, 'A')}"
    return "the unit itself"


def _fed(known: Known) -> Flow:
    """Return the output current that the supply alone can feed through sound runs, A."""
    unit, supply, ohm = known.sound.charger, known.supply(), known.loop_ohm()
    stop = unit.ignition_stop_v if _is_signalled(known) else min(unit.stop_v, unit.ignition_stop_v)
    volts_out = known.charging_house_voltage().value

    def given(loop_ohm: float) -> Ampere:
        held = min(max(supply.value - stop, 0.0), supply.value / 2) / loop_ohm
        drawn = min(held, unit.input_limit_a)
        watts = (supply.value - loop_ohm * drawn) * drawn * unit.efficiency.mean
        return max(watts - unit.own_use_w.mean, 0.0) / volts_out

    spread = SIGMAS * ohm.spread
    low, high = given(ohm.value + spread), given(max(ohm.value - spread, ohm.value / 3))
    return Flow(low, given(ohm.value), high, supply.meter, supply.is_read)


def _most_of_panel(known: Known) -> Ampere:
    """Return the most that the panel may add to the output, A: it is used before the vehicle."""
    if not known.has_panel:
        return 0.0
    watts = panel_power(known)
    most = watts.value + SIGMAS * watts.spread
    return most * known.sound.charger.efficiency.mean / known.charging_house_voltage().value


def _by_panel(known: Known) -> Output:
    if not known.has_panel:
        why = "no panel is fitted and the engine is off, so the unit should give nothing"
        return Output(-_STANDING_A, _STANDING_A, why)
    power, house = panel_power(known), known.charging_house_voltage()
    share = known.sound.charger.efficiency.mean / house.value
    reach = SIGMAS * power.spread * share + _STANDING_A
    likely = max(power.value * share - known.sound.charger.own_use_w.mean / house.value, 0.0)
    rated = known.sound.charger.rated_output_a * tables.number("charger", "bulk.most_share")
    why = f"the panel's {watts(power.value)} make about {amperes(likely)} at {house.in_volts}"
    low = max(likely - reach, 0.0) - _STANDING_A
    return Output(low, min(likely + reach, rated), why, power.meter * share)


def _is_nearly_full(known: Known) -> str:
    limit = known.sound.charger.absorption_v
    at_battery, at_output = (known.live(p) for p in _HOUSE_POSTS)
    reached = ""
    if at_battery and at_battery.value >= limit - _near_limit(known) - _house_loss(known):
        reached = at_battery.in_volts
    elif at_output and not at_battery and at_output.value >= limit - _near_limit(known):
        reached = at_output.in_volts
    if reached:
        at = f"{reached} is at the profile's {as_stated(limit, 'V')}"
        return f"{at}, where the current falls as the battery fills"
    rest = _rested_full(known)
    if rest is None:
        return ""
    return f"the battery rested at {as_read(Point.HOUSE_BATTERY_VOLTAGE, rest)}, nearly full"


def _is_full_itself(known: Known) -> bool:
    """Whether the battery's own posts say that it is full, and not only the unit's."""
    at_battery = known.live(Point.HOUSE_BATTERY_VOLTAGE)
    level = known.sound.charger.absorption_v - _near_limit(known) - _house_loss(known)
    return bool((at_battery and at_battery.value >= level) or _rested_full(known))


def _rested_full(known: Known) -> float | None:
    rest = known.read(Point.HOUSE_BATTERY_VOLTAGE, State.REST)
    kind = known.installation.house_battery.chemistry
    full = rest is not None and rest >= rest_voltage(kind, NEARLY_FULL, known.scale)
    return rest if full else None


def _near_limit(known: Known) -> float:
    return NEAR_PROFILE_V * known.scale


def _house_loss(known: Known) -> float:
    """Return what sound house runs lose at the unit's rating, V."""
    runs = (known.sound.run_ohm[run].mean for run in (Run.HOUSE_FEED, Run.HOUSE_RETURN))
    return known.sound.charger.rated_output_a * sum(runs)


def _battery_voltage_known(known: Known) -> bool:
    here = (Point.HOUSE_BATTERY_VOLTAGE, Point.CHARGER_OUTPUT_VOLTAGE)
    rested = known.read(Point.HOUSE_BATTERY_VOLTAGE, State.REST)
    return rested is not None or any(known.read(point) is not None for point in here)


def _is_signalled(known: Known) -> bool:
    signal = known.read(Point.IGNITION_SIGNAL_VOLTAGE)
    if signal is None:
        return known.sound.ignition_wired > 0.5
    return signal >= known.sound.charger.ignition_signal_min_v


def _start_voltage(known: Known) -> float:
    """Return the lowest start voltage that may hold; a missing signal is no excuse, V."""
    unit = known.sound.charger
    if known.installation.alternator.control == "fixed" and not _is_signalled(known):
        return unit.start_v
    return unit.ignition_start_v
