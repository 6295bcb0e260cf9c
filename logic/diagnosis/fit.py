"""How well each hypothesis explains all readings together.

Gauss-Newton on every hypothesis at once, then Laplace's approximation for the evidence: the
unknowns are integrated out around the best fit.  A reading is either good, with its noise, or
spoilt (a slipped decimal point, a wrong post ...); its weight is the probability that it is good,
wide at first and tightened over the steps.  Whether a unit runs as a row says is weighed by the
supply voltage at which it would.

Axes of arrays: ``h`` hypothesis, ``r`` reading.  All spreads are standard deviations (k = 1),
``ln_`` natural logarithms.

References
----------
MacKay, D. J. C., Information Theory, Inference, and Learning Algorithms, ch. 27 (Laplace's
method) and 28 (model comparison).
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId, Reading, Slip
from logic.diagnosis.conditions import CAREFUL, HURRIED, MISDESCRIBED, STEADY
from logic.diagnosis.hypotheses import STATES, Hypotheses
from logic.diagnosis.prediction import Prediction, Predictor, ln_lamps
from logic.diagnosis.unknowns import INDEX, LASTING, NAMES, RUN_NAMES, SUPPLY_NAMES, Habit, Scales
from logic.quantities import Ampere, Celsius, Ohm, Volt
from logic.vehicle.points import State, Unit

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]

_LN_2PI = float(np.log(2 * np.pi))
# Beyond this many spreads a density is not told from nought.
_FARTHEST = 30.0


# What is known before the readings


@dataclass(frozen=True)
class BaselinePrior:
    """What the commissioning readings taught: some unknowns' mean and covariance."""

    indices: Indices
    mean: Array
    covariance: Array


@dataclass(frozen=True)
class Root:
    """A root of the covariance of the unknowns that hang on one another, and its inverse.

    ``root`` and ``inverse`` are ``[h, some, some]`` over the unknowns ``indices`` only: over all of
    them they would be mostly nought, and most of what a diagnosis takes of memory.
    """

    indices: Indices
    root: Array
    inverse: Array

    @classmethod
    def independent(cls, indices: Indices, spread: Array) -> "Root":
        """Return the root over ``indices`` of rows ``[h, unknown]`` where none hangs on another."""
        own, one = spread[:, indices, None], np.eye(len(indices))
        return cls(indices, own * one, one / own)

    def take(self, rows: Indices) -> "Root":
        """Return some of the rows."""
        return Root(self.indices, self.root[rows], self.inverse[rows])

    def joined(self, other: "Root") -> "Root":
        """Return the rows of both, which are over the same unknowns."""
        return Root(
            self.indices,
            np.concatenate([self.root, other.root]),
            np.concatenate([self.inverse, other.inverse]),
        )


@dataclass(frozen=True)
class Prior:
    """The unknowns before today's readings, one Gaussian a hypothesis.

    ``mean`` and ``spread`` are ``[h, unknown]``, ``ln_det`` of the precision ``[h]``; in the
    coordinates of the fit.
    """

    mean: Array
    ln_det: Array
    spread: Array
    root: Root | None = None
    """``None`` where no unknown hangs on another."""

    def take(self, rows: Indices) -> "Prior":
        """Return some of the rows."""
        return Prior(
            self.mean[rows],
            self.ln_det[rows],
            self.spread[rows],
            None if self.root is None else self.root.take(rows),
        )

    def joined(self, other: "Prior") -> "Prior":
        """Return the rows of both."""
        either = self.root or other.root
        roots = None
        if either is not None:
            mine, its = (
                Root.independent(either.indices, one.spread) if one.root is None else one.root
                for one in (self, other)
            )
            roots = mine.joined(its)
        return Prior(
            np.concatenate([self.mean, other.mean]),
            np.concatenate([self.ln_det, other.ln_det]),
            np.concatenate([self.spread, other.spread]),
            roots,
        )

    @property
    def precision(self) -> Array:
        """The inverse of the covariance ``[h, unknown, unknown]``."""
        diagonal = np.arange(self.spread.shape[1])
        found = np.zeros((*self.spread.shape, len(diagonal)))
        found[:, diagonal, diagonal] = self.spread**-2
        if self.root is not None:
            inverse, some = self.root.inverse, self.root.indices
            found[:, some[:, None], some[None, :]] = inverse.transpose(0, 2, 1) @ inverse
        return found

    def covariance(self, row: int) -> Array:
        """Return one row's covariance ``[unknown, unknown]``."""
        found = np.diag(self.spread[row] ** 2)
        if self.root is not None:
            root, some = self.root.root[row], self.root.indices
            found[some[:, None], some[None, :]] = root @ root.T
        return found

    def scaled(self, slope: Array) -> Array:
        """Turn slopes ``[h, r, unknown]`` over the unknowns into slopes over independent ones."""
        found = np.asarray(slope * self.spread[:, None, :])
        if self.root is not None:
            some = self.root.indices
            found[:, :, some] = slope[:, :, some] @ self.root.root
        return found

    def unscaled(self, away: Array) -> Array:
        """Turn distances ``[h, unknown]`` from the mean into those of independent unknowns."""
        found = np.asarray(away / self.spread)
        if self.root is not None:
            some = self.root.indices
            found[:, some] = (self.root.inverse @ away[:, some, None])[:, :, 0]
        return found

    def rescaled(self, away: Array) -> Array:
        """Turn distances of independent unknowns back."""
        found = np.asarray(away * self.spread)
        if self.root is not None:
            some = self.root.indices
            found[:, some] = (self.root.root @ away[:, some, None])[:, :, 0]
        return found

    def pull(self, theta: Array) -> Array:
        """Return how fast the log of each row's density falls ``[h, unknown]``."""
        away = theta - self.mean
        found = np.asarray(away / self.spread**2)
        if self.root is not None:
            inverse, some = self.root.inverse, self.root.indices
            within = inverse.transpose(0, 2, 1) @ (inverse @ away[:, some, None])
            found[:, some] = within[:, :, 0]
        return found

    def ln_density(self, theta: Array) -> Array:
        """Return the log of each row's density ``[h]`` at unknowns ``[h, unknown]``."""
        square = (self.unscaled(theta - self.mean) ** 2).sum(axis=1)
        return np.asarray(0.5 * (self.ln_det - square - len(NAMES) * _LN_2PI))


