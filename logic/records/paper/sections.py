"""The parts of a printed record in the order a customer reads them and an expert checks them."""

from collections.abc import Iterable
from itertools import groupby

from logic.case import Diagnosis, Judgement, Reading, Verdict
from logic.diagnosis import catalogue
from logic.records.outcomes import answer, answer_words, standing
from logic.records.paper.equipment import equipment, meter
from logic.records.paper.sheet import SOFT, Sheet
from logic.records.paper.table import Colour, Detail, Row, Table, pairs
from logic.records.record import Record, StepRecord
from logic.words.dates import moment
from logic.words.figures import as_read, limits, probability, uncertainty
from logic.words.names import (
    RESPONSIBILITIES,
    VERDICTS,
    capitalised,
    in_words,
    reading_name,
    uncapitalised,
    where,
)

HEADS = ("What was checked", "Found", "Limits", "Meter ±", "Verdict")
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
    "skipped": ("–", DOUBT),
    "left open": ("–", BAD),
}
_WIDTHS = (62.0, 30.0, 34.0, 20.0, 34.0)


def steps(sheet: Sheet, record: Record) -> None:
    """Write every step with its answer, limits, uncertainty and verdict, stage by stage."""
    for stage, group in groupby(record.steps, key=lambda step: step.stage_id):
        sheet.section(in_words(stage) or "Steps", follows=24)
        table = Table(sheet, _WIDTHS, HEADS)
        for step in group:
            table.add(_step_row(step, record))


def _step_row(step: StepRecord, record: Record) -> Row:
    word = standing(step)
    mark, ink = _MARKS[word]
    found = answer(step)
    details = list(_step_details(step, record))
    if len(found) > 60:
        details.insert(0, Detail(found))
        found = "see under"
    held = _held(step.verdict) if step.verdict else ("–", "–")
    return Row((step.title, found, *held, f"{mark} {word}"), details, ink, step.is_exception)


def _held(verdict: Verdict) -> tuple[str, str]:
    """Say what a reading was held against, and how far the meter may be out."""
    band = limits(verdict.point, verdict.expected_low, verdict.expected_high)
    doubt = uncertainty(verdict.point, verdict.uncertainty)
    return band, f"± {doubt}" if doubt else "–"


def _step_details(step: StepRecord, record: Record) -> Iterable[Detail]:
    if step.verdict:
        if where(step.verdict.point):
            at = f"{record.local(step.at):%H:%M}, " if step.at else ""
            state = uncapitalised(step.verdict.state.full_name)
            yield Detail(f"{at}{state}: {where(step.verdict.point)}")
        if step.verdict.reason:
            yield Detail(step.verdict.reason)
    if step.skip_reason:
        yield Detail(f"Skipped because: {step.skip_reason}")
    if step.explanation:
        yield Detail(f"Explanation: {step.explanation}", bold=True)
    yield from (Detail(f"Note: {note}") for note in step.notes)
    for earlier in step.history:
        when = moment(record.local(earlier.at))
        point = step.verdict.point if step.verdict else None
        yield Detail(f"Corrected; before, on {when}: {answer_words(earlier.answer, point=point)}")
    if step.photos:
        yield Detail(f"Photos: {', '.join(digest[:8] for digest in step.photos)}")


def exceptions(sheet: Sheet, record: Record) -> None:
    """List what is out of range or not in order, with the explanation accepted for it."""
    listed = [step for step in record.steps if step.is_exception]
    sheet.section("Exceptions accepted at signing")
    if not listed:
        sheet.paragraph("None.")
    for step in listed:
        said = step.explanation or "no explanation was recorded"
        sheet.keep(12)
        sheet.write_in(9, "B", BAD)
        sheet.paragraph(f"✗ {step.title}: {answer(step)}")
        sheet.write_in(9)
        if step.verdict and step.verdict.reason:
            sheet.paragraph(step.verdict.reason, indent=5)
        sheet.paragraph(f"Explanation: {said}", indent=5)


