"""Everything that could be the case, as rows of arrays, and what each says before any reading.

A fault shows in one or several ways; a way on this very installation, with what it makes of the
unknowns' priors, is a :class:`Manifestation`.  One manifestation, or two of different faults,
becomes several hypotheses, one row each: the trigger wire fitted or not, the unit running or not
at idle and at fast idle, light on the panel or not while the engine runs.  Whether the unit runs
is no jump inside one fit: each row says yes or no, and the fit weighs how far the supply voltage
makes that probable.
"""

import math
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property, lru_cache
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId
from logic.circuit.batteries import rest_voltage
from logic.circuit.estimate import Estimate
from logic.circuit.sound_installation import SoundInstallation, sound_installation
from logic.diagnosis.catalogue import (
    Fault,
    PriorChange,
    Way,
    possible_faults,
    prior_probabilities,
)
from logic.diagnosis.conditions import CAREFUL, HURRIED, MISDESCRIBED_SHARE
from logic.diagnosis.unknowns import (
    INDEX,
    NAMES,
    Habit,
    Scales,
    sound_priors,
    supply_habits,
    to_fit,
)
from logic.quantities import Fraction, Volt
from logic.vehicle.installation import Control, Installation
from logic.vehicle.points import Point, State, Unit

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]

# The order of the axes "state" and "point" in all arrays.
STATES = tuple(State)
STATE_INDEX = {state: index for index, state in enumerate(STATES)}
POINT_INDEX = {point: index for index, point in enumerate(Point)}

# Two independent faults on one vehicle: how much rarer than chance would have it. Assumed;
# makes about one job in five a double.
_PAIR_FACTOR = 0.8
# Of a fault that is never looked for beside another one.
_NO_PAIR = 1e-12
# Assumed: mean state of charge of the batteries that count as nearly full.
_FULL = 0.92
# A running pattern that the supply makes this improbable beforehand is not considered.
_LEAST_PATTERN = 0.003


# What is known before any reading


@dataclass(frozen=True, eq=False)
class Manifestation:
    """A fault in one of its ways on one installation; compared by identity.

    ``chance`` is that of the fault in this way before any reading, ``chance_beside`` that of its
    being there beside another fault.  ``changed`` are the priors that it changes, in the
    coordinates of the fit.
    """

    fault: Fault
    way: Way
    chance: float
    chance_beside: float
    changed: Mapping[str, Estimate]


@dataclass(frozen=True)
class Beforehand:
    """What is known of an installation before any reading.

    ``unknowns`` are the sound priors, each in its own unit; ``mean`` and ``spread`` the same
    ``[unknown]`` in the coordinates of the fit.
    """

    installation: Installation
    sound: SoundInstallation
    unknowns: Mapping[str, Estimate]
    mean: Array
    spread: Array
    manifestations: tuple[Manifestation, ...]
    supply_habits: tuple[Habit, ...]

    # Kept here, for all of it goes by the identity of these very manifestations.

    @cached_property
    def traits(self) -> "_Traits":
        """What each manifestation makes of a row."""
        return _traits(self)

    @cached_property
    def singles(self) -> "Hypotheses":
        """The rows of every possible fault on its own."""
        combined = [((one,), math.log(one.chance)) for one in self.manifestations]
        return _assembled(self, combined)


@lru_cache(maxsize=16)
def beforehand(installation: Installation) -> Beforehand:
    """Return what is known of an installation before any reading."""
    sound = sound_installation(installation)
    unknowns = sound_priors(installation, sound)
    fitted = [to_fit(name, unknowns.get(name, Estimate(0.0, 1.0))) for name in NAMES]
    return Beforehand(
        installation=installation,
        sound=sound,
        unknowns=unknowns,
        mean=np.array([estimate.mean for estimate in fitted]),
        spread=np.array([estimate.spread for estimate in fitted]),
        manifestations=tuple(_manifestations(installation, sound, unknowns)),
        supply_habits=supply_habits(installation, sound),
    )


