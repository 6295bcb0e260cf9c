"""What each hypothesis makes every reading show: its value, its slope on every unknown, its noise.

The unknowns of a hypothesis become the few numbers that one state of the circuit needs
(:data:`TERMS`); the circuit is solved for all hypotheses, states and small steps at once, and
the chain rule does the rest.  What the circuit does not give (the trigger, the panel's terminal,
temperatures ...) has a small model of its own (:data:`OWN_MODELS`), and a lamp a chance of being
lit (:data:`LAMP_MODELS`).  A point with neither is not predicted: readings at it say nothing
about a fault.

A meter's gain and a clamp's zero are the same in every reading, so they are unknowns of the fit
(:func:`meter_spreads`); as noise on each reading they would make a full sheet look surer than it
is.  Left to each reading are the meter's counts and rounding (:mod:`logic.vehicle.meter`), the
drift of supply and battery between two readings, and what the circuit model leaves out.

Axes of arrays are named by letters throughout: ``h`` hypothesis, ``s`` state, ``r`` reading.
"""

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from logic.case import Reading
from logic.circuit.operating_point import Circuit, OperatingPoint, solve
from logic.circuit.sound_installation import SoundInstallation
from logic.diagnosis.conditions import CAREFUL, HURRIED, STEADY
from logic.diagnosis.hypotheses import POINT_INDEX, STATE_INDEX, STATES, Hypotheses
from logic.diagnosis.unknowns import INDEX, LOAD_OFFSET_A, NAMES, RUN_NAMES, Scales
from logic.quantities import Ampere
from logic.vehicle.assumed import PROBE_CONTACT_V
from logic.vehicle.installation import Extra, Installation, Meter
from logic.vehicle.meter import OwnSpread, own_spread, shared_spreads
from logic.vehicle.points import Point, ReadingKey, State, Unit

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Prediction:
    """What readings should show: ``value[h, r]`` and its ``slope[h, r, unknown]``.

    ``noise[h, r]`` is the standard spread of each reading about its value, unknowns being given,
    ``drift[h, r]`` what of it is movement of supply, loads and light between the readings.  All in
    the reading's unit.
    """

    value: Array
    slope: Array
    noise: Array
    drift: Array

    def take(self, rows: NDArray[np.intp]) -> "Prediction":
        """Return some of the rows."""
        return Prediction(*(one[rows] for one in self._arrays))

    def put(self, rows: NDArray[np.intp], other: "Prediction") -> "Prediction":
        """Return this with some rows as in ``other``."""
        found = Prediction(*(one.copy() for one in self._arrays))
        found.fill(rows, other.take(rows))
        return found

    def fill(self, rows: NDArray[np.intp], those: "Prediction") -> None:
        """Put those rows at these places, in place."""
        for one, its in zip(self._arrays, those._arrays, strict=True):
            one[rows] = its

    def joined(self, other: "Prediction") -> "Prediction":
        """Return the rows of both."""
        both = zip(self._arrays, other._arrays, strict=True)
        return Prediction(*(np.concatenate(one) for one in both))

    @property
    def steady(self) -> "Prediction":
        """The same where nothing moves between the readings."""
        still = self.noise**2 - (1 - STEADY.drifts**2) * self.drift**2
        return Prediction(self.value, self.slope, np.sqrt(still), STEADY.drifts * self.drift)

    @property
    def _arrays(self) -> tuple[Array, Array, Array, Array]:
        return self.value, self.slope, self.noise, self.drift


def is_lamp(point: Point) -> bool:
    """Whether a point is a lamp: lit or not, and never out by a little."""
    return point.unit is Unit.LIT


def is_predicted(point: Point) -> bool:
    """Whether the model says what a reading at this point should show."""
    return point in OUTPUT_INDEX or point in OWN_MODELS or point in LAMP_MODELS


# So many rows are predicted at once: for all of them the parts outweigh what is kept.
_BLOCK = 256


