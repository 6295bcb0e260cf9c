"""What the points of a unit's functions should show: sensor, limit, sun, reverse charge, stop.

A function is there only where it is fitted. What is not known of it widens the limits.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

from logic.circuit import batteries, reverse_charge, tables
from logic.circuit.input_limit import output_at_limit
from logic.circuit.reverse_charge import LeadBattery
from logic.circuit.solar_share import input_in_sun
from logic.limits.cold_battery import thermometer
from logic.limits.expectation import Expectation
from logic.limits.loop_state import SIGMAS, LoopState, Quantity
from logic.limits.temperatures_and_lamps import house_battery_temperature
from logic.quantities import Ampere, Volt
from logic.vehicle.assumed import DRIFT_V
from logic.vehicle.installation import Chemistry, Control, StatedBy
from logic.vehicle.points import Point, State
from logic.words.figures import (
    amperes,
    as_read,
    as_stated,
    degrees,
    minutes,
    number,
    volt_range,
    volts,
    watts,
)
from logic.words.names import CHEMISTRIES

_STANDING_A = 1.0  # assumed: as near to nothing as a clamp with a zero error can tell
_MINUTES = 5.0  # when the point is read, by its name
_LATER = 10.0  # common practice, no published source: a flat battery is given five to ten minutes


def _figure(name: str) -> float:
    return tables.number("functions", name)


# The temperature sensor


def sensor_temperature(loop: LoopState) -> Expectation:
    """What a thermometer shows on the house battery's case, or what it may be without one."""
    agrees, beside = _figure("sensor.agrees"), thermometer(loop)
    if beside is not None:
        low, high = beside - agrees, beside + agrees
        why = (
            f"beside a thermometer at {as_read(Point.HOUSE_BATTERY_TEMPERATURE, beside)} a sound "
            f"sensor reads within {degrees(agrees)} of it"
        )
    else:
        case = house_battery_temperature(loop)
        low, high = (case.low or 0.0) - agrees, (case.high or 0.0) + agrees
        why = f"{case.why}, and a sound sensor reads within {degrees(agrees)} of that"
    cold, warm = _what_a_wrong_sensor_does(loop)
    return Expectation(low=low, high=high, why=why, under=cold, over=warm)


def _what_a_wrong_sensor_does(loop: LoopState) -> tuple[str, str]:
    """Say what charging does where the sensor reads too cold, then where it reads too warm."""
    if loop.installation.house_battery.chemistry is Chemistry.LIFEPO4:
        return (
            "reading too cold, the unit may refuse to charge a battery that is warm enough",
            "reading too warm, the unit may charge a battery that is freezing: do not rely on it",
        )
    cells = round(6 * loop.installation.house_scale)
    ten = abs(batteries.temperature_compensation(cells, 35.0))
    each = f"{volts(ten)} for each {degrees(10.0)} that it is out, at 3 mV a cell and degree"
    look = "seat, plug and lead of the sensor first"
    return (
        f"the unit then charges too high, {each}: {look}",
        f"the unit then charges too low, {each}: {look}",
    )


# The input limit


def input_limit_setting(loop: LoopState) -> Expectation:
    """The limit that was entered, and what it costs of the output."""
    limit = loop.installation.charger.input_current_limit_a
    if limit is None:
        return Expectation(why="no input limit was entered, so there is nothing to hold this to")
    step = _figure("setting.step")
    rated = loop.sound.charger.rated_output_a
    cost = rated - output_at_limit(loop.installation, limit)
    words = f"which leaves the unit its whole {as_stated(rated, 'A')}"
    if cost >= step:
        words = (
            f"which leaves about {amperes(rated - cost)} of its {as_stated(rated, 'A')} output and "
            f"costs {amperes(cost)}"
        )
    return Expectation(
        low=limit - step,
        high=limit + step,
        why=f"the limit entered is {as_stated(limit, 'A')}, {words}",
        under="set so low it takes more from the output than was agreed: set it anew, or enter it",
        over="set so high the unit draws what the vehicle was to be spared: set it anew, or "
        "enter it",
    )


# The sun takes its part off the vehicle