def gaussian_prior(
    rows: Hypotheses,
    meter_spreads: dict[str, float],
    baseline: BaselinePrior | None = None,
) -> Prior:
    """Return the rows' priors: their own, unknown by unknown, and what commissioning taught.

    Parameters
    ----------
    rows
        The hypotheses.
    meter_spreads
        Standard spreads of the meter's own unknowns, by name, of a meter in good order.
    baseline
        What the commissioning readings taught about unknowns that a vehicle keeps; a row that
        changes an unknown does not inherit it.
    """
    mean, spread = rows.mean.copy(), rows.spread.copy()
    for name, value in meter_spreads.items():
        spread[:, INDEX[name]] = value * np.where(rows.hurried, HURRIED.meter, CAREFUL.meter)
    described = np.where(rows.misdescribed, MISDESCRIBED, CAREFUL.described)
    spread[:, _DESCRIBED] *= np.where(rows.hurried, HURRIED.described, described)[:, None]
    if baseline is None:
        return independent_prior(mean, spread)
    kept, lasting = ~rows.changed[:, baseline.indices], baseline.indices
    block = np.where(kept[:, :, None] & kept[:, None, :], baseline.covariance, 0.0)
    along = np.arange(len(lasting))
    variance = np.where(kept, np.diag(baseline.covariance), spread[:, lasting] ** 2)
    block[:, along, along] = variance
    mean[:, lasting] = np.where(kept, baseline.mean, mean[:, lasting])
    spread[:, lasting] = np.sqrt(variance)
    root = np.asarray(np.linalg.cholesky(block))
    alone = np.delete(spread, lasting, axis=1)
    ln_det = -2 * (np.log(root[:, along, along]).sum(axis=1) + np.log(alone).sum(axis=1))
    return Prior(mean, ln_det, spread, Root(lasting, root, np.asarray(np.linalg.inv(root))))


def independent_prior(mean: Array, spread: Array) -> Prior:
    """Return priors ``[h, unknown]`` of unknowns that hang on nothing else."""
    return Prior(mean, -2 * np.log(spread).sum(axis=1), spread)


_DESCRIBED = [INDEX[f"{run}_ohm"] for run in RUN_NAMES]


# Spoilt readings

# Assumed: one reading in 250 is spoilt; half of those have slipped in one of these ways: what the
# slip multiplies the value by, and how usual it is among them.
SPOILT_SHARE = 0.004
SLIPS: dict[Slip, tuple[float, float]] = {
    "point_right": (10.0, 0.3),
    "point_left": (0.1, 0.3),
    "sign": (-1.0, 0.25),
    "thousandths_as_whole": (1000.0, 0.1),
    "whole_as_thousandths": (0.001, 0.05),
}
SLIPPING_UNITS = (Unit.VOLT, Unit.AMPERE)
_SLIPPED = 0.5
# A slip must be told from a dead reading: no closer than this, in the reading's unit (assumed).
_LEAST_WIDTH = 0.03
# Of the readings spoilt, how many are another post of the same state, and how close at 12 V.
_WRONG_POST, _POST_SPREAD_V = 0.2, 0.08
# The span over which a reading spoilt in any other way may lie, at 12 V.
_SPAN = {Unit.VOLT: 24.0, Unit.AMPERE: 60.0, Unit.CELSIUS: 80.0, Unit.SHARE: 2.0, Unit.LIT: 1.0}


class SpoiltReadings:
    """The chance of each reading's value if it is spoilt: slipped, another post's, or anything."""

    def __init__(self, readings: Sequence[Reading], scales: Scales) -> None:
        """Prepare for some readings."""
        units = [reading.point.unit for reading in readings]
        at = [scales.at(reading.point) for reading in readings]
        span = np.array([_SPAN[unit] for unit in units]) * np.array(at)
        self._any = (1 - _SLIPPED - _WRONG_POST) / span
        self._any += np.array(
            [_other_post(one, readings, scale) for one, scale in zip(readings, at, strict=True)]
        )
        self._slipped = np.array([unit in SLIPPING_UNITS for unit in units]) * _SLIPPED

    def density(self, values: Array, predicted: Array, spread: Array) -> Array:
        """Return the density of each value, if spoilt, under each prediction.

        Parameters
        ----------
        values : the reading's unit
            ``[r]``.
        predicted, spread : the reading's unit
            ``[h, r]``.

        Returns
        -------
        1 over the reading's unit
        """
        density = np.broadcast_to(self._any, predicted.shape).copy()
        for factor, share in SLIPS.values():
            slipped = slip_density(values, predicted, spread, factor)
            density += self._slipped * share * slipped
        return density


def _other_post(reading: Reading, readings: Sequence[Reading], scale: float) -> float:
    """Density of a value as what another pair of posts shows in the same state."""
    if reading.point.red is None:
        return 0.0
    others = [
        other.value
        for other in readings
        if other.state is reading.state and other is not reading and other.point.red is not None
    ]
    spread = _POST_SPREAD_V * scale
    away = [min(abs(reading.value - value) / spread, _FARTHEST) for value in others]
    close = sum(math.exp(-0.5 * distance**2) for distance in away)
    return _WRONG_POST * close / (spread * math.sqrt(2 * math.pi)) / max(len(others), 1)


def slip_density(value: Array, predicted: Array, spread: Array, factor: float) -> Array:
    """Density of a value that is ``factor`` times what should have been read."""
    wide = np.maximum(slip_width(predicted, spread, factor), _LEAST_WIDTH)
    distance = np.minimum(np.abs(value - factor * predicted) / wide, _FARTHEST)
    return np.asarray(np.exp(-0.5 * distance**2) / (wide * np.sqrt(2 * np.pi)))


def slip_width(predicted: Array, spread: Array, factor: float) -> Array:
    """Spread of a slipped value about ``factor`` times the prediction (assumed)."""
    return np.asarray(abs(factor) * np.hypot(2 * spread, 0.04 * predicted))


# Whether the vehicle does as a row says