class Predictor:
    """Predicts a fixed list of metered readings under any hypotheses."""

    def __init__(
        self,
        installation: Installation,
        sound: SoundInstallation,
        keys: Sequence[ReadingKey],
        in_series: Collection[ReadingKey] = (),
    ) -> None:
        """Prepare for these readings; each must be predicted, and none a lamp.

        ``in_series`` are the currents that were read with the meter in the lead, not by a clamp.
        """
        self.keys = tuple(keys)
        scales, points = Scales.on(installation), [key.point for key in self.keys]
        states = tuple(state for state in STATES if any(key.state is state for key in self.keys))
        self._constants = CircuitConstants(installation, sound, states)
        # Row 0 for readings taken with care, row 1 for those taken in a hurry.
        self._drift = np.array(
            [
                [conditions.drifts[name] * scales.of(name) for name in CAREFUL.drifts]
                for conditions in (CAREFUL, HURRIED)
            ]
        )
        noises = [
            _IN_SERIES
            if key in in_series
            else reading_noise(*key, installation.meter, scales.at(key.point))
            for key in self.keys
        ]
        self._follows_current = np.array(
            [point.unit is Unit.AMPERE or point.is_drop for point in points]
        )
        self._fixed = np.array([noise.fixed for noise in noises])
        self._share = np.array([noise.share for noise in noises])
        # A setting read from a table of the unit's manual is no reading of the meter.
        self._by_voltmeter = np.array(
            [point.unit is Unit.VOLT and point.red is not None for point in points]
        )
        self._by_clamp = np.array(
            [key.point.clamp_on is not None and key not in in_series for key in self.keys]
        )
        self._of_circuit = [
            (index, states.index(key.state), OUTPUT_INDEX[key.point])
            for index, key in enumerate(self.keys)
            if key.point in OUTPUT_INDEX
        ]
        self._loose_columns = [POINT_INDEX[point] for point in points]

    def predict(self, rows: Hypotheses, theta: Array, smoothing: Ampere) -> Prediction:
        """Predict all readings of all rows.

        Parameters
        ----------
        rows
            The hypotheses.
        theta : in the coordinates of the fit
            ``[h, unknown]``.
        smoothing : A
            Of the smooth minimum between the circuit's current limits; 0 is exact.
        """
        if len(theta) <= _BLOCK:
            return self._predict(rows, theta, smoothing)
        shape = (len(theta), len(self.keys))
        whole = Prediction(*(np.empty(one) for one in (shape, (*shape, len(NAMES)), shape, shape)))
        for first in range(0, len(theta), _BLOCK):
            block = np.arange(first, min(first + _BLOCK, len(theta)))
            whole.fill(block, self._predict(rows.take(block), theta[block], smoothing))
        return whole

    def _predict(self, rows: Hypotheses, theta: Array, smoothing: Ampere) -> Prediction:
        true = np.zeros((len(theta), len(self.keys)))
        slope = np.zeros((*true.shape, len(NAMES)))
        solution = solve_circuit(self._constants, rows, theta, smoothing)
        if self._of_circuit:
            which, states, outputs = (
                list(column) for column in zip(*self._of_circuit, strict=True)
            )
            true[:, which] = solution.values_of(states, outputs)
            slope[:, which] = solution.slopes_of(states, outputs)
        loose = rows.loose[:, self._loose_columns].copy()
        for index, (point, state) in enumerate(self.keys):
            model = OWN_MODELS.get(point)
            if model is not None:
                in_state = StateSolution(self._constants, rows, theta, solution, state)
                model(in_state, true[:, index], slope[:, index], loose[:, index])
        return self._metered(rows, theta, true, slope, loose)

    def _metered(
        self, rows: Hypotheses, theta: Array, true: Array, slope: Array, loose: Array
    ) -> Prediction:
        """Put the meter's gain and zero on what is true, and add the noise up."""
        volts = np.where(self._by_voltmeter, theta[:, [INDEX["voltage_gain"]]], 0.0)
        amps = np.where(self._by_clamp, theta[:, [INDEX["current_gain"]]], 0.0)
        zero = np.where(self._by_clamp, theta[:, [INDEX["clamp_zero_a"]]], 0.0)
        gain = 1 + volts + amps
        slope *= gain[:, :, None]
        slope[:, :, INDEX["voltage_gain"]] += np.where(self._by_voltmeter, true, 0.0)
        slope[:, :, INDEX["current_gain"]] += np.where(self._by_clamp, true, 0.0)
        slope[:, :, INDEX["clamp_zero_a"]] += self._by_clamp
        drift = slope[:, :, _DRIFTING] * self._drift[rows.hurried.astype(np.intp), None, :]
        # In a minute a battery's volts wander, and yet it takes what it took a minute ago: with
        # little resistance in the way the one would say too much of the other. And where the sun
        # covers all, the vehicle's share is nothing, however the light moves.
        for columns, share in ((_BATTERY_DRIFTS, _STEADY_SHARE), (_SUN_DRIFT, _SUNNY_SHARE)):
            most = np.where(self._follows_current, share * np.abs(true), np.inf)[:, :, None]
            drift[:, :, columns] = np.clip(drift[:, :, columns], -most, most)
        moved = (drift**2).sum(axis=2)
        variance = self._fixed**2 + (self._share * true) ** 2 + loose**2 + moved
        # What a nearly full battery takes falls however steady all else is.
        moved -= (drift[:, :, _TAKEN] ** 2).sum(axis=2)
        return Prediction(true * gain + zero, slope, np.sqrt(variance), np.sqrt(moved))


# Noise

_DRIFTING = [INDEX[name] for name in CAREFUL.drifts]
_BATTERY_DRIFTS = [
    index
    for index, name in enumerate(CAREFUL.drifts)
    if name in ("house_rise_v", "house_rise_solar_v", "regulation_v")
]
_TAKEN = [index for index, name in enumerate(CAREFUL.drifts) if name == "house_tail_a"]
_SUN_DRIFT = [index for index, name in enumerate(CAREFUL.drifts) if name == "sun"]
# Assumed: share by which a charging current changes between two readings of a visit, and by
# which moving light changes what the vehicle has to add at most.
_STEADY_SHARE, _SUNNY_SHARE = 0.05, 0.6
# Assumed: of a standing current that was read with the meter in the lead.
_IN_SERIES = OwnSpread(0.008, 0.02)
# What the model leaves out, standard spreads (assumed): volts at a post at 12 V, share of a drop
# or a current, amperes, volts of a profile that is read from a table.
_POST_V, _SHARE, _CURRENT_A, _PROFILE_V = 0.012, 0.01, 0.08, 0.012
_DROP_V = PROBE_CONTACT_V / math.sqrt(3)
# Assumed: of a current that a display shows, as a battery monitor's or a setting's.
_SHOWN_A, _SHOWN_SHARE = 0.25, 0.02
# Assumed: of a panel's volts, at 12 V and as a share; of a case that has run before it rests.
_PANEL_V, _PANEL_SHARE, _RESTING_CASE_C = 0.3, 0.03, 8.0
# A meter printed as exact still leaves the fit a spread to work with.
_LEAST_GAIN, _LEAST_CURRENT_GAIN, _LEAST_ZERO_A = 1e-4, 1e-3, 0.02


def meter_spreads(meter: Meter | None) -> dict[str, float]:
    """Return the standard spreads of the meter's own unknowns, by name; their means are 0.

    Returns
    -------
    A for the clamp's zero, 1 for a gain
    """
    shared = shared_spreads(meter)
    return {
        "voltage_gain": max(shared.voltage_gain, _LEAST_GAIN),
        "current_gain": max(shared.current_gain, _LEAST_CURRENT_GAIN),
        "clamp_zero_a": max(shared.clamp_zero_a, _LEAST_ZERO_A),
    }