def _manifestations(
    installation: Installation, sound: SoundInstallation, unknowns: Mapping[str, Estimate]
) -> Iterator[Manifestation]:
    probability = prior_probabilities(installation)
    for fault in possible_faults(installation):
        weights = sum(way.weight for way in fault.way)
        for way in fault.way:
            chance = probability[fault.id] * (way.weight / weights)
            yield Manifestation(
                fault=fault,
                way=way,
                chance=chance,
                chance_beside=chance * _PAIR_FACTOR if fault.pairs else _NO_PAIR,
                changed={
                    change.unknown: to_fit(
                        change.unknown,
                        changed_prior(change, unknowns[change.unknown], installation, sound),
                    )
                    for change in way.change
                },
            )


def changed_prior(
    change: PriorChange, sound_prior: Estimate, installation: Installation, sound: SoundInstallation
) -> Estimate:
    """Return an unknown's prior once a fault has changed it.

    Parameters
    ----------
    change
        As the catalogue has it; its volts are for a 12 V system.
    sound_prior : the unknown's own unit
        When nothing is wrong.
    installation, sound
        What the change is counted from.

    Returns
    -------
    the unknown's own unit
    """
    scale = 1.0 if change.of_one_cell else Scales.on(installation).of(change.unknown)
    counted_from = {
        "": sound_prior.mean,
        "full_rest": rest_voltage(
            installation.house_battery.chemistry,
            _FULL,
            installation.house_scale,
            sound.ambient_c.mean,
        ),
        "float": sound.charger.float_v,
        "signal_threshold": sound.charger.ignition_signal_min_v,
        "rated_output": sound.charger.rated_output_a,
        "one_battery_less": 1 / max((installation.house_battery.in_parallel or 1) - 1, 1),
        "rated_input": sound.charger.rated_output_a * sound.charger.input_per_output,
    }[change.above]
    if change.to is not None:
        # A worn battery of twice the volts has twice the cells in series.
        cells = installation.house_scale if change.unknown == "house_battery_ohm" else 1.0
        value = (counted_from if change.above else 0.0) + change.to * scale * cells
    elif change.shift is not None:
        value = counted_from + change.shift * scale
    else:
        value = counted_from * (change.times or 0.0)
    return Estimate(value, change.spread * (scale if change.above != "signal_threshold" else 1.0))


# The hypotheses as arrays


