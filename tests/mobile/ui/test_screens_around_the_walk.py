import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.mobile.ui.legibility import complaints, small_targets
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import (
    FRESH,
    READ,
    READY,
    SIGNED,
    give_reason,
    sign,
    turn_to,
    vehicle_row,
)

Shots = Iterator[tuple[str, str]]


@pytest.fixture
def at(make_phone: Callable[..., Any], demo_store: Path, tmp_path: Path) -> Callable[[Look], Any]:
    def start(look: Look) -> Any:
        store = tmp_path / "store"
        shutil.copytree(demo_store, store)
        finger = make_phone(look, store)
        finger.app.navigator.restart("home")
        finger.frames(4)
        return finger

    return start


def every_screen(finger: Any) -> Shots:
    """Go through every screen around the walk; yields (name, words that must be there)."""
    yield from set_up_screens(finger)
    yield from review_screens(finger)
    yield from signing_screens(finger)
    yield from record_screens(finger)


def set_up_screens(finger: Any) -> Shots:
    go, fresh = finger.app.navigator.show, vehicle_row(finger.app.work.store, FRESH).vehicle_id
    yield "home", "VET 117"
    go("own")
    yield "own", "Meter and clamp"
    go("notices")
    yield "notices", "fpdf2"
    go("particulars", page_id="technician")
    yield "technician", "Licence number"
    go("exchange")
    yield "exchange_all", "Make the file"
    go("exchange", vehicle_id=fresh)
    yield "exchange_one", "Leave out"
    for page_id in ("vehicle", "charger", "house_battery", "vehicle_feed", "meter", "extras"):
        go("particulars", page_id=page_id, vehicle_id=fresh)
        yield f"particulars_{page_id}", "Done"
    turn_to(finger, "equipment", vehicle_id="0" * 31 + "1")
    yield "equipment_first_question", "12 V or 24 V vehicle?"
    finger.tap("12 V")
    yield "equipment_second_question", "Which charger?"
    go("equipment", vehicle_id=fresh)
    yield "equipment_known", "Charger"
    turn_to(finger, "vehicle", vehicle_id=fresh)
    yield "vehicle", "Design check"
    finger.tap("Erase the customer's data")
    yield "erasure", "The customer's data"
    finger.tap("Leave")


def review_screens(finger: Any) -> Shots:
    turn_to(finger, "review", job_id=vehicle_row(finger.app.work.store, READY).open_job)
    yield "review_in_the_way", "Explain"
    finger.tap("Explain")
    yield "review_explain", "Why is it accepted?"
    give_reason(finger, "The vehicle is built that way")
    yield "review_clear", "Nothing stands in the way of signing."
    finger.tap("Engine at idle")
    yield "review_unfolded", "Accepted as it is"


def signing_screens(finger: Any) -> Shots:
    turn_to(finger, "signing", job_id=vehicle_row(finger.app.work.store, READY).open_job)
    yield "signing", "Your name"
    finger.tap("Customer is not here")
    yield "signing_absent", "Customer not here"
    finger.tap("Leave")
    finger.tap("Customer's signature")
    yield "front_page", "What is fitted"
    finger.tap(READ)
    sign(finger)
    yield "signature", "Clear"
    finger.tap("Done")
    yield "signing_half", "Your signature is missing: sign on the glass."


def record_screens(finger: Any) -> Shots:
    store = finger.app.work.store
    signed = store.vehicle(vehicle_row(store, SIGNED).vehicle_id)
    page = turn_to(finger, "record", job_id=signed.jobs[0].job_id)
    finger.until(lambda: page.pdf, 20)
    yield "record", "Intact: it is what was signed."
    finger.tap("Label")
    finger.until(lambda: page.label, 20)
    yield "record_label", "Share the PDF"


def faults_here(finger: Any, look: Look, name: str) -> list[str]:
    finger.frames(4)
    keep_picture(finger, f"{look}/{name}")
    # 48 dp is the least that Android's and Material's accessibility guides ask for.
    return [f"{name}: {fault}" for fault in (*complaints(), *small_targets(48))]


@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_every_word_can_be_read_and_every_target_takes_a_gloved_thumb(
    at: Callable[[Look], Any], look: Look
) -> None:
    finger = at(look)
    faults: list[str] = []
    for number, (name, words) in enumerate(every_screen(finger)):
        finger.until(lambda words=words: finger.sees(words))
        faults += faults_here(finger, look, f"{number:02d}_{name}")
        body = finger.app.navigator.page.ids.get("body")
        if body is not None and body.stack.height > body.height:
            body.scroll_y = 0
            faults += faults_here(finger, look, f"{number:02d}_{name}_end")
            body.scroll_y = 1
            finger.frames(2)
    assert faults == []
