"""What each point of the loop should show: supply, ignition input, runs, house battery, currents.

One function a point, from what is fitted and what was already read to the limits and the words
for them. They are called by :mod:`logic.limits.verdict`.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial

from logic.circuit import batteries, tables
from logic.circuit.supply import fixed_set_point
from logic.limits.cold_battery import refused_for_cold
from logic.limits.expectation import Expectation
from logic.limits.function_points import kept_up_by_sun
from logic.limits.loop_state import (
    SIGMAS,
    Basis,
    Flow,
    LoopState,
    Quantity,
    RunResistance,
    telling_current,
)
from logic.limits.second_unit import through
from logic.quantities import Ampere, Volt
from logic.vehicle.assumed import (
    DRIFT_V,
    NEAR_PROFILE_V,
    NEARLY_FULL,
    PROBE_CONTACT_V,
    PROFILE_TOLERANCE_V,
)
from logic.vehicle.installation import Chemistry, Control, Extra, StatedBy
from logic.vehicle.points import CURRENT_THROUGH, DROP_ACROSS, FEEDS, LOOP, Point, Run, State
from logic.words.figures import (
    ampere_range,
    amperes,
    as_read,
    as_stated,
    drop_volts,
    milliohms,
    percent,
    volt_range,
    volts,
    watts,
)
from logic.words.names import CHEMISTRIES, other_sources, uncapitalised

# The vehicle's supply and the ignition input

_KEPT_UP_V = 0.2  # assumed: how far under its rest voltage a battery may be held, at 12 V
_ABOVE_SUPPLY_V = 0.3  # assumed: drift, and an earth elsewhere than the unit's negative, at 12 V
_SLOW_OR_DEAD = {
    State.IDLE: "read it at fast idle before blaming the alternator",
    State.FAST_IDLE: "the vehicle's own charging comes first: belt, plug, warning lamp, alternator",
}
_OVERCHARGED = "so much harms batteries: stop and look into the vehicle's regulator"
_NOT_SWITCHED_ON = (
    "its supply is not switched on or is overloaded: look for the ready lamp, leave a low-power, "
    "transport or accessory mode, take the unit's fuse out and read again; then the supply's own "
    "fuse, by who is qualified for this vehicle"
)
_OVER_CONVERTER = (
    "so much harms batteries: stop, and have the vehicle's own supply looked into by who is "
    "qualified for it"
)


def start_battery_voltage(loop: LoopState) -> Expectation:
    """At rest by its charge, running by the kind of supply."""
    if not loop.state.engine_runs:
        return _resting_start_battery(loop)
    if loop.has_converter:
        return _converter(loop)
    if loop.installation.alternator.control is Control.FIXED:
        return _fixed_alternator(loop)
    return _variable_alternator(loop)


# Common practice, no published source: two equal batteries in series stand within some tenths of
# each other; further apart one is weak, or something is fed from one of them. At 12 V.
_APART_V = 0.3


def first_series_voltage(loop: LoopState) -> Expectation:
    """Half of both together, within some tenths."""
    both = _both_in_series(loop)
    half, reach = both.value / 2, (_APART_V / 2 + DRIFT_V / 2) * loop.scale / 2
    reach += SIGMAS * both.spread / 2
    read = "read" if both.is_read else "expected"
    each = as_stated(6 * loop.scale, "V")
    return Expectation(
        low=half - reach,
        high=half + reach,
        why=f"two equal {each} batteries in series share the {both.in_volts} {read} across both, "
        f"{volts(half)} each, and stand no more than {volts(_APART_V * loop.scale / 2)} apart",
        uncertainty=both.uncertainty / 2,
        under="this one is weak, or something is fed from it alone: look for a wire on the link "
        "between the two, and test both; the other one is overcharged meanwhile",
        over="the other one is weak, or something is fed from it alone: look for a wire on the "
        "link between the two, and test both; this one is overcharged meanwhile",
    )


def _both_in_series(loop: LoopState) -> Quantity:
    """Return what the pair shows: read, or at rest at the unit's input, or as it should be, V."""
    read = loop.live(Point.START_BATTERY_VOLTAGE)
    if read is None and loop.state is State.REST:
        read = loop.live(Point.CHARGER_INPUT_VOLTAGE)
    return read or loop.supply()


def ignition_signal_voltage(loop: LoopState) -> Expectation:
    """Dead with the engine off; live with it running where the alternator asks for it."""
    scale, least = loop.scale, loop.sound.charger.ignition_signal_min_v
    if not loop.state.engine_runs:
        dead = tables.number("supply", "ignition.dead") * scale
        return Expectation(
            low=-dead,
            high=dead,
            why=f"the ignition input should be dead (under {volts(dead)}) with the key off",
            over="left so, the unit drains the start battery: move it to a feed that goes dead",
        )
    supply = loop.live_supply()
    high = supply.value + SIGMAS * supply.spread + _ABOVE_SUPPLY_V * scale
    control = loop.installation.alternator.control
    if control is Control.VARIABLE:
        return Expectation(
            low=least,
            high=high,
            why="with a variable alternator the ignition input should be live, "
            f"{as_stated(least, 'V')} or more, and near the {supply.in_volts} of the supply",
            under="follow the ignition wire back to its source and its small fuse",
        )
    needs = "a fixed alternator needs no signal"
    if loop.has_converter:
        needs = (
            "the vehicle's own supply holds its volts, so none is needed; where one is wired, it "
            "is live only while the vehicle is ready"
        )
    if control is Control.UNKNOWN:
        needs = "the alternator's kind is not known, and only a variable one needs a signal"
    return Expectation(
        low=-_ABOVE_SUPPLY_V * scale,
        high=high,
        why=f"the unit takes {as_stated(least, 'V')} or more as live; {needs}",
    )