def reading_noise(point: Point, state: State, meter: Meter | None, scale: float) -> OwnSpread:
    """Return one reading's own standard spread, meter and model together.

    Parameters
    ----------
    point, state
        What is read.
    meter
        As described; ``None`` is an ordinary one.
    scale : 1
        Nominal voltage over 12 V, where it is read.
    """
    own = own_spread(meter, point)
    if point.unit is Unit.AMPERE and point.clamp_on is None:
        return OwnSpread(_SHOWN_A, _SHOWN_SHARE)
    if point.unit is Unit.AMPERE:
        return OwnSpread(math.hypot(_CURRENT_A, own.fixed), _SHARE)
    if point.unit is Unit.CELSIUS:
        warm = point is Point.CHARGER_CASE_TEMPERATURE and not state.engine_runs
        return OwnSpread(math.hypot(own.fixed, _RESTING_CASE_C * warm))
    if point.unit is not Unit.VOLT:
        return own
    if point.red is None:
        return OwnSpread(_PROFILE_V * scale)
    if point.needs_panel:
        return OwnSpread(_PANEL_V * scale, _PANEL_SHARE)
    if point.is_drop:
        return OwnSpread(math.hypot(_DROP_V, own.fixed), _SHARE)
    return OwnSpread(math.hypot(_POST_V * scale, own.fixed))


# The circuit

# What the circuit needs of the unknowns, with the step by which each is moved for a slope.
TERMS: dict[str, float] = {
    **dict.fromkeys(RUN_NAMES, 1e-6),
    "house_emf": 1e-4,
    "house_battery": 1e-6,
    "efficiency": 1e-5,
    "own_use": 1e-3,
    "output_share": 1e-5,
    "load": 1e-4,
    "limit": 1e-4,
    "hold": 1e-4,
    "input_limit": 1e-3,
    "taper": 1e-6,
    "tail": 1e-4,
    "consumer": 1e-4,
    "tapped": 1e-4,
    "supply": 1e-4,
    "second": 1e-4,
    "sun_current": 1e-4,
    "panel": 1e-4,
}
_TERM_INDEX = {name: index for index, name in enumerate(TERMS)}
# On installations without these nothing hangs on the terms: no slope is taken.
_TERMS_OF = {
    "input_limit": Extra.INPUT_CURRENT_LIMIT,
    "second": Extra.SECOND_CHARGER,
    "sun_current": Extra.SOLAR,
    "panel": Extra.SOLAR,
}

# What the circuit gives, in this order.
OUTPUTS: tuple[Point, ...] = (
    Point.START_BATTERY_VOLTAGE,
    Point.VEHICLE_FEED_DROP,
    Point.VEHICLE_RETURN_DROP,
    Point.CHARGER_INPUT_VOLTAGE,
    Point.CHARGER_OUTPUT_VOLTAGE,
    Point.HOUSE_FEED_DROP,
    Point.HOUSE_RETURN_DROP,
    Point.HOUSE_BATTERY_VOLTAGE,
    Point.INPUT_CURRENT,
    Point.OUTPUT_CURRENT,
    Point.HOUSE_LOAD_CURRENT,
    Point.SOLAR_CURRENT,
)
OUTPUT_INDEX = {point: index for index, point in enumerate(OUTPUTS)}


@dataclass(frozen=True)
class CircuitConstants:
    """What is the same in all hypotheses of one call."""

    installation: Installation
    sound: SoundInstallation
    states: tuple[State, ...]

    @cached_property
    def scales(self) -> Scales:
        """Nominal voltages over 12 V."""
        return Scales.on(self.installation)

    @cached_property
    def moved(self) -> tuple[str, ...]:
        """The terms on which something hangs on this installation."""
        has = self.installation.has
        return tuple(name for name in TERMS if name not in _TERMS_OF or has(_TERMS_OF[name]))

    @property
    def has_panel(self) -> bool:
        """Whether a panel is fitted."""
        return self.installation.has(Extra.SOLAR)

    def among(self, *wanted: State) -> Array:
        """Return 1 or 0 ``[1, s]``: which states are among these."""
        return np.array([[float(state in wanted) for state in self.states]])

    @property
    def engine(self) -> Array:
        """1 or 0 ``[1, s]``: in which states the engine runs."""
        return np.array([[float(state.engine_runs) for state in self.states]])

    @property
    def columns(self) -> list[int]:
        """The states' columns in the hypotheses' arrays."""
        return [STATE_INDEX[state] for state in self.states]


@dataclass(frozen=True)
class CircuitSolution:
    """The circuit's outputs ``value[output, h, s]``, and how they hang on the unknowns.

    ``by_term[output, term, h, s]`` are the slopes on the terms; each of ``parts`` says how a
    term hangs on an unknown: their indices and the slope, ``[h, s]`` or what broadcasts to it.
    """

    value: Array
    by_term: Array
    parts: Sequence[tuple[int, int, Array | float]]

    def values_of(self, states: Sequence[int], outputs: Sequence[int]) -> Array:
        """Return outputs ``[h, r]``, each in its state."""
        return np.asarray(self.value[outputs, :, states].T)

    def slopes_of(self, states: Sequence[int], outputs: Sequence[int]) -> Array:
        """Return the slopes ``[h, r, unknown]`` of outputs, each in its state."""
        picked = self.by_term[outputs, :, :, states]
        found = np.zeros((len(NAMES), len(outputs), self.value.shape[1]))
        for term, unknown, slope in self.parts:
            if isinstance(slope, float):
                found[unknown] += picked[:, term] * slope
            else:
                own = slope.T if slope.shape[1] == 1 else slope.T[states]
                found[unknown] += picked[:, term] * own
        return np.ascontiguousarray(found.transpose(2, 1, 0))


class _Terms:
    """Values ``[term, h, s]``, and slopes on the unknowns they are made of, filled part by part."""

    def __init__(self, rows: int, states: int) -> None:
        self.value = np.zeros((len(TERMS), rows, states))
        self.parts: list[tuple[int, int, Array | float]] = []

    def add(self, term: str, unknown: str, value: Array, slope: Array | float) -> None:
        """Add a part that depends on one unknown; arrays are ``[h, 1]`` or ``[h, s]``."""
        index = _TERM_INDEX[term]
        self.value[index] += value
        self.parts.append((index, INDEX[unknown], slope))


