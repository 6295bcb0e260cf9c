"""The diagnosis: from a case's readings to findings, evidence, next readings and verdicts.

Every possible fault is tried on its own, and two at once where one alone leaves the readings
strained: where it must call a reading spoilt, or the unit's running unbelievable, every other
fault is tried beside the best answers; otherwise a second fault is tried where the fit already
says that it would pay.

Of two readings at one point in one state the later counts where both say when they were taken;
otherwise both are weighed, so that the answer does not depend on the order of a list.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from logic.case import Case, Diagnosis, Evidence, FaultId, Finding, NextReading, Reading
from logic.circuit.estimate import Estimate
from logic.diagnosis.catalogue import faults
from logic.diagnosis.evidence import evidence_of_readings, ruled_out, suspect_readings
from logic.diagnosis.fit import (
    Fit,
    Problem,
    SpoiltReadings,
    fit,
    gaussian_prior,
    learnt_at_commissioning,
    normalised,
)
from logic.diagnosis.hypotheses import (
    POINT_INDEX,
    STATE_INDEX,
    Hypotheses,
    Manifestation,
    beforehand,
    pair_hypotheses,
    single_hypotheses,
)
from logic.diagnosis.next_reading import Posterior, next_readings, open_readings
from logic.diagnosis.prediction import Predictor, is_lamp, is_predicted, meter_spreads
from logic.diagnosis.unknowns import INDEX, RUN_NAMES
from logic.limits.verdict import judge_all
from logic.vehicle.installation import Installation

Array = NDArray[np.float64]

# Findings less likely than this are not named; evidence is worked out for the first few.
_LEAST_NAMED = 0.002
_EXPLAINED = 3


def diagnose(case: Case) -> Diagnosis:
    """Say what the readings say so far: what is likely, why, and what to read next."""
    readings = tuple(r for r in current(case.readings) if is_predicted(r.point))
    metered = tuple(r for r in readings if not is_lamp(r.point))
    found = fitted(case, problem(case.installation, readings))
    weight = normalised(found.ln_weight)
    answers = _answers(found, weight)
    marginals = _marginals(answers)
    return Diagnosis(
        findings=_findings(case, found, answers, marginals, metered),
        marginals=marginals,
        next_readings=_next_readings(case.installation, found, weight, readings),
        suspect_readings=suspect_readings(found, weight, metered),
        verdicts=judge_all(case.installation, case.readings, case.baseline),
    )


def current(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings that count, in an order of their own.

    A reading gives way to a later one at the same point and state when both carry their time.
    """
    kept = [
        reading for reading in readings if not any(_replaces(later, reading) for later in readings)
    ]
    return tuple(sorted(kept, key=_order))


def _order(reading: Reading) -> tuple[int, int, float]:
    return STATE_INDEX[reading.state], POINT_INDEX[reading.point], reading.value


def _replaces(later: Reading, reading: Reading) -> bool:
    same = later.point is reading.point and later.state is reading.state
    if not same or later.taken_at is None or reading.taken_at is None:
        return False
    return later.taken_at.timestamp() > reading.taken_at.timestamp()


# The fit of one fault and of two


def problem(installation: Installation, readings: Sequence[Reading]) -> Problem:
    """Return what is to be fitted."""
    metered = [r for r in readings if not is_lamp(r.point)]
    sound = beforehand(installation).sound
    return Problem(
        predictor=Predictor(installation, sound, [r.key for r in metered]),
        values=np.array([r.value for r in metered], dtype=np.float64),
        spoilt=SpoiltReadings(metered, sound.scale),
        lamps=tuple(r for r in readings if is_lamp(r.point)),
        rated_output_a=installation.charger.rated_output_current_a,
        scale=sound.scale,
    )