def _resting_start_battery(loop: LoopState) -> Expectation:
    battery, scale = loop.installation.start_battery, loop.scale
    kind = Chemistry(battery.chemistry) if battery else Chemistry.FLOODED
    half, full = (batteries.rest_voltage(kind, charge, scale) for charge in (0.5, 1.0))
    scatter = tables.number("batteries", f"ocv_spread.{kind}") * scale
    if battery is None:
        full = max(full, batteries.rest_voltage(Chemistry.AGM, 1.0, scale))
    just_stopped = loop.state is State.SOLAR
    high = full + SIGMAS * scatter + batteries.most_surface_charge(scale, just_stopped)
    name = f"rested {CHEMISTRIES[kind]} battery" if battery else "rested lead-acid battery"
    found = Expectation(
        low=half - scatter,
        high=high,
        why=f"a {name} shows {volts(full)} full and {volts(half)} half charged",
        under="charge it and test it before going on",
        over="five minutes leave surface charge on it, settled it is only after hours: put the "
        "headlamps on for half a minute, wait two minutes, and read again",
    )
    if just_stopped and loop.installation.fitted.reverse_charge:
        return kept_up_by_sun(loop, found)
    return found


def _fixed_alternator(loop: LoopState) -> Expectation:
    low, high = fixed_set_point(loop.sound.ambient_c.mean)
    margin = tables.number("supply", "fixed.margin")
    low, high = (low - margin) * loop.scale, (high + margin) * loop.scale
    faster = loop.read(Point.START_BATTERY_VOLTAGE, State.FAST_IDLE)
    if loop.state is State.IDLE and faster is not None and low <= faster <= high:
        return _sags_at_idle(loop, faster, high)
    return Expectation(
        low=low,
        high=high,
        why=f"a fixed alternator, warm, should hold {volt_range(low, high)} here with its load on",
        under=_SLOW_OR_DEAD[loop.state],
        over=_OVERCHARGED,
    )


def _converter(loop: LoopState) -> Expectation:
    margin = tables.number("supply", "fixed.margin")
    low = (tables.number("supply", "converter.low") - margin) * loop.scale
    high = (tables.number("supply", "converter.high") + margin) * loop.scale
    return Expectation(
        low=low,
        high=high,
        why=f"switched on, the vehicle's own DC-DC supply holds it steady, from "
        f"{volt_range(low, high)}, whatever is loaded and without an engine",
        under=_NOT_SWITCHED_ON,
        over=_OVER_CONVERTER,
    )


def _sags_at_idle(loop: LoopState, faster: Volt, high: Volt) -> Expectation:
    """A fixed alternator that holds at fast idle works; at idle the loads may ask for more."""
    rest = loop.read(Point.START_BATTERY_VOLTAGE, State.REST)
    low = tables.number("supply", "lowest.economy") * loop.scale
    if rest is not None:
        low = min(low, rest - _KEPT_UP_V * loop.scale)
    return Expectation(
        low=low,
        high=high,
        why=f"the alternator works, it holds {volts(faster)} at fast idle; at idle the loads may "
        f"ask for more than it gives, down to {volts(low)}",
        under="less than the battery alone should hold: loads off, and read again",
        over=_OVERCHARGED,
    )


def _variable_alternator(loop: LoopState) -> Expectation:
    low, high, margin, lowest, economy_high = (
        tables.number("supply", name) * loop.scale
        for name in (
            "variable.low",
            "variable.high",
            "fixed.margin",
            "lowest.economy",
            "economy.high",
        )
    )
    rest = loop.read(Point.START_BATTERY_VOLTAGE, State.REST)
    if rest is not None:
        low = max(low, min(rest - _KEPT_UP_V * loop.scale, lowest))
    moves = "a variable alternator moves"
    if loop.installation.alternator.control is Control.UNKNOWN:
        moves = "the alternator's kind is not known, and a variable one moves"
    return Expectation(
        low=low,
        high=high + margin,
        why=f"{moves} it from {volt_range(low, high + margin)}: "
        f"{volt_range(lowest, economy_high)} is its economy mode and no proof of a dead "
        f"alternator (headlamps and blower end it), under {volts(low)} nothing keeps the battery "
        "up",
        under=_SLOW_OR_DEAD[loop.state],
        over=_OVERCHARGED,
    )


# The runs: what they drop, and what the vehicle's leave at the charger's input

_NO_CURRENT_V = 0.03  # assumed: what a drop may show with no current to speak of, at 12 V
_FLOWS_A = 0.5  # assumed: less is not worth reckoning with
_NO_JOINT_SHOWS = "a bad joint does not show so: find out why so little flows, then read it again"
_NOT_LOADED = "a bad joint shows only under load: read it while the unit charges"
_PARTED = "volts across a run that carries no current: it is open, or the clamp is not on it"


def run_drop(loop: LoopState, run: Run) -> Expectation:
    """Loss along a run: its resistance times the current that flows now, not at full load."""
    flow, ohm = _through(loop, run), loop.run_resistance(run)
    scale = loop.scale_of(run)
    contact, nothing = PROBE_CONTACT_V * scale, _NO_CURRENT_V * scale
    low = ohm.least * max(flow.low, 0.0) - contact
    high = ohm.most * max(flow.high, 0.0) + contact
    uncertainty = math.hypot(ohm.most * flow.uncertainty, ohm.uncertainty * flow.high)
    if _hardly_flows(loop, flow):
        return Expectation(
            low=low - nothing,
            high=high + nothing,
            why=f"hardly any current flows ({flow.in_amperes}), so hardly anything should be "
            "lost, and a bad joint would not show either",
            uncertainty=uncertainty,
            under=_PARTED,
            over=_PARTED,
            proves_nothing=_NO_JOINT_SHOWS if loop.state.engine_runs else _NOT_LOADED,
        )
    most = (
        f"{_resistance_words(loop, run, ohm)} {milliohms(ohm.most)}, {drop_volts(high)} at "
        f"{flow.in_amperes}"
    )
    if not flow.is_known:
        return Expectation(
            low=-contact,
            high=high,
            why=f"no current was read: {most} if the unit gives all it can",
            uncertainty=uncertainty,
            proves_nothing=f"read the {uncapitalised(CURRENT_THROUGH[run].full_name)} first, in "
            "the same state",
        )
    return Expectation(
        low=low,
        high=high,
        why=most,
        current_a=flow.likely,
        uncertainty=uncertainty,
        under="too little for this current: check both probes, and that the clamp is on this run",
    )