def solve_circuit(
    constants: CircuitConstants, rows: Hypotheses, theta: Array, smoothing: Ampere
) -> CircuitSolution:
    """Solve every hypothesis in every state, with slopes by small steps.

    Parameters
    ----------
    constants
        With the states to solve.
    rows
        The hypotheses.
    theta : in the coordinates of the fit
        ``[h, unknown]``.
    smoothing : A
        Of the smooth minimum between the circuit's current limits; 0 is exact.
    """
    terms = _terms(constants, rows, theta)
    moved = constants.moved
    # Term by term, so that each is one block of memory: [term, step, h, s].
    stepped = np.repeat(terms.value[:, None], len(moved) + 1, axis=1)
    for place, name in enumerate(moved, 1):
        stepped[_TERM_INDEX[name], place] += TERMS[name]
    found = _outputs(constants, rows, stepped, smoothing)
    steps = np.array([TERMS[name] for name in moved])
    by_term = (found[:, 1:] - found[:, :1]) / steps[:, None, None]
    place_of = {_TERM_INDEX[name]: place for place, name in enumerate(moved)}
    parts = [
        (place_of[term], unknown, slope) for term, unknown, slope in terms.parts if term in place_of
    ]
    return CircuitSolution(found[:, 0], by_term, parts)


def _column(theta: Array, name: str) -> Array:
    return theta[:, INDEX[name], None]


def _terms(constants: CircuitConstants, rows: Hypotheses, theta: Array) -> _Terms:
    terms = _Terms(len(theta), len(constants.states))
    for run in RUN_NAMES:
        for unknown in (f"{run}_ohm", f"{run}_extra_ohm"):
            ohm = np.exp(_column(theta, unknown))
            terms.add(run, unknown, ohm, ohm)
    share = np.exp(_column(theta, "output_share"))
    terms.add("output_share", "output_share", share, share)
    for term, unknown in (("efficiency", "efficiency"), ("own_use", "own_use_w")):
        terms.add(term, unknown, _column(theta, unknown), 1.0)
    most = np.exp(_column(theta, "input_limit_a"))
    terms.add("input_limit", "input_limit_a", most, most)
    _add_second_unit(constants, rows, theta, terms)
    _add_limit(rows, theta, terms)
    _add_charger_habits(constants, rows, theta, terms)
    _add_load(constants, theta, terms)
    _add_supply(constants, rows, theta, terms)
    if constants.has_panel:
        _add_panel(constants, rows, theta, terms)
    _add_battery(constants, rows, theta, terms)
    return terms


def _add_limit(rows: Hypotheses, theta: Array, terms: _Terms) -> None:
    profile = np.where(rows.at_float, 0.0, 1.0)[:, None]
    terms.add("limit", "profile_v", profile * _column(theta, "profile_v"), profile)
    terms.add("limit", "float_v", (1 - profile) * _column(theta, "float_v"), 1 - profile)
    terms.add("limit", "regulation_v", _column(theta, "regulation_v"), 1.0)


def _add_charger_habits(
    constants: CircuitConstants, rows: Hypotheses, theta: Array, terms: _Terms
) -> None:
    """Where it holds its input, how it tapers, and what else its feed carries."""
    hold = _column(theta, "hold_v")
    terms.add("hold", "hold_v", rows.stop_v[:, None] + hold, 1.0)
    at_rated = 1 / constants.sound.charger.rated_output_a
    terms.add("taper", "taper_v", _column(theta, "taper_v") * at_rated, at_rated)
    terms.add("tapped", "tapped_share", _column(theta, "tapped_share"), 1.0)
    engine = constants.engine
    # What a unit draws that is not at work, it draws with the engine running as well.
    asleep = (1 - constants.among(State.SOLAR)) * ~rows.on[:, constants.columns]
    consumer, standing = _column(theta, "feed_consumer_a"), _column(theta, "standing_a")
    terms.add("consumer", "feed_consumer_a", engine * consumer, engine)
    terms.add("consumer", "standing_a", asleep * standing, asleep)
    terms.add("consumer", "awake_a", engine * asleep * _column(theta, "awake_a"), engine * asleep)


def _second_works(constants: CircuitConstants, rows: Hypotheses) -> Flags:
    """Whether a second unit gives something, ``[h, s]``: it starts by the same supply."""
    works = np.zeros((len(rows), len(STATES)), dtype=np.bool_)
    for fast, state in enumerate((State.IDLE, State.FAST_IDLE)):
        works[:, STATE_INDEX[state]] = ~rows.second_dead & (rows.start_side[:, fast] >= 0)
    return works[:, constants.columns]


def _add_second_unit(
    constants: CircuitConstants, rows: Hypotheses, theta: Array, terms: _Terms
) -> None:
    if constants.installation.has(Extra.SECOND_CHARGER):
        works = _second_works(constants, rows).astype(np.float64)
        terms.add("second", "second_unit_a", works * _column(theta, "second_unit_a"), works)


def _add_load(constants: CircuitConstants, theta: Array, terms: _Terms) -> None:
    at_rest = constants.among(State.REST)
    for unknown, share in (("load_a", 1 - at_rest), ("load_rest_a", at_rest)):
        load = np.exp(_column(theta, unknown)) * share
        terms.add("load", unknown, load - LOAD_OFFSET_A * share, load)


def _add_supply(constants: CircuitConstants, rows: Hypotheses, theta: Array, terms: _Terms) -> None:
    engine, fast = constants.engine, constants.among(State.FAST_IDLE)
    battery = rows.on_battery[:, None]
    driven = engine * ~battery
    terms.add("supply", "supply_idle_v", driven * _column(theta, "supply_idle_v"), driven)
    terms.add("supply", "supply_fast_v", fast * _column(theta, "supply_fast_v"), fast)
    resting = 1 - driven
    terms.add("supply", "supply_rest_v", resting * _column(theta, "supply_rest_v"), resting)
    # With exchanged leads the panel charges the start battery, and lifts it as it would the other.
    lifted = rows.exchanged[:, None] * constants.among(State.SOLAR)
    terms.add("supply", "house_rise_solar_v", lifted * _column(theta, "house_rise_solar_v"), lifted)
    sagging = engine * battery
    terms.add("supply", "supply_sag_v", -sagging * _column(theta, "supply_sag_v"), -sagging)