def fitted(case: Case, today: Problem) -> Fit:
    """Fit every fault that the installation can have, and pairs where the readings ask for them."""
    installation = case.installation
    rows, spreads = single_hypotheses(installation), meter_spreads(installation.meter)
    baseline = None
    if case.baseline:
        then = tuple(r for r in current(case.baseline) if is_predicted(r.point))
        baseline = learnt_at_commissioning(problem(installation, then), rows, spreads)
    prior = partial(gaussian_prior, meter_spreads=spreads, baseline=baseline)
    found = fit(today, rows, prior(rows))
    pairs = _pairs_to_try(installation, today, found)
    return found if pairs is None else found.joined(fit(today, pairs, prior(pairs)))


# Under this probability of being good, a reading counts as called spoilt.
_SPOILT = 0.5
# Log-chance of running as it does, under which a unit's running contradicts its supply.
_CONTRADICTED = -1.5
# A second fault is tried when the pair would come to this share of the single answer.
_WORTH_TRYING = math.log(0.02)
# How many of the best single answers are joined with others: all of these when the readings are
# strained, otherwise those not far behind the best (in logarithms).
_JOINED = 6
_FAR_BEHIND = 12.0


def _pairs_to_try(installation: Installation, today: Problem, found: Fit) -> Hypotheses | None:
    """Return the pairs of faults worth a fit beside the single ones, ``None`` if there are none."""
    strained = _is_strained(today, found)
    best = _best_rows(found, math.inf if strained else _FAR_BEHIND)
    second = beforehand(installation).manifestations
    if not strained:
        answers = [_ReadingsAlone(found, row) for row in best]
        second = tuple(other for other in second if any(one.is_eased_by(other) for one in answers))
    if not second:
        return None
    first = [found.rows.manifestations[row][0] for row in best]
    return pair_hypotheses(installation, first, second)


def _is_strained(today: Problem, found: Fit) -> bool:
    """Whether the best single answer calls a reading spoilt or a unit's running unbelievable."""
    row = int(np.argmax(found.ln_weight))
    ln_chance = today.running(found.rows, found.theta).ln_chance[row]
    return bool(ln_chance < _CONTRADICTED or (found.good[row] < _SPOILT).any())


def _best_rows(found: Fit, behind: float) -> list[int]:
    """Return the likeliest row of each of the first few answers, none further behind the best."""
    rows: dict[tuple[FaultId, ...], int] = {}
    order = np.argsort(-found.ln_weight, kind="stable")
    for row in order:
        if found.ln_weight[row] > found.ln_weight[order[0]] - behind:
            rows.setdefault(found.rows.faults[row], int(row))
    return list(rows.values())[:_JOINED]


class _ReadingsAlone:
    """What the readings alone say of each unknown under one fitted row, the prior taken out.

    The fitted Gaussian over the prior, each unknown by itself: a second fault pays where its
    prior explains that better than the sound one.
    """

    def __init__(self, found: Fit, row: int) -> None:
        covariance = found.covariance(np.array([row]))[0]
        after, before = np.diag(covariance), found.prior.spread[row] ** 2
        information = np.maximum(1 / after - 1 / before, 1e-9)
        pulled = found.theta[row] / after - found.prior.mean[row] / before
        self._faults = found.rows.faults[row]
        self._theta = found.theta[row]
        self._mean, self._variance = pulled / information, 1 / information
        self._prior_mean, self._prior_variance = found.prior.mean[row], before

    def is_eased_by(self, second: Manifestation) -> bool:
        """Whether a second fault beside this row is worth a fit."""
        if second.fault.id in self._faults:
            return False
        gain = sum(self._gain(name, new) for name, new in self._moved(second))
        return gain + math.log(second.chance_beside) > _WORTH_TRYING

    def _gain(self, name: str, new: Estimate) -> float:
        """Log of how much better the new prior explains what the readings say of an unknown."""
        index = INDEX[name]
        mean, spread = self._mean[index], self._variance[index]
        old = _ln_normal(mean, self._prior_mean[index], self._prior_variance[index] + spread)
        return _ln_normal(mean, new.mean, new.spread**2 + spread) - old

    def _moved(self, second: Manifestation) -> Iterator[tuple[str, Estimate]]:
        """Yield the unknowns a second fault moves, in coordinates that this row has fitted."""
        for name, new in second.changed.items():
            run = name.removesuffix("_extra_ohm")
            yield (f"{run}_ohm", self._worse_run(run, new)) if run in RUN_NAMES else (name, new)
        if second.way.supply == "battery":
            rest, sag = (INDEX[name] for name in ("supply_rest_v", "supply_sag_v"))
            spread = math.sqrt(self._prior_variance[sag])
            yield "supply_idle_v", Estimate(self._theta[rest] - self._prior_mean[sag], spread)

    def _worse_run(self, run: str, extra: Estimate) -> Estimate:
        """Logarithm of a run's resistance with the extra in it, to first order."""
        sound, more = math.exp(self._prior_mean[INDEX[f"{run}_ohm"]]), math.exp(extra.mean)
        return Estimate(math.log(sound + more), extra.spread * more / (sound + more))