def _through(loop: LoopState, run: Run) -> Flow:
    """Return what flows through a run; with a second unit a return carries some of its current."""
    if loop.installation.has(Extra.SECOND_CHARGER):
        return through(loop, run)
    return loop.flow(run)


def charger_input_voltage(loop: LoopState) -> Expectation:
    """Supply less what the two vehicle runs lose at the current that flows."""
    supply, flow = loop.supply(), loop.flow(Run.VEHICLE_FEED)
    feed, back = (loop.run_resistance(run) for run in (Run.VEHICLE_FEED, Run.VEHICLE_RETURN))
    reach = SIGMAS * supply.spread + DRIFT_V * loop.scale
    returned = _through(loop, Run.VEHICLE_RETURN)
    most = max(flow.high, 0.0) * feed.most + max(returned.high, 0.0) * back.most
    least = max(flow.low, 0.0) * feed.least + min(returned.low, max(flow.low, 0.0)) * back.least
    low, high = supply.value - reach - most, supply.value + reach - least
    origin = "read at the start battery" if supply.is_read else "that a sound vehicle supplies"
    loss = ", with nothing lost on the way while no current flows"
    if flow.high > _FLOWS_A:
        likely = feed.likely + back.likely
        loss = (
            f", less about {drop_volts(flow.likely * likely)} that feed and return "
            f"({milliohms(likely)}) lose at {flow.in_amperes}"
        )
    return Expectation(
        low=low,
        high=high,
        why=f"{supply.in_volts} {origin}{loss}, leaves {volt_range(low, high)}",
        uncertainty=_uncertainty_of_loss(flow, feed, back),
        reference=supply.value if supply.is_read else None,
        under="what is missing is lost in the vehicle feed or return, or one of them is open: "
        "read both drops",
        over="it cannot be over its supply: read both again, one straight after the other",
        proves_nothing=_runs_not_loaded(loop, flow),
    )


def _runs_not_loaded(loop: LoopState, flow: Flow) -> str:
    """Say that a voltage behind two runs says nothing of their joints, "" where it does."""
    if loop.state is State.REST or not _hardly_flows(loop, flow):
        return ""
    return f"neither run is open, but {_NO_JOINT_SHOWS}"


def _hardly_flows(loop: LoopState, flow: Flow) -> bool:
    """Whether a known current is too little for a drop to prove anything."""
    return flow.is_known and abs(flow.likely) < telling_current(loop.sound.charger.rated_output_a)


def _uncertainty_of_loss(flow: Flow, feed: RunResistance, back: RunResistance) -> Volt:
    return math.hypot(
        flow.uncertainty * (feed.most + back.most),
        flow.high * math.hypot(feed.uncertainty, back.uncertainty),
    )


def _resistance_words(loop: LoopState, run: Run, ohm: RunResistance) -> str:
    """Lead up to the most that a run's resistance may be."""
    if ohm.basis is Basis.COMMISSIONING:
        then = milliohms(ohm.likely)
        return f"at commissioning this run was {then}, and today it should be at most"
    usual = f"this run should be about {milliohms(ohm.likely)}"
    if ohm.basis is Basis.DESCRIPTION:
        return f"{usual}, at most"
    rule = "handbook limit for a charging cable"
    if run not in FEEDS:
        rule = "service limit for a cable and its two joints"
    allowed, full = as_stated(loop.practice_limit(run), "V"), amperes(loop.sound.full_load_a[run])
    return (
        f"{usual}; its details are not all known, so the {rule} decides, {allowed} at {full}: "
        "at most"
    )


# The house battery, and what the charger shows at its output

_LIFTED_V = 0.05  # assumed: least lift over rest that tells charging from standing, at 12 V
_CLIMB_V = 0.25  # assumed: what charging adds while the readings are taken, at 12 V
_FLOAT_V = 0.2  # assumed: how far a float voltage is from what was entered, at 12 V
_SOON_FULL = 0.85  # assumed: charge from which a battery soon reaches the profile's voltage
_REGULATED = 3.0  # assumed: standard spreads within which every unit keeps its profile
_SHOOTS_UP = 2.5  # assumed: standard spreads that a sound battery's first minutes stay within
_LOW_AT_REST = (
    "empty, or a cell is shorted where it is about 2 V low per 12 V: charge it under watch, test "
    "it, and stop where it warms up or stays low"
)
_LOW_LITHIUM = (
    "empty, or at 0 to 5 V its own protection has opened, which is no shorted cell: find out why, "
    "and reset it only as its maker says"
)
_LOW_ON_CHARGE = "so low under charge, it is worn, has lost a cell, or its loads take everything"
_LOW_LITHIUM_ON_CHARGE = (
    "so low under charge, its own protection is open, or its loads take everything"
)