@dataclass(frozen=True)
class Hypotheses:
    """All hypotheses, row by row.

    Arrays are ``[row]`` but for: ``mean``, ``spread`` (the unknowns' priors in the coordinates
    of the fit) and ``changed`` (whether a fault sets that prior) ``[row, unknown]``; ``on``
    ``[row, state]``; ``start_side`` ``[row, idle or fast idle]``; ``loose`` ``[row, point]``.
    """

    faults: tuple[tuple[FaultId, ...], ...]
    manifestations: tuple[tuple[Manifestation, ...], ...]
    ln_prior: Array
    mean: Array
    spread: Array
    changed: Flags
    on: Flags
    """Whether the unit takes power from the vehicle."""
    start_side: Array
    """1 where the supply must then be over the start threshold, -1 under it, 0 either."""
    start_v: Array
    """The start threshold, V."""
    stop_v: Array
    """Under this the unit lets its input not fall, V."""
    signal_live: Flags
    """Whether the trigger terminal is live with the engine running."""
    dead: Flags
    shows_absorption: Flags
    """What a unit with nothing on its output shows: absorption voltage, or nothing."""
    blocks_charging: Flags
    blocks_all: Flags
    vehicle_feed_open: Flags
    house_feed_open: Flags
    vehicle_return_open: Flags
    negative_open: Flags
    exchanged: Flags
    """Whether input and output leads sit on each other's terminals."""
    clamped_at_the_unit: Flags
    """Whether, with exchanged leads, a clamp counts what goes through the unit."""
    consumer_clamped: Flags
    """Whether the clamp on the vehicle feed sees what something else draws through it."""
    nearly_full: Flags
    at_float: Flags
    fed: Flags
    """Whether something else charges the house battery, at rest as well."""
    on_battery: Flags
    """Whether the supply is the start battery alone, the alternator being down."""
    overcharging: Flags
    """Whether the supply stands higher than a sound regulator would hold it."""
    panel_open: Flags
    panel_blocked: Flags
    panel_held: Flags
    """Whether something holds the solar terminal at volts of its own."""
    second_dead: Flags
    """Whether a second unit beside the first gives nothing."""
    second_unfed: Flags
    """Whether nothing arrives at its input."""
    sunny: Flags
    """Whether the panel has light while the engine runs."""
    loose: Array
    """Spread of a reading that the model cannot tell, in the point's unit."""
    fault_lit: Array
    """Chance that the fault lamp is lit."""
    hurried: Flags
    """Whether the readings are thought to have been taken in a hurry."""
    misdescribed: Flags
    """Whether the cables are thought to be described carelessly, the readings taken with care."""

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.faults)

    def take(self, rows: Indices) -> "Hypotheses":
        """Return some of the rows."""
        picked = {name: getattr(self, name)[rows] for name in _ARRAYS}
        return Hypotheses(
            faults=tuple(self.faults[row] for row in rows),
            manifestations=tuple(self.manifestations[row] for row in rows),
            **picked,
        )

    def joined(self, other: "Hypotheses") -> "Hypotheses":
        """Return the rows of both."""
        both = {
            name: np.concatenate([getattr(self, name), getattr(other, name)]) for name in _ARRAYS
        }
        return Hypotheses(
            faults=self.faults + other.faults,
            manifestations=self.manifestations + other.manifestations,
            **both,
        )

    def in_a_hurry(self) -> "Hypotheses":
        """Return the same rows with the readings taken in a hurry."""
        return replace(self, hurried=np.ones(len(self), dtype=np.bool_))

    def carelessly_described(self) -> "Hypotheses":
        """Return the same rows with the cables described carelessly."""
        return replace(self, misdescribed=np.ones(len(self), dtype=np.bool_))

    @property
    def keys(self) -> tuple[Hashable, ...]:
        """What makes each row one of its own."""
        held = self.changed[:, INDEX["hold_v"]]
        each = zip(
            self.manifestations,
            map(tuple, self.on.tolist()),
            self.signal_live.tolist(),
            self.sunny.tolist(),
            held.tolist(),
            self.hurried.tolist(),
            self.misdescribed.tolist(),
            strict=True,
        )
        return tuple(each)

    def under_conditions_of(self, other: "Hypotheses", row: int) -> "Hypotheses":
        """Return the same rows under the conditions of one row of others."""
        return replace(
            self,
            hurried=np.full(len(self), other.hurried[row]),
            misdescribed=np.full(len(self), other.misdescribed[row]),
        )

    @cached_property
    def other_rating(self) -> Flags:
        """Whether a fault says that the rating is not the one that was entered."""
        doubts = [any(one.fault.doubts == _RATING for one in row) for row in self.manifestations]
        return np.array(doubts, dtype=np.bool_)

    @property
    def is_as_it_should_be(self) -> Flags:
        """Whether readings and description are taken to be good."""
        return ~(self.hurried | self.misdescribed)

    @property
    def ln_conditions(self) -> Array:
        """Log of how usual the conditions are under which the readings would be taken."""
        careful = np.where(self.misdescribed, MISDESCRIBED_SHARE, CAREFUL.share)
        return np.asarray(np.log(np.where(self.hurried, HURRIED.share, careful)))

    @property
    def may_charge(self) -> Flags:
        """Whether a clamp on input and on output may show current ``[row, state]``."""
        broken = self.dead | self.vehicle_feed_open | self.vehicle_return_open
        broken |= self.house_feed_open | self.negative_open
        return np.asarray((self.on | self.exchanged[:, None]) & ~broken[:, None])

    @property
    def panel_works(self) -> Flags:
        """Whether the panel's lead brings what the panel gives."""
        return ~(self.panel_open | self.panel_blocked)


