import json

import pytest

from logic.case import OutOfReach, Reading
from logic.checklist.answers import ChoiceAnswer, PhotoAnswer, TextAnswer, YesNoAnswer
from logic.records.events import (
    CauseConcluded,
    Event,
    ReadingOutOfReach,
    ReadingTaken,
    StepAnswered,
    StepSkipped,
)
from logic.records.store.store import FILE, Store
from logic.vehicle.points import Point, State
from tests.logic.records import scenes


def test_list_shows_plates_states_and_ids(run):
    lines = run("list").output.splitlines()
    assert lines[0].split() == ["plate", "last", "work", "state", "id", "vehicle"]
    said = {line[:7]: line for line in lines[1:]}
    assert "commissioning open" in said["BEE 338"]
    assert "signed" in said["LIB 042"]


def test_list_says_when_there_are_more(run):
    result = run("list", "--limit", "1")
    assert "The first 1 of 3" in result.stderr


def test_find_takes_any_part_and_writes_json(run):
    (found,) = json.loads(run("find", "lib-04", "--json").output)
    assert found["registration"] == "LIB 042"
    assert found["state"] == "signed"


def test_show_says_what_is_fitted_and_what_was_signed(run):
    said = run("show", "LIB 042").output
    assert "25 A" in said
    assert "Bookmobile trust" in said
    assert "revision 1, signed 2 March 2026, 08:50 (UTC+00:00)" in said
    assert "12.6 V" in said


def test_show_of_an_unsigned_job_says_the_answers_so_far(run):
    said = run("show", "bee").output
    assert "not signed" in said
    assert "12.71" in said


def test_a_vehicle_may_be_named_by_the_id_that_list_shows(run):
    (found,) = json.loads(run("find", "LIB 042", "--json").output)
    assert "LIB 042" in run("show", found["vehicle_id"][:12]).output


@pytest.mark.parametrize("called", ["xyz", "", "-", "0123456789"])
def test_a_name_that_fits_none_is_said(run, called):
    assert "No vehicle fits" in run("show", called, status=1).stderr


def test_a_name_that_fits_several_names_them(run):
    said = run("show", "library", status=1).stderr
    assert "LIB 042" in said
    assert "VET 117" in said


def test_show_of_a_callback_says_complaint_readings_cause_and_clashes(run, folder):
    with Store.open(folder) as store:
        vehicle = scenes.van(store, "SAW 051")
        job = scenes.open_job(store, vehicle, "callback")

        def tell(body, device="one"):
            store.append(Event(vehicle_id=vehicle, job_id=job, device=device, body=body))

        value = Reading(point=Point.VEHICLE_RETURN_DROP, state=State.IDLE, value=0.92)
        tell(ReadingTaken(reading=value))
        tell(ReadingTaken(reading=value.model_copy(update={"value": 0.11}), when="after"))
        beyond = OutOfReach(point=Point.HOUSE_FEED_DROP, state=State.IDLE)
        tell(ReadingOutOfReach(reading=beyond))
        tell(StepAnswered(step_id="panel", answer=YesNoAnswer(yes=True)))
        tell(StepAnswered(step_id="place", answer=ChoiceAnswer(choice="in_the_cabin")))
        tell(StepAnswered(step_id="remark", answer=TextAnswer(text="two\nlines")))
        tell(StepAnswered(step_id="unit", answer=PhotoAnswer(sha256="a" * 64)))
        tell(StepSkipped(step_id="grommets", reason="glued down"))
        tell(CauseConcluded(cause="paint", repair="cleaned", responsibility="wiring"))
    said = run("show", "SAW").output
    for expected in (
        "before the repair: Drop in the vehicle return, engine idling: 0.920 V",
        "after the repair: Drop in the vehicle return, engine idling: 0.110 V",
        "out of reach: Drop in the house feed, engine idling",
        "cause: paint",
        "repair: cleaned",
        "responsible: the installation's wiring",
        "Yes",
        "In the cabin",
        "two lines",
        "Photo aaaaaaaa",
        "left out: glued down",
        "equipment: not described yet",
    ):
        assert expected in said


def test_list_of_a_vehicle_without_a_job(run, folder):
    with Store.open(folder) as store:
        scenes.van(store, "NEW 001")
    assert "no job yet" in run("find", "NEW").output


def test_what_the_store_has_to_say_is_said_on_the_error_stream(run, folder):
    (folder / FILE).write_bytes(b"no database at all " * 500)
    result = run("list")
    assert result.stdout.startswith("plate")
    assert result.stderr.strip()
