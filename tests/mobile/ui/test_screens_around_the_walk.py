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
    READY,
    SIGNED,
    fill,
    give_reason,
    sign,
    turn_to,
    vehicle_row,
)

Shots = Iterator[tuple[str, str]]


@pytest.fixture(scope="module")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    fill(folder)
    return folder


@pytest.fixture
def at(make_phone: Callable[..., Any], demo_store: Path, tmp_path: Path) -> Callable[[Look], Any]:
    def start(look: Look) -> Any:
        store = tmp_path / "store"
        shutil.copytree(demo_store, store)
        hand = make_phone(look, store)
        hand.app.navigator.restart("home")
        hand.frames(4)
        return hand

    return start


def every_screen(hand: Any) -> Shots:
    """Go through every screen around the walk; yields (name, words that must be there)."""
    yield from set_up_screens(hand)
    yield from review_screens(hand)
    yield from signing_screens(hand)
    yield from record_screens(hand)


def set_up_screens(hand: Any) -> Shots:
    go, fresh = hand.app.navigator.show, vehicle_row(hand.app.work.store, FRESH).vehicle_id
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
    turn_to(hand, "equipment", vehicle_id="0" * 31 + "1")
    yield "equipment_first_question", "12 V or 24 V vehicle?"
    hand.tap("12 V")
    yield "equipment_second_question", "Which charger?"
    go("equipment", vehicle_id=fresh)
    yield "equipment_known", "Charger"
    turn_to(hand, "vehicle", vehicle_id=fresh)
    yield "vehicle", "Design check"
    hand.tap("Erase the customer's data")
    yield "vehicle_erase", "Erase the customer's data?"
    hand.tap("Leave")


def review_screens(hand: Any) -> Shots:
    turn_to(hand, "review", job_id=vehicle_row(hand.app.work.store, READY).open_job)
    yield "review_in_the_way", "Explain"
    hand.tap("Explain")
    yield "review_explain", "Why is it accepted?"
    give_reason(hand, "The vehicle is built that way")
    yield "review_clear", "Nothing stands in the way of signing."
    hand.tap("Engine at idle")
    yield "review_unfolded", "Accepted as it is"


def signing_screens(hand: Any) -> Shots:
    turn_to(hand, "signing", job_id=vehicle_row(hand.app.work.store, READY).open_job)
    yield "signing", "Your name"
    hand.tap("Customer is not here")
    yield "signing_absent", "Customer not here"
    hand.tap("Leave")
    hand.tap("Customer's signature")
    sign(hand)
    yield "signature", "Clear"
    hand.tap("Done")
    yield "signing_half", "Your signature is missing: sign on the glass."


def record_screens(hand: Any) -> Shots:
    store = hand.app.work.store
    signed = store.vehicle(vehicle_row(store, SIGNED).vehicle_id)
    page = turn_to(hand, "record", job_id=signed.jobs[0].job_id)
    hand.until(lambda: page.pdf, 20)
    yield "record", "Intact: it is what was signed."
    hand.tap("Label")
    hand.until(lambda: page.label, 20)
    yield "record_label", "Share the PDF"


def faults_here(hand: Any, look: Look, name: str) -> list[str]:
    hand.frames(4)
    keep_picture(hand, f"{look}/{name}")
    # 48 dp is the least that Android's and Material's accessibility guides ask for.
    return [f"{name}: {fault}" for fault in (*complaints(), *small_targets(48))]


@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_every_word_can_be_read_and_every_target_takes_a_gloved_thumb(
    at: Callable[[Look], Any], look: Look
) -> None:
    hand = at(look)
    faults: list[str] = []
    for number, (name, words) in enumerate(every_screen(hand)):
        hand.until(lambda words=words: hand.sees(words))
        faults += faults_here(hand, look, f"{number:02d}_{name}")
        body = hand.app.navigator.page.ids.get("body")
        if body is not None and body.stack.height > body.height:
            body.scroll_y = 0
            faults += faults_here(hand, look, f"{number:02d}_{name}_end")
            body.scroll_y = 1
            hand.frames(2)
    assert faults == []
