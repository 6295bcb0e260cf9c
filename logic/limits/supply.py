"""The vehicle's own supply and the trigger terminal."""

from logic.circuit import batteries, tables
from logic.circuit.supply import fixed_set_point
from logic.limits.expected import Expectation
from logic.limits.flows import SIGMAS
from logic.limits.known import Known
from logic.vehicle.installation import Chemistry, Control
from logic.vehicle.points import Point, State
from logic.words.figures import as_stated, volt_range, volts
from logic.words.names import CHEMISTRIES

_BELOW_ECONOMY_V = 0.1  # assumed: cable and load between alternator and battery
_KEPT_UP_V = 0.2  # assumed: how far under its rest voltage a regulated battery may be held


def start_battery_voltage(known: Known) -> Expectation:
    """At rest by its charge, running by the alternator's kind of control."""
    if known.is_running:
        return _running(known)
    return _resting(known)


def ignition_signal_voltage(known: Known) -> Expectation:
    """Dead with the engine off; live with it running where the alternator asks for it."""
    scale, unit = known.scale, known.sound.charger
    if not known.is_running:
        dead = tables.number("supply", "ignition.dead") * scale
        why = f"the trigger terminal should be dead (under {volts(dead)}) with the key off"
        return Expectation(-dead, dead, why, over=_STAYS_LIVE)
    supply = known.live_supply()
    high = supply.value + SIGMAS * supply.spread + _ABOVE_SUPPLY_V * scale
    least = unit.ignition_signal_min_v
    control = known.installation.alternator.control
    if control is Control.VARIABLE:
        why = (
            "with a variable alternator the trigger terminal should be live, "
            f"{as_stated(least, 'V')} or more, and near the {supply.in_volts} of the supply"
        )
        return Expectation(least, high, why, under=_NO_SIGNAL)
    needs = "a fixed alternator needs no signal"
    if control is Control.UNKNOWN:
        needs = "the alternator's kind is not known, and only a variable one needs a signal"
    why = f"the unit takes {as_stated(least, 'V')} or more as live; {needs}"
    return Expectation(-_ABOVE_SUPPLY_V * scale, high, why)


_CHARGE_FIRST = "charge it and test it before going on"
_LET_IT_REST = "let it rest longer, or the headlamps take off what the engine left on it"
_STAYS_LIVE = "left so, the unit drains the start battery: move it to a feed that goes dead"
_NO_SIGNAL = "follow the trigger wire back to its source and its small fuse"
_ABOVE_SUPPLY_V = 0.3  # assumed: drift, and an earth elsewhere than the unit's negative


def _resting(known: Known) -> Expectation:
    battery, scale = known.installation.start_battery, known.scale
    kind = Chemistry(battery.chemistry) if battery else Chemistry.FLOODED
    half, full = (batteries.rest_voltage(kind, charge, scale) for charge in (0.5, 1.0))
    above = SIGMAS * tables.number("batteries", f"ocv_spread.{kind}")
    if battery is None:
        full = max(full, batteries.rest_voltage(Chemistry.AGM, 1.0, scale))
    # Five minutes' rest leave some surface charge, and so does an engine just stopped.
    fresh = known.state is State.SOLAR
    high = full + above * scale + batteries.most_surface_charge(scale, fresh)
    if known.state is State.SOLAR and known.installation.fitted.reverse_charge:
        high = max(high, batteries.absorption_window(kind, scale).high)
    name = f"rested {CHEMISTRIES[kind]} battery" if battery else "rested lead-acid battery"
    why = f"a {name} shows {volts(full)} full and {volts(half)} half charged"
    scatter = tables.number("batteries", f"ocv_spread.{kind}") * scale
    return Expectation(half - scatter, high, why, under=_CHARGE_FIRST, over=_LET_IT_REST)


def _running(known: Known) -> Expectation:
    scale, control = known.scale, known.installation.alternator.control
    if control is Control.FIXED:
        low, high = fixed_set_point(known.sound.ambient_c.mean)
        low -= tables.number("supply", "fixed.margin")
        high += tables.number("supply", "fixed.margin")
        why = (
            f"a fixed alternator, warm, should hold {volt_range(low * scale, high * scale)} here "
            "with its load on"
        )
        hint = _SLOW_OR_DEAD[known.state]
        return Expectation(low * scale, high * scale, why, under=hint, over=_OVERCHARGED)
    low = tables.number("supply", "variable.low") * scale
    high = tables.number("supply", "variable.high") * scale
    over = tables.number("supply", "fixed.margin") * scale
    economy_low = tables.number("supply", "economy.low") * scale
    economy_high = tables.number("supply", "economy.high") * scale
    rest = known.read(Point.START_BATTERY_VOLTAGE, State.REST)
    if rest is not None:
        kept_up = min(rest - _KEPT_UP_V * scale, economy_low - _BELOW_ECONOMY_V * scale)
        low = max(low, kept_up)
    kind = "a variable alternator moves" if control is Control.VARIABLE else _UNKNOWN_KIND
    economy = volt_range(economy_low, economy_high)
    why = (
        f"{kind} it from {volt_range(low, high + over)}: {economy} is its economy mode and no "
        f"proof of a dead alternator, under {volts(low)} nothing keeps the battery up"
    )
    hint = _SLOW_OR_DEAD[known.state]
    return Expectation(low, high + over, why, under=hint, over=_OVERCHARGED)


_SLOW_OR_DEAD = {
    State.IDLE: "read it at fast idle before blaming the alternator",
    State.FAST_IDLE: "the vehicle's own charging comes first: belt, plug, warning lamp, alternator",
}
_OVERCHARGED = "so much harms batteries: stop and look into the vehicle's regulator"
_UNKNOWN_KIND = "the alternator's kind is not known, and a variable one moves"