def _ln_normal(value: float, mean: float, variance: float) -> float:
    return -0.5 * ((value - mean) ** 2 / variance + math.log(2 * math.pi * variance))


# The answers


@dataclass(frozen=True)
class _Answer:
    """A set of faults, its probability and its likeliest row."""

    faults: tuple[FaultId, ...]
    probability: float
    row: int


def _answers(found: Fit, weight: Array) -> list[_Answer]:
    """Gather the rows by answer, the likeliest first."""
    rows: dict[tuple[FaultId, ...], list[int]] = {}
    for row, answer in enumerate(found.rows.faults):
        rows.setdefault(answer, []).append(row)
    answers = [
        _Answer(answer, float(weight[own].sum()), max(own, key=lambda row: float(weight[row])))
        for answer, own in rows.items()
    ]
    return sorted(answers, key=lambda one: (-one.probability, one.faults))


def _marginals(answers: Iterable[_Answer]) -> dict[FaultId, float]:
    """Return the probability of every fault of the catalogue, alone or beside another."""
    marginals = dict.fromkeys(faults(), 0.0)
    for answer in answers:
        for one in answer.faults:
            marginals[one] += answer.probability
    return {one: min(1.0, value) for one, value in marginals.items()}


def _findings(
    case: Case,
    found: Fit,
    answers: Sequence[_Answer],
    marginals: dict[FaultId, float],
    readings: Sequence[Reading],
) -> tuple[Finding, ...]:
    """Name the answers that are worth it, with the evidence for the first few."""
    named = [one for one in answers if one.probability >= _LEAST_NAMED] or answers[:1]
    then = {r.key: r.value for r in current(case.baseline)}
    findings = []
    for index, answer in enumerate(named):
        evidence: tuple[Evidence, ...] = ()
        if index < _EXPLAINED and len(answers) > 1 and readings:
            rival = _rival(answer, answers)
            evidence = evidence_of_readings(found, answer.row, rival.row, readings, then)
        if index == 0 and readings:
            possible = [one.fault.id for one in beforehand(case.installation).manifestations]
            evidence += ruled_out(marginals, tuple(dict.fromkeys(possible)))
        share = min(1.0, answer.probability)
        findings.append(Finding(faults=answer.faults, probability=share, evidence=evidence))
    return _within_one(findings)


def _rival(answer: _Answer, answers: Sequence[_Answer]) -> _Answer:
    """Return the likeliest other answer, one that does not merely add a fault if there is one."""
    others = [other for other in answers if other is not answer]
    apart = [other for other in others if not set(answer.faults) <= set(other.faults)]
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


def _next_readings(
    installation: Installation, found: Fit, weight: Array, readings: Sequence[Reading]
) -> tuple[NextReading, ...]:
    taken = {r.key for r in readings}
    open_keys = open_readings(taken, installation.solar is not None)
    metered = [key for key in open_keys if not is_lamp(key.point)]
    predictor = Predictor(installation, beforehand(installation).sound, metered)
    lamps = [key for key in open_keys if is_lamp(key.point)]
    return next_readings(Posterior.of(found, weight), predictor, lamps, taken)