_RATING = "charger.rated_output_current_a"
_ARRAYS = tuple(
    field.name for field in fields(Hypotheses) if field.name not in ("faults", "manifestations")
)


def single_hypotheses(installation: Installation) -> Hypotheses:
    """Return the rows of every possible fault on its own."""
    return beforehand(installation).singles


# Assumed, volts at 12 V: how close to the lowest volts read at its input a running unit that
# holds it there is thought to hold it; how many units hold it at a level of their own, whatever
# their stop voltage is (common practice, no published source), and where; and under which
# density none does.
_HELD_V = 0.12
_HOLDS_FIXED: Fraction = 0.25
_FIXED_HOLD_V, _FIXED_HOLD_SPREAD_V = 12.05, 0.25
_LEAST_HELD = 0.02
# Assumed, at 12 V: how far the stop voltage may have been entered too high.
_BELOW_STOP_V = 0.4


def with_held_input(
    rows: Hypotheses, input_v: Mapping[State, Volt], installation: Installation
) -> Hypotheses:
    """Add to rows in which the unit runs one in which it holds its input where that was lowest.

    Beside another limit nothing says where a unit would hold its input, and a fit that begins
    under the wrong limit does not find the other.  The added row is the part of the original's
    prior that lies there.

    Parameters
    ----------
    rows
        The hypotheses.
    input_v : V
        At the charger's input, by state, where it was read.
    installation
        For the system voltage.
    """
    scale = installation.scale
    read = np.array([input_v.get(state, np.inf) for state in STATES])
    lowest_v = np.where(rows.on, read, np.inf).min(axis=1)
    is_read = np.isfinite(lowest_v)
    lowest_v = np.where(is_read, lowest_v, 0.0)
    column, width = INDEX["hold_v"], _HELD_V * scale
    over = lowest_v - rows.stop_v
    away = (over - rows.mean[:, column]) / rows.spread[:, column]
    over_stop = np.exp(-0.5 * away**2) / rows.spread[:, column]
    level, around = _FIXED_HOLD_V * scale, _FIXED_HOLD_SPREAD_V * scale
    at_level = np.exp(-0.5 * ((lowest_v - level) / around) ** 2) / around
    density = width * ((1 - _HOLDS_FIXED) * over_stop + _HOLDS_FIXED * at_level)
    held = is_read & (over > -_BELOW_STOP_V * scale) & (density > _LEAST_HELD)
    if not held.any():
        return rows
    added = rows.take(np.flatnonzero(held))
    mean, spread, changed = added.mean.copy(), added.spread.copy(), added.changed.copy()
    share = np.log(density[held])
    mean[:, column], spread[:, column], changed[:, column] = over[held], width, True
    added = replace(
        added, mean=mean, spread=spread, changed=changed, ln_prior=added.ln_prior + share
    )
    return rows.joined(added)


def pair_hypotheses(
    installation: Installation,
    first: Sequence[Manifestation],
    second: Sequence[Manifestation],
) -> Hypotheses | None:
    """Return rows that join each of the first with each of the second, ``None`` if none can be."""
    combined: dict[tuple[Manifestation, Manifestation], float] = {}
    for one, other in product(first, second):
        if one.fault.id == other.fault.id or not (one.fault.pairs and other.fault.pairs):
            continue
        if _compatible(one.way, other.way):
            pair = (one, other) if one.fault.id < other.fault.id else (other, one)
            combined[pair] = math.log(one.chance * other.chance_beside)
    if not combined:
        return None
    return _assembled(beforehand(installation), combined.items())


