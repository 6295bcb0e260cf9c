"""The parts of a printed record in the order a customer reads them and an expert checks them."""

from collections.abc import Iterable
from itertools import groupby

from logic.case import Diagnosis, Finding, Judgement, Reading, Verdict
from logic.diagnosis import catalogue
from logic.records.outcomes import answer, answer_words, standing
from logic.records.paper.document import SOFT, Colour, RecordPdf
from logic.records.paper.tables import Check, Detail, bullets, checks, pairs
from logic.records.record import DesignChecked, Record, StepRecord
from logic.vehicle.installation import Installation
from logic.words.dates import moment
from logic.words.equipment import equipment, meter
from logic.words.figures import as_read, limits, probability, uncertainty
from logic.words.names import (
    MARKS,
    NONE_LISTED,
    NONE_LISTED_MEANS,
    PROVES_NOTHING,
    RESPONSIBILITIES,
    capitalised,
    in_words,
    reading_name,
    uncapitalised,
    where,
)

GOOD: Colour = (22, 92, 52)
DOUBT: Colour = (128, 80, 0)
BAD: Colour = (152, 20, 28)
_MARKS: dict[str, tuple[str, Colour]] = {
    "in range": ("✓", GOOD),
    "in order": ("✓", GOOD),
    "marginal": ("▲", DOUBT),
    "out of range": ("✗", BAD),
    "not in order": ("✗", BAD),
    "no limit": ("○", SOFT),
    PROVES_NOTHING: ("○", SOFT),
    "not judged": ("○", SOFT),
    "cannot be told": ("○", SOFT),
    "left out": ("–", DOUBT),
    "left open": ("–", BAD),
}


def steps(pdf: RecordPdf, record: Record) -> None:
    """Write every step with its answer, limits, uncertainty and verdict, stage by stage."""
    for stage, group in groupby(record.steps, key=lambda step: step.stage_id):
        checks(pdf, in_words(stage) or "Steps", (_step_check(step, record) for step in group))


def _step_check(step: StepRecord, record: Record) -> Check:
    word = standing(step)
    mark, ink = _MARKS[word]
    return Check(
        title=step.title,
        found=answer(step),
        limits=_limits(step.verdict),
        uncertainty=_uncertainty(step.verdict),
        verdict=f"{mark} {word}",
        ink=ink,
        details=tuple(_step_details(step, record)),
        is_exception=step.is_exception,
    )


def _limits(verdict: Verdict | None) -> str:
    if verdict is None:
        return "–"
    return limits(verdict.point, verdict.expected_low, verdict.expected_high, verdict.value)


def _uncertainty(verdict: Verdict | None) -> str:
    known = uncertainty(verdict.point, verdict.uncertainty) if verdict else ""
    return f"± {known}" if known else "–"


def _step_details(step: StepRecord, record: Record) -> Iterable[Detail]:
    if step.verdict:
        if where(step.verdict.point):
            at = f"{record.local(step.at):%H:%M}, " if step.at else ""
            state = uncapitalised(step.verdict.state.full_name_on(record.installation))
            yield Detail(f"{at}{state}: {where(step.verdict.point)}")
        if step.verdict.reason:
            yield Detail(step.verdict.reason)
    if step.skip_reason:
        yield Detail(f"Left out because: {step.skip_reason}")
    if step.explanation:
        yield Detail(f"Explanation: {step.explanation}", bold=True)
    yield from (Detail(f"Note: {note}") for note in step.notes)
    for earlier in step.history:
        when = moment(record.local(earlier.at))
        point = step.verdict.point if step.verdict else None
        said = earlier.text or answer_words(earlier.answer, point=point)
        yield Detail(f"Corrected; before, on {when}: {said}")
    if step.photos:
        named = ", ".join(digest[:8] for digest in step.photos)
        yield Detail(f"Photos, by the first digits of their hashes: {named}")