def house_battery_voltage(loop: LoopState) -> Expectation:
    """At rest by chemistry and charge; charging, above rest and up to the profile."""
    if loop.state is State.REST:
        return _rested_house_battery(loop)
    if _is_lithium(loop) and refused_for_cold(loop):
        return _refused_house_battery(loop)
    flow = loop.flow(Run.HOUSE_FEED)
    if loop.state is State.SOLAR and flow.likely < _FLOWS_A:
        return _just_charged_house_battery(loop)
    unit, house, rest = loop.sound.charger, loop.sound.house, loop.rested_house_voltage()
    net = flow.likely - house.load_a.mean if flow.is_known else flow.likely
    beside = loop.beside()
    ohmic = max(net + beside.value, 0.0) * house.resistance_ohm.mean
    middle = rest.value + house.rise_v.mean + ohmic
    spread = math.hypot(
        rest.spread,
        house.rise_v.spread,
        ohmic * house.resistance_ohm.spread,
        beside.spread * house.resistance_ohm.mean,
    )
    lifted = rest.value - SIGMAS * rest.spread + _LIFTED_V * loop.house_scale
    low = max(middle - SIGMAS * spread, lifted)
    if loop.state is State.SOLAR:  # a weak panel hardly lifts it over the loads
        low = rest.value - SIGMAS * rest.spread - DRIFT_V * loop.house_scale
    ceiling = _highest_regulated(loop)
    # A full battery may be at float already, hardly over its rest voltage.
    at_float = unit.float_v - _FLOAT_V * loop.house_scale
    low = min(low, ceiling - 2 * _REGULATED * unit.regulation_v.spread, at_float)
    # However flat it was, a sound battery is over an empty one's rest voltage when charged.
    low, high = max(low, _empty(loop)), ceiling
    if rest.is_read and not _is_soon_full(loop, rest.value):
        high = min(high, max(middle + _SHOOTS_UP * spread, low) + _CLIMB_V * loop.house_scale)
    why = (
        f"from {rest.in_volts} {'read' if rest.is_read else 'usual'} at rest charging "
        f"{'lifts it to' if low > rest.value else 'keeps it at'} {volts(low)} or more, and the "
        f"profile stops it at {as_stated(unit.absorption_v, 'V')}"
    )
    if high < ceiling:
        why += (
            f"; a sound battery so far from full stays under {volts(high)} in the first minutes, "
            "a worn or blocked one rises at once"
        )
    return Expectation(
        low=low,
        high=high,
        why=why,
        uncertainty=flow.uncertainty * house.resistance_ohm.mean,
        under=_LOW_LITHIUM_ON_CHARGE if _is_lithium(loop) else _LOW_ON_CHARGE,
        proves_nothing=_NOT_CHARGED if _hardly_flows(loop, flow) else "",
        proves_from=_nearly_at_profile(loop),
    )


_NOT_CHARGED = "hardly any current flows into it: find out why, then read it again"


def charger_output_voltage(loop: LoopState) -> Expectation:
    """The house battery's volts and what the two house runs lose at this current."""
    flow, posts = loop.flow(Run.HOUSE_FEED), _house_posts(loop)
    feed, back = (loop.run_resistance(run) for run in (Run.HOUSE_FEED, Run.HOUSE_RETURN))
    drift, reach = DRIFT_V * loop.house_scale, SIGMAS * posts.spread
    returned = _through(loop, Run.HOUSE_RETURN)
    least = max(flow.low, 0.0) * feed.least + min(returned.low, max(flow.low, 0.0)) * back.least
    most = max(flow.high, 0.0) * feed.most + max(returned.high, 0.0) * back.most
    low, high = posts.value - reach + least, posts.value + reach + most
    origin = "read" if posts.is_read else "expected"
    makes = " makes"
    if flow.high > _FLOWS_A:
        lost = drop_volts(flow.likely * (feed.likely + back.likely))
        makes = f" and about {lost} for the two house runs at {flow.in_amperes} make"
        high = min(high, max(_highest_regulated(loop), low + drift))
    low, high = low - drift, high + drift
    found = Expectation(
        low=low,
        high=high,
        why=f"{posts.in_volts} {origin} at the house battery{makes} {volt_range(low, high)}",
        uncertainty=_uncertainty_of_loss(flow, feed, back),
        proves_nothing=_runs_not_loaded(loop, flow),
    )
    if not posts.is_read:
        return found
    return replace(
        found,
        reference=posts.value,
        under="less than the battery has: the house fuse, feed or return or the unit's negative "
        "is open, or a probe is elsewhere",
        over="the rest is lost on the way to the battery: read both house drops",
    )


def profile_setting_voltage(loop: LoopState) -> Expectation:
    """The absorption voltage that the battery asks for; the chemistry's window if not known."""
    battery, scale = loop.installation.house_battery, loop.house_scale
    asked = battery.absorption_voltage_v
    stated = loop.installation.stated("house_battery.absorption_voltage_v")
    if asked is not None and stated not in (StatedBy.GUESS, StatedBy.PRESET):
        width = PROFILE_TOLERANCE_V * scale
        why = f"this battery asks for {as_stated(asked, 'V')} absorption"
        return Expectation(low=asked - width, high=asked + width, why=why)
    window = batteries.absorption_window(battery.chemistry, scale)
    kind = CHEMISTRIES[battery.chemistry]
    why = f"its own figure is not known; {kind} commonly asks for {volt_range(*window)}"
    return Expectation(low=window.low, high=window.high, why=why)