# What a consumer on the vehicle feed loses in it is not told from what a bad joint does.
_NOT_TOLD_APART = {"feed_consumer_a", "vehicle_feed_extra_ohm"}


def _compatible(one: Way, other: Way) -> bool:
    """Whether two ways can be true together: they must not want the same thing differently."""
    ways = (one, other)
    changes = [{change.unknown for change in way.change} for way in ways]
    clash = set.intersection(*changes) or set.union(*changes) >= _NOT_TOLD_APART
    batteries = [way.battery == "nearly_full" or way.blocks != "nothing" for way in ways]
    panels = [way.panel != "connected" for way in ways]
    supplies = [way.supply != "alternator" for way in ways]
    # A dead unit cannot be told from one that is cut off besides.
    cut_off = [way.opens != () or way.blocks != "nothing" for way in ways]
    dead = [way.unit == "dead" for way in ways]
    wanted = all(batteries) or all(panels) or all(supplies)
    return not (clash or wanted or (any(dead) and any(cut_off)))


@dataclass(frozen=True)
class _Row:
    """One hypothesis before it becomes a row of arrays."""

    manifestations: tuple[Manifestation, ...]
    ln_prior: float
    signal_live: bool
    on: tuple[bool, ...]
    start_side: tuple[int, int]
    sunny: bool


def _assembled(
    known: Beforehand, combined: Iterable[tuple[tuple[Manifestation, ...], float]]
) -> Hypotheses:
    """Expand combinations over wiring, running and light, and stack them as arrays."""
    rows = [
        row
        for manifestations, ln_prior in combined
        for row in _expanded(known, manifestations, ln_prior)
    ]
    return _stacked(known, rows)


def _expanded(
    known: Beforehand, manifestations: tuple[Manifestation, ...], ln_prior: float
) -> Iterator[_Row]:
    """Yield a combination's rows, each with its share of the combination's prior."""
    installation = known.installation
    ways = [one.way for one in manifestations]
    has_signal = all(way.signal == "as_fitted" for way in ways)
    for wired, share in _wiring(installation, known.sound, has_signal):
        live = wired and has_signal
        for pattern in _patterns(known, ways, live):
            for sunny, chance in _light(installation, ways):
                ln_share = math.log(share) + math.log(pattern.share) + math.log(chance)
                yield _Row(
                    manifestations,
                    ln_prior + ln_share,
                    live,
                    pattern.on,
                    pattern.start_side,
                    sunny,
                )


def _wiring(
    installation: Installation, sound: SoundInstallation, has_signal: bool
) -> tuple[tuple[bool, float], ...]:
    """Whether the trigger terminal is wired: only a variable alternator makes its lack a fault."""
    if not has_signal or installation.alternator.control is Control.VARIABLE:
        return ((True, 1.0),)
    wired = sound.ignition_wired
    return ((True, wired), (False, 1 - wired))


# Assumed: how often a unit stops where its supply is far too high, in both states that charge
# or in the faster alone.
_STOPS_OVER_VOLTAGE, _STOPS_AT_FAST_IDLE = 0.3, 0.15


class _Pattern(NamedTuple):
    """In which states the unit runs, on which side of its start the supply then is, how often."""

    on: tuple[bool, ...]
    start_side: tuple[int, int]
    share: Fraction = 1.0