def exceptions(pdf: RecordPdf, record: Record) -> None:
    """List what is out of range or not in order, with the explanation accepted for it."""
    listed = [step for step in record.steps if step.is_exception]
    pdf.section("Exceptions accepted at signing")
    if not listed:
        pdf.paragraph("None.")
    for step in listed:
        said = step.explanation or "no explanation was recorded"
        pdf.keep(12)
        pdf.write_in(9, "B", BAD)
        pdf.paragraph(f"✗ {step.title}: {answer(step)}")
        pdf.write_in(9)
        if step.verdict and step.verdict.reason:
            pdf.paragraph(step.verdict.reason, indent=5)
        pdf.paragraph(f"Explanation: {said}", indent=5)


def skipped(pdf: RecordPdf, record: Record) -> None:
    """List the steps left out and those left open."""
    left_out = [step for step in record.steps if step.outcome != "done"]
    if not left_out:
        return
    pdf.section("Left out or left open")
    for step in left_out:
        why = step.skip_reason or "no reason was recorded"
        said = f" (left out): {why}" if step.outcome == "skipped" else " (left open)"
        pdf.paragraph(f"– {step.title}{said}")


def not_asked(pdf: RecordPdf, record: Record) -> None:
    """List what the depth of the job left out, with the values that follow from what was read."""
    if not record.not_asked:
        return
    words = f" ({record.depth.words.lower()})" if record.depth else ""
    pdf.section(f"Not asked for at the depth chosen{words}")
    pdf.paragraph(
        "Left out because nothing that was read asked for it. A value that follows was worked out "
        "of other readings, not read."
    )
    for one in record.not_asked:
        pdf.paragraph(f"– {one.title}{f': {one.follows}' if one.follows else ''}")


def fitted(pdf: RecordPdf, record: Record) -> None:
    """Describe the installation group by group, then the meter that was used."""
    for title, rows in equipment(record.installation):
        pdf.section(title)
        pairs(pdf, rows)
    pdf.section("Meter used")
    pdf.paragraph(meter(record.installation))
    pdf.paragraph(
        "“Meter ±” beside a reading is its expanded uncertainty with k = 2, about 95 % (JCGM 100). "
        "In range and out of range are only said where that uncertainty cannot change the answer; "
        "between them a reading is marginal."
    )


def design(pdf: RecordPdf, record: Record) -> None:
    """Write what is right by design, rule by rule, with where each rule comes from."""
    if record.design:
        checks(pdf, "Design check", map(_design_check, record.design), _DESIGN_HEADINGS)


def _design_check(one: DesignChecked) -> Check:
    word = _DESIGN[one.passed]
    mark, ink = _MARKS[word]
    return Check(
        title=one.title,
        found="",
        limits="",
        uncertainty="",
        verdict=f"{mark} {word}",
        ink=ink,
        details=tuple(_design_details(one)),
        is_exception=one.passed is False,
    )


def _design_details(one: DesignChecked) -> Iterable[Detail]:
    if one.rule:
        yield Detail(f"Rule: {one.rule}")
    yield Detail(one.text)
    if one.right:
        yield Detail(one.right, bold=one.passed is False)
    yield Detail(f"Source: {one.source}")


_DESIGN = {True: "in order", False: "not in order", None: "cannot be told"}
_DESIGN_HEADINGS = ("Rule", "", "", "", "Verdict")


def advice(pdf: RecordPdf, record: Record) -> None:
    """Repeat what the customer was told is normal."""
    if record.advice:
        pdf.section("Advice given: normal on this vehicle")
        bullets(pdf, record.advice)


def cautions(pdf: RecordPdf, record: Record) -> None:
    """Repeat the cautions that were shown during the job."""
    pdf.section("Cautions given")
    if not record.cautions:
        pdf.paragraph("No caution was recorded.")
    bullets(pdf, (caution.text for caution in record.cautions))


