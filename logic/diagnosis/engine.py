"""The diagnosis: from a case's readings to findings, evidence, next readings and verdicts."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from logic.case import (
    AccountedReading,
    Case,
    Diagnosis,
    Evidence,
    Finding,
    HiddenBehind,
    Judgement,
    NextReading,
    Reading,
    SuspectReading,
    UnexplainedReading,
    Verdict,
)
from logic.diagnosis import unlisted, wording
from logic.diagnosis.answers import Answer, Answers, answers
from logic.diagnosis.evidence import evidence_of_readings, ruled_out, suspect_readings
from logic.diagnosis.fit import Fit, Problem, normalised
from logic.diagnosis.hidden import hidden_behind
from logic.diagnosis.hypotheses import beforehand
from logic.diagnosis.next_reading import Posterior, next_readings, open_readings
from logic.diagnosis.not_cleared import not_cleared
from logic.diagnosis.prediction import Predictor, is_lamp, is_predicted
from logic.diagnosis.search import current, search
from logic.limits.verdict import judge_all
from logic.vehicle.installation import Installation
from logic.vehicle.points import ReadingKey

Array = NDArray[np.float64]

# Findings less likely than this are not named; evidence is worked out for the first few.
_LEAST_NAMED = 0.002
_EXPLAINED = 4
# From this probability up, a finding says what it hides, and what no answer explains is named.
_HIDES_FROM, _WORTH_EXPLAINING = 0.5, 0.1
_DECIMALS = 6


def diagnose(case: Case) -> Diagnosis:
    """Say what the readings say so far: what is likely, why, and what to read next."""
    readings = tuple(r for r in current(case.readings) if is_predicted(r.point))
    metered = tuple(r for r in readings if not is_lamp(r.point))
    searched = search(case, readings)
    today, found = searched.today, searched.listed
    weight = normalised(found.ln_weight)
    outside = unlisted.unexplained(today, found, searched.misjudged, searched.kinds)
    suspect = suspect_readings(found, weight, metered, case.installation)
    verdicts = judge_all(case.installation, case.readings, case.baseline)
    read = {(reading.key, reading.value) for reading in readings}
    counting = [one for one in verdicts if (one.key, one.value) in read]
    all_answers = answers(found, weight, outside.probability)
    out = _out_of_range(counting, suspect)
    sound = _accounting_for(today, found, all_answers, out)
    if out and sound is None:
        all_answers = all_answers.against_verdict()
    says_more = all_answers.unexplained >= _WORTH_EXPLAINING
    findings = _findings(case, today, found, all_answers, metered)
    if sound is not None:
        findings = _with_accounted(findings, sound, out, case.installation)
    within_reach, worth_reaching = _next_readings(case, found, weight, readings)
    return Diagnosis(
        findings=findings,
        marginals=all_answers.marginals,
        unexplained=all_answers.unexplained,
        unexplained_readings=_unexplained_readings(
            today, found, all_answers.ranked[0], metered, counting, case.installation
        )
        if says_more
        else (),
        to_check=wording.checks_in_words(outside.likely_kinds) if says_more else (),
        next_readings=within_reach,
        worth_reaching=worth_reaching,
        suspect_readings=suspect,
        verdicts=not_cleared(verdicts, findings),
    )


def _out_of_range(
    verdicts: Sequence[Verdict], suspect: Sequence[SuspectReading]
) -> tuple[Verdict, ...]:
    """Return the verdicts out of range on readings that are not to be taken again anyway."""
    doubted = {one.key for one in suspect}
    return tuple(
        one for one in verdicts if one.verdict is Judgement.OUT_OF_RANGE and one.key not in doubted
    )


def _accounting_for(
    today: Problem, found: Fit, all_answers: Answers, out: Sequence[Verdict]
) -> Answer | None:
    """Return that all is as it should be, if it accounts for what is out of range."""
    sound = all_answers.nothing_wrong
    if not out or sound is None:
        return None
    points = [one.point for one in out]
    return sound if unlisted.accounts_for(today, found, sound.row, points) else None


def _with_accounted(
    findings: tuple[Finding, ...], sound: Answer, out: Sequence[Verdict], fitted: Installation
) -> tuple[Finding, ...]:
    """Say beside "all as it should be" what is out of range and yet right."""
    said = tuple(
        AccountedReading(
            point=one.point,
            state=one.state,
            value=one.value,
            text=wording.accounted_in_words(one, fitted),
        )
        for one in out
    )
    return tuple(
        one.model_copy(update={"accounts_for": said}) if one.faults == sound.faults else one
        for one in findings
    )


def _findings(
    case: Case, today: Problem, found: Fit, all_answers: Answers, readings: Sequence[Reading]
) -> tuple[Finding, ...]:
    """Name the answers that are worth it, with the evidence for the first few."""
    ranked = all_answers.ranked
    named = [one for one in ranked if one.probability >= _LEAST_NAMED] or ranked[:1]
    then = {r.key: r.value for r in current(case.baseline)}
    findings = []
    for index, answer in enumerate(named):
        evidence: tuple[Evidence, ...] = ()
        if index < _EXPLAINED and len(ranked) > 1 and readings:
            rival = _rival(answer, ranked)
            evidence = evidence_of_readings(
                found, answer.row, rival.row, readings, then, case.installation
            )
        if index == 0 and readings:
            possible = [one.fault.id for one in beforehand(case.installation).manifestations]
            evidence += ruled_out(all_answers.marginals, tuple(dict.fromkeys(possible)))
        hides: tuple[HiddenBehind, ...] = ()
        if index == 0 and readings and _may_hide(found, answer):
            hides = hidden_behind(case.installation, found, answer.row, today.predictor)
        share = min(1.0, answer.probability)
        findings.append(
            Finding(faults=answer.faults, probability=share, evidence=evidence, hides=hides)
        )
    return _within_one(findings)


def _may_hide(found: Fit, answer: Answer) -> bool:
    """Whether an answer is one fault, of equipment that is not sound, and likelier than not."""
    first, *more = found.rows.manifestations[answer.row]
    sound = first.fault.equipment_is_sound
    return not more and not sound and answer.probability >= _HIDES_FROM


def _rival(answer: Answer, ranked: Sequence[Answer]) -> Answer:
    """Return the likeliest other answer, one that does not merely add a fault if there is one."""
    others = [other for other in ranked if other is not answer]
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


def _unexplained_readings(
    today: Problem,
    found: Fit,
    likeliest: Answer,
    readings: Sequence[Reading],
    verdicts: Sequence[Verdict],
    fitted: Installation,
) -> tuple[UnexplainedReading, ...]:
    """Return the readings that the likeliest answer leaves unexplained."""
    off = unlisted.reading_is_off(today, found, likeliest.row)
    if not off.any():
        # An answer that strains what is usual may fit each reading: then what is out of range.
        out = {one.key for one in verdicts if one.verdict is Judgement.OUT_OF_RANGE}
        off = np.array([reading.key in out for reading in readings], dtype=np.bool_)
    expected = found.predicted.value[likeliest.row]
    named = [
        UnexplainedReading(
            point=reading.point,
            state=reading.state,
            value=reading.value,
            expected=round(float(expected[index]), _DECIMALS),
        )
        for index, reading in enumerate(readings)
        if off[index]
    ]
    return tuple(
        one.model_copy(update={"text": wording.unexplained_in_words(one, fitted)}) for one in named
    )


def _next_readings(
    case: Case, found: Fit, weight: Array, readings: Sequence[Reading]
) -> tuple[tuple[NextReading, ...], tuple[NextReading, ...]]:
    """Return what to read next, and where that is nothing, what is worth reaching after all."""
    installation = case.installation
    taken = {r.key for r in readings}
    beyond = {one.key for one in case.out_of_reach} - taken
    posterior = Posterior.of(found, weight)

    def worth_taking(barred: set[ReadingKey]) -> tuple[NextReading, ...]:
        open_keys = open_readings(barred, installation)
        metered = [key for key in open_keys if not is_lamp(key.point)]
        predictor = Predictor(installation, beforehand(installation).sound, metered)
        lamps = [key for key in open_keys if is_lamp(key.point)]
        return next_readings(posterior, predictor, lamps, taken, installation)

    within_reach = worth_taking(taken | beyond)
    if within_reach or not beyond:
        return within_reach, ()
    return (), tuple(one for one in worth_taking(taken) if (one.point, one.state) in beyond)