def _add_panel(constants: CircuitConstants, rows: Hypotheses, theta: Array, terms: _Terms) -> None:
    lit, engine = _lit(constants, rows), constants.engine
    share = np.exp(_column(theta, "panel_share"))
    sun = _column(theta, "sun") + engine * _column(theta, "sun_engine")
    shining = np.clip(sun, 0.0, None)
    rising = (sun > 0) * lit * share
    terms.add("sun_current", "panel_share", lit * share * shining, lit * share * shining)
    terms.add("sun_current", "sun", np.zeros(1), rising)
    terms.add("sun_current", "sun_engine", np.zeros(1), rising * engine)
    held = rows.panel_held[:, None].astype(np.float64)
    terms.add("panel", "panel_held_v", held * _column(theta, "panel_held_v"), held)
    bright, ratio = _column(theta, "panel_open_v"), _column(theta, "panel_ratio")
    terms.add("panel", "panel_open_v", (1 - held) * ratio * bright, (1 - held) * ratio)
    terms.add("panel", "panel_ratio", np.zeros(1), (1 - held) * bright)


def _lit(constants: CircuitConstants, rows: Hypotheses) -> Array:
    """Whether the panel gives anything, ``[h, s]``."""
    engine = constants.engine * rows.sunny[:, None]
    return np.asarray((engine + constants.among(State.SOLAR)) * rows.panel_works[:, None])


def _charging(constants: CircuitConstants, rows: Hypotheses) -> Flags:
    """Whether charge goes into the battery, ``[h, s]``."""
    fed = rows.on[:, constants.columns].copy()
    if constants.has_panel:
        fed |= _lit(constants, rows) > 0
    stopped = rows.dead | rows.house_feed_open | rows.negative_open
    stopped |= rows.blocks_charging | rows.blocks_all | rows.exchanged
    return fed & ~stopped[:, None]


# Assumed: with this power of its own resistance over a sound one's a worn battery feeds loads.
_GIVES_AS_IT_TAKES = 0.5


def _add_battery(
    constants: CircuitConstants, rows: Hypotheses, theta: Array, terms: _Terms
) -> None:
    """Battery voltage behind its resistance; a nearly full one is told by its tail current."""
    takes, solar = _charging(constants, rows), constants.among(State.SOLAR)
    # What a worn battery holds against charge is mostly chemistry: it gives more easily.
    part = np.where(takes, 1.0, _GIVES_AS_IT_TAKES)
    sound_ohm = constants.sound.house.resistance_ohm.mean
    ohm = np.exp(part * _column(theta, "house_battery_ohm")) * sound_ohm ** (1 - part)
    terms.add("house_battery", "house_battery_ohm", ohm, part * ohm)
    full = takes & rows.nearly_full[:, None]
    terms.add("house_emf", "house_rest_v", _column(theta, "house_rest_v"), 1.0)
    # A battery that rests above the unit's float takes nothing, and does not rise.
    rises = takes & ~full & ~rows.at_float[:, None]
    engine = rises * (1 - solar)
    terms.add("house_emf", "house_rise_v", engine * _column(theta, "house_rise_v"), engine)
    fast = engine * constants.among(State.FAST_IDLE)
    terms.add("house_emf", "house_rise_fast_v", fast * _column(theta, "house_rise_fast_v"), fast)
    sunny = (rises | full) * solar
    terms.add(
        "house_emf", "house_rise_solar_v", sunny * _column(theta, "house_rise_solar_v"), sunny
    )
    current = np.exp(_column(theta, "house_tail_a")) * full
    terms.add("tail", "house_tail_a", current, current)


def _house_emf(constants: CircuitConstants, part: Mapping[str, Array]) -> Array:
    """Return the voltage behind the battery's resistance.

    At the unit's limit a nearly full battery takes its tail current and no more; where the panel
    alone brings less, its voltage stands in proportion between rest and limit.
    """
    tail, emf, load = part["tail"], part["house_emf"], part["load"]
    runs = part["house_feed"] + part["house_return"]
    full = part["limit"] - (tail + load) * runs - tail * part["house_battery"]
    from_panel = part["sun_current"] * part["panel"] * part["efficiency"] - part["own_use"]
    spare = from_panel / np.maximum(part["limit"], 1.0) - load
    share = np.clip(spare / np.maximum(tail, 1e-3), 0.0, 1.0)
    share = np.where(constants.engine > 0, 1.0, share)
    return np.where(tail > 0, emf + share * (full - emf), emf)


def _outputs(
    constants: CircuitConstants, rows: Hypotheses, terms: Array, smoothing: Ampere
) -> Array:
    solved = solve(_circuit(constants, rows, terms), smoothing)
    panel = np.maximum(terms[_TERM_INDEX["panel"]], 1.0)
    clamped = rows.consumer_clamped[:, None] * terms[_TERM_INDEX["consumer"]]
    electrical = _electrical(solved, clamped, rows.clamped_at_the_unit[:, None])
    return np.stack([*electrical, solved.solar_power_w / panel])


def _electrical(point: OperatingPoint, consumer_a: Array, at_the_unit: Flags) -> tuple[Array, ...]:
    into, out_of = point.input_current_a, point.output_current_a
    return (
        point.start_battery_voltage_v,
        point.vehicle_feed_drop_v,
        point.vehicle_return_drop_v,
        point.charger_input_voltage_v,
        point.charger_output_voltage_v,
        point.house_feed_drop_v,
        point.house_return_drop_v,
        point.house_battery_voltage_v,
        np.where(at_the_unit, -out_of, into + consumer_a),
        np.where(at_the_unit, -into, out_of),
        point.house_load_current_a,
    )


