"""A customer erased by touch, and the name kept out of what is sealed."""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from logic.records import sign_off
from logic.records.events import CustomerDescribed, Event, StepNoted
from logic.records.review import review
from logic.records.store.text_table import LEFT_OUT
from logic.vehicle.identity import Customer
from mobile.jobs import signing
from mobile.jobs.signing import SigningForm
from mobile.jobs.workplace import Workplace
from tests.mobile.ui.legibility import complaints, small_targets
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import READ, READY, SIGNED, sign, turn_to, vehicle_row
from tests.paths import CHECKLISTS

NAME, CONTACT = "Ida Quarrow", "0491 570 006"  # invented; a number kept free for fiction (ACMA)
SURE, MAYBE, OTHER = "Ida Quarrow was told", "Quarrow says it hums", "New lug on the feed"


@pytest.fixture
def store(demo_store: Path, tmp_path: Path) -> Path:
    """The demo, with the customer of the job under way named in two of three notes on a step."""
    folder = tmp_path / "store"
    shutil.copytree(demo_store, folder)
    work = Workplace(folder, CHECKLISTS)
    row = vehicle_row(work.store, READY)
    customer = CustomerDescribed(customer=Customer(name=NAME, contact=CONTACT))
    work.store.append(Event(vehicle_id=row.vehicle_id, body=customer))
    walk = work.open_walk(row.open_job)
    for blocker in sign_off.blockers(walk.work_done, review(walk.work_done)):
        walk.go_to(blocker.step_id)
        walk.explain(walk.step.id, "The vehicle is built that way")
    for text in (SURE, MAYBE, OTHER):
        body = StepNoted(step_id=walk.step.id, text=text)
        work.store.append(Event(vehicle_id=row.vehicle_id, job_id=row.open_job, body=body))
    work.close()
    return folder


@pytest.fixture
def finger(store: Path, make_phone: Any, request: pytest.FixtureRequest) -> Any:
    finger = make_phone(getattr(request, "param", Look()), store)
    finger.app.navigator.restart("home")
    return finger


def notes(finger: Any) -> tuple[str, ...]:
    store = finger.app.work.store
    state = store.vehicle(vehicle_row(store, READY).vehicle_id)
    return next(texts for job in state.jobs for texts in job.notes.values() if len(texts) > 2)


def to_erasure(finger: Any) -> Any:
    turn_to(finger, "vehicle", vehicle_id=vehicle_row(finger.app.work.store, READY).vehicle_id)
    finger.tap("Erase the customer's data")
    finger.rest(0.4)
    return finger.app.navigator.page


def erase(finger: Any) -> Any:
    finger.tap("Erase")
    finger.until(lambda: finger.app.navigator.page.is_done, 30)
    finger.rest(0.4)
    return finger.app.navigator.page


def test_what_is_sure_goes_and_what_is_not_stays_until_it_is_tapped(finger: Any) -> None:
    to_erasure(finger)
    assert finger.sees("the words of 1 entry that name the customer")
    erase(finger)
    assert finger.sees("are erased here")
    assert finger.sees("May name the customer, and was left")
    assert notes(finger) == (LEFT_OUT, MAYBE, OTHER)
    finger.tap("Done")
    assert finger.app.navigator.current == "vehicle"
    assert not finger.sees("Erase the customer's data")


def test_a_tap_has_a_text_go_and_a_second_one_has_it_stay(finger: Any) -> None:
    to_erasure(finger)
    finger.tap(MAYBE)
    assert finger.sees("is erased as well; tap to leave it")
    finger.rest(0.4)
    finger.tap(MAYBE)
    assert finger.sees("stays; tap to erase it as well")
    finger.rest(0.4)
    finger.tap(MAYBE)
    erase(finger)
    assert notes(finger) == (LEFT_OUT, LEFT_OUT, OTHER)


def test_leaving_erases_nothing(finger: Any) -> None:
    to_erasure(finger)
    finger.tap("Leave")
    assert finger.app.navigator.current == "vehicle"
    assert notes(finger) == (SURE, MAYBE, OTHER)


def test_the_list_can_be_copied_and_names_nobody(finger: Any, monkeypatch: Any) -> None:
    from kivy.core.clipboard import Clipboard

    copied: list[str] = []
    monkeypatch.setattr(Clipboard, "copy", copied.append)
    to_erasure(finger)
    erase(finger)
    finger.tap("Copy the list")
    assert finger.sees("Copied: paste it")
    [text] = copied
    assert text.startswith(READY)
    assert "The words of a note at" in text
    assert "Quarrow" not in text
    assert "570" not in text


def test_what_is_half_typed_in_the_job_in_hand_is_not_written_back(finger: Any) -> None:
    store = finger.app.work.store
    row = vehicle_row(store, READY)
    turn_to(finger, "step", job_id=row.open_job)
    walk = finger.app.work.walk
    walk.keep(walk.step.id, "note", f"{NAME} sa")
    assert NAME in store.bookmark().unfinished
    to_erasure(finger)
    erase(finger)
    finger.app.on_pause()
    assert NAME not in store.bookmark().unfinished
    again = finger.app.work.open_walk(row.open_job)
    assert again.draft(walk.step.id, "note") == ""