def input_current_without_sun(loop: LoopState) -> Expectation:
    """Panel covered, the vehicle gives all that the unit needs: no less than in the sun."""
    in_sun = loop.measured(Point.INPUT_CURRENT_IN_SUN)
    if in_sun is None and loop.read(Point.SOLAR_CURRENT) is not None:
        in_sun = loop.measured(Point.INPUT_CURRENT)  # beside a panel's current it was in the sun
    limit = loop.within_input_limit(math.inf)
    unit = loop.sound.charger
    over = tables.number("charger", "usual.rating_over")
    full = Quantity(unit.rated_output_a * over, 0.0, 0.0, False)
    most = loop.input_for(full, with_panel=False)
    high = min(most.value + SIGMAS * most.spread, limit) + _STANDING_A
    if in_sun is None:
        return Expectation(
            low=-_STANDING_A,
            high=high,
            why=f"with the panel covered the vehicle alone feeds the unit, up to {amperes(high)}",
            proves_nothing="uncover the panel and read the input current again: the sun's share "
            "is the difference",
        )
    power = _panel_power(loop)
    supply, ohm = loop.live_supply(), loop.loop_resistance()
    share = power.value / max(supply.value - ohm.value * in_sun.value, supply.value / 2)
    reach = SIGMAS * power.spread / supply.value + _slack(loop)
    return Expectation(
        low=min(in_sun.value - _slack(loop), high),
        high=min(in_sun.value + share + reach, high),
        why=f"in the sun the vehicle gave {amperes(in_sun.value, read=True)}, and the panel's "
        f"{watts(power.value)} spared it up to {amperes(share)} at {supply.in_volts}",
        uncertainty=in_sun.uncertainty,
    )


def input_current_in_sun(loop: LoopState) -> Expectation:
    """What was drawn with the panel covered, less the panel's power over the input's volts."""
    covered = loop.measured(Point.INPUT_CURRENT_WITHOUT_SUN)
    if covered is None:
        return replace(
            input_current_without_sun(loop),
            proves_nothing="cover the panel and read the input current first: the sun's share is "
            "the difference",
        )
    power, supply, ohm = _panel_power(loop), loop.live_supply(), loop.loop_resistance()

    def left(panel_w: float) -> Ampere:
        return input_in_sun(covered.value, supply.value, ohm.value, panel_w)

    likely, slack = left(power.value), _slack(loop)
    low = left(power.value + SIGMAS * power.spread) - slack
    high = left(max(power.value - SIGMAS * power.spread, 0.0)) + slack
    why = (
        f"covered it drew {amperes(covered.value, read=True)}; the panel's {watts(power.value)} "
        f"should take about {amperes(covered.value - likely)} off that at {supply.in_volts}"
    )
    held = _is_held(loop, covered.value)
    if held:
        high = covered.value + slack
        why += f"; {held} the sun raises the output first, and the input may stay as it was"
    telling = covered.value - likely > slack
    return Expectation(
        low=min(low, high),
        high=high,
        why=why,
        reference=covered.value,
        over="the unit does not use its sun first: read the solar current now, then look for "
        "another regulator in the panel lead",
        under="more came off than the panel gives: the battery is near full, or the light has "
        "changed, so cover it and read both again",
        proves_nothing=""
        if telling
        else "so little sun is lost in what the supply moves by: read it in better light",
    )


def _panel_power(loop: LoopState) -> Quantity:
    """Return the panel's power as read in this state, else as read with the engine off, W."""
    if loop.read(Point.SOLAR_CURRENT) is not None or loop.sunlight() is not None:
        return loop.panel_power()
    earlier = replace(loop, state=State.SOLAR).panel_power()
    moved = earlier.value * _figure("sun.moves")
    return earlier._replace(spread=math.hypot(earlier.spread, moved))


def _slack(loop: LoopState) -> Ampere:
    """Return what an input current moves by on its own between two readings, A."""
    supply = loop.live_supply()
    moved = DRIFT_V * loop.scale / supply.value * loop.sound.charger.rated_input_a
    return _STANDING_A + moved


def _is_held(loop: LoopState, covered_a: Ampere) -> str:
    """Say what keeps the input where it is whatever the sun gives, "" where nothing does."""
    limit = loop.sound.charger.input_limit_a
    if covered_a >= 0.9 * limit:  # assumed: so near its limit a unit is at it
        return f"at its set limit of {as_stated(limit, 'A')}"
    at_input = loop.live(Point.CHARGER_INPUT_VOLTAGE)
    unit = loop.sound.charger
    stop = unit.ignition_stop_v if loop.has_signal() else unit.stop_v
    hold = tables.number("charger", "hold.most_over_stop") * loop.scale
    if at_input and at_input.value < stop + hold:
        return f"held back by its input at {at_input.in_volts}"
    return ""


# Reverse charge