# Assumed, volts at 12 V: width of a threshold, and how far off it may be besides.
_THRESHOLD_WIDTH_V = 0.12
_HYSTERESIS_V = 0.15
# Assumed: a unit does otherwise than its thresholds say in one case of 300.
_AGAINST_ITS_THRESHOLD = 0.003
# Assumed: a charging alternator is found under the resting voltage, by more than the width,
# in one case of five; one saving fuel lets the battery carry the loads for long.
_UNDER_REST = 0.2
# No computer lets a charging alternator's voltage fall under a battery's at half charge (common
# practice, no published source); assumed, at 12 V: how sharply, and how often one is read lower.
_LOWEST_CHARGING_V, _LOWEST_WIDTH_V, _CHARGES_LOWER = 12.3, 0.06, 0.15
# Assumed: how often a sound regulator charges higher than it should.
_ABOVE_HIGHEST = 1e-4
# Assumed: how sharply a lithium battery's protection knows its limit, and how often one lets
# itself be charged under it.
_COLD_WIDTH_C, _CHARGED_COLD = 1.0, 0.04

# Assumed, at 12 V: how sharply the volts read at its input bound where a unit holds it.
_HELD_OVER_V, _HELD_WIDTH_V, _HELD_HIGHER = 0.06, 0.03, 1e-4

# Assumed: how sharply, in volts at 12 V, a battery that nothing charges keeps under its highest
# volts, and how often one does not.
_HIGHEST_WIDTH_V, _RESTS_HIGHER = 0.06, 1e-3
# Assumed: how sharply, as a logarithm, a sound run keeps under its most, and how often one does not
# that nobody would put right.
_SOUND_RUN_WIDTH, _LOSES_MORE = 0.12, 0.02

_GATED_NAMES = (
    *("supply_idle_v", "supply_fast_v", "supply_rest_v", "supply_sag_v"),
    *("house_c", "house_rest_v", "hold_v"),
    *(f"{run}_ohm" for run in RUN_NAMES),
)
_GATED = np.array([INDEX[name] for name in _GATED_NAMES])


@dataclass(frozen=True)
class RunningTerms:
    """What doing as a row says adds to the fit.

    ``ln_chance[h]``, its ``pull[h, gated unknown]``, and its curvature: ``bend[h, t]`` along each
    threshold's ``slope[h, t, gated unknown]``.
    """

    ln_chance: Array
    pull: Array
    bend: Array
    slope: Array

    def take(self, rows: Indices) -> "RunningTerms":
        """Return some of the rows."""
        return RunningTerms(
            self.ln_chance[rows], self.pull[rows], self.bend[rows], self.slope[rows]
        )

    def joined(self, other: "RunningTerms") -> "RunningTerms":
        """Return the rows of both."""
        return RunningTerms(
            np.concatenate([self.ln_chance, other.ln_chance]),
            np.concatenate([self.pull, other.pull]),
            np.concatenate([self.bend, other.bend]),
            np.concatenate([self.slope, other.slope]),
        )

    def put(self, rows: Indices, other: "RunningTerms") -> "RunningTerms":
        """Return these with some rows as in ``other``, which has the same thresholds."""
        ln_chance, pull, bend = self.ln_chance.copy(), self.pull.copy(), self.bend.copy()
        ln_chance[rows], pull[rows], bend[rows] = (
            one[rows] for one in (other.ln_chance, other.pull, other.bend)
        )
        return RunningTerms(ln_chance, pull, bend, self.slope)

    def added_to(self, precision: Array) -> Array:
        """Add the curvature to a matrix over all unknowns, in place."""
        curvature = (self.slope * self.bend[:, :, None]).transpose(0, 2, 1) @ self.slope
        precision[:, _GATED[:, None], _GATED[None, :]] += curvature
        return precision


class _Threshold(NamedTuple):
    """A sum of unknowns, by ``slope``, over (1) or under (-1) a threshold; 0 where it is none."""

    slope: Array
    side: Array
    at: Array | float
    width: float
    least_chance: float


