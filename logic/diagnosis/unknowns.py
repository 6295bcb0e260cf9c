"""What the diagnosis does not know: the circuit's unknowns, and their priors when all is sound.

The unknowns of one hypothesis are one vector in the fixed order of :data:`NAMES`; the fitted
vector is called ``theta`` throughout, as usual in statistics.  Names carry their unit.  Those
ending in ``_ohm`` and those of :data:`LOGARITHMIC` are fitted as natural logarithms, for they are
positive and uncertain by a factor; everything else is fitted in its own unit.

Means and spreads come from :mod:`logic.circuit.sound_installation`, widened where the diagnosis
must not trust a description.  All spreads are standard deviations (k = 1).
"""

import math
from collections.abc import Iterator
from typing import NamedTuple

from logic.circuit.batteries import temperature_compensation
from logic.circuit.estimate import Estimate
from logic.circuit.sound_installation import SoundInstallation
from logic.circuit.supply import fixed_supply
from logic.quantities import Fraction
from logic.vehicle.assumed import JOINT_AGEING
from logic.vehicle.installation import Chemistry, Control, Installation, StatedBy
from logic.vehicle.points import Point, Run, State

RUN_NAMES = tuple(run.value for run in Run if run is not Run.SOLAR_FEED)

NAMES: tuple[str, ...] = (
    *(f"{run}_ohm" for run in RUN_NAMES),
    *(f"{run}_extra_ohm" for run in RUN_NAMES),
    "house_rest_v",
    "house_rise_v",
    "house_rise_fast_v",
    "house_rise_solar_v",
    "house_battery_ohm",
    "house_tail_a",
    "efficiency",
    "own_use_w",
    "output_share",
    "input_limit_a",
    "hold_v",
    "taper_v",
    "feed_consumer_a",
    "tapped_share",
    "standing_a",
    "awake_a",
    "load_a",
    "load_rest_a",
    "regulation_v",
    "profile_v",
    "float_v",
    "supply_idle_v",
    "supply_fast_v",
    "supply_rest_v",
    "supply_sag_v",
    "signal_drop_v",
    "signal_level_v",
    "signal_rest_v",
    "case_c",
    "house_c",
    "sensor_off_c",
    "second_unit_a",
    "first_share",
    "monitor_charge_share",
    "monitor_load_share",
    "reverse_a",
    "reverse_rise_v",
    "sun",
    "sun_engine",
    "panel_share",
    "panel_open_v",
    "panel_ratio",
    "panel_held_v",
    "voltage_gain",
    "current_gain",
    "clamp_zero_a",
)
INDEX: dict[str, int] = {name: index for index, name in enumerate(NAMES)}

VEHICLE_VOLTS = frozenset(
    {"hold_v", "reverse_rise_v"}
    | {name for name in NAMES if name.endswith("_v") and name.startswith(("supply", "signal"))}
)
"""Unknowns in volts that go by the vehicle's system voltage; all others by the house side's."""
VOLTS = frozenset(name for name in NAMES if name.endswith("_v"))


class Scales(NamedTuple):
    """The nominal voltages of both sides over 12 V: volts double in a 24 V system."""

    vehicle: float
    house: float

    @classmethod
    def on(cls, installation: Installation) -> "Scales":
        """Return those of an installation."""
        return cls(installation.scale, installation.house_scale)

    def of(self, unknown: str) -> float:
        """Return what an unknown's figures for 12 V are multiplied by."""
        if unknown not in VOLTS:
            return 1.0
        return self.vehicle if unknown in VEHICLE_VOLTS else self.house

    def at(self, point: Point) -> float:
        """Return the scale where a point is read, whatever it is read in."""
        return self.house if point.on_house_side else self.vehicle


LOGARITHMIC = frozenset(
    {name for name in NAMES if name.endswith("_ohm")}
    | {"house_tail_a", "output_share", "input_limit_a", "load_a", "load_rest_a", "panel_share"}
    | {"first_share"}
)
# A load may be nothing at all: its logarithm is taken of the load and this much more, A.
LOADS = frozenset({"load_a", "load_rest_a"})
LOAD_OFFSET_A = 0.5

