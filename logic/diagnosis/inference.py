"""How well each hypothesis explains all readings together.

Gauss-Newton on every hypothesis at once, then Laplace's approximation for the evidence: the
unknowns are integrated out around the best fit.  Each reading may be spoilt; its weight is
the probability that it is not, wide at first and tightened over the steps.

References
----------
MacKay, D. J. C., Information Theory, Inference, and Learning Algorithms, ch. 27 (Laplace's
method) and 28 (model comparison).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId
from logic.diagnosis.catalogue import catalogue
from logic.diagnosis.hypotheses import Hypotheses
from logic.diagnosis.lamps import ln_lamps
from logic.diagnosis.problem import Prior, Problem
from logic.diagnosis.readout import Shown
from logic.diagnosis.spoilt import SPOILT_SHARE
from logic.diagnosis.unknowns import NAMES

Array = NDArray[np.float64]

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
_PRUNE_AFTER = (3, 5)
_PRUNE_BELOW = (60.0, 30.0)
_FINAL_SMOOTHING = 0.005
_RIVALS = 6
_CAUCHY = 3.0
_LONGEST_STEP = 3.0
_LN_2PI = float(np.log(2 * np.pi))


@dataclass(frozen=True)
class Fit:
    """Fitted hypotheses: best unknowns, their precision, and the evidence of each row.

    ``good[h, r]`` is the probability that reading ``r`` is not spoilt under row ``h``.
    """

    rows: Hypotheses
    prior: Prior
    theta: Array
    precision: Array
    ln_evidence: Array
    shown: Shown
    good: Array

    @property
    def ln_weight(self) -> Array:
        """Log of prior times evidence of each row, up to a constant."""
        return self.rows.ln_prior + self.ln_evidence

    def covariance(self, rows: NDArray[np.intp]) -> Array:
        """Return some rows' covariance of the unknowns after the readings."""
        return np.asarray(np.linalg.inv(self.precision[rows]))

    def joined(self, other: "Fit") -> "Fit":
        """Return both fits as one."""

        def both(name: str) -> Array:
            return np.concatenate([getattr(self, name), getattr(other, name)])

        shown = Shown(
            np.concatenate([self.shown.value, other.shown.value]),
            np.concatenate([self.shown.slope, other.shown.slope]),
            np.concatenate([self.shown.noise, other.shown.noise]),
        )
        return Fit(
            self.rows.joined(other.rows),
            self.prior.joined(other.prior),
            both("theta"),
            both("precision"),
            both("ln_evidence"),
            shown,
            both("good"),
        )


def fit(problem: Problem, rows: Hypotheses, prior: Prior) -> Fit:
    """Fit every row to the readings and weigh it.

    Rows that are hopeless after a few steps are left out of the result.
    """
    theta = prior.mean.copy()
    wide: Array | None = None
    for step, (breadth, smoothing, mixed) in enumerate(SCHEDULE):
        shown = problem.readout.show(rows, theta, smoothing * problem.rating_a)
        if wide is None:
            wide = _predictive(prior, shown) / shown.noise
        spread = shown.noise * wide**breadth
        weight = _weight(problem, shown, spread, mixed)
        theta = theta + _newton(problem, rows, prior, theta, (shown, weight / spread**2))
        kept = _kept(problem, rows, prior, theta, (step, shown, weight))
        if len(kept) < len(rows):
            rows, prior, theta, wide = rows.take(kept), prior.take(kept), theta[kept], wide[kept]
    return _weigh(problem, rows, prior, theta)


def _predictive(prior: Prior, shown: Shown) -> Array:
    """Spread of each reading before any is known: noise and prior together."""
    parts = shown.slope * prior.spread[:, None, :]
    return np.asarray(np.sqrt(shown.noise**2 + (parts * parts).sum(axis=2)))


def _weight(problem: Problem, shown: Shown, spread: Array, mixed: bool) -> Array:
    if mixed:
        return _mixture(problem, shown)[1]
    distance = np.abs(problem.values - shown.value) / spread
    return np.asarray(1 / (1 + (distance / _CAUCHY) ** 2))


def _mixture(problem: Problem, shown: Shown) -> tuple[Array, Array]:
    """Log-likelihood of each reading, and the probability that it is a good one."""
    distance = np.minimum(np.abs(problem.values - shown.value) / shown.noise, 38.0)
    good = (1 - SPOILT_SHARE) * np.exp(-0.5 * distance**2) / (shown.noise * np.sqrt(2 * np.pi))
    bad = SPOILT_SHARE * problem.spoilt.density(problem.values, shown.value, shown.noise)
    return np.log(good + bad), good / (good + bad)


