"""Two faults at once: considered where one alone leaves the readings strained.

A single answer is strained when it must call a reading spoilt, or when it must put an unknown
it does not change far from where a sound vehicle has it.  In the first case every other fault
is tried beside the best answers; in the second, those that would move just that unknown.
"""

from collections.abc import Callable, Iterable

import numpy as np

from logic.case import FaultId
from logic.diagnosis.catalogue import Way
from logic.diagnosis.hypotheses import Hypotheses, pair_hypotheses, possible_faults
from logic.diagnosis.inference import Fit, Prior, Problem, fit
from logic.diagnosis.unknowns import NAMES
from logic.installation import Installation

# Prior spreads that an unknown may be away before a second fault is thought of.
_STRAIN = 2.2
_SPOILT = 0.5
# Unknowns that give way for one another: strain in one may come from any of them.
_KIN = (
    frozenset({"house_rest_v", "house_rise_v", "house_battery_ohm", "house_tail_a"}),
    frozenset({"supply_idle_v", "supply_fast_v", "supply_sag_v"}),
    frozenset({"output_share", "regulation_v", "profile_v", "float_v", "efficiency"}),
)
# How many of the best single answers are joined with others.
_JOINED = 4


def with_pairs(
    installation: Installation,
    problem: Problem,
    found: Fit,
    prior: Callable[[Hypotheses], Prior],
) -> Fit:
    """Return the fit with pairs of faults beside the single ones, if the readings ask for it."""
    best = _best_rows(found)
    second = _second_faults(installation, found, best)
    if not second:
        return found
    first = [(found.rows.faults[row][0], found.rows.ways[row][0]) for row in best]
    rows = pair_hypotheses(installation, first, second)
    return found if rows is None else found.joined(fit(problem, rows, prior(rows)))


def _best_rows(found: Fit) -> list[int]:
    """Return the likeliest row of each of the first few answers."""
    rows: dict[tuple[FaultId, ...], int] = {}
    for row in np.argsort(-found.ln_weight, kind="stable"):
        rows.setdefault(found.rows.faults[row], int(row))
        if len(rows) == _JOINED:
            break
    return list(rows.values())


def _second_faults(
    installation: Installation, found: Fit, best: Iterable[int]
) -> tuple[tuple[FaultId, Way], ...]:
    """Return the faults, each in a way it can show, that could ease the first answers."""
    rows = list(best)
    every = [(entry.id, way) for entry in possible_faults(installation) for way in entry.way]
    if (found.good[rows[0]] < _SPOILT).any():
        return tuple(every)
    strained = {name for row in rows[:2] for name in _strained(found, row)}
    return tuple((one, way) for one, way in every if strained & _moved(way))


def _strained(found: Fit, row: int) -> list[str]:
    away = np.abs(found.theta[row] - found.prior.mean[row]) / found.prior.spread[row]
    strained = [NAMES[place] for place in np.flatnonzero(away > _STRAIN)]
    kin = [name for group in _KIN if group & set(strained) for name in sorted(group)]
    return strained + kin


def _moved(way: Way) -> set[str]:
    moved = {change.unknown for change in way.change}
    return moved | {name.replace("_extra_ohm", "_ohm") for name in moved}