# What a vehicle keeps from one visit to the next, with the standard change (ln or own unit)
# that age alone may bring.  Assumed: a sound battery or panel drifts by a tenth or two.
LASTING: dict[str, float] = {
    **{f"{run}_ohm": JOINT_AGEING for run in RUN_NAMES},
    "house_battery_ohm": 0.3,
    "efficiency": 0.012,
    "own_use_w": 1.0,
    "output_share": 0.015,
    "hold_v": 0.05,
    "taper_v": 0.02,
    "regulation_v": 0.04,
    "profile_v": 0.02,
    "panel_share": 0.15,
    "panel_open_v": 0.5,
}

# A run's joints vary each on its own, so their sum varies less than any one (assumed).
_SUM_SPREAD = 0.85
# An extra resistance that is not there: one microhm, so that its logarithm stays finite.
_NOTHING = Estimate(1e-6, 0.2)

# How far over its stop voltage a unit holds its input, at 12 V: nothing to 0.7 V, and some hold
# near 12 V whatever their stop voltage is (common practice, no published source).
_HOLD_V = Estimate(0.45, 0.35)
# Assumed: how far under its limit a unit at full current begins to cut back, at 12 V.
_TAPER_V = Estimate(0.06, 0.06)
# Assumed: what a sleeping unit draws (milliamperes), and that nothing else is on its feed.
_STANDING_A = Estimate(0.02, 0.03)
# Assumed: what a unit draws besides that is told to run, or sees the supply risen, and gives
# nothing.
_AWAKE_A = Estimate(0.1, 0.2)
_NO_CONSUMER_A = Estimate(0.0, 0.02)
# Of the feed's resistance, what carries another consumer's current: all, where it hangs on the
# unit's own terminal.
_AT_THE_UNIT = Estimate(1.0, 0.01)
# Assumed: what an open terminal picks up, or an electronic switch leaks onto it.
_STRAY_V = 0.8
# Assumed: how much lower than its set point, and how much less surely, at idle with all loads on.
_IDLE_SAG_V, _IDLE_SPREAD = 0.1, 1.4
# Assumed: what a battery takes that lacks a few hundredths of its charge, by the unit's rating or,
# where it is known, by its own capacity; one that lacks next to nothing takes a tenth of that.
_TAIL_OF_RATING, _TAIL_PER_AH, _TAIL_SPREAD = 0.06, 0.025, 0.9
# A unit's own use differs from make to make: a few watts to a fan's (assumed).
_OWN_USE_SPREAD_W = 3.0
# Assumed: how far a working panel's volts over its open-circuit volts may lie off the plate's.
_RATIO_SPREAD = 0.045
# Assumed: how far a unit's regulation may be off its profile, at 12 V.
_REGULATION_SPREAD_V = 0.07
# Assumed: a set input limit is kept to within some hundredths; where none is set, none is met.
_LIMIT_SPREAD, _NO_LIMIT_A = 0.06, 1000.0
# Assumed: what a second unit gives, by its rating: it may be in bulk, or tapering.
_SECOND_SHARE = Estimate(0.75, 0.35)
# Assumed: how unequally sound batteries of one age and with equal links share, as a logarithm.
_SHARING = 0.12
# Assumed: how nearly all of what charges and draws goes through a monitor's shunt as fitted.
_ALL_SEEN = Estimate(1.0, 0.01)
# Common practice, no published source: within 5 °C of a thermometer a sensor is right.
_SENSOR_OFF_C = 2.5
# Assumed: what a unit gives the start battery on request, and what that lifts it by in minutes.
_REVERSE_A, _REVERSE_RISE_V = Estimate(10.0, 6.0), Estimate(0.6, 0.35)
# Assumed: how far a converter's steady volts may be from those it is taken to hold, at 12 V.
_CONVERTER_SPREAD_V = 0.3