def _patterns(known: Beforehand, ways: Sequence[Way], live: bool) -> Iterator[_Pattern]:
    """Yield how the unit may run."""
    at_rest = any(way.runs_at_rest for way in ways)
    off = (False, False, False, False)
    isolated = {"vehicle_feed", "vehicle_return", "charger_negative"}
    if any(isolated & set(way.opens) for way in ways):
        yield _Pattern(off, (0, 0))
        return
    exchanged = [way for way in ways if way.exchanged]
    if exchanged:
        # Its start thresholds then look at the house battery: no reading of the supply tells.
        works = all(way.unit == "works" for way in exchanged)
        yield _Pattern((at_rest, works, works, at_rest), (0, 0))
        return
    if any(way.unit == "dead" for way in ways):
        yield _Pattern(off, (1, 0))
        return
    stops = 0.0
    if any(way.supply == "overcharging" for way in ways):
        stops = _STOPS_OVER_VOLTAGE + _STOPS_AT_FAST_IDLE
        yield _Pattern((at_rest, False, False, at_rest), (0, 0), _STOPS_OVER_VOLTAGE)
        yield _Pattern((at_rest, True, False, at_rest), (1, 0), _STOPS_AT_FAST_IDLE)
    yield _Pattern((at_rest, True, True, at_rest), (1, 1), 1 - stops)
    if 1 - _chance_to_start(known, ways, live) > _LEAST_PATTERN:
        yield _Pattern((at_rest, False, False, at_rest), (-1, -1))
        if not live:
            yield _Pattern((at_rest, False, True, at_rest), (-1, 1))
            if known.installation.alternator.control in (Control.VARIABLE, Control.UNKNOWN):
                yield _Pattern((at_rest, True, False, at_rest), (1, -1))


def _chance_to_start(known: Beforehand, ways: Sequence[Way], live: bool) -> float:
    supply = known.unknowns["supply_idle_v"]
    if any(way.supply == "battery" for way in ways):
        rest, sag = known.unknowns["supply_rest_v"], known.unknowns["supply_sag_v"]
        supply = Estimate(rest.mean - sag.mean, math.hypot(rest.spread, sag.spread))
    threshold = _start_v(known.sound, live)
    return 0.5 * math.erfc((threshold - supply.mean) / (supply.spread * math.sqrt(2)))


def _start_v(sound: SoundInstallation, live: bool) -> Volt:
    return sound.charger.ignition_start_v if live else sound.charger.start_v


def _light(installation: Installation, ways: Sequence[Way]) -> tuple[tuple[bool, float], ...]:
    """Whether the panel has light while the engine runs: a workshop has a roof."""
    if installation.solar is None or any(way.panel in ("open", "blocked") for way in ways):
        return ((False, 1.0),)
    return ((False, 0.5), (True, 0.5))


@dataclass(frozen=True)
class _Traits:
    """What each manifestation makes of a row: ``flags``, ``loose`` and the rest by ``[m, ...]``."""

    place: Mapping[Manifestation, int]
    flags: Mapping[str, Flags]
    loose: Array
    fault_lit: Array
    mean: Array
    spread: Array
    changed: Flags


# What a way says, as the flag of a row: true where any of its ways says so.
_FLAGS: Mapping[str, Callable[[Way], bool]] = {
    "dead": lambda way: way.unit == "dead",
    "shows_nothing": lambda way: not way.shows_absorption,
    "blocks_charging": lambda way: way.blocks == "charging",
    "blocks_all": lambda way: way.blocks == "all",
    "vehicle_feed_open": lambda way: "vehicle_feed" in way.opens,
    "vehicle_return_open": lambda way: "vehicle_return" in way.opens,
    "house_feed_open": lambda way: "house_feed" in way.opens,
    "negative_open": lambda way: "charger_negative" in way.opens,
    "exchanged": lambda way: way.exchanged,
    "clamped_at_the_unit": lambda way: way.clamped_at_the_unit,
    "clamp_misses_consumer": lambda way: way.clamp_misses_consumer,
    "nearly_full": lambda way: way.battery == "nearly_full",
    "fed": lambda way: way.battery == "fed",
    "at_float": lambda way: way.limit == "float",
    "on_battery": lambda way: way.supply == "battery",
    "overcharging": lambda way: way.supply == "overcharging",
    "panel_open": lambda way: way.panel == "open",
    "panel_blocked": lambda way: way.panel == "blocked",
    "panel_held": lambda way: way.panel == "held",
    "second_dead": lambda way: way.second_unit != "works",
    "second_unfed": lambda way: way.second_unit == "unfed",
}


