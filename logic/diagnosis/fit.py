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
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId, Reading, Slip
from logic.diagnosis.hypotheses import Hypotheses
from logic.diagnosis.prediction import Prediction, Predictor, ln_lamps
from logic.diagnosis.unknowns import INDEX, LASTING, NAMES, VOLTS
from logic.quantities import Ampere
from logic.vehicle.points import Unit

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
class Prior:
    """The unknowns before today's readings, one Gaussian a hypothesis.

    ``mean`` and ``spread`` are ``[h, unknown]``, ``precision`` (the inverse of the covariance)
    ``[h, unknown, unknown]``, ``ln_det`` of it ``[h]``; in the coordinates of the fit.
    """

    mean: Array
    precision: Array
    ln_det: Array
    spread: Array

    def take(self, rows: Indices) -> "Prior":
        """Return some of the rows."""
        return Prior(self.mean[rows], self.precision[rows], self.ln_det[rows], self.spread[rows])

    def joined(self, other: "Prior") -> "Prior":
        """Return the rows of both."""
        return Prior(
            np.concatenate([self.mean, other.mean]),
            np.concatenate([self.precision, other.precision]),
            np.concatenate([self.ln_det, other.ln_det]),
            np.concatenate([self.spread, other.spread]),
        )

    def ln_density(self, theta: Array) -> Array:
        """Return the log of each row's density ``[h]`` at unknowns ``[h, unknown]``."""
        away = theta - self.mean
        square = ((self.precision @ away[:, :, None])[:, :, 0] * away).sum(axis=1)
        return np.asarray(0.5 * (self.ln_det - square - len(NAMES) * _LN_2PI))


def gaussian_prior(
    rows: Hypotheses, meter_spreads: dict[str, float], baseline: BaselinePrior | None = None
) -> Prior:
    """Return the rows' priors: their own, unknown by unknown, and what commissioning taught.

    Parameters
    ----------
    rows
        The hypotheses.
    meter_spreads
        Standard spreads of the meter's own unknowns, by name.
    baseline
        What the commissioning readings taught about unknowns that a vehicle keeps; a row that
        changes an unknown does not inherit it.
    """
    mean, spread = rows.mean.copy(), rows.spread.copy()
    for name, value in meter_spreads.items():
        spread[:, INDEX[name]] = value
    diagonal = np.arange(len(NAMES))
    precision = np.zeros((len(rows), len(NAMES), len(NAMES)))
    if baseline is None:
        precision[:, diagonal, diagonal] = spread**-2
        return Prior(mean, precision, -2 * np.log(spread).sum(axis=1), spread)
    covariance = precision
    covariance[:, diagonal, diagonal] = spread**2
    kept, lasting = ~rows.changed[:, baseline.indices], baseline.indices
    block = np.where(kept[:, :, None] & kept[:, None, :], baseline.covariance, 0.0)
    along = np.arange(len(lasting))
    block[:, along, along] = np.where(
        kept, np.diag(baseline.covariance), covariance[:, lasting, lasting]
    )
    covariance[:, lasting[:, None], lasting[None, :]] = block
    mean[:, lasting] = np.where(kept, baseline.mean, mean[:, lasting])
    spread = np.sqrt(covariance[:, diagonal, diagonal])
    ln_det = -np.linalg.slogdet(covariance)[1]
    return Prior(mean, np.asarray(np.linalg.inv(covariance)), ln_det, spread)


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

    def __init__(self, readings: Sequence[Reading], scale: float) -> None:
        """Prepare for some readings; ``scale`` is the nominal voltage over 12 V."""
        units = [reading.point.unit for reading in readings]
        self._any = np.array([(1 - _SLIPPED - _WRONG_POST) / (_SPAN[u] * scale) for u in units])
        self._any += np.array([_other_post(reading, readings, scale) for reading in readings])
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


# Whether the unit runs as a row says

# Assumed, volts at 12 V: width of a threshold, and how far under the start voltage a unit that
# ran before may still be found running.
_THRESHOLD_WIDTH_V = 0.1
_HYSTERESIS_V = 0.1
# Assumed: a unit does otherwise than its thresholds say in one case of 300.
_AGAINST_ITS_THRESHOLD = 0.003
# Assumed: a charging alternator is found under the resting voltage, by more than the width,
# in one case of ten; one saving fuel may let the battery stand at it.
_UNDER_REST = 0.1

_SUPPLY = np.array(
    [INDEX[n] for n in ("supply_idle_v", "supply_fast_v", "supply_rest_v", "supply_sag_v")]
)


@dataclass(frozen=True)
class RunningTerms:
    """What running as a row says adds to the fit.

    ``ln_chance[h]``, its ``gradient[h, unknown]``, and its positive ``curvature[h, s, s]`` over
    the supply's own unknowns.
    """

    ln_chance: Array
    gradient: Array
    curvature: Array

    def added_to(self, precision: Array) -> Array:
        """Add the curvature to a matrix over all unknowns, in place."""
        precision[:, _SUPPLY[:, None], _SUPPLY[None, :]] += self.curvature
        return precision