def to_fit(name: str, estimate: Estimate) -> Estimate:
    """Turn an estimate in its own unit into the coordinates of the fit.

    Parameters
    ----------
    name
        Of :data:`NAMES`.
    estimate : the unknown's own unit
        Where that is fitted as a logarithm, its median and the spread of the logarithm.

    Returns
    -------
    ln or the unknown's own unit
    """
    if name not in LOGARITHMIC:
        return estimate
    offset = LOAD_OFFSET_A if name in LOADS else 0.0
    return Estimate(math.log(max(estimate.mean + offset, 1e-9)), estimate.spread)


def sound_priors(installation: Installation, sound: SoundInstallation) -> dict[str, Estimate]:
    """Return every unknown's prior when nothing is wrong.

    Returns
    -------
    each in its own unit
        Where it is fitted as a logarithm, its median and the spread of the logarithm.
    """
    found = dict(_runs(installation, sound))
    found |= dict(_house(installation, sound))
    found |= dict(_charger(installation, sound))
    found |= dict(_supply(installation, sound))
    found |= dict(_extras(installation))
    found |= dict(_panel(sound))
    return found


def _wider(estimate: Estimate, floor: float) -> Estimate:
    return Estimate(estimate.mean, max(estimate.spread, floor))


# Assumed: what a length paced out by eye, or a preset's, may be off by, as a logarithm; half as
# much for a size, which is read off the jacket, or not.
_STATED_SPREAD = {StatedBy.PLATE: 0.0, StatedBy.PRESET: 0.2, StatedBy.GUESS: 0.35}


def _runs(installation: Installation, sound: SoundInstallation) -> Iterator[tuple[str, Estimate]]:
    for run in RUN_NAMES:
        nominal = sound.run_ohm[Run(run)]
        length, area = (
            _STATED_SPREAD.get(stated, 0.0) if stated is not None else 0.0
            for stated in (
                installation.stated(f"runs.{run}.length_m"),
                installation.stated(f"runs.{run}.area_mm2"),
            )
        )
        spread = math.hypot(_SUM_SPREAD * nominal.spread, length, area / 2)
        yield f"{run}_ohm", Estimate(nominal.mean, spread)
        yield f"{run}_extra_ohm", _NOTHING


def _house(installation: Installation, sound: SoundInstallation) -> Iterator[tuple[str, Estimate]]:
    scale = installation.house_scale
    lithium = installation.house_battery.chemistry is Chemistry.LIFEPO4
    yield "house_rest_v", _wider(sound.house.rest_v, 0.3 * scale)
    yield "house_rise_v", _wider(sound.house.rise_v, (0.2 if lithium else 0.35) * scale)
    yield "house_rise_fast_v", Estimate(0.02 * scale, 0.06 * scale)
    yield (
        "house_rise_solar_v",
        Estimate(sound.house.rise_v.mean * 0.7, (0.2 if lithium else 0.35) * scale),
    )
    resistance = sound.house.resistance_ohm
    yield "house_battery_ohm", Estimate(resistance.mean * 1.25, math.hypot(resistance.spread, 0.35))
    yield "house_tail_a", _tail(installation, sound)
    # Assumed: nothing to 10 A within two spreads while driving, half of it at rest.
    yield "load_a", Estimate(1.4, 0.8)
    yield "load_rest_a", Estimate(0.5, 0.7)
    yield "house_c", _wider(sound.house.temperature_c, 6.0)


def _tail(installation: Installation, sound: SoundInstallation) -> Estimate:
    """Return what a nearly full battery takes at the unit's limit."""
    capacity = installation.house_battery.capacity_ah
    if capacity is None:
        return Estimate(_TAIL_OF_RATING * sound.charger.rated_output_a, _TAIL_SPREAD)
    return Estimate(_TAIL_PER_AH * capacity, _TAIL_SPREAD)