def test_a_copy_that_was_shared_is_deleted_with_it_or_named(finger: Any, monkeypatch: Any) -> None:
    from logic.errors import AppError
    from mobile.jobs import shared_copies
    from mobile.jobs.shared_copies import SharedCopy
    from mobile.ui import device

    deleted: list[str] = []

    def forget(uri: str) -> None:
        if uri == "content://2":
            raise AppError("It stays.")
        deleted.append(uri)

    monkeypatch.setattr(device, "forget_shared", forget)
    store = finger.app.work.store
    ours, other = (vehicle_row(store, plate).vehicle_id for plate in (READY, SIGNED))
    shared_copies.note(store, SharedCopy("content://1", "ours.pdf", ours))
    shared_copies.note(store, SharedCopy("content://2", "all.voltwalk"))
    shared_copies.note(store, SharedCopy("content://3", "other.pdf", other))
    to_erasure(finger)
    erase(finger)
    assert deleted == ["content://1"]
    assert finger.sees("The file ours.pdf.")
    assert finger.sees("The copy all.voltwalk in this phone's Downloads folder. Delete it there.")
    assert [one.uri for one in shared_copies.of_vehicle(store, other)] == [
        "content://2",
        "content://3",
    ]


def both_looks(finger: Any, look: Look, name: str) -> list[str]:
    finger.frames(4)
    keep_picture(finger, f"{look}/{name}")
    found = [*complaints(), *small_targets(48)]
    body = finger.app.navigator.page.ids.body
    if body.stack.height > body.height:
        body.scroll_y = 0
        finger.frames(4)
        keep_picture(finger, f"{look}/{name}_end")
        found += [*complaints(), *small_targets(48)]
        body.scroll_y = 1
        finger.frames(2)
    return found


@pytest.mark.parametrize(("finger", "look"), [(look, look) for look in LOOKS], indirect=["finger"])
def test_every_word_can_be_read(finger: Any, look: Look) -> None:
    to_erasure(finger)
    finger.tap(MAYBE)
    faults = both_looks(finger, look, "erasure_before")
    erase(finger)
    faults += both_looks(finger, look, "erasure_after")
    turn_to(finger, "erasure", vehicle_id=vehicle_row(finger.app.work.store, SIGNED).vehicle_id)
    erase(finger)
    faults += both_looks(finger, look, "erasure_signed")
    assert faults == []


# The name in what is sealed.


def to_signing(finger: Any) -> Any:
    job_id = vehicle_row(finger.app.work.store, READY).open_job
    return turn_to(finger, "signing", job_id=job_id)


def sealed_after(finger: Any) -> Any:
    for whose in ("Your signature", "Customer's signature"):
        finger.tap(whose)
        if whose == "Customer's signature":
            finger.tap(READ)
        sign(finger)
        finger.tap("Done")
    finger.tap("Seal the record")
    finger.until(lambda: finger.app.navigator.current == "record", 20)
    return finger.app.navigator.page.sealed


def test_the_whole_name_stands_in_no_record_and_that_is_said(finger: Any) -> None:
    to_signing(finger)
    assert finger.sees("the record says “the customer” in its place: a note at")
    assert finger.sees("A part of the customer's name, or a word like it, stands in a note at")
    sealed = sealed_after(finger)
    text = sealed.record.model_dump_json()
    assert NAME not in text
    assert "the customer was told" in text
    assert MAYBE in text


@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_a_part_of_the_name_is_left_out_at_a_tap(make_phone: Any, store: Path, look: Look) -> None:
    finger = make_phone(look, store)
    finger.app.navigator.restart("home")
    to_signing(finger)
    faults = both_looks(finger, look, "signing_names")
    finger.frames(4)
    finger.tap("Say “the customer” there as well")
    finger.rest(0.4)
    assert not finger.sees("or a word like it")
    faults += both_looks(finger, look, "signing_names_out")
    assert faults == []
    record = sealed_after(finger).record
    assert "Quarrow" not in record.model_dump_json()
    assert "the customer says it hums" in record.model_dump_json()


def test_the_place_is_private_and_never_offered_to_the_next_customer(finger: Any) -> None:
    page = to_signing(finger)
    page.put("place", "17 Wattlebird Close")
    sealed = sealed_after(finger)
    assert sealed.record.place == ""
    assert sealed.private.place == "17 Wattlebird Close"
    assert finger.sees("17 Wattlebird Close")
    work = finger.app.work
    row = vehicle_row(work.store, SIGNED)
    other = work.store.vehicle(row.vehicle_id).jobs[0].job_id
    signing.reopen(work, row.vehicle_id, other, "again")
    assert SigningForm(work.store, signing.work_done(work, other)).place != "17 Wattlebird Close"
    kept = work.store._connection.execute("SELECT value FROM setting").fetchall()
    assert "Wattlebird" not in json.dumps(kept)
    # The same vehicle is offered where it was signed before.
    again = sealed.record.job_id
    signing.reopen(work, sealed.record.vehicle_id, again, "again")
    form = SigningForm(work.store, signing.work_done(work, again))
    assert form.place == "17 Wattlebird Close"