def _circuit(constants: CircuitConstants, rows: Hypotheses, terms: Array) -> Circuit:
    part = {name: terms[index] for name, index in _TERM_INDEX.items()}
    charger = constants.sound.charger
    return Circuit(
        supply_v=part["supply"],
        vehicle_feed_ohm=np.where(rows.vehicle_feed_open[:, None], np.inf, part["vehicle_feed"]),
        vehicle_return_ohm=np.where(
            rows.vehicle_return_open[:, None], np.inf, part["vehicle_return"]
        ),
        house_feed_ohm=np.where(rows.house_feed_open[:, None], np.inf, part["house_feed"]),
        house_return_ohm=part["house_return"],
        # What a second unit gives lifts the battery before the first gives anything.
        house_emf_v=_house_emf(constants, part) + part["second"] * part["house_battery"],
        house_battery_ohm=part["house_battery"],
        rated_output_a=charger.rated_output_a,
        voltage_limit_v=part["limit"],
        efficiency=np.clip(part["efficiency"], 0.5, 1.0),
        self_consumption_w=np.maximum(part["own_use"], 0.0),
        output_fraction=part["output_share"],
        house_load_a=part["load"],
        input_limit_a=part["input_limit"],
        solar_w=part["sun_current"] * part["panel"],
        # Whether it runs is the row's to say; here only the voltage at which the input is held.
        hold_voltage_v=part["hold"],
        taper_ohm=np.maximum(part["taper"], 0.0),
        feed_consumer_a=part["consumer"] * part["tapped"],
        vehicle_on=rows.on[:, constants.columns],
        unit_dead=rows.dead[:, None],
        shows_absorption=rows.shows_absorption[:, None],
        blocks_charging=rows.blocks_charging[:, None],
        blocks_all=rows.blocks_all[:, None],
        open_posts_v=part["house_emf"],
        exchanged=rows.exchanged[:, None],
        charger_negative_open=rows.negative_open[:, None],
    )


# Points beside the circuit

# Of a reading whose value the model cannot tell, beside the hypothesis' own looseness (assumed).
_TERMINAL_SPREAD_V = 0.6
_UNLIT_SPREAD_V = 6.0
# Assumed: light on a panel in a workshop, as a share of full sun.
_UNDER_A_ROOF = 0.03
# A trigger is easily read against a nearby earth instead of the unit's own negative, so what
# lifts that negative may or may not be in the reading; assumed, for a 12 V system.
_SIGNAL_SPREAD_V = 0.4
_SIGNAL_MOST_SPREAD_V = 2.5
# Assumed: a resting case is this much over the air, and a unit that gives next to nothing warms
# half as much as one at work.
_RESTING_OVER_AIR_C, _IDLE_SHARE, _WORKS_FROM_A = 2.0, 0.5, 1.0


@dataclass(frozen=True)
class StateSolution:
    """All hypotheses in one state, as a point's own model sees them."""

    constants: CircuitConstants
    rows: Hypotheses
    theta: Array
    solution: CircuitSolution
    state: State

    def unknown(self, name: str) -> Array:
        """Return one unknown ``[h]``, in the coordinates of the fit."""
        return self.theta[:, INDEX[name]]

    def output(self, point: Point) -> Array:
        """Return one of the circuit's outputs ``[h]``."""
        state, column = self.constants.states.index(self.state), OUTPUT_INDEX[point]
        return np.asarray(self.solution.value[column, :, state])

    @property
    def second_works(self) -> Array:
        """1 or 0 ``[h]``: whether a second unit gives something."""
        column = self.constants.states.index(self.state)
        return _second_works(self.constants, self.rows)[:, column].astype(np.float64)

    @property
    def charge(self) -> tuple[Array, Array]:
        """What all units give the house side, A ``[h]``, and its slope ``[h, unknown]``."""
        given = self.output(Point.OUTPUT_CURRENT)
        slope = self.output_slopes(Point.OUTPUT_CURRENT)[:, 0]
        if self.constants.installation.has(Extra.SECOND_CHARGER):
            works = self.second_works
            given = given + works * self.unknown("second_unit_a")
            slope[:, INDEX["second_unit_a"]] += works
        return given, slope

    def output_slopes(self, *points: Point) -> Array:
        """Return the slopes ``[h, point, unknown]`` of some of the circuit's outputs."""
        state = self.constants.states.index(self.state)
        columns = [OUTPUT_INDEX[point] for point in points]
        return self.solution.slopes_of([state] * len(columns), columns)


# Adds to a reading's true value ``[h]`` and slope ``[h, unknown]``, and may widen ``loose[h]``.
OwnModel = Callable[[StateSolution, Array, Array, Array], None]


def _is_unknown(name: str) -> OwnModel:
    """Model a point that simply shows one of the unknowns."""

    def add(at: StateSolution, true: Array, slope: Array, _loose: Array) -> None:
        true += at.unknown(name)
        slope[:, INDEX[name]] += 1

    return add


def _signal(at: StateSolution, true: Array, slope: Array, loose: Array) -> None:
    """Supply less a switch's drop while the engine runs, read against a lifted negative.

    It tells live from dead; of the return it tells little, whose own drop proves it better.
    """
    if not at.state.engine_runs:
        true += at.unknown("signal_rest_v")
        slope[:, INDEX["signal_rest_v"]] += 1
        return
    live = at.rows.signal_live.astype(np.float64)
    supply = at.output(Point.START_BATTERY_VOLTAGE)
    lifted = at.output(Point.VEHICLE_RETURN_DROP)
    slopes = at.output_slopes(Point.START_BATTERY_VOLTAGE, Point.VEHICLE_RETURN_DROP)
    scale = at.constants.scales.vehicle
    unsure = np.clip(lifted, _SIGNAL_SPREAD_V * scale, _SIGNAL_MOST_SPREAD_V * scale)
    np.maximum(loose, live * unsure, out=loose)
    true += live * (supply - lifted - at.unknown("signal_drop_v"))
    slope += live[:, None] * (slopes[:, 0] - slopes[:, 1])
    slope[:, INDEX["signal_drop_v"]] -= live
    true += (1 - live) * at.unknown("signal_level_v")
    slope[:, INDEX["signal_level_v"]] += 1 - live