@dataclass(frozen=True)
class Thresholds:
    """What the thresholds of one vehicle are: no Gaussian prior can say such things.

    A unit runs where a row says it does, an alternator that charges holds the start battery no
    lower than it rests and no higher than a sound regulator would, and a lithium battery that
    takes charge is not colder than its protection allows.
    """

    scales: Scales
    highest_charging_v: Volt
    """No sound regulator of this vehicle holds the start battery higher."""
    coldest_c: Celsius | None
    """Under it the house battery's own protection keeps charge out; ``None`` if it has none."""
    highest_rest_v: Volt
    """No house battery rests higher that nothing charges."""
    most_ohm: Mapping[str, Ohm]
    """By run: above it the run is not sound, however it is described."""
    input_v: Mapping[State, Volt] = field(default_factory=dict)
    """At the charger's input, by state, where it was read: no unit at work holds it higher."""

    def most_held_v(self, rows: Hypotheses) -> Array:
        """Return the highest hold level ``[h]`` over its stop voltage at which a unit may work, V.

        Infinite where its input was not read at work.
        """
        read = np.array([self.input_v.get(state, np.inf) for state in STATES])
        return np.asarray(np.where(rows.on, read, np.inf).min(axis=1) - rows.stop_v)

    def of(self, rows: Hypotheses) -> "RowThresholds":
        """Return the thresholds of some rows."""
        each = tuple(self._of(rows))
        return RowThresholds(
            slope=np.stack([one.slope for one in each], axis=1),
            side=np.stack([one.side for one in each], axis=1),
            at=np.stack([one.at + np.zeros(len(rows)) for one in each], axis=1),
            width=np.array([one.width for one in each]),
            least_chance=np.array([one.least_chance for one in each]),
        )

    def _of(self, rows: Hypotheses) -> Iterator[_Threshold]:
        width, hysteresis = (
            _THRESHOLD_WIDTH_V * self.scales.vehicle,
            _HYSTERESIS_V * self.scales.vehicle,
        )
        for fast in (0, 1):
            side = rows.start_side[:, fast]
            # Once it has started, its own draw may pull the supply down to where it stops.
            at = np.where(side > 0, rows.stop_v - hysteresis, rows.start_v + hysteresis)
            slope = _supply_slope(rows, fast)
            yield _Threshold(slope, side, at, width, _AGAINST_ITS_THRESHOLD)
        charges = np.where(rows.on_battery, 0.0, 1.0)
        idles = _direction(rows, supply_idle_v=1.0)
        lowest_v = _LOWEST_CHARGING_V * self.scales.vehicle
        lowest_width = _LOWEST_WIDTH_V * self.scales.vehicle
        yield _Threshold(idles, charges, lowest_v, lowest_width, _CHARGES_LOWER)
        above_rest = _direction(rows, supply_idle_v=1.0, supply_rest_v=-1.0)
        yield _Threshold(above_rest, charges, -hysteresis, width, _UNDER_REST)
        only_fast = rows.overcharging & rows.changed[:, INDEX["supply_fast_v"]]
        for fast in (0, 1):
            # Overcharging shows in the state whose volts it changes, or in both.
            high = rows.overcharging & ((fast == 1) | ~only_fast)
            supply = _direction(rows, supply_idle_v=1.0, supply_fast_v=float(fast))
            towards = charges * np.where(high, 1.0, -1.0)
            yield _Threshold(supply, towards, self.highest_charging_v, width, _ABOVE_HIGHEST)
        most_held_v = self.most_held_v(rows)
        works = np.where(np.isfinite(most_held_v) & ~rows.changed[:, INDEX["hold_v"]], -1.0, 0.0)
        held = _direction(rows, hold_v=1.0)
        at = np.where(works < 0, most_held_v, 0.0) + _HELD_OVER_V * self.scales.vehicle
        yield _Threshold(held, works, at, _HELD_WIDTH_V * self.scales.vehicle, _HELD_HIGHER)
        if self.coldest_c is not None:
            takes = np.where(rows.blocks_charging | rows.blocks_all, 0.0, 1.0)
            house = _direction(rows, house_c=1.0)
            yield _Threshold(house, takes, self.coldest_c, _COLD_WIDTH_C, _CHARGED_COLD)
        alone = np.where(rows.fed, 0.0, -1.0)
        width = _HIGHEST_WIDTH_V * self.scales.house
        rests = _direction(rows, house_rest_v=1.0)
        yield _Threshold(rests, alone, self.highest_rest_v, width, _RESTS_HIGHER)
        for run, most in self.most_ohm.items():
            ohm = _direction(rows, **{f"{run}_ohm": 1.0})
            under = np.full(len(rows), -1.0)
            yield _Threshold(ohm, under, math.log(most), _SOUND_RUN_WIDTH, _LOSES_MORE)


@dataclass(frozen=True)
class RowThresholds:
    """The thresholds ``t`` of some rows ``h``: sums of the gated unknowns, over or under a value.

    ``slope[h, t, gated unknown]``, ``side[h, t]`` and ``at[h, t]``; ``width[t]`` and
    ``least_chance[t]``.
    """

    slope: Array
    side: Array
    at: Array
    width: Array
    least_chance: Array

    def take(self, rows: Indices) -> "RowThresholds":
        """Return those of some of the rows."""
        return RowThresholds(
            self.slope[rows], self.side[rows], self.at[rows], self.width, self.least_chance
        )

    def terms(self, theta: Array) -> RunningTerms:
        """Weigh how probable each row's unknowns make it that the vehicle does as the row says.

        Parameters
        ----------
        theta : in the coordinates of the fit
            ``[h, unknown]``.
        """
        side, width, least = self.side, self.width, self.least_chance
        value = (self.slope @ theta[:, _GATED, None])[:, :, 0]
        over = side * (value - self.at) / width
        inside = 1 / (1 + np.exp(-np.clip(over, -60, 60)))
        ln_chance = np.where(side != 0, np.log(inside + least), 0.0).sum(axis=1)
        # Far on the wrong side only the least chance is left, and nothing pulls any more.
        held = inside / (inside + least)
        pull = side * (1 - inside) * held / width
        bend = np.abs(side) * inside * (1 - inside) * held / width**2
        return RunningTerms(ln_chance, (pull[:, None, :] @ self.slope)[:, 0], bend, self.slope)


def _direction(rows: Hypotheses, **of: float) -> Array:
    """Return the slope ``[h, gated unknown]`` of a sum of unknowns, the same for each row."""
    slope = np.zeros((len(rows), len(_GATED)))
    for name, share in of.items():
        slope[:, _GATED_NAMES.index(name)] = share
    return slope


def _supply_slope(rows: Hypotheses, fast: int) -> Array:
    """Return how the supply at idle or fast idle depends on its unknowns."""
    slope = np.zeros((len(rows), len(_GATED)))
    battery = rows.on_battery
    slope[:, 0] = ~battery
    slope[:, 1] = fast
    slope[:, 2] = battery
    slope[:, 3] = -1.0 * battery
    return slope


# The fit

# Step by step: how much of the prior's width is added to the noise, the smoothing inside the
# circuit as a share of the rating, and whether spoilt readings are told by the mixture yet.
SCHEDULE = (
    (1.0, 0.15, False),
    (0.6, 0.06, False),
    (0.35, 0.03, False),
    (0.15, 0.015, False),
    (0.05, 0.01, False),
    (0.0, 0.008, False),
    (0.0, 0.006, True),
    (0.0, 0.005, True),
    (0.0, 0.005, True),
)
# Rows that are out of question are left out on the way: first by their robust misfit, which
# is already plain after the first steps, then by their score.
_PRUNE_MISFIT = {0: 34.0, 1: 30.0, 2: 26.0}
_PRUNE_BELOW = {3: 40.0, 4: 20.0}
# A way of the same answer so far behind its best adds nothing to it.
_PRUNE_BEHIND_OWN = {2: 16.0, 3: 10.0, 4: 7.0}
_FINAL_SMOOTHING = 0.005
# Where to begin from the fit of something near: of one fault, where a second is tried beside it.
FROM_NEAR = 2
# Where to begin from the likeliest row of all, when others were fitted before from elsewhere.
FROM_THE_BEST = 3
# Where to begin from a fit that holds as it is.
SETTLED = 5
_RIVALS = 16
_CAUCHY = 3.0
_LONGEST_STEP = 3.0
# So many rows are stepped at once.
_BLOCK = 48