def reverse_charge_current(loop: LoopState) -> Expectation:
    """More than a trickle, no more than the unit's rating; and when it must end."""
    least, most = _figure("reverse.least"), _most_reverse(loop)
    spared, start = (
        _house_spared(loop, most),
        LeadBattery.of(loop.installation.start_battery, loop.scale),
    )
    rest = _start_rest(loop)
    full = batteries.rest_voltage(start.chemistry, 1.0, loop.scale)
    charged = rest.is_read and rest.value >= full
    why = (
        f"what units give back differs, from {amperes(least)} to {amperes(most)} here; it must end "
        f"once the house battery is down at {volts(spared)}"
    )
    found = Expectation(
        low=least,
        high=most,
        why=why,
        under="nothing goes back: a minus sign means that the arrow points the wrong way; else "
        "look at how it is asked for, at the house battery's volts, and at the fuses",
        over="more than the unit and its fuse are rated for: read the clamp again, and look for a "
        "second way between the batteries",
    )
    if not charged:
        return found
    return replace(
        found,
        low=-_STANDING_A,
        why=f"{why}; a start battery that rests at {rest.in_volts} is full and takes little",
        proves_nothing="a full start battery takes hardly anything: load it with the headlamps "
        "and read again",
        proves_from=least,
    )


def reverse_charge_voltage(loop: LoopState) -> Expectation:
    """The start battery's rest volts lifted by the current in five minutes, and never too far."""
    start, rest = LeadBattery.of(loop.installation.start_battery, loop.scale), _start_rest(loop)
    read = loop.measured(Point.REVERSE_CHARGE_CURRENT, State.REST)
    least = max(read.value, 0.0) if read else _figure("reverse.least")
    most = least if read else _most_reverse(loop)
    gentle, strong = (
        reverse_charge.lifted_voltage(start, rest.value, current, _MINUTES)
        for current in (least, most)
    )
    ceiling = reverse_charge.ends_by(start)
    low = gentle.mean - SIGMAS * math.hypot(gentle.spread, rest.spread)
    high = strong.mean + SIGMAS * math.hypot(strong.spread, rest.spread)
    high = min(high + batteries.most_surface_charge(loop.scale, fresh=True), ceiling)
    low = min(max(low, rest.value - SIGMAS * rest.spread), high)
    kind = CHEMISTRIES.get(start.chemistry, start.chemistry.value)
    flows = f"{amperes(least, read=True)}" if read else f"{amperes(least)} to {amperes(most)}"
    middle = min((gentle.mean + strong.mean) / 2, ceiling)
    later = min(
        reverse_charge.lifted_voltage(start, rest.value, (least + most) / 2, _LATER).mean, ceiling
    )
    charge = ""
    if read:
        stored = least * _LATER / 60
        charge = f" ({number(stored, 1)} Ah, {_tries(stored, loop.scale)})"
    why = (
        f"from {rest.in_volts} {'read' if rest.is_read else 'usual'} at rest {flows} into "
        f"{number(start.capacity_ah)} Ah {kind} make about {volts(middle)} after "
        f"{minutes(_MINUTES)} and {volts(later)} after {minutes(_LATER)}{charge}; over "
        f"{volts(ceiling)} it is never charged"
    )
    return Expectation(
        low=low,
        high=high,
        why=why,
        uncertainty=rest.uncertainty,
        under="it does not rise as it should: the current is lost on the way, the vehicle's own "
        "loads take it, or the battery is beyond saving",
        over="it goes on past where it should end, or the battery takes no charge: end it by hand",
    )


def _tries(charge_ah: float, scale: float) -> str:
    tries = math.floor(reverse_charge.cranking_tries(charge_ah, scale))
    return f"some {tries} tries to crank" if tries > 1 else "one try to crank at most"


def _most_reverse(loop: LoopState) -> Ampere:
    """Return the most that a unit gives back, A: its rating and what is usual over it, or its fuse.

    Its way back may be another than its way out, but it goes through the vehicle feed's fuse.
    """
    usual = loop.sound.charger.rated_output_a * tables.number("charger", "usual.rating_over")
    fuse = loop.installation.runs.vehicle_feed.fuse_a
    return max(usual, fuse or _figure("reverse.most_share") * usual)


def _house_spared(loop: LoopState, current: Ampere) -> Volt:
    """Return the house battery's volts at which its giving must end, V."""
    battery, scale = loop.installation.house_battery, loop.installation.house_scale
    given = current * loop.scale / scale / loop.sound.charger.efficiency.mean
    return reverse_charge.house_spared_at(battery, given, scale)


def _start_rest(loop: LoopState) -> Quantity:
    """Return the start battery's rest volts: at its posts or the unit's input, else usual ones."""
    for point in (Point.START_BATTERY_VOLTAGE, Point.CHARGER_INPUT_VOLTAGE):
        read = loop.measured(point, State.REST)
        if read and read.value > 0:
            return read
    usual = loop.sound.supply_v[State.REST]
    return Quantity(usual.mean, usual.spread, 0.0, False)


