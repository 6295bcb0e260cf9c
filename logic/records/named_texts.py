"""A record's words of a person: where they stand, and how the customer's name is kept out of them.

A sealed record is never changed, so a name in one of its texts could never be erased. It is kept
out before the record is sealed, where both who sign still read what they sign for.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from logic.checklist.answers import Answer, TextAnswer
from logic.quantities import Data
from logic.records.customer_names import CustomerNames
from logic.records.record import Record, StepHistory, StepRecord

SomeData = TypeVar("SomeData", bound=Data)
AnAnswer = TypeVar("AnAnswer", Answer, Answer | None)

_NOTE = 2000  # characters; as a record's form has it


def texts_in(record: Record) -> Iterator[tuple[str, str]]:
    """Yield each text that a person wrote freely, after where it stands, in words."""
    yield "the place of signing", record.place
    yield "the vehicle's description", record.vehicle.description
    unit = record.installation.charger
    yield "the note on the profile", unit.profile_note
    yield "the unit's model", unit.model
    yield "the unit's serial number", unit.serial_number
    yield "who fitted the unit", unit.fitted_by
    yield "the complaint", record.complaint
    if record.conclusion:
        yield "the cause", record.conclusion.cause
        yield "the repair", record.conclusion.repair
    for step in record.steps:
        for what, text in _texts_of(step):
            yield f"{what} at “{step.title}”", text


def _texts_of(step: StepRecord) -> Iterator[tuple[str, str]]:
    if isinstance(step.answer, TextAnswer):
        yield "the answer", step.answer.text
    else:
        yield "the answer", step.text
    yield from (("a note", note) for note in step.notes)
    yield "the explanation", step.explanation
    yield "the reason for leaving it out", step.skip_reason
    for earlier in step.history:
        if isinstance(earlier.answer, TextAnswer):
            yield "an earlier answer", earlier.answer.text
        else:
            yield "an earlier answer", earlier.text


def places_named(record: Record, names: CustomerNames) -> tuple[str, ...]:
    """Return where a record surely names the customer, in words."""
    found = (where for where, text in texts_in(record) if names.surely_in(text))
    return tuple(dict.fromkeys(found))


def places_with_parts(record: Record, names: CustomerNames) -> tuple[str, ...]:
    """Return where a part of the customer's name stands beside what is surely them, in words."""
    texts = ((where, names.left_out_of(text)) for where, text in texts_in(record))
    return tuple(dict.fromkeys(where for where, text in texts if names.maybe_in(text)))


def without_names(record: Record, names: CustomerNames) -> Record:
    """Return a record in whose texts "the customer" stands for what surely names them."""
    if not places_named(record, names):
        return record
    conclusion = record.conclusion and _changed(record.conclusion, names, "cause", "repair")
    of_unit = ("profile_note", "model", "serial_number", "fitted_by")
    charger = _changed(record.installation.charger, names, *of_unit)
    installation = record.installation.model_copy(update={"charger": charger})
    update = {
        "vehicle": _changed(record.vehicle, names, "description"),
        "installation": installation,
        "conclusion": conclusion,
        "steps": tuple(_step(step, names) for step in record.steps),
    }
    return _changed(record, names, "place", "complaint").model_copy(update=update)


def _changed(data: SomeData, names: CustomerNames, *fields: str) -> SomeData:
    update = {}
    for field in fields:
        text = names.left_out_of(getattr(data, field))
        # What stands in may be longer than the name was.
        limits = (
            getattr(one, "max_length", None) for one in type(data).model_fields[field].metadata
        )
        update[field] = text[: next(filter(None, limits), None)]
    return data.model_copy(update=update)


def _step(step: StepRecord, names: CustomerNames) -> StepRecord:
    update = {
        "answer": _answer(step.answer, names),
        "notes": tuple(names.left_out_of(note)[:_NOTE] for note in step.notes),
        "history": tuple(_earlier(one, names) for one in step.history),
    }
    changed = _changed(step, names, "text", "explanation", "skip_reason")
    return changed.model_copy(update=update)


def _earlier(earlier: StepHistory, names: CustomerNames) -> StepHistory:
    changed = _changed(earlier, names, "text")
    return changed.model_copy(update={"answer": _answer(earlier.answer, names)})


def _answer(answer: AnAnswer, names: CustomerNames) -> AnAnswer:
    return _changed(answer, names, "text") if isinstance(answer, TextAnswer) else answer
