"""The house battery's volts, the charger's output volts, and the profile set."""

import math

from logic.circuit import batteries, tables
from logic.limits.expected import Expectation
from logic.limits.flows import SIGMAS, output_flow
from logic.limits.known import Known, Worked
from logic.limits.runs import sound_run
from logic.vehicle.assumed import DRIFT_V, NEARLY_FULL, PROFILE_TOLERANCE_V
from logic.vehicle.installation import Chemistry
from logic.vehicle.points import Point, Run, State
from logic.words.figures import as_stated, drop_volts, volt_range, volts
from logic.words.names import CHEMISTRIES

_LIFTED_V = 0.05  # assumed: least lift over rest that tells charging from standing, at 12 V
_CLIMB_V = 0.25  # assumed: what charging adds while the readings are taken, at 12 V
_FULL_SHARE = 0.85  # assumed: charge from which a battery soon reaches the profile's voltage
_FLOAT_V = 0.2  # assumed: how far a float voltage is from what was entered, at 12 V


def house_battery_voltage(known: Known) -> Expectation:
    """At rest by chemistry and charge; charging, above rest and up to the profile."""
    if known.state is State.REST:
        return _rested(known)
    flow = output_flow(known)
    if known.state is State.SOLAR and flow.likely < 0.5:
        return _just_charged(known)
    house, rest = known.sound.house, known.rested_house()
    ceiling = _regulated_high(known)
    net = flow.likely - house.load_a.mean if flow.is_known else flow.likely
    ohmic = max(net, 0.0) * house.resistance_ohm.mean
    spread = math.hypot(rest.spread, house.rise_v.spread, ohmic * house.resistance_ohm.spread)
    middle = rest.value + house.rise_v.mean + ohmic
    low = max(middle - SIGMAS * spread, rest.value + _LIFTED_V * known.scale - SIGMAS * rest.spread)
    if known.state is State.SOLAR:  # a weak panel hardly lifts it over the loads
        low = rest.value - SIGMAS * rest.spread - DRIFT_V * known.scale
    unit = known.sound.charger
    # A full battery may be at float already, hardly over its rest voltage.
    low = min(low, ceiling - 6 * unit.regulation_v.spread, unit.float_v - _FLOAT_V * known.scale)
    # However flat it was, a sound battery is over an empty one's rest voltage when charged.
    low = max(low, _empty(known))
    high = ceiling
    if rest.is_read and not _may_be_full(known, rest):
        high = min(high, max(middle + 2.5 * spread, low) + _CLIMB_V * known.scale)
    origin = f"{rest.in_volts} {'read' if rest.is_read else 'usual'} at rest"
    lifted = "lifts it to" if low > rest.value else "keeps it at"
    why = (
        f"from {origin} charging {lifted} {volts(low)} or more, and the profile stops it at "
        f"{as_stated(unit.absorption_v, 'V')}"
    )
    if high < ceiling:
        why += (
            f"; a sound battery so far from full stays under {volts(high)} in the first minutes, "
            "a worn or blocked one shoots up"
        )
    inherited = flow.meter * house.resistance_ohm.mean
    return Expectation(low, high, why, inherited=inherited, under=_TOO_LOW)


def charger_output_voltage(known: Known) -> Expectation:
    """The house battery's volts and what the two house runs lose at this current."""
    flow, posts = output_flow(known), _posts(known)
    feed, back = sound_run(known, Run.HOUSE_FEED), sound_run(known, Run.HOUSE_RETURN)
    drift = DRIFT_V * known.scale
    low = posts.value - SIGMAS * posts.spread + max(flow.low, 0.0) * (feed.least + back.least)
    high = posts.value + SIGMAS * posts.spread + max(flow.high, 0.0) * (feed.most + back.most)
    origin = "read" if posts.is_read else "expected"
    why = f"{posts.in_volts} {origin} at the house battery"
    if flow.high > 0.5:
        lost = flow.likely * (feed.ohm + back.ohm)
        why += f" and about {drop_volts(lost)} for the two house runs at {flow.in_amperes} make"
        high = min(high, max(_regulated_high(known), low + drift))
    else:
        why += " makes"
    low, high = low - drift, high + drift
    why += f" {volt_range(low, high)}"
    meter = math.hypot(
        flow.meter * (feed.most + back.most), flow.high * math.hypot(feed.meter, back.meter)
    )
    reference = posts.value if posts.is_read else None
    hints = ("", "") if not posts.is_read else (_NOT_THERE, _TOO_MUCH)
    return Expectation(low, high, why, None, meter, reference, *hints)


