"""Two faults at once: considered where one alone leaves the readings strained.

A single answer is strained when it must call a reading spoilt, or the unit unruly; then every
other fault is tried beside the best answers.  Otherwise a second fault is tried where the fit
already says that it would pay: what the readings say of an unknown (its fitted Gaussian over
its prior) is weighed against the prior that the second fault would give it.
"""

import math
from collections.abc import Callable, Iterable, Iterator

import numpy as np

from logic.case import FaultId
from logic.circuit.estimate import Estimate
from logic.diagnosis.catalogue import Way
from logic.diagnosis.changes import changed_priors
from logic.diagnosis.hypotheses import Hypotheses, pair_hypotheses
from logic.diagnosis.inference import Fit, fit
from logic.diagnosis.prevalence import pair_chance, possible_faults
from logic.diagnosis.problem import Prior, Problem
from logic.diagnosis.unknowns import INDEX, RUN_NAMES
from logic.vehicle.installation import Installation

_SPOILT = 0.5
# Log-chance of running as it does, under which a unit is called unruly.
_UNRULY = -1.5
# A second fault is tried when the pair would come to this share of the single answer.
_WORTH_TRYING = math.log(0.02)
# How many of the best single answers are joined with others: all of these when a reading is
# called spoilt, otherwise those not far behind the best (in logarithms).
_JOINED = 6
_FAR_BEHIND = 12.0

Second = tuple[FaultId, Way]


def with_pairs(
    installation: Installation,
    problem: Problem,
    found: Fit,
    prior: Callable[[Hypotheses], Prior],
) -> Fit:
    """Return the fit with pairs of faults beside the single ones, if the readings ask for it."""
    strained = _strained(problem, found)
    best = _best_rows(found, strained)
    second = _second_faults(installation, found, best, strained)
    if not second:
        return found
    first = [(found.rows.faults[row][0], found.rows.ways[row][0]) for row in best]
    rows = pair_hypotheses(installation, first, second)
    return found if rows is None else found.joined(fit(problem, rows, prior(rows)))


def _strained(problem: Problem, found: Fit) -> bool:
    """Whether the best single answer calls a reading spoilt or the unit unruly."""
    row = int(np.argmax(found.ln_weight))
    unruly = problem.gate(found.rows, found.theta).ln_chance[row] < _UNRULY
    return bool(unruly or (found.good[row] < _SPOILT).any())


def _best_rows(found: Fit, strained: bool) -> list[int]:
    """Return the likeliest row of each of the first few answers."""
    rows: dict[tuple[FaultId, ...], int] = {}
    order = np.argsort(-found.ln_weight, kind="stable")
    behind = math.inf if strained else _FAR_BEHIND
    for row in order:
        if found.ln_weight[row] > found.ln_weight[order[0]] - behind:
            rows.setdefault(found.rows.faults[row], int(row))
    return list(rows.values())[:_JOINED]


def _second_faults(
    installation: Installation, found: Fit, best: Iterable[int], strained: bool
) -> tuple[Second, ...]:
    """Return the faults, each in a way it can show, that could ease the first answers."""
    rows = list(best)
    every = [(entry.id, way) for entry in possible_faults(installation) for way in entry.way]
    if strained:
        return tuple(every)
    believed = [_Believed(found, row) for row in rows]
    changes = changed_priors(installation)
    return tuple(
        second
        for second, priors in zip(every, changes, strict=True)
        if any(one.eased_by(second, priors, installation) for one in believed)
    )


class _Believed:
    """What the readings alone say of each unknown under one fitted row."""

    def __init__(self, found: Fit, row: int) -> None:
        covariance = found.covariance(np.array([row]))[0]
        after, before = np.diag(covariance), found.prior.spread[row] ** 2
        told = np.maximum(1 / after - 1 / before, 1e-9)
        pulled = found.theta[row] / after - found.prior.mean[row] / before
        self._faults = found.rows.faults[row]
        self._theta = found.theta[row]
        self._mean, self._variance = pulled / told, 1 / told
        self._prior_mean, self._prior_variance = found.prior.mean[row], before

    def eased_by(
        self, second: Second, priors: dict[str, Estimate], installation: Installation
    ) -> bool:
        """Whether a second fault beside this row is worth a fit."""
        one, way = second
        if one in self._faults:
            return False
        gain = sum(self._gain(name, new) for name, new in self._moved(way, priors))
        return gain + math.log(pair_chance(installation, one, way)) > _WORTH_TRYING

    def _gain(self, name: str, new: Estimate) -> float:
        """Log of how much better the new prior foretells what the readings say of an unknown."""
        place = INDEX[name]
        told, spread = self._mean[place], self._variance[place]
        old = _ln_normal(told, self._prior_mean[place], self._prior_variance[place] + spread)
        return _ln_normal(told, new.mean, new.spread**2 + spread) - old

    def _moved(self, way: Way, priors: dict[str, Estimate]) -> Iterator[tuple[str, Estimate]]:
        """Yield the unknowns a way moves, in coordinates that this row has fitted."""
        for name, new in priors.items():
            run = name.removesuffix("_extra_ohm")
            yield (f"{run}_ohm", self._worse_run(run, new)) if run in RUN_NAMES else (name, new)
        if way.supply == "battery":
            rest, sag = (INDEX[name] for name in ("supply_rest_v", "supply_sag_v"))
            spread = math.sqrt(self._prior_variance[sag])
            yield "supply_idle_v", Estimate(self._theta[rest] - self._prior_mean[sag], spread)

    def _worse_run(self, run: str, extra: Estimate) -> Estimate:
        """Logarithm of a run's resistance with the extra in it, to first order."""
        sound, more = math.exp(self._prior_mean[INDEX[f"{run}_ohm"]]), math.exp(extra.mean)
        return Estimate(math.log(sound + more), extra.spread * more / (sound + more))


def _ln_normal(value: float, mean: float, variance: float) -> float:
    return -0.5 * ((value - mean) ** 2 / variance + math.log(2 * math.pi * variance))