class _Threshold(NamedTuple):
    """Volts, as ``slope`` over the supply's unknowns, over (1) or under (-1) a threshold."""

    slope: Array
    side: Array
    volts: Array | float
    least_chance: float


def running_terms(rows: Hypotheses, theta: Array, scale: float) -> RunningTerms:
    """Weigh how probable each row's supply makes it that the unit runs as the row says.

    No Gaussian prior can say it: a unit runs where a row says it does, and an alternator that
    charges holds the start battery no lower than it rests.

    Parameters
    ----------
    rows
        The hypotheses.
    theta : in the coordinates of the fit
        ``[h, unknown]``.
    scale : 1
        Nominal voltage over 12 V.
    """
    width = _THRESHOLD_WIDTH_V * scale
    ln_chance = np.zeros(len(theta))
    gradient = np.zeros((len(theta), len(NAMES)))
    curvature = np.zeros((len(theta), len(_SUPPLY), len(_SUPPLY)))
    for one in _thresholds(rows, scale):
        volts = (one.slope * theta[:, _SUPPLY]).sum(axis=1)
        over = one.side * (volts - one.volts) / width
        inside = 1 / (1 + np.exp(-np.clip(over, -60, 60)))
        used = one.side != 0
        ln_chance += np.where(used, np.log(inside + one.least_chance), 0.0)
        pull = np.where(used, one.side * (1 - inside) / width, 0.0)
        gradient[:, _SUPPLY] += pull[:, None] * one.slope
        bend = np.where(used, inside * (1 - inside) / width**2, 0.0)
        curvature += bend[:, None, None] * one.slope[:, :, None] * one.slope[:, None, :]
    return RunningTerms(ln_chance, gradient, curvature)


def _thresholds(rows: Hypotheses, scale: float) -> Iterator[_Threshold]:
    start_v = rows.start_v - _HYSTERESIS_V * scale
    for fast in (0, 1):
        side = rows.start_side[:, fast]
        yield _Threshold(_supply_slope(rows, fast), side, start_v, _AGAINST_ITS_THRESHOLD)
    above_rest = np.tile([1.0, 0.0, -1.0, 0.0], (len(rows), 1))
    charges = np.where(rows.on_battery, 0.0, 1.0)
    yield _Threshold(above_rest, charges, -_HYSTERESIS_V * scale, _UNDER_REST)


def _supply_slope(rows: Hypotheses, fast: int) -> Array:
    """Return how the supply at idle or fast idle depends on its unknowns."""
    slope = np.zeros((len(rows), len(_SUPPLY)))
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
    (0.7, 0.08, False),
    (0.45, 0.04, False),
    (0.25, 0.025, False),
    (0.15, 0.015, False),
    (0.05, 0.01, False),
    (0.0, 0.008, False),
    (0.0, 0.006, True),
    (0.0, 0.005, True),
    (0.0, 0.005, True),
)
# Rows that are out of question are left out on the way: first by their robust misfit, which
# is already plain after two steps, then by their score.
_PRUNE_MISFIT, _MISFIT = 1, 40.0
_PRUNE_BELOW = {3: 60.0, 5: 30.0}
_FINAL_SMOOTHING = 0.005
_RIVALS = 6
_CAUCHY = 3.0
_LONGEST_STEP = 3.0


@dataclass(frozen=True)
class Problem:
    """What is fitted: the metered readings with their ``values[r]``, and the lamps.

    ``scale`` is the nominal voltage over 12 V.
    """

    predictor: Predictor
    values: Array
    spoilt: SpoiltReadings
    lamps: tuple[Reading, ...]
    rated_output_a: Ampere
    scale: float

    def running(self, rows: Hypotheses, theta: Array) -> RunningTerms:
        """Weigh whether the unit runs as the rows say."""
        return running_terms(rows, theta, self.scale)


@dataclass(frozen=True)
class Fit:
    """Fitted hypotheses: their best unknowns ``theta[h, unknown]`` and what they predict there.

    ``precision[h, unknown, unknown]`` is the inverse of the unknowns' covariance after the
    readings, ``ln_evidence[h]`` the log-probability of all readings, ``good[h, r]`` the
    probability that a reading is not spoilt.
    """

    rows: Hypotheses
    prior: Prior
    theta: Array
    precision: Array
    ln_evidence: Array
    predicted: Prediction
    good: Array

    @property
    def ln_weight(self) -> Array:
        """Log of prior times evidence of each row, up to a constant."""
        return self.rows.ln_prior + self.ln_evidence

    def covariance(self, rows: Indices) -> Array:
        """Return some rows' covariance of the unknowns after the readings."""
        return np.asarray(np.linalg.inv(self.precision[rows]))

    def joined(self, other: "Fit") -> "Fit":
        """Return both fits as one."""
        return Fit(
            self.rows.joined(other.rows),
            self.prior.joined(other.prior),
            np.concatenate([self.theta, other.theta]),
            np.concatenate([self.precision, other.precision]),
            np.concatenate([self.ln_evidence, other.ln_evidence]),
            self.predicted.joined(other.predicted),
            np.concatenate([self.good, other.good]),
        )


