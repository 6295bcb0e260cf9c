"""The diagnosis: from a case's readings to findings, evidence, next readings and verdicts.

Of two readings at one point in one state the later counts where both say when they were taken;
otherwise both are weighed, so that the answer does not hang on the order of a list.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logic.case import Case, Diagnosis, FaultId, Finding, NextReading, Reading
from logic.circuit.healthy import healthy
from logic.diagnosis.baseline import learn
from logic.diagnosis.catalogue import fault_ids
from logic.diagnosis.evidence import evidence, ruled_out
from logic.diagnosis.gate import running_gate
from logic.diagnosis.hypotheses import single_hypotheses
from logic.diagnosis.inference import Fit, fit, posterior
from logic.diagnosis.lamps import LAMPS
from logic.diagnosis.next_reading import Belief, candidates, main_rows, next_readings
from logic.diagnosis.noise import meter_priors
from logic.diagnosis.pairs import with_pairs
from logic.diagnosis.plausibility import suspect_readings
from logic.diagnosis.prediction import Setting
from logic.diagnosis.prevalence import possible_faults
from logic.diagnosis.problem import Lasting, Problem, gaussian_prior
from logic.diagnosis.readout import PREDICTED, Readout
from logic.diagnosis.spoilt import SpoiltModel
from logic.limits.verdict import judge_all
from logic.vehicle.installation import Installation
from logic.vehicle.points import State

Array = NDArray[np.float64]

# Findings less likely than this are not named; evidence is worked out for the first few.
_LEAST_NAMED = 0.002
_EXPLAINED = 3


def diagnose(case: Case) -> Diagnosis:
    """Say what the readings say so far: what is likely, why, and what to read next."""
    installation = case.installation
    readings = current(case.readings)
    measured = tuple(r for r in readings if r.point in PREDICTED)
    problem = _problem(installation, readings)
    found = _fitted(case, problem)
    weight = posterior(found.ln_weight)
    ranked = _ranked(found, weight)
    marginals = _marginals(ranked)
    return Diagnosis(
        findings=_findings(case, found, ranked, (measured, problem.values)),
        marginals=marginals,
        next_readings=_next(installation, found, weight, readings),
        suspect_readings=suspect_readings(found, weight, measured),
        verdicts=judge_all(installation, case.readings, case.baseline),
    )


def current(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings that count, in an order of their own.

    A reading gives way to a later one at the same place when both carry their time.
    """
    kept = [
        reading for reading in readings if not any(_replaces(later, reading) for later in readings)
    ]
    points = list(type(kept[0].point)) if kept else []
    states = list(State)
    return tuple(
        sorted(kept, key=lambda r: (states.index(r.state), points.index(r.point), r.value))
    )


def _replaces(later: Reading, reading: Reading) -> bool:
    same = later.point is reading.point and later.state is reading.state
    if not same or later.taken_at is None or reading.taken_at is None:
        return False
    return later.taken_at.timestamp() > reading.taken_at.timestamp()


def _setting(installation: Installation) -> Setting:
    sound = healthy(installation)
    return Setting(sound, tuple(State), installation.solar is not None, installation.scale)


def _problem(installation: Installation, readings: Sequence[Reading]) -> Problem:
    measured = [r for r in readings if r.point in PREDICTED]
    places = [(r.point, r.state) for r in measured]
    return Problem(
        readout=Readout(_setting(installation), places, installation.meter),
        values=np.array([r.value for r in measured], dtype=np.float64),
        spoilt=SpoiltModel(measured, installation.scale),
        rating_a=installation.charger.rated_output_current_a,
        lamps=tuple(r for r in readings if r.point in LAMPS),
        gate=running_gate(installation.scale),
    )


def _meter_spread(installation: Installation) -> dict[str, float]:
    return {name: prior.spread for name, prior in meter_priors(installation.meter).items()}