def _case_temperature(at: StateSolution, true: Array, slope: Array, loose: Array) -> None:
    """Model the case: at rest, or giving nothing, near the air around it."""
    air, unsure = at.constants.sound.ambient_c
    if not at.state.engine_runs:
        np.maximum(loose, unsure, out=loose)
        true += air + _RESTING_OVER_AIR_C
        return
    current = at.output(Point.OUTPUT_CURRENT)
    share = np.where(current > _WORKS_FROM_A, 1.0, _IDLE_SHARE)
    np.maximum(loose, (1 - share) * unsure, out=loose)
    true += air + share * (at.unknown("case_c") - air)
    slope[:, INDEX["case_c"]] += share


def _sunlight(at: StateSolution, true: Array, slope: Array, _loose: Array) -> None:
    true += at.unknown("sun")
    slope[:, INDEX["sun"]] += 1
    if at.state.engine_runs:
        true += at.unknown("sun_engine")
        slope[:, INDEX["sun_engine"]] += 1


# A panel's open-circuit voltage goes with the logarithm of the light: about a volt for each factor
# of e on 36 cells that show 22 V (single-diode model, n = 1.1 to 1.3 at 25 °C).
_OPEN_PER_LN_LIGHT, _LEAST_LIGHT = 0.05, 0.03


def open_circuit_share(light: Array) -> Array:
    """Return a panel's open-circuit volts in some light over those in full sun.

    Parameters
    ----------
    light : 1
        Share of full sun; very little counts as 0.03.

    Returns
    -------
    1
    """
    lit = np.clip(light, _LEAST_LIGHT, None)
    return np.asarray(1 + _OPEN_PER_LN_LIGHT * np.log(lit))


def _add_open_circuit(at: StateSolution, share: Array | float, true: Array, slope: Array) -> None:
    """Add a share of the panel's open-circuit voltage in the light there is."""
    engine = float(at.state.engine_runs)
    sun = at.unknown("sun") + engine * at.unknown("sun_engine")
    falls, lit = open_circuit_share(sun), np.clip(sun, _LEAST_LIGHT, None)
    bright = at.unknown("panel_open_v")
    true += share * bright * falls
    slope[:, INDEX["panel_open_v"]] += share * falls
    by_light = np.where(sun > _LEAST_LIGHT, share * bright * _OPEN_PER_LN_LIGHT / lit, 0.0)
    slope[:, INDEX["sun"]] += by_light
    slope[:, INDEX["sun_engine"]] += engine * by_light


def _panel_open(at: StateSolution, true: Array, slope: Array, _loose: Array) -> None:
    _add_open_circuit(at, 1.0, true, slope)


def _panel_terminal(at: StateSolution, true: Array, slope: Array, loose: Array) -> None:
    """Working voltage where all is used, open-circuit where nothing is, between them otherwise."""
    used = at.output(Point.SOLAR_CURRENT)
    engine = at.unknown("sun_engine") * at.state.engine_runs
    given = np.exp(at.unknown("panel_share")) * np.clip(at.unknown("sun") + engine, 0, None)
    works = at.rows.panel_works
    share = np.where(works, np.clip(used / np.maximum(given, 1e-3), 0, 1), 0.0)
    held = at.rows.panel_held
    bright, ratio = at.unknown("panel_open_v"), at.unknown("panel_ratio")
    true += share * np.where(held, at.unknown("panel_held_v"), ratio * bright)
    slope[:, INDEX["panel_held_v"]] += share * held
    slope[:, INDEX["panel_open_v"]] += share * ~held * ratio
    slope[:, INDEX["panel_ratio"]] += share * ~held * bright
    idle = np.where(at.rows.panel_open, 0.0, 1 - share)
    _add_open_circuit(at, idle, true, slope)
    # With no light on a connected panel its terminal stands anywhere under open circuit.
    dark = at.state is not State.SOLAR and works & ~at.rows.sunny
    unlit = _UNLIT_SPREAD_V * at.constants.scales.house
    np.maximum(loose, np.where(dark, unlit, _TERMINAL_SPREAD_V), out=loose)


def _panel_current(at: StateSolution, _true: Array, _slope: Array, loose: Array) -> None:
    """Under a roof a panel still gives a little."""
    dark = at.state.engine_runs & ~at.rows.sunny & at.rows.panel_works
    most = _UNDER_A_ROOF * np.exp(at.unknown("panel_share"))
    np.maximum(loose, np.where(dark, most, 0.0), out=loose)


# Assumed: how far from one state to another, and from the first unit's, a second unit's figures
# may lie: of its current, as a share of its rating, and of the volts at its terminals at 12 V.
_SECOND_SHARE, _SECOND_INPUT_SHARE, _SECOND_V = 0.1, 0.12, 0.3


def _second_output_current(at: StateSolution, true: Array, slope: Array, loose: Array) -> None:
    works = at.second_works
    true += works * at.unknown("second_unit_a")
    slope[:, INDEX["second_unit_a"]] += works
    rating = at.constants.installation.fitted.second_charger_rated_output_current_a or 0.0
    np.maximum(loose, works * _SECOND_SHARE * rating, out=loose)


def _second_input_current(at: StateSolution, true: Array, slope: Array, loose: Array) -> None:
    works = at.second_works * at.constants.sound.charger.input_per_output
    true += works * at.unknown("second_unit_a")
    slope[:, INDEX["second_unit_a"]] += works
    np.maximum(loose, _SECOND_INPUT_SHARE * true, out=loose)