def _rested_house_battery(loop: LoopState) -> Expectation:
    kind, scale = loop.installation.house_battery.chemistry, loop.house_scale
    fifth, nearly, full = (batteries.rest_voltage(kind, s, scale) for s in (0.2, NEARLY_FULL, 1.0))
    high = full + SIGMAS * tables.number("batteries", f"ocv_spread.{kind}") * scale
    if kind is Chemistry.LIFEPO4:
        more = f" and {volts(nearly)} nearly full; just charged, up to the {volts(full)} it came to"
    else:
        high += batteries.most_surface_charge(scale)
        more = f" and {volts(full)} full; five minutes after charging some tenths more"
    other = " or ".join(other_sources(loop.installation))
    return Expectation(
        low=_empty(loop),
        high=high,
        why=f"a rested {CHEMISTRIES[kind]} battery shows {volts(fifth)} at a fifth of its "
        f"charge{more}",
        under=_low_at_rest(loop),
        over=f"{other or 'something'} still charges it, or has just stopped: "
        f"{_LET_IT_REST if other else 'let it rest'}",
    )


def _just_charged_house_battery(loop: LoopState) -> Expectation:
    """Return a rested battery's limits, but with what the engine's charging left on its plates."""
    rested = _rested_house_battery(loop)
    high = max(rested.high or 0.0, loop.sound.charger.float_v + _FLOAT_V * loop.house_scale)
    return Expectation(
        low=rested.low,
        high=high,
        why=f"{rested.why}, and soon after charging it stands higher, up to {volts(high)}",
        under=_low_at_rest(loop),
    )


def _refused_house_battery(loop: LoopState) -> Expectation:
    """Return the limits of a battery that is refused charge: anything from rest to the profile."""
    low, high = _empty(loop), _highest_regulated(loop)
    return Expectation(
        low=low,
        high=high,
        why="too cold to be charged, a lithium battery shows what it rests at or what the unit "
        f"holds against its open protection, {volt_range(low, high)}",
        under=_LOW_LITHIUM_ON_CHARGE,
        proves_nothing="warm the battery, then read it again",
    )


_LET_IT_REST = "cover its panel, unplug it, then let the battery rest and read it again"


def _is_lithium(loop: LoopState) -> bool:
    return loop.installation.house_battery.chemistry is Chemistry.LIFEPO4


def _low_at_rest(loop: LoopState) -> str:
    """Say what a voltage that is too low at rest means: the rule of 2 V a cell is for lead."""
    return _LOW_LITHIUM if _is_lithium(loop) else _LOW_AT_REST


def _house_posts(loop: LoopState) -> Quantity:
    """Return the house battery's voltage, as read or as it should be, V."""
    if read := loop.measured(Point.HOUSE_BATTERY_VOLTAGE):
        return read
    if loop.state is State.REST:
        return loop.rested_house_voltage()
    charging = house_battery_voltage(loop)
    low, high = charging.low or 0.0, charging.high or 0.0
    return Quantity((low + high) / 2, (high - low) / (2 * SIGMAS), charging.uncertainty, False)


def _empty(loop: LoopState) -> Volt:
    """Return the least that a sound battery shows at rest, all but empty, V."""
    kind, scale = loop.installation.house_battery.chemistry, loop.house_scale
    spread = tables.number("batteries", f"ocv_spread.{kind}") * scale
    return batteries.rest_voltage(kind, 0.1, scale) - spread


def _is_soon_full(loop: LoopState, rest_v: Volt) -> bool:
    kind, scale = loop.installation.house_battery.chemistry, loop.house_scale
    return batteries.charge_from_rest(kind, rest_v, scale)[1] >= _SOON_FULL


def _highest_regulated(loop: LoopState) -> Volt:
    """Return the most that the unit's profile lets its output rise to, V."""
    unit, battery = loop.sound.charger, loop.installation.house_battery
    high = unit.absorption_v + _REGULATED * unit.regulation_v.spread
    if loop.installation.fitted.temperature_sensor and battery.chemistry is not Chemistry.LIFEPO4:
        coldest = loop.sound.ambient_c.mean - SIGMAS * loop.sound.ambient_c.spread
        high += max(batteries.temperature_compensation(round(6 * loop.house_scale), coldest), 0.0)
    return high


# The currents

_STANDING_A = 1.0  # assumed: as near to nothing as a clamp with a zero error can tell
_AWAKE_A = 0.4  # assumed: an awake unit takes a third of an ampere or more (8 Ah a day: practice)
_ASLEEP_MA = 50  # two training texts on standing current, of a whole vehicle once it sleeps
_WANDERS = 0.02  # assumed: standard share by which a current moves while two are read in turn
_HOT_SHARE = 0.9  # assumed: of the temperature at which units begin to cut back
_NEAR_STOP_V = 0.25  # assumed: how close over its stop voltage a unit holds its input, at 12 V
_FED_LEAST, _FED_MOST = 0.8, 1.1  # assumed: how far a held unit is from what its supply can feed
_HOUSE_POSTS = (Point.HOUSE_BATTERY_VOLTAGE, Point.CHARGER_OUTPUT_VOLTAGE)


@dataclass(frozen=True)
class _DueOutput:
    """What the unit should give now, and why."""

    low: Ampere
    high: Ampere
    why: str
    uncertainty: Ampere = 0.0
    under: str = ""
    at_float: Ampere | None = None


def output_current(loop: LoopState) -> Expectation:
    """In bulk the rating; less where volts, supply, input limit or the panel set less."""
    if loop.state is State.REST:
        return _nothing(
            "with the key off the unit should give nothing, under 1 A on a current clamp"
        )
    if _is_lithium(loop) and (refused := refused_for_cold(loop)):
        return refused
    due = _due_output(loop)
    found = Expectation(
        low=due.low,
        high=due.high,
        why=due.why,
        uncertainty=due.uncertainty,
        under=due.under,
        proves_nothing=_why_so_little(loop),
        proves_from=telling_current(loop.sound.charger.rated_output_a),
    )
    second = loop.read(Point.SECOND_UNIT_OUTPUT_CURRENT)
    if loop.state.engine_runs and second is not None and second >= found.proves_from:
        found = replace(
            found,
            under=f"the other unit gives {amperes(second, read=True)} from the same supply, so "
            "look at this one alone: its fuses, feeds, return and ignition input, then the unit",
        )
    if due.at_float is None or due.at_float >= due.low:
        return found
    float_v = as_stated(loop.sound.charger.float_v, "V")
    little = f"up to {amperes(due.at_float)}"
    return replace(
        found,
        why=f"{due.why}; or {little} where the unit is at its {float_v} float",
        or_up_to=due.at_float,
        or_why=f"at its {float_v} float a unit gives a full battery {little}",
    )