def profile_setting_voltage(known: Known) -> Expectation:
    """The absorption voltage that the battery asks for; the chemistry's window if not known."""
    battery, scale = known.installation.house_battery, known.scale
    asked = battery.absorption_voltage_v
    if asked is not None:
        width = PROFILE_TOLERANCE_V * scale
        why = f"this battery asks for {as_stated(asked, 'V')} absorption"
        return Expectation(asked - width, asked + width, why)
    window = batteries.absorption_window(battery.chemistry, scale)
    kind = CHEMISTRIES[battery.chemistry]
    why = f"its own figure is not known; {kind} commonly asks for {volt_range(*window)}"
    return Expectation(window.low, window.high, why)


_NOT_THERE = (
    "less than the battery has: the house fuse, feed or return or the unit's negative is open, or "
    "a probe is elsewhere"
)
_TOO_MUCH = "the rest is lost on the way to the battery: read both house drops"
_TOO_LOW = "so low under charge, it is worn, has lost a cell, or its loads take everything"
_LOW_AT_REST = "empty, or a cell is shorted where it is about 2 V low per 12 V: charge and test it"
_HIGH_AT_REST = "something still charges it, or has just stopped: let it rest"


def _rested(known: Known) -> Expectation:
    kind, scale = known.installation.house_battery.chemistry, known.scale
    spread = SIGMAS * tables.number("batteries", f"ocv_spread.{kind}") * scale
    fifth, nearly, full = (batteries.rest_voltage(kind, s, scale) for s in (0.2, NEARLY_FULL, 1.0))
    why = f"a rested {CHEMISTRIES[kind]} battery shows {volts(fifth)} at a fifth of its charge"
    if kind is Chemistry.LIFEPO4:
        why += f" and {volts(nearly)} nearly full; just charged, up to the {volts(full)} it came to"
    else:
        why += f" and {volts(full)} full, a little more fresh from charging"
    high = (
        full + spread + (0.0 if kind is Chemistry.LIFEPO4 else batteries.most_surface_charge(scale))
    )
    return Expectation(_empty(known), high, why, under=_LOW_AT_REST, over=_HIGH_AT_REST)


def _just_charged(known: Known) -> Expectation:
    """Return a rested battery's limits, but with what the engine's charging left on its plates."""
    rested = _rested(known)
    high = max(rested.high or 0.0, known.sound.charger.float_v + _FLOAT_V * known.scale)
    why = f"{rested.why}, and soon after charging it stands higher, up to {volts(high)}"
    return Expectation(rested.low, high, why, under=_LOW_AT_REST)


def _empty(known: Known) -> float:
    """Return the least that a sound battery shows at rest, all but empty, V."""
    kind, scale = known.installation.house_battery.chemistry, known.scale
    spread = tables.number("batteries", f"ocv_spread.{kind}") * scale
    return batteries.rest_voltage(kind, 0.1, scale) - spread


def _posts(known: Known) -> Worked:
    read = known.measured(Point.HOUSE_BATTERY_VOLTAGE)
    if read:
        return read
    if known.state is State.REST:
        return known.rested_house()
    charging = house_battery_voltage(known)
    low, high = charging.low or 0.0, charging.high or 0.0
    return Worked((low + high) / 2, (high - low) / (2 * SIGMAS), charging.inherited, False)


def _may_be_full(known: Known, rest: Worked) -> bool:
    kind = known.installation.house_battery.chemistry
    return batteries.charge_from_rest(kind, rest.value, known.scale)[1] >= _FULL_SHARE


def _regulated_high(known: Known) -> float:
    unit, fitted = known.sound.charger, known.installation.fitted
    high = unit.absorption_v + 3 * unit.regulation_v.spread
    if fitted.temperature_sensor and known.installation.house_battery.chemistry != "lifepo4":
        air = known.sound.ambient_c
        cells = round(6 * known.scale)
        high += max(batteries.temperature_compensation(cells, air.mean - SIGMAS * air.spread), 0.0)
    return high