def _newton(
    problem: Problem,
    rows: Hypotheses,
    prior: Prior,
    theta: Array,
    data: tuple[Shown, Array],
) -> Array:
    shown, weight = data
    gate = problem.gate(rows, theta)
    pulled = (prior.precision @ (prior.mean - theta)[:, :, None])[:, :, 0]
    weighted = shown.slope * weight[:, :, None]
    residual = (problem.values - shown.value)[:, :, None]
    gradient = pulled + (weighted.transpose(0, 2, 1) @ residual)[:, :, 0] + gate.gradient
    hessian = gate.added_to(prior.precision + weighted.transpose(0, 2, 1) @ shown.slope)
    step = np.linalg.solve(hessian, gradient[:, :, None])[:, :, 0]
    longest = _LONGEST_STEP * prior.spread
    return np.clip(step, -longest, longest)


def _score(problem: Problem, rows: Hypotheses, prior: Prior, theta: Array, shown: Shown) -> Array:
    score = rows.ln_prior + _mixture(problem, shown)[0].sum(axis=1)
    score += _ln_prior_density(prior, theta) + problem.gate(rows, theta).ln_chance
    return np.asarray(score)


def _kept(
    problem: Problem,
    rows: Hypotheses,
    prior: Prior,
    theta: Array,
    seen: tuple[int, Shown, Array],
) -> NDArray[np.intp]:
    """Return the rows to go on with after a step."""
    step, shown, weight = seen
    if step == _PRUNE_MISFIT:
        merit, below = 2 * np.log(weight).sum(axis=1), _MISFIT
    elif step in _PRUNE_AFTER:
        merit = _score(problem, rows, prior, theta, shown)
        below = _PRUNE_BELOW[_PRUNE_AFTER.index(step)]
    else:
        return np.arange(len(rows))
    return np.flatnonzero((merit > merit.max() - below) | _rivals(rows, merit))


def _rivals(rows: Hypotheses, score: Array) -> NDArray[np.bool_]:
    """Keep the best rows of the first answers, and of "no fault": what evidence is held against."""
    kept = np.zeros(len(rows), dtype=np.bool_)
    sound = {entry.id for entry in catalogue().fault if entry.nothing_is_wrong}
    seen: set[tuple[FaultId, ...]] = set()
    for row in np.argsort(-score, kind="stable"):
        faults = rows.faults[row]
        if faults not in seen and (sound.issuperset(faults) or len(seen) < _RIVALS):
            kept[row] = True
        seen.add(faults)
    return kept


def _ln_prior_density(prior: Prior, theta: Array) -> Array:
    away = theta - prior.mean
    square = ((prior.precision @ away[:, :, None])[:, :, 0] * away).sum(axis=1)
    return np.asarray(0.5 * (prior.ln_det - square - len(NAMES) * _LN_2PI))


def _weigh(
    problem: Problem,
    rows: Hypotheses,
    prior: Prior,
    theta: Array,
) -> Fit:
    shown = problem.readout.show(rows, theta, _FINAL_SMOOTHING * problem.rating_a)
    ln_likelihood, good = _mixture(problem, shown)
    gate = problem.gate(rows, theta)
    weighted = shown.slope * (good / shown.noise**2)[:, :, None]
    precision = gate.added_to(prior.precision + weighted.transpose(0, 2, 1) @ shown.slope)
    ln_evidence = laplace(
        _ln_prior_density(prior, theta) + ln_likelihood.sum(axis=1) + gate.ln_chance, precision
    )
    ln_evidence = ln_evidence + ln_lamps(rows, problem.lamps)
    return Fit(rows, prior, theta, precision, ln_evidence, shown, good)


def laplace(ln_peak: Array, precision: Array) -> Array:
    """Log of the integral of a Gaussian-like peak.

    Parameters
    ----------
    ln_peak : 1
        Log of the height, one a row.
    precision : 1 over the unknowns' units squared
        Matrix of negative second derivatives at the peak, one a row.
    """
    ln_det = np.linalg.slogdet(precision)[1]
    return np.asarray(ln_peak + 0.5 * (precision.shape[-1] * _LN_2PI - ln_det))


def posterior(ln_weight: Array) -> Array:
    """Normalise log weights into probabilities that sum to one."""
    weight = np.exp(ln_weight - ln_weight.max())
    return np.asarray(weight / weight.sum())