def _charger(
    installation: Installation, sound: SoundInstallation
) -> Iterator[tuple[str, Estimate]]:
    scale = installation.house_scale
    known = installation.charger.absorption_voltage_v is not None
    stated = installation.charger.efficiency is not None
    yield "efficiency", _wider(sound.charger.efficiency, 0.02 if stated else 0.035)
    yield "own_use_w", _wider(sound.charger.own_use_w, _OWN_USE_SPREAD_W)
    yield "hold_v", _HOLD_V.times(installation.scale)
    limit = sound.charger.input_limit_a
    yield "input_limit_a", Estimate(min(limit, _NO_LIMIT_A), _LIMIT_SPREAD)
    yield "taper_v", _TAPER_V.times(scale)
    yield "feed_consumer_a", _NO_CONSUMER_A
    yield "tapped_share", _AT_THE_UNIT
    yield "standing_a", _STANDING_A
    yield "awake_a", _AWAKE_A
    yield "output_share", _wider(sound.charger.rating_share, 0.035)
    yield "regulation_v", _regulation(installation, sound)
    yield "profile_v", Estimate(sound.charger.absorption_v, (0.03 if known else 0.2) * scale)
    yield "float_v", Estimate(sound.charger.float_v, 0.12 * scale)
    rise = sound.charger.case_rise_c
    yield (
        "case_c",
        Estimate(sound.ambient_c.mean + rise.mean, math.hypot(sound.ambient_c.spread, rise.spread)),
    )


def _regulation(installation: Installation, sound: SoundInstallation) -> Estimate:
    """Return what the unit really regulates to, less its profile.

    With a temperature sensor a lead-acid profile moves with the battery's temperature; how much
    of the usual compensation a unit applies is its own.
    """
    mean, spread = sound.charger.regulation_v
    spread = max(spread, _REGULATION_SPREAD_V * installation.house_scale)
    lithium = installation.house_battery.chemistry is Chemistry.LIFEPO4
    if not installation.fitted.temperature_sensor or lithium:
        return Estimate(mean, spread)
    cells = round(6 * installation.house_scale)
    moved = temperature_compensation(cells, sound.house.temperature_c.mean)
    return Estimate(mean + moved / 2, math.hypot(spread, moved / 2))


def _extras(installation: Installation) -> Iterator[tuple[str, Estimate]]:
    """Yield what only some installations have; on the others nothing hangs on it."""
    rating = installation.fitted.second_charger_rated_output_current_a or 0.0
    second = Estimate(_SECOND_SHARE.mean * rating, max(_SECOND_SHARE.spread * rating, 0.1))
    yield "second_unit_a", second
    yield "first_share", Estimate(1 / (installation.house_battery.in_parallel or 1), _SHARING)
    yield "monitor_charge_share", _ALL_SEEN
    yield "monitor_load_share", _ALL_SEEN
    yield "sensor_off_c", Estimate(0.0, _SENSOR_OFF_C)
    yield "reverse_a", _REVERSE_A
    yield "reverse_rise_v", _REVERSE_RISE_V.times(installation.scale)


def _supply(installation: Installation, sound: SoundInstallation) -> Iterator[tuple[str, Estimate]]:
    scale = installation.scale
    # A variable alternator may be saving fuel in one of the two and not in the other; a fixed one
    # may give less at idle than all that is switched on asks for; a converter knows no idle.
    varies = {Control.FIXED: 0.6, Control.CONVERTER: 0.15}.get(installation.alternator.control, 0.8)
    rises = 0.0 if installation.alternator.control is Control.CONVERTER else 0.15
    yield "supply_idle_v", _idle_supply(installation, sound)
    yield "supply_fast_v", Estimate(rises * scale, varies * scale)
    yield "supply_rest_v", _wider(sound.supply_v[State.REST], 0.2 * scale)
    yield "supply_sag_v", Estimate(0.4 * scale, 0.25 * scale)
    yield "signal_drop_v", sound.signal_drop_v
    yield "signal_level_v", _wider(sound.dead_signal_v, _STRAY_V)
    yield "signal_rest_v", _wider(sound.dead_signal_v, _STRAY_V)