def input_current(loop: LoopState) -> Expectation:
    """What the output current needs, by power, at the input's volts."""
    if loop.state is State.REST:
        return _asleep()
    if not loop.state.engine_runs:
        return _nothing(
            f"{loop.when_off} the unit should draw nothing, under 1 A on a current clamp"
        )
    given = loop.measured(Point.OUTPUT_CURRENT)
    if given is None:
        return _input_for_due_output(loop)
    drawn = loop.input_for(given)
    at_input, at_output = loop.input_voltage(), loop.output_voltage(given.value)
    why = (
        f"{as_read(Point.OUTPUT_CURRENT, given.value)} out at {at_output.in_volts} needs about "
        f"{amperes(drawn.value)} in at {at_input.in_volts}, "
        f"{percent(loop.sound.charger.efficiency.mean)} efficient"
    )
    if loop.has_panel:
        why += ", the panel's part taken off"
    off = SIGMAS * math.hypot(drawn.spread, _WANDERS * drawn.value) + _STANDING_A
    low, high = drawn.value - off, loop.within_input_limit(drawn.value + off)
    return Expectation(
        low=min(low, high),
        high=high,
        why=why,
        reference=drawn.value,
        proves_nothing="hardly anything goes in or out: find out first why the unit gives nothing",
        proves_from=telling_current(loop.sound.charger.rated_output_a),
    )


def house_load_current(loop: LoopState) -> Expectation:
    """No more than half of what the charger gives, or little is left for the battery."""
    rated = loop.sound.charger.rated_output_a
    beside = loop.installation.fitted.second_charger_rated_output_current_a or 0.0
    high = (rated + beside) * tables.number("charger", "load.share")
    whose = "both units'" if beside else "the unit's"
    why = (
        f"loads over {amperes(high)}, half of {whose} {as_stated(rated + beside, 'A')}, would "
        "leave the battery little to charge with"
    )
    return Expectation(low=-_STANDING_A, high=high, why=why)


def _asleep() -> Expectation:
    """Return the limits of a unit at rest, as far as a clamp can tell."""
    a_day = 24 * _AWAKE_A
    return Expectation(
        low=-_STANDING_A,
        high=_AWAKE_A,
        why="asleep the unit should draw milliamperes, and no current clamp tells those: it finds "
        f"a unit that stays awake ({amperes(_AWAKE_A)} are {a_day:.0f} Ah a day). Once the vehicle "
        f"sleeps, up to {_ASLEEP_MA} mA are right, read in series or, across a small fuse, as "
        "millivolts",
        over="it empties the start battery within days: lock the vehicle, let it sleep, and "
        "measure the milliamperes in series",
    )


def _nothing(why: str) -> Expectation:
    return Expectation(low=-_STANDING_A, high=_STANDING_A, why=why)


def _input_for_due_output(loop: LoopState) -> Expectation:
    due = _due_output(loop)
    most = loop.input_for(Quantity(due.high, 0.0, due.uncertainty, False), with_panel=False)
    least = loop.input_for(Quantity(due.low, 0.0, due.uncertainty, False))
    sure = due.low > 0 and due.at_float is None
    low = max(least.value - SIGMAS * least.spread, 0.0) if sure else 0.0
    high = loop.within_input_limit(most.value + SIGMAS * most.spread)
    return Expectation(
        low=min(low, high) - _STANDING_A,
        high=high,
        why=f"{due.why}; for that it draws {ampere_range(low, high)}",
        uncertainty=most.uncertainty,
        proves_nothing="read the output current first, in the same state",
        proves_from=telling_current(loop.sound.charger.rated_output_a),
    )


def _why_so_little(loop: LoopState) -> str:
    """Say what to do about a current that may be right and yet is next to nothing."""
    if _why_nearly_full(loop) or _is_at_float_volts(loop):
        return "a nearly full battery takes next to nothing: load it, and read the current again"
    if not _is_house_voltage_read(loop):
        return "read the house battery's voltage first, in the same state"
    return "hardly any current flows: find out first why the unit gives nothing"


def _due_output(loop: LoopState) -> _DueOutput:
    if _is_lithium(loop) and (refused := refused_for_cold(loop)):
        return _DueOutput(refused.low or 0.0, refused.high or 0.0, refused.why)
    due = _due_in_bulk(loop) if loop.state.engine_runs else _due_by_panel(loop)
    full = _why_nearly_full(loop)
    if not full and _is_at_float_volts(loop):
        return replace(due, at_float=_FLOAT_SHARE * loop.sound.charger.rated_output_a)
    if not full:
        return due
    why = f"{full}, so anything up to {amperes(due.high)} is right"
    if loop.installation.house_battery.chemistry is Chemistry.LIFEPO4:
        why += "; none at all may mean that the battery's own protection blocks charging"
    return _DueOutput(-_STANDING_A if _battery_is_full(loop) else 0.0, due.high, why)


