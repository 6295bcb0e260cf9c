"""Signed records as one table: a row for every step and every fault-finding reading."""

import csv
import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import IO

from logic.case import Reading, Verdict
from logic.records.outcomes import answer, standing
from logic.records.record import Record, SealedRecord, StepRecord
from logic.words.names import VERDICTS

COLUMNS = (
    "registration",
    "job",
    "revision",
    "signed_at",
    "workshop",
    "technician",
    "stage",
    "check",
    "point",
    "state",
    "value",
    "unit",
    "expected_low",
    "expected_high",
    "uncertainty",
    "verdict",
    "reason",
    "answer",
    "explanation",
    "vehicle_id",
    "record_sha256",
)
Cell = str | float | int | None


_STARTERS = "=+-@"
# Where a spreadsheet may see a cell begin: at its start, and after what it may take for the end
# of a cell or of a line (it asks nobody which of them a file uses).
_BEGINNING = re.compile(r"(^|[\t\n\r\u2028\u2029])([^\w\t\n\r\u2028\u2029]*)")


def write_table(records: Iterable[SealedRecord], target: IO[str]) -> int:
    """Write records as CSV (RFC 4180) with a head line and return how many rows there are.

    Every cell stands in quotes, so that a reader that expects semicolons cannot split a text.
    """
    writer = csv.writer(target, quoting=csv.QUOTE_ALL)
    writer.writerow(COLUMNS)
    count = 0
    for sealed in records:
        for row in _rows(sealed):
            writer.writerow([_guarded(row.get(column)) for column in COLUMNS])
            count += 1
    return count


def _guarded(cell: Cell) -> Cell:
    """Keep a spreadsheet from running a text as a formula: such a text gets an apostrophe.

    What acts on a terminal without being seen is left out, but for line ends and tabs.
    """
    if not isinstance(cell, str):
        return cell
    return _BEGINNING.sub(_marked, "".join(filter(_is_seen, cell)))


def _marked(beginning: re.Match[str]) -> str:
    ends, signs = beginning.groups()
    # Spreadsheets pass over spaces, and read a full-width sign (＝) as the sign itself.
    first = unicodedata.normalize("NFKC", signs).strip()[:1]
    return f"{ends}'{signs}" if first and first in _STARTERS else f"{ends}{signs}"


def _is_seen(letter: str) -> bool:
    return letter in "\t\n\r" or unicodedata.category(letter) not in ("Cc", "Cf", "Cs")


def _rows(sealed: SealedRecord) -> Iterator[dict[str, Cell]]:
    record = sealed.record
    common = _common(record) | {"record_sha256": sealed.sha256}
    for step in record.steps:
        yield common | _step(step)
    judged = {(v.point, v.state, v.value): v for v in record.verdicts}
    after = bool(record.readings_after)
    for stage, readings in (("before", record.readings), ("after", record.readings_after)):
        for reading in readings:
            fits = (stage == "after") == after
            found = judged.get((reading.point, reading.state, reading.value)) if fits else None
            yield common | {"stage": stage} | _reading(reading, found)


def _common(record: Record) -> dict[str, Cell]:
    return {
        "registration": record.vehicle.registration,
        "job": record.job_kind,
        "revision": record.revision,
        "signed_at": record.signed_at.isoformat(),
        "workshop": record.technician.workshop,
        "technician": record.technician.name,
        "vehicle_id": record.vehicle_id,
    }


def _step(step: StepRecord) -> dict[str, Cell]:
    return {
        "stage": step.stage_id,
        "check": step.title,
        "verdict": standing(step),
        "answer": answer(step),
        "explanation": step.explanation or step.skip_reason,
    } | (_verdict(step.verdict) if step.verdict else {})


def _verdict(verdict: Verdict) -> dict[str, Cell]:
    return {
        "point": verdict.point.value,
        "state": verdict.state.value,
        "value": verdict.value,
        "unit": verdict.point.unit.value,
        "expected_low": verdict.expected_low,
        "expected_high": verdict.expected_high,
        "uncertainty": verdict.uncertainty,
        "reason": verdict.reason,
    }


def _reading(reading: Reading, verdict: Verdict | None) -> dict[str, Cell]:
    if verdict:
        return _verdict(verdict) | {"verdict": VERDICTS[verdict.verdict]}
    return {
        "point": reading.point.value,
        "state": reading.state.value,
        "value": reading.value,
        "unit": reading.point.unit.value,
    }