def complaint(pdf: RecordPdf, record: Record) -> None:
    """Say what the customer complained of and what was seen."""
    pdf.section("The complaint")
    pdf.paragraph(record.complaint or "No complaint was written down.")
    if record.symptoms:
        pdf.paragraph("Symptoms: " + ", ".join(in_words(s).lower() for s in record.symptoms) + ".")


def readings(
    pdf: RecordPdf,
    title: str,
    taken: Iterable[Reading],
    verdicts: Iterable[Verdict],
    fitted: Installation,
) -> None:
    """Write fault-finding readings with what each was held against."""
    rows = tuple(taken)
    if not rows:
        return
    judged = {(v.point, v.state, v.value): v for v in verdicts}
    checks(
        pdf,
        title,
        (
            _reading_check(
                reading, judged.get((reading.point, reading.state, reading.value)), fitted
            )
            for reading in rows
        ),
    )


def _reading_check(reading: Reading, verdict: Verdict | None, fitted: Installation) -> Check:
    word = MARKS[verdict.mark] if verdict else "not judged"
    mark, ink = _MARKS[word]
    under = (capitalised(where(reading.point)), verdict.reason if verdict else "")
    return Check(
        title=reading_name(reading.point, reading.state, fitted),
        found=as_read(reading.point, reading.value),
        limits=_limits(verdict),
        uncertainty=_uncertainty(verdict),
        verdict=f"{mark} {word}",
        ink=ink,
        details=tuple(Detail(text) for text in under if text),
        is_exception=verdict is not None and verdict.verdict is Judgement.OUT_OF_RANGE,
    )


def conclusion(pdf: RecordPdf, record: Record) -> None:
    """Say what was found, what was done, and whose matter it was."""
    if record.conclusion is None:
        return
    found = record.conclusion
    faults = catalogue.titles(found.faults) if found.faults else "none named"
    pdf.section("Cause and repair")
    rows = (
        ("Fault", faults),
        ("Cause", found.cause or "not written down"),
        ("Repair", found.repair or "not written down"),
        ("Responsibility", RESPONSIBILITIES[found.responsibility]),
    )
    pairs(pdf, rows)


def diagnosis(pdf: RecordPdf, said: Diagnosis | None) -> None:
    """Say what the readings pointed to, most likely first."""
    if said is None:
        return
    listed = [
        (one.probability, catalogue.titles(one.faults), (*one.evidence_in_words, *_besides(one)))
        for one in said.findings[:_FINDINGS]
    ]
    if said.unexplained is not None and said.place_of_unexplained is not None:
        nothing_listed = (said.unexplained, NONE_LISTED, tuple(_not_listed(said)))
        listed.insert(said.place_of_unexplained, nothing_listed)
    if not listed:
        return
    pdf.section("What the readings pointed to")
    for likely, title, lines in listed:
        pdf.write_in(9, "B")
        pdf.paragraph(f"{probability(likely)}: {title}")
        pdf.write_in(8.5)
        for line in lines:
            pdf.paragraph(f"– {line}", indent=5)


_FINDINGS = 3


def _besides(finding: Finding) -> Iterable[str]:
    yield from (hidden.text for hidden in finding.hides)
    yield from (f"To check: {reading.text}" for reading in finding.accounts_for)


def _not_listed(said: Diagnosis) -> Iterable[str]:
    yield NONE_LISTED_MEANS
    yield from (f"Not explained: {reading.text}" for reading in said.unexplained_readings)
    yield from (f"To check: {text}" for text in said.to_check)


def out_of_reach(pdf: RecordPdf, record: Record) -> None:
    """Name the readings that could not be taken."""
    if record.out_of_reach:
        named = "; ".join(
            reading_name(*one.key, record.installation) for one in record.out_of_reach
        )
        pdf.keep(12)
        pdf.ln(2)
        pdf.write_in(9)
        pdf.paragraph(f"Could not be reached: {named}.")