def _due_in_bulk(loop: LoopState) -> _DueOutput:
    rated = loop.sound.charger.rated_output_a
    low = rated * tables.number("charger", "bulk.least_share")
    high = rated * tables.number("charger", "bulk.most_share")
    why = (
        f"in bulk a {as_stated(rated, 'A')} unit gives about its rating or a little over, "
        f"{ampere_range(low, high)}"
    )
    fed, supply = _fed_by_supply(loop), loop.supply()
    if supply.is_read and fed.high < low:
        low, high = _FED_LEAST * fed.low, min(_FED_MOST * fed.high + _most_by_panel(loop), high)
        why = (
            f"{supply.in_volts} supply can feed about {amperes(fed.likely)} before "
            f"{_what_holds(loop)} holds its input"
        )
        why += ", and the panel adds its own" if loop.has_panel else ""
    elif supply.is_read and math.isfinite(loop.sound.charger.input_limit_a) and fed.likely < high:
        low = min(low, _FED_LEAST * fed.low)
        why += f"; {_what_holds(loop)} may leave it {amperes(low)}"
    elif _gives_all_at_fast_idle(loop, low):
        low = 0.0
        why += (
            "; at fast idle, better fed, it gives that, so the unit is right: at idle its supply "
            "holds it back"
        )
    start = _least_start_voltage(loop)
    if supply.is_read and supply.value < start:
        low = -_STANDING_A
        why += (
            f"; with {supply.in_volts} supply, under its {as_stated(start, 'V')} start voltage, it "
            "may also stay off"
        )
    elif not _is_house_voltage_read(loop) and not _other_is_in_bulk(loop):
        low = 0.0
        why += ", less if the battery is nearly full: read its voltage while it charges to tell"
    cause = _cause_of_little_output(loop)
    hint = (
        "its input, its case's temperature, its set limit and the battery's volts tell what holds "
        "it"
    )
    return _DueOutput(low, high, why + cause, under="" if cause else hint)


# Assumed, at 12 V: by so much lower at idle, the supply may hold back what it feeds at fast idle.
_WORSE_FED_V = 0.2


def _gives_all_at_fast_idle(loop: LoopState, low: Ampere) -> bool:
    """Whether at fast idle, from a higher supply, the unit gave what it should."""
    supply = loop.read(Point.START_BATTERY_VOLTAGE)
    faster = loop.read(Point.START_BATTERY_VOLTAGE, State.FAST_IDLE)
    given = loop.read(Point.OUTPUT_CURRENT, State.FAST_IDLE)
    if loop.state is not State.IDLE or supply is None or faster is None or given is None:
        return False
    return given >= low and supply < faster - _WORSE_FED_V * loop.scale


def _other_is_in_bulk(loop: LoopState) -> bool:
    """Whether a second unit shows that the battery is far from full: bulk, under the profile."""
    given = loop.read(Point.SECOND_UNIT_OUTPUT_CURRENT)
    at_output = loop.live(Point.SECOND_UNIT_OUTPUT_VOLTAGE)
    rating = loop.installation.fitted.second_charger_rated_output_current_a
    if given is None or at_output is None or rating is None:
        return False
    near = NEAR_PROFILE_V * loop.installation.house_scale
    under_profile = at_output.value < loop.sound.charger.absorption_v - near
    return under_profile and given >= rating * tables.number("charger", "bulk.least_share")


def _due_by_panel(loop: LoopState) -> _DueOutput:
    if not loop.has_panel:
        why = f"no panel is fitted: {loop.when_off} the unit should give nothing"
        return _DueOutput(-_STANDING_A, _STANDING_A, why)
    unit, power, house = loop.sound.charger, loop.panel_power(), loop.charging_house_voltage()
    share = unit.efficiency.mean / house.value
    reach = SIGMAS * power.spread * share + _STANDING_A
    likely = max(power.value * share - unit.own_use_w.mean / house.value, 0.0)
    rated = unit.rated_output_a * tables.number("charger", "bulk.most_share")
    return _DueOutput(
        low=max(likely - reach, 0.0) - _STANDING_A,
        high=min(likely + reach, rated),
        why=f"the panel's {watts(power.value)} make about {amperes(likely)} at {house.in_volts}",
        uncertainty=power.uncertainty * share,
    )


def _fed_by_supply(loop: LoopState) -> Flow:
    """Return the output current that the supply alone can feed through sound runs, A."""
    unit, supply, ohm = loop.sound.charger, loop.supply(), loop.loop_resistance()
    stop = unit.ignition_stop_v if loop.has_signal() else min(unit.stop_v, unit.ignition_stop_v)
    at_output = loop.charging_house_voltage().value

    def given(loop_ohm: float) -> Ampere:
        held = min(max(supply.value - stop, 0.0), supply.value / 2) / loop_ohm
        drawn = min(held, unit.input_limit_a)
        taken = (supply.value - loop_ohm * drawn) * drawn * unit.efficiency.mean
        return max(taken - unit.own_use_w.mean, 0.0) / at_output

    reach = SIGMAS * ohm.spread
    low, high = given(ohm.value + reach), given(max(ohm.value - reach, ohm.value / 3))
    return Flow(low, given(ohm.value), high, supply.uncertainty, supply.is_read)


def _most_by_panel(loop: LoopState) -> Ampere:
    """Return the most that the panel may add to the output, A: it is used before the vehicle."""
    if not loop.has_panel:
        return 0.0
    power = loop.panel_power()
    most = power.value + SIGMAS * power.spread
    return most * loop.sound.charger.efficiency.mean / loop.charging_house_voltage().value


def _what_holds(loop: LoopState) -> str:
    limit = loop.sound.charger.input_limit_a
    if math.isfinite(limit):
        return f"its set limit of {as_stated(limit, 'A')}"
    return "the unit itself"