class Habit(NamedTuple):
    """One of the ways in which a sound vehicle's supply may go, and how usual it is."""

    share: Fraction
    idle_v: Estimate
    fast_v: Estimate
    """At fast idle, less that at idle."""


SUPPLY_NAMES = ("supply_idle_v", "supply_fast_v")
"""The unknowns that a habit is about, in its order."""

# Assumed, volts at 12 V. A computer sets what it wants and mostly keeps to it for the minute
# between two readings: in economy mode near 12.7 V (a vehicle service manual: 12.5 to 13.1 V), or
# near the common set point. A fixed regulator holds both alike, unless at idle the loads ask for
# more than the alternator then gives (common practice, no published source).
_STEADY, _MOVED = Estimate(0.0, 0.09), Estimate(0.1, 0.8)
_VARIABLE = (
    Habit(0.55, Estimate(13.9, 0.5), _STEADY),
    Habit(0.2, Estimate(13.9, 0.6), _MOVED),
    Habit(0.15, Estimate(12.7, 0.18), _STEADY),
    Habit(0.1, Estimate(12.7, 0.18), Estimate(1.1, 0.6)),
)
_HOLDS, _SAGS = 0.82, 0.18
_HELD_V = Estimate(0.03, 0.08)
_SAG_V, _RECOVERS_V = Estimate(0.9, 0.5), Estimate(0.9, 0.5)


def supply_habits(installation: Installation, sound: SoundInstallation) -> tuple[Habit, ...]:
    """Return how a sound vehicle's supply may go; its priors are one Gaussian over all of them.

    Returns
    -------
    V
        None where that one Gaussian is all there is to say.
    """
    control, scale = installation.alternator.control, installation.scale
    if control is Control.CONVERTER:
        return ()
    held = fixed_supply(sound.ambient_c.mean)
    sagged = Estimate(held.mean - _SAG_V.mean, math.hypot(held.spread, _SAG_V.spread))
    fixed = tuple(
        Habit(share, idle.times(scale), fast.times(scale))
        for share, idle, fast in ((_HOLDS, held, _HELD_V), (_SAGS, sagged, _RECOVERS_V))
    )
    variable = tuple(
        Habit(share, idle.times(scale), fast.times(scale)) for share, idle, fast in _VARIABLE
    )
    if control is Control.FIXED:
        return fixed
    if control is Control.VARIABLE:
        return variable
    return tuple(one._replace(share=one.share / 2) for one in (*fixed, *variable))


def _idle_supply(installation: Installation, sound: SoundInstallation) -> Estimate:
    if installation.alternator.control is Control.CONVERTER:
        return _wider(sound.supply_v[State.IDLE], _CONVERTER_SPREAD_V * installation.scale)
    # Where the loads ask for more than it gives at idle, a fixed alternator sags.
    if installation.alternator.control is Control.FIXED:
        mean, spread = sound.supply_v[State.IDLE]
        return Estimate(mean - _IDLE_SAG_V * installation.scale, spread * _IDLE_SPREAD)
    # Saving fuel, a variable alternator holds its economy mode's voltage for long spells: lower
    # and wider than the middle of its span.
    return Estimate(13.6, 0.75).times(installation.scale)


def _panel(sound: SoundInstallation) -> Iterator[tuple[str, Estimate]]:
    yield "sun", Estimate(0.6, 0.35)
    yield "sun_engine", Estimate(0.0, 0.2)
    current = max(sound.panel.current_a.mean, 1e-6)
    spread = max(sound.panel.current_a.spread / current, 0.18)
    yield "panel_share", Estimate(current, spread)
    yield "panel_open_v", _wider(sound.panel.open_circuit_v, 1.0)
    ratio = sound.panel.working_v.mean / max(sound.panel.open_circuit_v.mean, 1e-6)
    yield "panel_ratio", Estimate(ratio, _RATIO_SPREAD)
    yield "panel_held_v", _wider(sound.panel.working_v, 1.2)