def fit(problem: Problem, rows: Hypotheses, prior: Prior) -> Fit:
    """Fit every row to the readings and weigh it.

    Rows far behind the best after a few steps are left out of the result.
    """
    theta = prior.mean.copy()
    wide: Array | None = None
    for step, (breadth, smoothing, mixed) in enumerate(SCHEDULE):
        predicted = problem.predictor.predict(rows, theta, smoothing * problem.rated_output_a)
        if wide is None:
            wide = _spread_before(prior, predicted) / predicted.noise
        spread = predicted.noise * wide**breadth
        weight = _weights(problem, predicted, spread, mixed)
        theta = theta + _newton_step(problem, rows, prior, theta, predicted, weight / spread**2)
        kept = _kept(problem, rows, prior, theta, step, predicted, weight)
        if len(kept) < len(rows):
            rows, prior, theta, wide = rows.take(kept), prior.take(kept), theta[kept], wide[kept]
    return _weighed(problem, rows, prior, theta)


def _spread_before(prior: Prior, predicted: Prediction) -> Array:
    """Spread of each reading ``[h, r]`` before any is known: noise and prior together."""
    parts = predicted.slope * prior.spread[:, None, :]
    return np.asarray(np.sqrt(predicted.noise**2 + (parts * parts).sum(axis=2)))


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


def _newton_step(
    problem: Problem,
    rows: Hypotheses,
    prior: Prior,
    theta: Array,
    predicted: Prediction,
    weight: Array,
) -> Array:
    """Return each row's step ``[h, unknown]``; ``weight[h, r]`` is one over a variance."""
    running = problem.running(rows, theta)
    pulled = (prior.precision @ (prior.mean - theta)[:, :, None])[:, :, 0]
    weighted = (predicted.slope * weight[:, :, None]).transpose(0, 2, 1)
    residual = (problem.values - predicted.value)[:, :, None]
    gradient = pulled + (weighted @ residual)[:, :, 0] + running.gradient
    hessian = running.added_to(prior.precision + weighted @ predicted.slope)
    step = np.linalg.solve(hessian, gradient[:, :, None])[:, :, 0]
    longest = _LONGEST_STEP * prior.spread
    return np.clip(step, -longest, longest)


def _kept(
    problem: Problem,
    rows: Hypotheses,
    prior: Prior,
    theta: Array,
    step: int,
    predicted: Prediction,
    weight: Array,
) -> Indices:
    """Return the rows to go on with after a step."""
    if step == _PRUNE_MISFIT:
        merit, below = 2 * np.log(weight).sum(axis=1), _MISFIT
    elif step in _PRUNE_BELOW:
        merit, below = _score(problem, rows, prior, theta, predicted), _PRUNE_BELOW[step]
    else:
        return np.arange(len(rows))
    return np.flatnonzero((merit > merit.max() - below) | _rivals(rows, merit))


def _score(
    problem: Problem, rows: Hypotheses, prior: Prior, theta: Array, predicted: Prediction
) -> Array:
    score = rows.ln_prior + _mixture(problem, predicted)[0].sum(axis=1)
    score += prior.ln_density(theta) + problem.running(rows, theta).ln_chance
    return np.asarray(score)


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


def _weighed(problem: Problem, rows: Hypotheses, prior: Prior, theta: Array) -> Fit:
    smoothing = _FINAL_SMOOTHING * problem.rated_output_a
    predicted = problem.predictor.predict(rows, theta, smoothing)
    ln_likelihood, good = _mixture(problem, predicted)
    running = problem.running(rows, theta)
    weighted = (predicted.slope * (good / predicted.noise**2)[:, :, None]).transpose(0, 2, 1)
    precision = running.added_to(prior.precision + weighted @ predicted.slope)
    ln_peak = prior.ln_density(theta) + ln_likelihood.sum(axis=1) + running.ln_chance
    ln_evidence = laplace(ln_peak, precision) + ln_lamps(rows, problem.lamps)
    return Fit(rows, prior, theta, precision, ln_evidence, predicted, good)


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
    found = fit(problem, picked, gaussian_prior(picked, meter_spreads))
    best = int(np.argmax(found.ln_weight))
    indices = np.array([INDEX[name] for name in LASTING])
    covariance = found.covariance(np.array([best]))[0][np.ix_(indices, indices)]
    ageing = [
        (change * (problem.scale if name in VOLTS else 1.0)) ** 2
        for name, change in LASTING.items()
    ]
    return BaselinePrior(indices, found.theta[best, indices], covariance + np.diag(ageing))