def kept_up_by_sun(loop: LoopState, rested: Expectation) -> Expectation:
    """What the start battery shows while a panel's surplus keeps it up, the house battery full.

    ``rested`` is what it shows without. Only a full house battery leaves a surplus.
    """
    start = LeadBattery.of(loop.installation.start_battery, loop.scale)
    high = max(rested.high or 0.0, reverse_charge.ends_by(start))
    house = loop.live(Point.HOUSE_BATTERY_VOLTAGE) or loop.live(Point.CHARGER_OUTPUT_VOLTAGE)
    unit = loop.sound.charger
    nearly = unit.float_v - SIGMAS * unit.regulation_v.spread
    light = loop.sunlight()
    if house is None or house.value < nearly or (light is not None and light < 0.2):
        return replace(rested, high=high)
    full = batteries.rest_voltage(start.chemistry, 1.0, loop.scale)
    low = full + _figure("upkeep.over_rest") * loop.scale - DRIFT_V * loop.scale
    return Expectation(
        low=low,
        high=high,
        why=f"the house battery is full at {house.in_volts}, so the sun's surplus should keep the "
        f"start battery over the {volts(full)} of a full one at rest, {volt_range(low, high)}",
        under="no surplus reaches it: not every unit does this, its papers say, and many wait for "
        "some minutes; else look at how it is switched on",
        over="so much harms the start battery: unplug the panel and look into the unit's settings",
    )


# Where the unit stops


def unit_stops_voltage(loop: LoopState) -> Expectation:
    """The stop voltage with the signal gone; a wired unit may stop with its signal, higher."""
    unit, fitted = loop.sound.charger, loop.installation.charger
    signal = loop.read(Point.IGNITION_SIGNAL_VOLTAGE, State.REST)
    live = signal is not None and signal >= unit.ignition_signal_min_v
    stop, path = (
        (unit.ignition_stop_v, "ignition_stop_voltage_v")
        if live
        else (
            unit.stop_v,
            "stop_voltage_v",
        )
    )
    stated = loop.installation.stated(f"charger.{path}")
    known = getattr(fitted, path) is not None and stated not in (StatedBy.GUESS, StatedBy.PRESET)
    width = _figure("stop.tolerance" if known else "stop.usual_spread") * loop.scale
    low, high = stop - width, stop + width
    which = "with a live ignition signal" if live else "without an ignition signal"
    origin = "should stop" if known else "commonly stops, this one's figure being not known,"
    why = f"{which} the unit {origin} under {as_stated(stop, 'V')}"
    wired = loop.installation.alternator.control is not Control.FIXED or loop.has_signal()
    if wired and not live:
        high = loop.sound.highest_supply_v
        why += "; one that the ignition signal rules may stop with it, at any volts over that"
        low = min(low, unit.ignition_stop_v - width) if not known else low
    return Expectation(
        low=low,
        high=high,
        why=why,
        under="it draws the start battery down further than it should: look its settings up, and "
        "prove the ignition input dead",
        over="it stops early, and will do so on the road at low volts: look its settings up, and "
        "read the drops of the vehicle's runs",
    )


# The tow socket


def tow_socket_voltage(loop: LoopState) -> Expectation:
    """Nothing on the pins once the trailer is unhitched and the vehicle is off."""
    by = "the vehicle being ready" if loop.has_converter else "the running engine"
    dead = tables.number("supply", "ignition.dead") * loop.scale
    return Expectation(
        low=-dead,
        high=dead,
        why=f"unhitched, {loop.when_off}, these contacts should be dead, under {volts(dead)}",
        under="a minus sign means that the contacts are reversed: put that right first",
        over="a spanner, the coupling or salt water shorts live contacts: feed them through a "
        f"relay that only {by} closes",
    )


EXPECTED: Mapping[Point, Callable[[LoopState], Expectation]] = {
    Point.SENSOR_TEMPERATURE: sensor_temperature,
    Point.INPUT_LIMIT_SETTING: input_limit_setting,
    Point.INPUT_CURRENT_WITHOUT_SUN: input_current_without_sun,
    Point.INPUT_CURRENT_IN_SUN: input_current_in_sun,
    Point.REVERSE_CHARGE_CURRENT: reverse_charge_current,
    Point.REVERSE_CHARGE_VOLTAGE: reverse_charge_voltage,
    Point.UNIT_STOPS_VOLTAGE: unit_stops_voltage,
    Point.TOW_SOCKET_VOLTAGE: tow_socket_voltage,
}
"""What each point of this module should show, by point."""
