"""Two faults at once: considered where one alone leaves the readings unexplained."""

from collections.abc import Callable

import numpy as np

from logic.diagnosis.catalogue import Way
from logic.case import FaultId
from logic.diagnosis.hypotheses import Hypotheses, pair_hypotheses
from logic.diagnosis.inference import Fit, Prior, Problem, fit
from logic.installation import Installation

# An answer is strained when an unknown had to go this many prior spreads, or when a reading
# had to be taken as spoilt.
_STRAIN = 3.0
_SPOILT = 0.5
# How many of the best single answers are joined with every other fault.
_JOINED = 4


def with_pairs(
    installation: Installation,
    problem: Problem,
    found: Fit,
    prior: Callable[[Hypotheses], Prior],
) -> Fit:
    """Return the fit with pairs of faults beside the single ones, if the readings ask for it."""
    if not strained(found):
        return found
    rows = pair_hypotheses(installation, _best_ways(found))
    if rows is None:
        return found
    return found.joined(fit(problem, rows, prior(rows)))


def strained(found: Fit) -> bool:
    """Whether even the best single answer explains the readings only with an effort."""
    best = int(np.argmax(found.ln_weight))
    away = np.abs(found.theta[best] - found.prior.mean[best]) / found.prior.spread[best]
    return bool(away.max() > _STRAIN or (found.good[best] < _SPOILT).any())


def _best_ways(found: Fit) -> list[tuple[FaultId, Way]]:
    """Return the likeliest single faults, each in its likeliest way."""
    chosen: list[tuple[FaultId, Way]] = []
    for row in np.argsort(-found.ln_weight, kind="stable"):
        one = found.rows.faults[row][0]
        if one not in [name for name, _ in chosen]:
            chosen.append((one, found.rows.ways[row][0]))
        if len(chosen) == _JOINED:
            break
    return chosen
