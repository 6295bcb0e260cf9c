import shutil
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from logic.records import sign_off
from logic.records.review import review
from logic.vehicle.points import Point, State
from mobile.jobs.workplace import Workplace
from tests.mobile.ui.workshop import (
    READ,
    READY,
    as_killed,
    field,
    fill,
    give_reason,
    sign,
    turn_to,
    vehicle_row,
    write,
)
from tests.paths import CHECKLISTS


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("filled")
    fill(folder)
    return folder


@pytest.fixture(scope="module")
def explained(filled: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same, with what is out of range explained."""
    folder = tmp_path_factory.mktemp("explained") / "store"
    shutil.copytree(filled, folder)
    work = Workplace(folder, CHECKLISTS)
    walk = work.open_walk(vehicle_row(work.store, READY).open_job)
    [blocker] = sign_off.blockers(walk.work_done, review(walk.work_done))
    walk.go_to(blocker.step_id)
    walk.explain(walk.step.id, "The vehicle is built that way")
    work.close()
    return folder


@pytest.fixture
def finger(filled: Path, make_phone: Any, tmp_path: Path) -> Any:
    shutil.copytree(filled, tmp_path / "store")
    finger = make_phone()
    show_review(finger)
    return finger


def show_review(finger: Any) -> None:
    finger.app.navigator.restart("home")
    turn_to(finger, "review", job_id=vehicle_row(finger.app.work.store, READY).open_job)


def explain(finger: Any, reason: str = "The vehicle is built that way") -> None:
    finger.tap("Explain")
    give_reason(finger, reason)


def both_sign(finger: Any) -> None:
    for whose in ("Your signature", "Customer's signature"):
        finger.tap(whose)
        if whose == "Customer's signature":
            finger.tap(READ)
        sign(finger)
        finger.tap("Done")


def seal(finger: Any) -> Any:
    finger.tap("Seal the record")
    page = finger.app.navigator.page
    finger.until(lambda: page.pdf, 30)
    return page


def pdf_text(page: Any) -> str:
    return "\n".join(sheet.extract_text() for sheet in PdfReader(page.pdf).pages)


def test_nothing_is_signed_while_something_out_of_range_is_not_explained(finger: Any) -> None:
    assert finger.sees("1.400 V, out of range")
    finger.tap("Sign")
    assert finger.app.navigator.current == "review"
    explain(finger)
    finger.tap("Sign")
    assert finger.app.navigator.current == "signing"


def test_an_explanation_is_wanted_in_words(finger: Any) -> None:
    finger.tap("Explain")
    finger.tap("Save")
    assert finger.sees("Choose a reason, or write one.")
    write(finger, "In your own words", "Feed is shared with the winch")
    finger.tap("Save")
    assert finger.sees("Feed is shared with the winch")
    assert finger.app.navigator.page.clear


def test_half_an_explanation_survives_a_dying_phone(
    finger: Any, make_phone: Any, tmp_path: Path
) -> None:
    finger.tap("Explain")
    write(finger, "In your own words", "Feed is sha")
    again = make_phone(store=as_killed(finger, tmp_path))
    assert again.app.navigator.current == "review"
    again.tap("Explain")
    assert field(again, "In your own words").text == "Feed is sha"


def test_the_review_leads_to_the_step_that_is_out_of_range_and_back(finger: Any) -> None:
    finger.tap("Go to it")
    step = finger.app.work.walk.step
    assert (step.point, step.state) == (Point.VEHICLE_FEED_DROP, State.IDLE)
    finger.press_back()
    assert finger.app.navigator.current == "review"


def test_every_step_can_be_looked_up_by_its_stage(finger: Any) -> None:
    finger.tap("Before power")
    checklist = finger.app.work.walk.checklist
    first = next(iter(checklist.steps))
    finger.tap(first.title)
    assert finger.app.navigator.current == "step"
    assert finger.app.work.walk.step.id == first.id


@pytest.fixture
def signing(explained: Path, make_phone: Any, tmp_path: Path) -> Any:
    shutil.copytree(explained, tmp_path / "store")
    finger = make_phone()
    finger.app.navigator.restart("home")
    turn_to(finger, "signing", job_id=vehicle_row(finger.app.work.store, READY).open_job)
    return finger


def test_the_seal_waits_for_both_signatures(signing: Any) -> None:
    assert signing.sees("Your signature is missing")
    signing.tap("Seal the record")
    assert signing.app.navigator.current == "signing"
    signing.tap("Your signature")
    sign(signing)
    signing.tap("Done")
    assert signing.sees("The customer's signature is missing")
    signing.tap("Customer's signature")
    signing.tap(READ)
    sign(signing)
    signing.tap("Clear")
    signing.tap("Done")
    assert signing.app.navigator.current == "signature", "an empty glass is no signature"
    sign(signing)
    signing.tap("Done")
    assert not signing.app.navigator.page.missing


def test_without_a_name_nothing_is_sealed(signing: Any) -> None:
    field(signing, "Your name").ids.input.text = ""
    signing.frames(2)
    assert signing.sees("Write your name")


def test_a_customer_who_is_not_there_is_recorded_with_the_reason(signing: Any) -> None:
    signing.tap("Your signature")
    sign(signing)
    signing.tap("Done")
    signing.tap("Customer is not here")
    give_reason(signing, "Vehicle is collected after hours")
    page = seal(signing)
    assert "Vehicle is collected after hours" in pdf_text(page).replace("\n", " ")


def test_the_sealed_record_is_intact_and_its_pdf_says_what_was_done(signing: Any) -> None:
    write(signing, "Place", "Fernhollow, bay 2")
    both_sign(signing)
    page = seal(signing)
    text = pdf_text(page).replace("\n", " ")
    for words in (READY, "1.400 V", "out of range", "The vehicle is built that way", "bay 2"):
        assert words in text
    assert signing.sees("Intact: it is what was signed.")
    assert page.sealed.sha256 in text.replace(" ", "")
    assert page.sealed.private.customer_signature.strokes
    store = signing.app.work.store
    assert store.setting("signing") == {}
    assert vehicle_row(store, READY).open_job is None


def test_a_pdf_that_was_never_finished_is_written_when_the_record_is_opened(
    signing: Any, make_phone: Any, tmp_path: Path
) -> None:
    both_sign(signing)
    page = seal(signing)
    Path(page.pdf).unlink()
    job_id = page.sealed.record.job_id
    finger = make_phone(store=as_killed(signing, tmp_path))
    page = finger.app.navigator.show("record", job_id=job_id)
    finger.until(lambda: page.pdf, 30)
    assert READY in pdf_text(page)


def test_signatures_survive_a_dying_phone(signing: Any, make_phone: Any, tmp_path: Path) -> None:
    signing.tap("Your signature")
    sign(signing)
    finger = make_phone(store=as_killed(signing, tmp_path))
    job_id = vehicle_row(finger.app.work.store, READY).open_job
    page = finger.app.navigator.show("signing", job_id=job_id)
    assert page.has_technician


def test_whoever_signed_before_a_change_must_sign_again(signing: Any) -> None:
    both_sign(signing)
    walk = signing.app.work.walk
    walk.note(walk.step.id, "Found later: a loose clip")
    page = signing.app.navigator.show("signing", job_id=walk.job.job_id)
    signing.frames(3)
    assert not page.has_technician
    assert not page.has_customer
    assert signing.sees("was changed after it was signed")


def test_work_after_signing_needs_a_reason_and_makes_a_second_revision(signing: Any) -> None:
    both_sign(signing)
    first = seal(signing).sealed
    signing.tap("Open the job again")
    signing.tap("Open again")
    assert signing.sees("Choose a reason")
    give_reason(signing, "A reading was taken again", "Open again")
    assert signing.app.navigator.current == "review"
    signing.tap("Sign")
    both_sign(signing)
    page = seal(signing)
    assert page.sealed.record.revision == 2
    assert page.sealed.record.previous_sha256 == first.sha256
    assert signing.app.work.store.sealed(first.record.job_id)[0] == first
    signing.tap("Revision 1")
    assert signing.app.navigator.page.sealed == first


def test_the_customers_data_goes_on_request_and_the_record_still_verifies(signing: Any) -> None:
    both_sign(signing)
    page = seal(signing)
    assert "Brackenfold Vets" in pdf_text(page)
    signing.tap("All vehicles")
    row = vehicle_row(signing.app.work.store, READY)
    turn_to(signing, "vehicle", vehicle_id=row.vehicle_id)
    signing.tap("Erase the customer's data")
    signing.rest(0.4)
    signing.tap("Erase")
    signing.until(lambda: signing.sees("are erased here"), 20)
    page = signing.app.navigator.show("record", job_id=page.sealed.record.job_id)
    signing.until(lambda: page.pdf, 30)
    assert signing.sees("Intact: it is what was signed.")
    assert page.sealed.private is None
    assert "Brackenfold Vets" not in pdf_text(page)


def test_a_tampered_record_is_called_what_it_is(signing: Any) -> None:
    both_sign(signing)
    page = seal(signing)
    record = page.sealed.record.model_copy(update={"place": "elsewhere"})
    forged = page.sealed.model_copy(update={"record": record})
    signing.app.work.store.sealed = lambda _job: (forged,)
    signing.app.navigator.show("record", job_id=record.job_id)
    signing.frames(3)
    assert signing.sees("Not what was signed.")