@dataclass(frozen=True)
class Problem:
    """What is fitted: the metered readings with their ``values[r]``, and the lamps."""

    predictor: Predictor
    values: Array
    spoilt: SpoiltReadings
    lamps: tuple[Reading, ...]
    rated_output_a: Ampere
    thresholds: Thresholds
    habits: tuple[Habit, ...] = ()
    """How the vehicle's supply may go when it is sound."""
    read_outright: Mapping[str, float] = field(default_factory=dict)
    """Unknowns, by name and in the coordinates of the fit, that a reading shows as they are."""

    def running(self, rows: Hypotheses, theta: Array) -> RunningTerms:
        """Weigh whether the vehicle does as the rows say."""
        return self.thresholds.of(rows).terms(theta)

    def ln_readings(self, predicted: Prediction) -> Array:
        """Return the log-density of each reading ``[h, r]``, good or spoilt."""
        return _mixture(self, predicted)[0]


@dataclass(frozen=True)
class Fit:
    """Fitted hypotheses: their best unknowns ``theta[h, unknown]`` and what they predict there.

    ``ln_evidence[h]`` is the log-probability of all readings, ``good[h, r]`` the probability that a
    reading is not spoilt.
    """

    rows: Hypotheses
    prior: Prior
    theta: Array
    ln_evidence: Array
    predicted: Prediction
    good: Array
    running: RunningTerms
    """How probable it is that the vehicle does as each row says."""
    kept: Indices
    """Which of the rows given to the fit these are."""

    @property
    def ln_weight(self) -> Array:
        """Log of prior times evidence of each row, up to a constant."""
        return self.rows.ln_prior + self.rows.ln_conditions + self.ln_evidence

    def take(self, rows: Indices) -> "Fit":
        """Return some of the rows."""
        return Fit(
            self.rows.take(rows),
            self.prior.take(rows),
            self.theta[rows],
            self.ln_evidence[rows],
            self.predicted.take(rows),
            self.good[rows],
            self.running.take(rows),
            self.kept[rows],
        )

    def covariance(self, rows: Indices) -> Array:
        """Return some rows' covariance of the unknowns after the readings."""
        one = self.take(rows)
        precision = _after_readings(one.prior, one.predicted, one.good, one.running)
        return np.asarray(np.linalg.inv(precision))

    def or_better(self, other: "Fit") -> "Fit":
        """Return both fits as one; of a row that both have, the better of the two."""
        have = {key: row for row, key in enumerate(self.rows.keys)}
        better, worse = [], []
        for row, key in enumerate(other.rows.keys):
            ours = have.get(key)
            if ours is None or other.ln_evidence[row] > self.ln_evidence[ours]:
                better.append(row)
                worse += [] if ours is None else [ours]
        kept = np.setdiff1d(np.arange(len(self.rows)), np.array(worse, dtype=np.intp))
        return self.take(kept).joined(other.take(np.array(better, dtype=np.intp)))

    def joined(self, other: "Fit") -> "Fit":
        """Return both fits as one."""
        return Fit(
            self.rows.joined(other.rows),
            self.prior.joined(other.prior),
            np.concatenate([self.theta, other.theta]),
            np.concatenate([self.ln_evidence, other.ln_evidence]),
            self.predicted.joined(other.predicted),
            np.concatenate([self.good, other.good]),
            self.running.joined(other.running),
            np.concatenate([self.kept, other.kept]),
        )


def fit(
    problem: Problem,
    rows: Hypotheses,
    prior: Prior,
    start: Array | None = None,
    first: int = 0,
    *,
    patient: Flags | None = None,
) -> Fit:
    """Fit every row to the readings and weigh it.

    Rows far behind the best after a few steps are left out of the result.

    Parameters
    ----------
    problem
        The readings.
    rows, prior
        The hypotheses, and their unknowns before the readings.
    start : in the coordinates of the fit
        ``[h, unknown]``, where a fit of something near ended.
    first
        The step of :data:`SCHEDULE` to begin with: from near, the last ones are enough.
    patient
        ``[h]``, rows that begin far off: their first steps tell nothing, and leave none out.
    """
    theta = _beginning(problem, prior) if start is None else start.copy()
    _let_it_work(problem, rows, prior, theta)
    thresholds = problem.thresholds.of(rows)
    wide: Array | None = None
    left = np.arange(len(rows))
    before: _Standing | None = None
    for step, (breadth, smoothing, mixed) in enumerate(SCHEDULE[first:], first):
        predicted = problem.predictor.predict(rows, theta, smoothing * problem.rated_output_a)
        now = _Standing.at(theta, predicted, prior, thresholds)
        if wide is None:
            wide = _spread_before(prior, predicted) / predicted.noise
        if before is not None:
            now = now.or_back_at(before, problem, rows, None if mixed else wide**breadth)
        spread = now.predicted.noise * wide**breadth
        weight = _weights(problem, now.predicted, spread, mixed)
        moved = _newton_step(problem, prior, now, weight / spread**2)
        theta = now.theta + now.share[:, None] * moved
        before = now
        kept = _kept(problem, rows, now, step, weight)
        if patient is not None and step in _PRUNE_MISFIT:
            kept = np.union1d(kept, np.flatnonzero(patient[left]))
        if len(kept) < len(rows):
            rows, prior, thresholds = rows.take(kept), prior.take(kept), thresholds.take(kept)
            theta, wide = theta[kept], wide[kept]
            left, before = left[kept], before.take(kept)
    return _weighed(problem, rows, prior, theta, left)


# A step that ends worse by more than this, as a logarithm, is taken back and made shorter.
_WORSE, _SHORTER = 3.0, 0.4