def _second_output_voltage(at: StateSolution, true: Array, slope: Array, loose: Array) -> None:
    true += at.output(Point.HOUSE_BATTERY_VOLTAGE)
    slope += at.output_slopes(Point.HOUSE_BATTERY_VOLTAGE)[:, 0]
    np.maximum(loose, _SECOND_V * at.constants.scales.house, out=loose)


def _second_input_voltage(at: StateSolution, true: Array, slope: Array, loose: Array) -> None:
    """Near the start battery, less what its runs lose; nothing behind an open fuse."""
    fed = (~at.rows.second_unfed).astype(np.float64)
    true += fed * at.output(Point.START_BATTERY_VOLTAGE)
    slope += fed[:, None] * at.output_slopes(Point.START_BATTERY_VOLTAGE)[:, 0]
    np.maximum(loose, _SECOND_V * at.constants.scales.vehicle, out=loose)


def _into_the_battery(at: StateSolution) -> tuple[Array, Array]:
    """Return what flows into the house battery ``[h]``, its slope ``[h, unknown]``, as is."""
    charge, charges = at.charge
    load = at.output(Point.HOUSE_LOAD_CURRENT)
    loads = at.output_slopes(Point.HOUSE_LOAD_CURRENT)[:, 0]
    return charge - load, charges - loads


def _monitor(at: StateSolution, true: Array, slope: Array, _loose: Array) -> None:
    """What goes through the shunt; a lead that goes round it is not seen."""
    charge, charges = at.charge
    load = at.output(Point.HOUSE_LOAD_CURRENT)
    seen, drawn = at.unknown("monitor_charge_share"), at.unknown("monitor_load_share")
    true += seen * charge - drawn * load
    slope += seen[:, None] * charges
    slope -= drawn[:, None] * at.output_slopes(Point.HOUSE_LOAD_CURRENT)[:, 0]
    slope[:, INDEX["monitor_charge_share"]] += charge
    slope[:, INDEX["monitor_load_share"]] -= load


def _first_in_parallel(at: StateSolution, true: Array, slope: Array, _loose: Array) -> None:
    whole, slopes = _into_the_battery(at)
    share = np.exp(at.unknown("first_share"))
    true += share * whole
    slope += share[:, None] * slopes
    slope[:, INDEX["first_share"]] += share * whole


def _input_limit(at: StateSolution, true: Array, slope: Array, _loose: Array) -> None:
    limit = np.exp(at.unknown("input_limit_a"))
    true += limit
    slope[:, INDEX["input_limit_a"]] += limit


def _sensor(at: StateSolution, true: Array, slope: Array, _loose: Array) -> None:
    for name in ("house_c", "sensor_off_c"):
        true += at.unknown(name)
        slope[:, INDEX[name]] += 1


def _on_reverse_charge(at: StateSolution, true: Array, slope: Array, _loose: Array) -> None:
    """The start battery rests, lifted by what the unit gives it."""
    for name in ("supply_rest_v", "reverse_rise_v"):
        true += at.unknown(name)
        slope[:, INDEX[name]] += 1


OWN_MODELS: dict[Point, OwnModel] = {
    Point.SECOND_UNIT_INPUT_VOLTAGE: _second_input_voltage,
    Point.SECOND_UNIT_OUTPUT_VOLTAGE: _second_output_voltage,
    Point.SECOND_UNIT_INPUT_CURRENT: _second_input_current,
    Point.SECOND_UNIT_OUTPUT_CURRENT: _second_output_current,
    Point.MONITOR_CURRENT: _monitor,
    Point.FIRST_PARALLEL_CURRENT: _first_in_parallel,
    Point.SENSOR_TEMPERATURE: _sensor,
    Point.INPUT_LIMIT_SETTING: _input_limit,
    Point.REVERSE_CHARGE_CURRENT: _is_unknown("reverse_a"),
    Point.REVERSE_CHARGE_VOLTAGE: _on_reverse_charge,
    Point.SOLAR_CURRENT: _panel_current,
    Point.IGNITION_SIGNAL_VOLTAGE: _signal,
    Point.SOLAR_OPEN_CIRCUIT_VOLTAGE: _panel_open,
    Point.SOLAR_INPUT_VOLTAGE: _panel_terminal,
    Point.CHARGER_CASE_TEMPERATURE: _case_temperature,
    Point.HOUSE_BATTERY_TEMPERATURE: _is_unknown("house_c"),
    Point.PROFILE_SETTING_VOLTAGE: _is_unknown("profile_v"),
    Point.SUNLIGHT_FRACTION: _sunlight,
}


# Lamps: what one means differs from unit to unit, so a lamp never outweighs a meter

# Assumed: chance that the charging lamp is lit when the unit gives current, when it runs and
# gives none, and when it does not run.
_LIT_GIVING, _LIT_RUNNING, _LIT_OFF = 0.92, 0.5, 0.1


def _charging_lit(rows: Hypotheses, state: State) -> Array:
    on = rows.on[:, STATE_INDEX[state]] & ~rows.dead
    nothing = rows.house_feed_open | rows.blocks_charging | rows.blocks_all
    return np.where(on, np.where(nothing, _LIT_RUNNING, _LIT_GIVING), _LIT_OFF)


def _fault_lit(rows: Hypotheses, _state: State) -> Array:
    return rows.fault_lit


LAMP_MODELS: dict[Point, Callable[[Hypotheses, State], Array]] = {
    Point.CHARGING_INDICATOR: _charging_lit,
    Point.FAULT_INDICATOR: _fault_lit,
}


def lit_chance(rows: Hypotheses, key: ReadingKey) -> Array:
    """Return each row's chance ``[h]`` that a lamp is lit."""
    return LAMP_MODELS[key.point](rows, key.state)


def ln_lamps(rows: Hypotheses, readings: Sequence[Reading]) -> Array:
    """Return each row's log-probability ``[h]`` of all lamps read while the engine runs."""
    total = np.zeros(len(rows))
    for reading in readings:
        if reading.state.engine_runs:
            lit = lit_chance(rows, reading.key)
            total += np.log(lit if reading.value >= 0.5 else 1 - lit)
    return total
