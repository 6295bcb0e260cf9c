"""Every place for words of a person is known, in events as in records."""

from typing import Any

import pytest
from pydantic import BaseModel

from logic.checklist.answers import TextAnswer
from logic.records import events
from logic.records.customer_names import STAND_IN, CustomerNames
from logic.records.named_texts import places_named, places_with_parts, texts_in, without_names
from logic.records.record import Record, StepHistory
from logic.records.store.text_table import FREE_TEXTS
from logic.vehicle.identity import Customer
from tests.logic.records.sample_records import LIBRARY_VAN, SIGNED, callback, commissioning, step

NAMES = CustomerNames.of([Customer(name="Ida Quarrow")])
LONG = 100  # characters; a field for as many takes sentences
# The customer lies apart as a whole; the technician signs with their own details.
OTHERS = {"customer", "technician", "diagnosis", "verdicts", "verdict"}


def long_texts(model: type[BaseModel], way: str = "") -> set[str]:
    """Return the fields of a model, and of those in it, that take sentences."""
    found = set()
    for name, field in model.model_fields.items():
        if name in OTHERS:
            continue
        limits = [getattr(one, "max_length", 0) or 0 for one in field.metadata]
        if field.annotation is str and max(limits, default=0) >= LONG:
            found.add(f"{way}{name}")
        for kind in _models_in(field.annotation):
            found |= long_texts(kind, f"{way}{name}.")
    return found


def _models_in(annotation: Any) -> set[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {annotation}
    inner = getattr(annotation, "__args__", ())
    return {model for one in inner for model in _models_in(one)}


@pytest.mark.parametrize("body", events.Told.__subclasses__(), ids=lambda body: body.__name__)
def test_every_field_for_sentences_of_an_event_lies_apart(body):
    assert long_texts(body) == set(FREE_TEXTS[body.model_fields["kind"].default])


def test_no_other_event_has_a_field_for_sentences():
    kinds = [one for one in vars(events).values() if isinstance(one, type)]
    bodies = [one for one in kinds if issubclass(one, events.Data) and "kind" in one.model_fields]
    others = [body for body in bodies if not issubclass(body, events.Told)]
    assert len(bodies) > 14
    assert {body.__name__: long_texts(body) for body in others if long_texts(body)} == {}


def named_record() -> Record:
    told = "Ida Quarrow was told"
    charger = LIBRARY_VAN.charger.model_copy(update={"profile_note": told})
    record = callback()
    return record.model_copy(
        update={
            "place": told,
            "complaint": told,
            "vehicle": record.vehicle.model_copy(update={"description": told}),
            "installation": LIBRARY_VAN.model_copy(update={"charger": charger}),
            "conclusion": record.conclusion.model_copy(update={"cause": told, "repair": told}),
            "steps": (
                step(
                    "any",
                    "any",
                    "Remarks",
                    outcome="done",
                    answer=TextAnswer(text=told),
                    text=told,
                    notes=(told, "New lug"),
                    skip_reason=told,
                    explanation=told,
                    history=(StepHistory(at=SIGNED, answer=TextAnswer(text=told), text=told),),
                ),
            ),
        }
    )


def test_the_name_is_left_out_of_every_text_of_a_record_and_nothing_else_is():
    before = named_record()
    after = without_names(before, NAMES)
    text = after.model_dump_json()
    assert "Quarrow" not in text
    assert text.count(STAND_IN) == before.model_dump_json().count("Ida Quarrow")
    assert text.replace(STAND_IN, "Ida Quarrow") == before.model_dump_json()
    assert Record.model_validate_json(text) == after


def test_each_place_is_named_once():
    assert places_named(named_record(), NAMES) == (
        "the place of signing",
        "the vehicle's description",
        "the note on the profile",
        "the complaint",
        "the cause",
        "the repair",
        "the answer at “Remarks”",
        "a note at “Remarks”",
        "the explanation at “Remarks”",
        "the reason for leaving it out at “Remarks”",
        "an earlier answer at “Remarks”",
    )


def test_a_record_that_names_nobody_stays_as_it_is():
    record = commissioning()
    assert without_names(record, NAMES) is record
    assert places_with_parts(record, NAMES) == ()
    assert all(isinstance(text, str) for _, text in texts_in(record))


def test_what_stands_in_never_makes_a_text_too_long():
    short = CustomerNames.of([Customer(name="Bo Xu")])
    record = commissioning(complaint="Bo Xu. " * 285)
    after = without_names(record, short)
    assert len(after.complaint) == 2000
    assert Record.model_validate_json(after.model_dump_json()) == after