@dataclass(frozen=True)
class _Standing:
    """Where each row stands, what that predicts, and how long its next step may be."""

    theta: Array
    predicted: Prediction
    running: RunningTerms
    ln_known: Array
    """Log of how probable the unknowns ``[h]`` are before the readings."""
    share: Array

    @classmethod
    def at(
        cls, theta: Array, predicted: Prediction, prior: Prior, thresholds: RowThresholds
    ) -> "_Standing":
        running = thresholds.terms(theta)
        ln_known = prior.ln_density(theta) + running.ln_chance
        return cls(theta, predicted, running, ln_known, np.ones(len(theta)))

    def take(self, rows: Indices) -> "_Standing":
        return _Standing(
            self.theta[rows],
            self.predicted.take(rows),
            self.running.take(rows),
            self.ln_known[rows],
            self.share[rows],
        )

    def or_back_at(
        self, before: "_Standing", problem: Problem, rows: Hypotheses, wide: Array | None
    ) -> "_Standing":
        """Return where each row goes on from: where its step has led, or where it was before.

        Around a corner of the circuit (where another limit takes over) a full step may overshoot.
        """
        worse = self._misfit(problem, rows, wide) > before._misfit(problem, rows, wide) + _WORSE
        # Once only: what was predicted before was smoother, and must not hold a row for ever.
        back = np.flatnonzero(worse & (before.share == 1))
        if not len(back):
            return self
        theta, ln_known, share = self.theta.copy(), self.ln_known.copy(), self.share.copy()
        theta[back], ln_known[back] = before.theta[back], before.ln_known[back]
        share[back] = _SHORTER
        predicted = self.predicted.put(back, before.predicted)
        return _Standing(theta, predicted, self.running.put(back, before.running), ln_known, share)

    def score(self, problem: Problem, rows: Hypotheses) -> Array:
        """Return the log of each row's weight ``[h]`` where it stands."""
        readings = _mixture(problem, self.predicted)[0].sum(axis=1)
        return np.asarray(rows.ln_prior + readings + self.ln_known)

    def _misfit(self, problem: Problem, rows: Hypotheses, wide: Array | None) -> Array:
        """Return how badly each row fits ``[h]``, far readings counting little.

        ``wide`` is by how much their noise is widened, ``None`` once spoilt readings are told
        apart.
        """
        if wide is None:
            return -self.score(problem, rows)
        distance = (problem.values - self.predicted.value) / (self.predicted.noise * wide)
        far = 0.5 * _CAUCHY**2 * np.log1p((distance / _CAUCHY) ** 2).sum(axis=1)
        return np.asarray(far - self.ln_known)


# A fit begins at what was read only where that is within so many spreads of what is usual.
_NEAR = 6.0


def _beginning(problem: Problem, prior: Prior) -> Array:
    """Return where to begin: at the priors' means, or at what was read outright.

    Which limit sets the current hangs on the supply, and a fit that begins under the wrong one
    does not come back by small steps.
    """
    theta = prior.mean.copy()
    for name, value in problem.read_outright.items():
        column = INDEX[name]
        near = np.abs(value - prior.mean[:, column]) < _NEAR * prior.spread[:, column]
        theta[near, column] = value
    return theta


# Assumed, at 12 V: how far under the lowest volts read at its input a fit begins to hold it, and
# how far from what is usual at most, in spreads.
_BELOW_LOWEST_V, _FAR_HOLD = 0.05, 3.0


def _let_it_work(problem: Problem, rows: Hypotheses, prior: Prior, theta: Array) -> None:
    """Begin no fit with an input held above what was read at it, in place.

    A unit that would have to lift its input gives nothing, and from there no slope leads back.
    """
    column, scale = INDEX["hold_v"], problem.thresholds.scales.vehicle
    most = problem.thresholds.most_held_v(rows) - _BELOW_LOWEST_V * scale
    most = np.maximum(most, prior.mean[:, column] - _FAR_HOLD * prior.spread[:, column])
    own = rows.changed[:, column]
    theta[:, column] = np.where(own, theta[:, column], np.minimum(theta[:, column], most))


def _spread_before(prior: Prior, predicted: Prediction) -> Array:
    """Spread of each reading ``[h, r]`` before any is known: noise and prior together."""
    variance = predicted.noise**2
    for block in _blocks(len(variance)):
        parts = predicted.slope[block] * prior.spread[block, None, :]
        variance[block] += (parts * parts).sum(axis=2)
    return np.asarray(np.sqrt(variance))


def _weights(problem: Problem, predicted: Prediction, spread: Array, mixed: bool) -> Array:
    if mixed:
        return _mixture(problem, predicted)[1]
    distance = np.abs(problem.values - predicted.value) / spread
    return np.asarray(1 / (1 + (distance / _CAUCHY) ** 2))


def _mixture(problem: Problem, predicted: Prediction) -> tuple[Array, Array]:
    """Log-likelihood of each reading, and the probability that it is a good one."""
    value, noise = predicted.value, predicted.noise
    distance = np.minimum(np.abs(problem.values - value) / noise, 38.0)
    good = (1 - SPOILT_SHARE) * np.exp(-0.5 * distance**2) / (noise * np.sqrt(2 * np.pi))
    bad = SPOILT_SHARE * problem.spoilt.density(problem.values, value, noise)
    return np.log(good + bad), good / (good + bad)


def _blocks(rows: int) -> Iterator[Indices]:
    """Yield the rows in blocks: made for all at once, the parts outweigh what is kept of them."""
    for first in range(0, rows, _BLOCK):
        yield np.arange(first, min(first + _BLOCK, rows))


def _newton_step(problem: Problem, prior: Prior, now: _Standing, weight: Array) -> Array:
    """Return each row's step ``[h, unknown]``; ``weight[h, r]`` is one over a variance."""
    predicted, running = now.predicted, now.running
    residual = problem.values - predicted.value
    pull = ((weight * residual)[:, None, :] @ predicted.slope)[:, 0]
    pull[:, _GATED] += running.pull
    towards = prior.scaled(pull[:, None, :])[:, 0] - prior.unscaled(now.theta - prior.mean)
    root = np.sqrt(np.concatenate([weight, running.bend], axis=1))
    step = np.empty_like(now.theta)
    for block in _blocks(len(step)):
        own = prior.take(block)
        bounds = np.zeros((len(block), running.slope.shape[1], len(NAMES)))
        bounds[:, :, _GATED] = running.slope[block]
        slope = np.concatenate([predicted.slope[block], bounds], axis=1)
        # In units of the prior's own spreads the inverse is no larger than the readings are many.
        scaled = own.scaled(slope)
        scaled *= root[block, :, None]
        inner = scaled @ scaled.transpose(0, 2, 1)
        inner[:, np.arange(inner.shape[1]), np.arange(inner.shape[1])] += 1
        along = np.linalg.solve(inner, scaled @ towards[block, :, None])
        step[block] = own.rescaled(towards[block] - (scaled.transpose(0, 2, 1) @ along)[:, :, 0])
    longest = _LONGEST_STEP * prior.spread
    return np.clip(step, -longest, longest)