def _least_start_voltage(loop: LoopState) -> Volt:
    """Return the lowest start voltage that may hold; a missing signal is no excuse, V."""
    unit = loop.sound.charger
    if loop.installation.alternator.control in _STEADY and not loop.has_signal():
        return unit.start_v
    return unit.ignition_start_v


_STEADY = (Control.FIXED, Control.CONVERTER)
"""The supplies that hold volts by which a unit can start without a signal."""


def _cause_of_little_output(loop: LoopState) -> str:
    """Name what else that was read makes a low current likely."""
    signal = loop.read(Point.IGNITION_SIGNAL_VOLTAGE)
    unit, supply = loop.sound.charger, loop.supply().value
    needs_signal = loop.installation.alternator.control not in _STEADY
    stays_off = needs_signal and supply < unit.start_v
    if stays_off and signal is not None and signal < unit.ignition_signal_min_v:
        dead = as_read(Point.IGNITION_SIGNAL_VOLTAGE, signal)
        return f"; the ignition input is dead at {dead}: put that right first"
    at_battery, at_output = (loop.live(point) for point in _HOUSE_POSTS)
    regulating = unit.absorption_v - SIGMAS * unit.regulation_v.spread
    if at_battery and at_output and at_output.value >= regulating:
        return (
            f"; the unit stands at {at_output.in_volts}, its limit, and only {at_battery.in_volts} "
            "is at the battery: look at the house feed, its fuse and the house return first"
        )
    at_input = loop.live(Point.CHARGER_INPUT_VOLTAGE)
    stop = unit.ignition_stop_v if loop.has_signal() else unit.stop_v
    if at_input and at_input.value < stop + _NEAR_STOP_V * loop.scale < supply:
        return (
            f"; its input is down at {at_input.in_volts}, near the {as_stated(stop, 'V')} where it "
            "cuts back: look at the vehicle feed and return first"
        )
    case = loop.read(Point.CHARGER_CASE_TEMPERATURE)
    hot = _HOT_SHARE * tables.number("charger", "temperature.derating")
    if case is not None and case >= hot:
        at = as_read(Point.CHARGER_CASE_TEMPERATURE, case)
        return f"; its case is at {at} and it cuts back when hot: cool it first"
    return ""


def _why_nearly_full(loop: LoopState) -> str:
    """Say by what reading the battery is nearly full, "" where none says so."""
    at_battery, at_output = (loop.live(point) for point in _HOUSE_POSTS)
    profile = loop.sound.charger.absorption_v
    reached = ""
    if at_battery and at_battery.value >= _nearly_at_profile(loop):
        reached = at_battery.in_volts
    elif (
        not at_battery
        and at_output
        and at_output.value >= profile - NEAR_PROFILE_V * loop.house_scale
    ):
        reached = at_output.in_volts
    if reached:
        at = f"{reached} is at the profile's {as_stated(profile, 'V')}"
        return f"{at}, where the current falls as the battery fills"
    return ""


def _battery_is_full(loop: LoopState) -> bool:
    """Whether the battery's own posts say that it is full, and not only the unit's."""
    at_battery = loop.live(Point.HOUSE_BATTERY_VOLTAGE)
    return at_battery is not None and at_battery.value >= _nearly_at_profile(loop)


def _is_at_float_volts(loop: LoopState) -> bool:
    """Whether the battery stands where a unit at float would hold it.

    A battery in bulk passes the same volts with all that the unit gives, so volts alone do not
    prove it full; neither does the voltage at which it rested, least of all a lithium battery's.
    What a second unit gives in bulk proves it not full.
    """
    beside = loop.read(Point.SECOND_UNIT_OUTPUT_CURRENT)
    rating = loop.installation.fitted.second_charger_rated_output_current_a
    if beside is not None and rating is not None and beside > _FLOAT_SHARE * rating:
        return False
    at_battery = loop.live(Point.HOUSE_BATTERY_VOLTAGE)
    float_v = loop.sound.charger.float_v
    return (
        at_battery is not None
        and abs(at_battery.value - float_v) <= _NEAR_FLOAT_V * loop.house_scale
    )


# Assumed: how near the float voltage a floating battery stands, at 12 V, and what it takes at most,
# as a share of the unit's rating.
_NEAR_FLOAT_V, _FLOAT_SHARE = 0.2, 0.2


def _nearly_at_profile(loop: LoopState) -> Volt:
    """Return the voltage at the battery's posts from which the current may be falling, V."""
    unit = loop.sound.charger
    runs = (loop.sound.run_ohm[run].mean for run in (Run.HOUSE_FEED, Run.HOUSE_RETURN))
    return unit.absorption_v - NEAR_PROFILE_V * loop.house_scale - unit.rated_output_a * sum(runs)


def _is_house_voltage_read(loop: LoopState) -> bool:
    return any(loop.read(point) is not None for point in _HOUSE_POSTS)


EXPECTED: Mapping[Point, Callable[[LoopState], Expectation]] = {
    Point.START_BATTERY_VOLTAGE: start_battery_voltage,
    Point.FIRST_SERIES_VOLTAGE: first_series_voltage,
    Point.IGNITION_SIGNAL_VOLTAGE: ignition_signal_voltage,
    **{DROP_ACROSS[run]: partial(run_drop, run=run) for run in LOOP},
    Point.CHARGER_INPUT_VOLTAGE: charger_input_voltage,
    Point.CHARGER_OUTPUT_VOLTAGE: charger_output_voltage,
    Point.HOUSE_BATTERY_VOLTAGE: house_battery_voltage,
    Point.PROFILE_SETTING_VOLTAGE: profile_setting_voltage,
    Point.INPUT_CURRENT: input_current,
    Point.OUTPUT_CURRENT: output_current,
    Point.HOUSE_LOAD_CURRENT: house_load_current,
}
"""What each point of this module should show, by point."""
