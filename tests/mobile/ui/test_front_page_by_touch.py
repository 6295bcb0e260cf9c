"""The customer reads page one on the glass before signing; the paper says the same."""

import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from logic.checklist.answers import TextAnswer
from logic.records.state import COMPLAINT_STEP
from mobile.jobs import job_start
from mobile.ui.screens.callback_page import callback_of
from tests.mobile.ui.workshop import (
    READ,
    READY,
    SIGNED,
    give_reason,
    sign,
    turn_to,
    vehicle_row,
    write,
)


@pytest.fixture
def finger(demo_store: Path, make_phone: Any, tmp_path: Path) -> Any:
    shutil.copytree(demo_store, tmp_path / "store")
    finger = make_phone()
    finger.app.navigator.restart("home")
    turn_to(finger, "review", job_id=vehicle_row(finger.app.work.store, READY).open_job)
    finger.tap("Explain")
    give_reason(finger, "The vehicle is built that way")
    finger.tap("Sign")
    return finger


def words_on(page: Any) -> list[str]:
    """Return every text in the page's body, a line each."""
    found = [one.text for one in page.ids.body.walk(restrict=True) if getattr(one, "text", "")]
    return [line for text in found for line in text.splitlines() if line.strip()]


def flat(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_the_customer_reads_page_one_before_the_glass_to_sign_on(finger: Any) -> None:
    finger.tap("Customer's signature")
    assert finger.app.navigator.current == "front_page"
    shown = " ".join(words_on(finger.app.navigator.page))
    for words in (
        "Charges 41.2 A of 40 A",
        "1.400 V",
        "fuse 60 A",
        "The vehicle is built that way",
    ):
        assert words in shown
    finger.tap(READ)
    assert finger.app.navigator.current == "signature"
    finger.press_back()
    assert finger.app.navigator.current == "signing", "back skips the page that was read"


def test_every_word_on_the_glass_stands_on_the_first_printed_page(finger: Any) -> None:
    write(finger, "Place", "Fernhollow, bay 2")
    finger.tap("Your signature")
    sign(finger)
    finger.tap("Done")
    finger.tap("Customer's signature")
    shown = words_on(finger.app.navigator.page)
    finger.tap(READ)
    sign(finger)
    finger.tap("Done")
    finger.tap("Seal the record")
    page = finger.app.navigator.page
    finger.until(lambda: page.pdf, 30)
    printed = flat(PdfReader(page.pdf).pages[0].extract_text())
    on_glass_alone = re.compile(r"Signatures|.*: (signed|not signed yet)")
    missing = [one for one in shown if flat(one) not in printed and not on_glass_alone.match(one)]
    assert not missing


def test_page_one_can_be_shown_without_signing(finger: Any) -> None:
    finger.tap("Page one of the record")
    assert finger.app.navigator.current == "front_page"
    assert not finger.sees(READ)
    finger.tap("Done")
    assert finger.app.navigator.current == "signing"


def test_what_is_left_open_is_told_before_signing(finger: Any) -> None:
    work = finger.app.work
    vehicle_id = vehicle_row(work.store, SIGNED).vehicle_id
    job_id = job_start.begin_callback(work.store, work.library, vehicle_id, work.clock())
    callback = callback_of(work, job_id)
    callback.answer(COMPLAINT_STEP, TextAnswer(text="Fridge warm by noon"))
    page = turn_to(finger, "front_page", job_id=job_id)
    shown = " ".join(words_on(page))
    assert "Left open" in shown
    assert "Make the job safe" in shown
    assert "Fridge warm by noon" in shown