def _kept(problem: Problem, rows: Hypotheses, now: _Standing, step: int, weight: Array) -> Indices:
    """Return the rows to go on with after a step."""
    if step in _PRUNE_MISFIT:
        merit, below = 2 * np.log(weight).sum(axis=1), _PRUNE_MISFIT[step]
    elif step in _PRUNE_BELOW:
        merit, below = now.score(problem, rows), _PRUNE_BELOW[step]
    else:
        return np.arange(len(rows))
    kept = (merit > merit.max() - below) | _rivals(rows, merit)
    if step in _PRUNE_BEHIND_OWN:
        kept &= merit > _best_of_answer(rows, merit) - _PRUNE_BEHIND_OWN[step]
    return np.flatnonzero(kept)


def _best_of_answer(rows: Hypotheses, merit: Array) -> Array:
    """Return the best merit ``[h]`` among the rows of the same answer."""
    best: dict[tuple[FaultId, ...], float] = {}
    for answer, one in zip(rows.faults, merit.tolist(), strict=True):
        best[answer] = max(best.get(answer, -math.inf), one)
    return np.array([best[answer] for answer in rows.faults])


def _rivals(rows: Hypotheses, score: Array) -> Flags:
    """Keep the best row of the first answers and of nothing wrong: the rivals of any evidence."""
    kept = np.zeros(len(rows), dtype=np.bool_)
    seen: set[tuple[FaultId, ...]] = set()
    for row in np.argsort(-score, kind="stable"):
        answer = rows.faults[row]
        if answer not in seen:
            nothing_wrong = all(one.fault.nothing_is_wrong for one in rows.manifestations[row])
            kept[row] = nothing_wrong or len(seen) < _RIVALS
        seen.add(answer)
    return kept


def _weighed(problem: Problem, rows: Hypotheses, prior: Prior, theta: Array, kept: Indices) -> Fit:
    smoothing = _FINAL_SMOOTHING * problem.rated_output_a
    predicted = problem.predictor.predict(rows, theta, smoothing)
    running = problem.running(rows, theta)
    ln_evidence = ln_lamps(rows, problem.lamps)
    for block in _blocks(len(rows)):
        ln_evidence[block] += _ln_evidence(
            problem,
            rows.take(block),
            prior.take(block),
            theta[block],
            predicted.take(block),
            running.take(block),
        )
    good = _mixture(problem, predicted)[1]
    return Fit(rows, prior, theta, ln_evidence, predicted, good, running, kept)


def _ln_evidence(
    problem: Problem,
    rows: Hypotheses,
    prior: Prior,
    theta: Array,
    predicted: Prediction,
    running: RunningTerms,
) -> Array:
    """Return the log-probability of the metered readings ``[h]``."""
    found, precision = _evidence(problem, prior, theta, predicted, running)
    careful = np.flatnonzero(~rows.hurried)
    still, _ = _evidence(
        problem,
        prior.take(careful),
        theta[careful],
        predicted.take(careful).steady,
        running.take(careful),
    )
    moving = np.log1p(-STEADY.share) + found[careful]
    found[careful] = np.logaddexp(np.log(STEADY.share) + still, moving)
    found += ln_habits(problem.habits, rows, prior, theta, precision)
    found += ln_ratings_sold(problem.rated_output_a, rows, prior, theta, precision)
    return found


def _after_readings(
    prior: Prior, predicted: Prediction, good: Array, running: RunningTerms
) -> Array:
    """Return the inverse of the unknowns' covariance ``[h, unknown, unknown]``."""
    found = prior.precision
    weight = good / predicted.noise**2
    for block in _blocks(len(predicted.value)):
        slope = predicted.slope[block]
        found[block] += (slope * weight[block, :, None]).transpose(0, 2, 1) @ slope
    return running.added_to(found)


def _evidence(
    problem: Problem, prior: Prior, theta: Array, predicted: Prediction, running: RunningTerms
) -> tuple[Array, Array]:
    """Return the log-probability of the metered readings ``[h]``, from near the best unknowns.

    What a last step to the best would gain is counted in.  With it the inverse of the unknowns'
    covariance ``[h, unknown, unknown]``.
    """
    ln_likelihood, good = _mixture(problem, predicted)
    precision = _after_readings(prior, predicted, good, running)
    ln_peak = prior.ln_density(theta) + ln_likelihood.sum(axis=1) + running.ln_chance
    pull = good * (problem.values - predicted.value) / predicted.noise**2
    towards = (pull[:, None, :] @ predicted.slope)[:, 0]
    towards[:, _GATED] += running.pull
    towards -= prior.pull(theta)
    step = np.linalg.solve(precision, towards[:, :, None])[:, :, 0]
    gain = np.minimum(0.5 * (towards * step).sum(axis=1), _MOST_GAINED)
    return laplace(ln_peak, precision) + gain, precision


# A last step that promises more than this leads too far for its promise to hold.
_MOST_GAINED = 2.0


