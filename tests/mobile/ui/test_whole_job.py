import subprocess
import sys
from pathlib import Path
from typing import Any

from pypdf import PdfReader

from mobile.ui.widgets.buttons import MainButton
from tests.mobile.ui.whole_job import PLATE, set_up, walk
from tests.mobile.ui.workshop import READ, give_reason, sign, vehicle_row, write
from tests.paths import CHECKOUT


def sign_off(finger: Any) -> Any:
    """Explain whatever is out of order, sign, and return the record's screen."""
    while finger.sees("Explain"):
        finger.tap("Explain")
        give_reason(finger, "Read again with a second meter, it is so")
    assert finger.sees("Nothing stands in the way of signing.")
    finger.tap("Sign")
    write(finger, "Your name", "Ines Marlow")
    write(finger, "Licence number", "invented 40117")
    write(finger, "Place", "Fernhollow yard")
    for whose in ("Your signature", "Customer's signature"):
        finger.tap(whose)
        if whose == "Customer's signature":
            finger.tap(READ)
        sign(finger)
        finger.tap("Done")
    finger.tap("Seal the record")
    page = finger.app.navigator.page
    finger.until(lambda: page.pdf, 60)
    return page


def assert_the_pdf_says_all(page: Any, steps: int) -> None:
    record = page.sealed.record
    text = " ".join(sheet.extract_text() for sheet in PdfReader(page.pdf).pages)
    text = " ".join(text.split())
    assert len(record.steps) >= steps
    for words in (PLATE, "Ambrose Tolley", "Ines Marlow", "invented 40117", "Fernhollow yard"):
        assert words in text
    for step in record.steps:
        assert step.outcome in ("done", "skipped")
        assert step.title in text, step.title
    assert page.sealed.sha256 in text.replace(" ", "")


def test_a_new_vehicle_is_set_up_walked_signed_and_printed_by_touch_alone(phone: Any) -> None:
    set_up(phone)
    answered = walk(phone)
    assert len(answered) == len(set(answered))
    page = sign_off(phone)
    assert_the_pdf_says_all(page, len(answered))
    assert isinstance(page.ids.share.__self__, MainButton)
    assert not page.ids.share.disabled
    # Commissioned, it is a fault that brings somebody back here.
    phone.app.navigator.show("vehicle", vehicle_id=page.sealed.record.vehicle_id)
    phone.frames(4)
    assert phone.app.navigator.page.ids.go_on.text == "Find a fault"
    assert phone.sees("Commission again")
    phone.rest(0.5)
    phone.tap("Find a fault")
    phone.frames(4)
    assert phone.app.navigator.current == "callback"


def test_killed_in_the_middle_the_job_goes_on_at_the_same_digit_to_the_same_end(
    make_phone: Any, tmp_path: Path
) -> None:
    store = tmp_path / "store"
    done, step_id = play_and_kill(store, steps=18)
    finger = make_phone(store=store)
    assert finger.app.navigator.current == "step"
    in_hand = finger.app.work.walk
    assert in_hand.step.id == step_id
    assert in_hand.draft(step_id, "value") == "1"
    assert finger.app.navigator.page.panel.widget.text == "1"
    assert len(in_hand.job.answers) + len(in_hand.job.skipped) >= done
    finger.tap("erase")
    answered = walk(finger)
    assert answered[0] == step_id
    assert_the_pdf_says_all(sign_off(finger), done + len(answered))
    assert vehicle_row(finger.app.work.store, PLATE).open_job is None


def play_and_kill(store: Path, steps: int) -> tuple[int, str]:
    """Play the first steps in a process of its own and kill it; returns how far it was."""
    command = [sys.executable, "-m", "tests.mobile.ui.whole_job", str(store), str(steps)]
    process = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        cwd=CHECKOUT,
    )
    try:
        said = process.stdout.readline().split()
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
    return int(said[0]), said[1]