def skipped(sheet: Sheet, record: Record) -> None:
    """List the steps left out and those left open."""
    left_out = [step for step in record.steps if step.outcome != "done"]
    if not left_out:
        return
    sheet.section("Skipped or left open")
    for step in left_out:
        why = step.skip_reason or "no reason was recorded"
        said = f" (skipped): {why}" if step.outcome == "skipped" else " (left open)"
        sheet.paragraph(f"– {step.title}{said}")


def fitted(sheet: Sheet, record: Record) -> None:
    """Describe the installation group by group, then the meter that was used."""
    for title, rows in equipment(record.installation):
        sheet.section(title)
        pairs(sheet, rows)
    sheet.section("Meter used")
    sheet.paragraph(meter(record.installation))
    sheet.paragraph(
        "“Meter ±” beside a reading is its expanded uncertainty with k = 2, about 95 % (JCGM 100). "
        "In range and out of range are only said where that uncertainty cannot change the answer; "
        "between them a reading is marginal."
    )


def cautions(sheet: Sheet, record: Record) -> None:
    """Repeat the cautions that were shown during the job."""
    sheet.section("Cautions given")
    if not record.cautions:
        sheet.paragraph("No caution was recorded.")
    for caution in record.cautions:
        sheet.keep(min(sheet.lines(caution.text, 176, 4.4), 40) + 1)
        sheet.paragraph("•", width=5)
        sheet.set_y(sheet.get_y() - 4.4)
        sheet.paragraph(caution.text, indent=4)
        sheet.set_y(sheet.get_y() + 0.8)


def complaint(sheet: Sheet, record: Record) -> None:
    """Say what the customer complained of and what was seen."""
    sheet.section("The complaint")
    sheet.paragraph(record.complaint or "No complaint was written down.")
    if record.symptoms:
        sheet.paragraph(
            "Symptoms: " + ", ".join(in_words(s).lower() for s in record.symptoms) + "."
        )


def readings(
    sheet: Sheet, title: str, taken: Iterable[Reading], verdicts: Iterable[Verdict]
) -> None:
    """Write fault-finding readings with what each was held against."""
    rows = tuple(taken)
    if not rows:
        return
    judged = {(v.point, v.state, v.value): v for v in verdicts}
    sheet.section(title, follows=24)
    table = Table(sheet, _WIDTHS, HEADS)
    for reading in rows:
        table.add(_reading_row(reading, judged.get((reading.point, reading.state, reading.value))))


def _reading_row(reading: Reading, verdict: Verdict | None) -> Row:
    name = reading_name(reading.point, reading.state)
    found = as_read(reading.point, reading.value)
    posts = [Detail(capitalised(where(reading.point)))] if where(reading.point) else []
    if verdict is None:
        return Row((name, found, "–", "–", "○ not judged"), posts, SOFT)
    word = VERDICTS[verdict.verdict]
    mark, ink = _MARKS[word]
    why = [Detail(verdict.reason)] if verdict.reason else []
    cells = (name, found, *_held(verdict), f"{mark} {word}")
    return Row(cells, posts + why, ink, verdict.verdict is Judgement.OUT_OF_RANGE)


def conclusion(sheet: Sheet, record: Record) -> None:
    """Say what was found, what was done, and whose matter it was."""
    if record.conclusion is None:
        return
    found = record.conclusion
    faults = catalogue.titles(found.faults) if found.faults else "none named"
    sheet.section("Cause and repair")
    rows = (
        ("Fault", faults),
        ("Cause", found.cause or "not written down"),
        ("Repair", found.repair or "not written down"),
        ("Responsibility", RESPONSIBILITIES[found.responsibility]),
    )
    pairs(sheet, rows)


def diagnosis(sheet: Sheet, said: Diagnosis | None) -> None:
    """Say what the readings pointed to, most likely first."""
    if said is None or not said.findings:
        return
    sheet.section("What the readings pointed to")
    for finding in said.findings[:3]:
        sheet.write_in(9, "B")
        sheet.paragraph(f"{probability(finding.probability)}: {catalogue.titles(finding.faults)}")
        sheet.write_in(8.5)
        for evidence in finding.evidence_in_words:
            sheet.paragraph(f"– {evidence}", indent=5)