def _traits(known: Beforehand) -> _Traits:
    ways = [one.way for one in known.manifestations]
    changed = np.zeros((len(ways), len(NAMES)), dtype=np.bool_)
    mean, spread = np.tile(known.mean, (len(ways), 1)), np.tile(known.spread, (len(ways), 1))
    for index, one in enumerate(known.manifestations):
        for name, prior in one.changed.items():
            column = INDEX[name]
            mean[index, column], spread[index, column] = prior
            changed[index, column] = True
    scales = Scales.on(known.installation)
    scale = [scales.at(point) if point.unit is Unit.VOLT else 1.0 for point in POINT_INDEX]
    loose = np.array([[way.loose.get(point, 0.0) for point in POINT_INDEX] for way in ways])
    return _Traits(
        place={one: index for index, one in enumerate(known.manifestations)},
        flags={name: np.array([says(way) for way in ways]) for name, says in _FLAGS.items()},
        loose=loose * np.array(scale),
        fault_lit=np.array([way.fault_lit for way in ways]),
        mean=mean,
        spread=spread,
        changed=changed,
    )


def _stacked(known: Beforehand, rows: Sequence[_Row]) -> Hypotheses:
    traits, charger = known.traits, known.sound.charger
    first = np.array([traits.place[row.manifestations[0]] for row in rows], dtype=np.intp)
    second = np.array([traits.place[row.manifestations[-1]] for row in rows], dtype=np.intp)
    flags = {name: of[first] | of[second] for name, of in traits.flags.items()}
    by_second = traits.changed[second]
    live = np.array([row.signal_live for row in rows], dtype=np.bool_)
    return Hypotheses(
        faults=tuple(tuple(one.fault.id for one in row.manifestations) for row in rows),
        manifestations=tuple(row.manifestations for row in rows),
        ln_prior=np.array([row.ln_prior for row in rows]),
        mean=np.where(by_second, traits.mean[second], traits.mean[first]),
        spread=np.where(by_second, traits.spread[second], traits.spread[first]),
        changed=traits.changed[first] | by_second,
        on=np.array([row.on for row in rows]),
        start_side=np.array([row.start_side for row in rows], dtype=np.float64),
        start_v=np.where(live, _start_v(known.sound, True), _start_v(known.sound, False)),
        stop_v=np.where(live, charger.ignition_stop_v, charger.stop_v),
        signal_live=live,
        dead=flags["dead"],
        shows_absorption=~flags["shows_nothing"],
        blocks_charging=flags["blocks_charging"],
        blocks_all=flags["blocks_all"],
        vehicle_feed_open=flags["vehicle_feed_open"],
        house_feed_open=flags["house_feed_open"],
        vehicle_return_open=flags["vehicle_return_open"],
        negative_open=flags["negative_open"],
        exchanged=flags["exchanged"],
        clamped_at_the_unit=flags["clamped_at_the_unit"],
        consumer_clamped=~flags["clamp_misses_consumer"],
        nearly_full=flags["nearly_full"],
        at_float=flags["at_float"],
        fed=flags["fed"],
        on_battery=flags["on_battery"],
        overcharging=flags["overcharging"],
        panel_open=flags["panel_open"] & ~flags["panel_blocked"],
        panel_blocked=flags["panel_blocked"],
        panel_held=flags["panel_held"],
        second_dead=flags["second_dead"],
        second_unfed=flags["second_unfed"],
        sunny=np.array([row.sunny for row in rows], dtype=np.bool_),
        loose=np.maximum(traits.loose[first], traits.loose[second]),
        fault_lit=np.maximum(traits.fault_lit[first], traits.fault_lit[second]),
        hurried=np.zeros(len(rows), dtype=np.bool_),
        misdescribed=np.zeros(len(rows), dtype=np.bool_),
    )