def ln_habits(
    habits: Sequence[Habit], rows: Hypotheses, prior: Prior, theta: Array, precision: Array
) -> Array:
    """Return by how much the supply's habits explain the readings better than one Gaussian.

    The fit works with one Gaussian over all that a supply may do.  What the readings say of its
    two unknowns, that prior taken out, is weighed anew under the mixture.  What a fault says of
    an unknown stays as it is, and a battery alone has no habits.

    Parameters
    ----------
    habits
        None leaves all as it is.
    rows, prior, theta, precision
        As fitted.

    Returns
    -------
    1
        ``[h]``, a logarithm.
    """
    if not habits or not len(rows):
        return np.zeros(len(rows))
    columns = [INDEX[name] for name in SUPPLY_NAMES]
    pair = np.zeros((len(NAMES), len(columns)))
    pair[columns, range(len(columns))] = 1.0
    known = np.linalg.solve(precision, np.broadcast_to(pair, (len(rows), *pair.shape)))
    after = np.linalg.inv(known[:, columns])
    mean, spread = prior.mean[:, columns], prior.spread[:, columns]
    before = spread[:, :, None] ** -2 * np.eye(len(columns))
    told = after - before
    pull = (after @ theta[:, columns, None])[:, :, 0] - mean / spread**2

    def ln_weighed(centre: Array, width: Array) -> Array:
        inner = told + width[:, :, None] ** -2 * np.eye(len(columns))
        towards = pull + centre / width**2
        square = (towards * np.linalg.solve(inner, towards[:, :, None])[:, :, 0]).sum(axis=1)
        away = square - (centre**2 / width**2).sum(axis=1)
        return np.asarray(0.5 * (away - np.linalg.slogdet(inner)[1]) - np.log(width).sum(axis=1))

    own = rows.changed[:, columns]
    each = [
        np.log(habit.share)
        + ln_weighed(
            np.where(own, mean, [habit.idle_v.mean, habit.fast_v.mean]),
            np.where(own, spread, [habit.idle_v.spread, habit.fast_v.spread]),
        )
        for habit in habits
    ]
    gained = np.logaddexp.reduce(each) - ln_weighed(mean, spread)
    return np.where(rows.on_battery, 0.0, gained)


# What chargers are sold in, A (common practice, no published source), how surely another rating is
# one of these, how close to the one entered it is no other, as a logarithm, and what a unit gives
# over its rating, as in a sound one (assumed).
_RATINGS_SOLD_A = (10, 15, 20, 25, 30, 40, 50, 60, 80)
_IS_SOLD, _SAME_RATING, _GIVES, _GIVES_SPREAD = 0.45, 0.1, 0.03, 0.035


def ln_ratings_sold(
    entered_a: Ampere, rows: Hypotheses, prior: Prior, theta: Array, precision: Array
) -> Array:
    """Return by how much it explains the readings better that units come in ratings.

    Of a row that says the rating is another one, the broad prior of what the unit gives is
    weighed anew as a mixture over the ratings that are sold.

    Parameters
    ----------
    entered_a : A
        The rating as entered.
    rows, prior, theta, precision
        As fitted.

    Returns
    -------
    1
        ``[h]``, a logarithm; 0 for rows that leave the rating as it was entered.
    """
    gained = np.zeros(len(rows))
    other = np.flatnonzero(rows.other_rating)
    if not len(other):
        return gained
    column = INDEX["output_share"]
    unit = np.zeros((len(other), len(NAMES), 1))
    unit[:, column] = 1.0
    variance = np.linalg.solve(precision[other], unit)[:, column, 0]
    mean, spread = prior.mean[other, column], prior.spread[other, column]
    told = np.maximum(1 / variance - 1 / spread**2, 1e-9)
    seen = (theta[other, column] / variance - mean / spread**2) / told
    ratio = np.log(np.array(_RATINGS_SOLD_A) / entered_a)
    centre = ratio[np.abs(ratio) > _SAME_RATING] + _GIVES
    share = _ln_normal(centre, mean[:, None], spread[:, None] ** 2)
    share -= np.logaddexp.reduce(share, axis=1, keepdims=True)
    width = _GIVES_SPREAD**2 + 1 / told[:, None]
    sold = np.logaddexp.reduce(share + _ln_normal(seen[:, None], centre, width), axis=1)
    broad = _ln_normal(seen, mean, spread**2 + 1 / told)
    mixed = np.logaddexp(np.log(_IS_SOLD) + sold, np.log1p(-_IS_SOLD) + broad)
    gained[other] = mixed - broad
    return gained


def _ln_normal(value: Array, mean: Array, variance: Array) -> Array:
    return np.asarray(-0.5 * ((value - mean) ** 2 / variance + np.log(variance) + _LN_2PI))


def laplace(ln_peak: Array, precision: Array) -> Array:
    """Log of the integral of a Gaussian-like peak.

    Parameters
    ----------
    ln_peak : 1
        ``[h]``, log of the height.
    precision : 1 over the unknowns' units squared
        ``[h, unknown, unknown]``, the negative second derivatives of the log at the peak.

    Returns
    -------
    1
        ``[h]``.
    """
    ln_det = np.linalg.slogdet(precision)[1]
    return np.asarray(ln_peak + 0.5 * (precision.shape[-1] * _LN_2PI - ln_det))


def normalised(ln_weight: Array) -> Array:
    """Turn log weights ``[h]`` into probabilities that sum to one."""
    weight = np.exp(ln_weight - ln_weight.max())
    return np.asarray(weight / weight.sum())


# What commissioning taught


def learnt_at_commissioning(
    problem: Problem, rows: Hypotheses, meter_spreads: dict[str, float]
) -> BaselinePrior:
    """Return what the commissioning readings teach, taking the vehicle as sound on that day.

    The same fit as for today's readings, over the answers in which the equipment is sound.  What
    a vehicle keeps (its runs' resistances, its unit's efficiency ...) starts from there, widened
    by what age alone may change.

    Parameters
    ----------
    problem
        The commissioning readings.
    rows
        All single hypotheses of the installation.
    meter_spreads
        Of the meter's own unknowns, by name: on that day another meter may have been used.
    """
    sound = [all(one.fault.equipment_is_sound for one in row) for row in rows.manifestations]
    picked = rows.take(np.flatnonzero(sound))
    picked = picked.joined(picked.in_a_hurry())
    found = fit(problem, picked, gaussian_prior(picked, meter_spreads))
    best = int(np.argmax(found.ln_weight))
    indices = np.array([INDEX[name] for name in LASTING])
    covariance = found.covariance(np.array([best]))[0][np.ix_(indices, indices)]
    ageing = [
        (change * problem.thresholds.scales.of(name)) ** 2 for name, change in LASTING.items()
    ]
    return BaselinePrior(
        indices,
        found.theta[best, indices],
        covariance + np.diag(ageing),
    )