def _fitted(case: Case, problem: Problem) -> Fit:
    installation = case.installation
    rows = single_hypotheses(installation)
    spread = _meter_spread(installation)
    lasting: Lasting | None = None
    if case.baseline:
        then = _problem(installation, current(case.baseline))
        lasting = learn(then, rows, spread, installation.scale)
    found = fit(problem, rows, gaussian_prior(rows, spread, lasting))
    return with_pairs(
        installation, problem, found, lambda more: gaussian_prior(more, spread, lasting)
    )


@dataclass(frozen=True)
class _Group:
    """One answer: a set of faults, its probability and its likeliest row."""

    faults: tuple[FaultId, ...]
    probability: float
    row: int


def _ranked(found: Fit, weight: Array) -> list[_Group]:
    rows: dict[tuple[FaultId, ...], list[int]] = {}
    for row, faults in enumerate(found.rows.faults):
        rows.setdefault(faults, []).append(row)
    groups = [
        _Group(faults, float(weight[own].sum()), max(own, key=lambda row: float(weight[row])))
        for faults, own in rows.items()
    ]
    return sorted(groups, key=lambda group: (-group.probability, group.faults))


def _marginals(ranked: Sequence[_Group]) -> dict[FaultId, float]:
    marginals = dict.fromkeys(fault_ids(), 0.0)
    for group in ranked:
        for one in group.faults:
            marginals[one] += group.probability
    return {one: min(1.0, value) for one, value in marginals.items()}


def _findings(
    case: Case,
    found: Fit,
    ranked: Sequence[_Group],
    read: tuple[tuple[Reading, ...], Array],
) -> tuple[Finding, ...]:
    readings, values = read
    marginals = _marginals(ranked)
    named = [group for group in ranked if group.probability >= _LEAST_NAMED] or ranked[:1]
    possible = [entry.id for entry in possible_faults(case.installation)]
    then = {(r.point, r.state): r.value for r in current(case.baseline)}
    findings = []
    for place, group in enumerate(named):
        said: tuple[str, ...] = ()
        if place < _EXPLAINED and len(ranked) > 1 and readings:
            rival = _rival(group, ranked)
            said = evidence(found, (group.row, rival.row), readings, values, then)
        if place == 0 and readings:
            said += ruled_out(marginals, possible)
        share = min(1.0, group.probability)
        findings.append(Finding(faults=group.faults, probability=share, evidence=said))
    return _within_one(findings)


def _rival(group: _Group, ranked: Sequence[_Group]) -> _Group:
    """Return the likeliest other answer, one that does not merely add a fault if there is one."""
    others = [other for other in ranked if other is not group]
    apart = [other for other in others if not set(group.faults) <= set(other.faults)]
    return (apart or others)[0]


def _within_one(findings: list[Finding]) -> tuple[Finding, ...]:
    """Keep the sum of probabilities at one in spite of rounding."""
    over = sum(finding.probability for finding in findings) - 1
    if over <= 0:
        return tuple(findings)
    first = findings[0].model_copy(
        update={"probability": max(0.0, findings[0].probability - over - 1e-12)}
    )
    return (first, *findings[1:])


def _next(
    installation: Installation, found: Fit, weight: Array, readings: Sequence[Reading]
) -> tuple[NextReading, ...]:
    taken = [(r.point, r.state) for r in readings]
    open_places = candidates(taken, installation.solar is not None)
    metered = [place for place in open_places if place[0] in PREDICTED]
    rows = main_rows(weight)
    faults = sorted(set(found.rows.faults))
    kept = weight[rows] / weight[rows].sum()
    group = np.array([faults.index(found.rows.faults[row]) for row in rows], dtype=np.intp)
    belief = Belief(found.rows.take(rows), found.theta[rows], found.covariance(rows), kept, group)
    readout = Readout(_setting(installation), metered, installation.meter)
    lamps = [place for place in open_places if place[0] in LAMPS]
    return next_readings(belief, readout, lamps, taken)
