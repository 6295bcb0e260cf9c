import shutil
import time
from pathlib import Path
from typing import Any

import pytest

from logic.checklist.answers import ReadingAnswer
from logic.records.bundle.importing import import_bundle
from logic.records.store.store import Store
from mobile.jobs import exchange
from mobile.ui import device
from tests.mobile.two_phones import STEP, answer, begun_on_one, carry, file_of, only_file
from tests.mobile.ui.workshop import turn_to

HERE, THERE = ReadingAnswer(value=12.6, typed="12.6"), ReadingAnswer(value=12.4, typed="12.4")


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, str]:
    return begun_on_one(tmp_path_factory.mktemp("begun"))


@pytest.fixture
def phones(begun: tuple[Path, Path, str], tmp_path: Path) -> tuple[Path, Path, str]:
    """Two phones with the same job on both."""
    one, other, job_id = begun
    shutil.copytree(one, tmp_path / "one")
    shutil.copytree(other, tmp_path / "other")
    return tmp_path / "one", tmp_path / "other", job_id


@pytest.fixture
def clashing(phones: tuple[Path, Path, str], tmp_path: Path) -> tuple[Path, Path, str]:
    """The same, with one step answered on both, and the other's file to take in."""
    one, other, job_id = phones
    answer(one, job_id, HERE)
    answer(other, job_id, THERE)
    file_of(other, tmp_path / "theirs.voltwalk")
    return one, other, job_id


def own_details(hand: Any) -> Any:
    hand.app.navigator.restart("home")
    turn_to(hand, "own")
    return hand


def to_exchange(hand: Any) -> Any:
    own_details(hand).tap("Send and receive")
    assert hand.app.navigator.current == "exchange"
    return hand.app.navigator.page


def take_in(hand: Any, path: Path, until_seen: str) -> None:
    """Choose a file by touch and wait for what is then said."""
    hand.tap("Choose a file")
    hand.app.root_window.children[0].folder = str(path.parent)
    hand.frames(3)
    hand.tap(path.name)
    hand.until(lambda: hand.sees(until_seen), 20)
    settle_down(hand)


def settle_down(hand: Any) -> None:
    """Wait until a tap is no bounce of the one before."""
    hand.rest(0.4)


def make_file(hand: Any) -> Any:
    page = hand.app.navigator.page
    hand.tap("Make the file")
    hand.until(lambda: page.ready, 20)
    return page


def job_on(folder: Path, job_id: str) -> Any:
    with Store.open(folder) as store:
        return store.job(job_id)


def test_one_vehicle_goes_from_its_page_to_another_phone(
    make_phone: Any, phones: Any, tmp_path: Path, monkeypatch: Any
) -> None:
    one, _, _ = phones
    hand, shared = make_phone(store=one), []
    hand.app.navigator.restart("home")
    turn_to(hand, "vehicle", vehicle_id=hand.app.work.store.find_vehicles()[0].vehicle_id)
    hand.tap("Send to another phone")
    assert not hand.sees("Choose a file")
    page = make_file(hand)
    path = only_file(one)
    assert hand.sees(f"Ready: {path.name}. 1 vehicle, ")
    assert hand.sees(f"It lies in {path.parent}")
    monkeypatch.setattr(device, "share", lambda *what: shared.append(what))
    hand.tap("Share the file")
    assert shared == [(path, "application/octet-stream")]
    hand.tap("Send along")
    assert not page.ready
    make_file(hand)
    with Store.open(tmp_path / "new") as store:
        import_bundle(store, only_file(one))
        assert store.find_vehicles("Thistlewick")[0].registration == "BEE 338"


def test_a_file_brings_its_vehicle_and_a_second_time_nothing_new(
    make_phone: Any, phones: Any, tmp_path: Path
) -> None:
    path = file_of(phones[0], tmp_path / "all.voltwalk")
    hand = make_phone()
    to_exchange(hand)
    assert hand.sees("There is no vehicle on this phone yet.")
    assert hand.find("Make the file").disabled
    take_in(hand, path, "Taken in: 1 new vehicle, 4 new entries.")
    assert hand.sees("Send all: 1 vehicle")
    take_in(hand, path, "Nothing new came: everything in this file is here already.")
    assert not hand.sees("Taken in")
    hand.press_back()
    assert hand.app.navigator.current == "own"
    hand.app.navigator.restart("home")
    hand.until(lambda: hand.sees("BEE 338"))


def test_a_vehicle_that_came_opens_on_a_tap_and_back_leads_to_what_came(
    make_phone: Any, phones: Any, tmp_path: Path
) -> None:
    path = file_of(phones[0], tmp_path / "all.voltwalk")
    hand = make_phone()
    to_exchange(hand)
    take_in(hand, path, "Taken in: 1 new vehicle")
    hand.tap("BEE 338")
    assert hand.app.navigator.current == "vehicle"
    hand.press_back()
    assert hand.sees("Taken in: 1 new vehicle")


def test_a_broken_file_is_refused_in_words_and_nothing_changes(
    make_phone: Any, phones: Any, tmp_path: Path
) -> None:
    path = tmp_path / "broken.voltwalk"
    path.write_bytes(file_of(phones[1], tmp_path / "whole.voltwalk").read_bytes()[:-400])
    hand = make_phone(store=phones[0])
    before = list(hand.app.work.store.events())
    to_exchange(hand)
    take_in(hand, path, "broken.voltwalk is damaged or no bundle")
    assert "Nothing was changed here." in hand.app.banner.text
    assert list(hand.app.work.store.events()) == before
    assert not hand.find("Choose a file").disabled


def test_back_waits_for_work_under_way_and_how_far_it_is_can_be_seen(
    make_phone: Any, phones: Any, tmp_path: Path, monkeypatch: Any
) -> None:
    path = file_of(phones[1], tmp_path / "all.voltwalk")
    go_on = []

    def slow(folder: Path, path: Path, progress: exchange.Progress) -> Any:
        progress.tell(45, 100)
        while not go_on:
            time.sleep(0.01)
        return receive(folder, path, progress)

    receive = exchange.receive
    monkeypatch.setattr(exchange, "receive", slow)
    hand = make_phone(store=phones[0])
    page = to_exchange(hand)
    page.take(path)
    hand.until(lambda: hand.sees("Taking it in: 45%"))
    hand.press_back()
    assert hand.app.navigator.current == "exchange"
    assert hand.find("Back").disabled
    assert hand.find("Choose a file").disabled
    go_on.append(True)
    hand.until(lambda: hand.sees("Nothing new came"), 20)
    hand.press_back()
    assert hand.app.navigator.current == "own"


def test_the_phones_own_picker_hands_over_a_stream(
    make_phone: Any, phones: Any, tmp_path: Path, monkeypatch: Any
) -> None:
    path = file_of(phones[0], tmp_path / "all.voltwalk")
    monkeypatch.setattr(device, "HAS_PICKER", True)
    monkeypatch.setattr(device, "ask_file", lambda done: done("content://9"))
    monkeypatch.setattr(device, "open_chosen", {"content://9": path.open("rb")}.get)
    hand = make_phone()
    to_exchange(hand)
    hand.tap("Choose a file")
    hand.until(lambda: hand.sees("Taken in: 1 new vehicle"), 20)


def test_a_step_answered_on_two_phones_is_settled_by_a_tap_and_stays_so_on_both(
    make_phone: Any, clashing: Any, tmp_path: Path
) -> None:
    one, other, job_id = clashing
    hand = make_phone(store=one)
    to_exchange(hand)
    take_in(hand, tmp_path / "theirs.voltwalk", "Answered on two phones: to settle")
    assert hand.sees("12.6 V / 12.4 V") or hand.sees("12.60 V / 12.40 V")
    hand.tap(next(w for w in hand.shown() if getattr(w, "text", "").startswith("BEE 338: ")))
    assert hand.app.navigator.current == "step"
    assert hand.sees("this phone, ")
    choose(hand, "another phone, ")
    hand.until(lambda: not hand.sees("another phone, "))
    assert hand.app.work.store.job(job_id).answers[STEP].answer == THERE
    assert hand.app.work.store.job(job_id).clashes == {}
    hand.press_back()
    assert hand.app.navigator.current == "exchange"
    assert not hand.sees("to settle")
    assert carry(one, other, tmp_path / "back.voltwalk").clashes == ()
    assert job_on(other, job_id) == hand.app.work.store.job(job_id)


def test_a_clash_can_be_settled_by_doing_the_step_again(
    make_phone: Any, clashing: Any, tmp_path: Path
) -> None:
    one, other, job_id = clashing
    carry(other, one, tmp_path / "again.voltwalk")
    hand = make_phone(store=one)
    turn_to(hand, "step", job_id=job_id, step_id=STEP)
    for key in ("1", "2", ".", "5", "5"):
        hand.tap(key)
    hand.tap("Save, next")
    job = hand.app.work.store.job(job_id)
    assert job.answers[STEP].answer == ReadingAnswer(value=12.55, typed="12.55")
    assert job.clashes == {}


def test_review_and_the_vehicle_show_a_clash_and_lead_to_it(
    make_phone: Any, clashing: Any, tmp_path: Path
) -> None:
    one, other, job_id = clashing
    carry(other, one, tmp_path / "again.voltwalk")
    hand = make_phone(store=one)
    hand.app.navigator.restart("home")
    turn_to(hand, "vehicle", vehicle_id=hand.app.work.store.find_vehicles()[0].vehicle_id)
    assert hand.sees("answered on two phones: 1 step to settle")
    turn_to(hand, "review", job_id=job_id)
    told = "two phones answered differently. Do it again to settle it."
    assert hand.sees(told)
    clash = next(w for w in hand.shown() if told in (getattr(w, "text", "") or ""))
    card = clash.parent
    while not any(getattr(w, "text", "") == "Go to it" for w in card.walk()):
        card = card.parent
    hand.tap(next(w for w in card.walk() if getattr(w, "text", "") == "Go to it"))
    choose(hand, "this phone, ")
    hand.until(lambda: not hand.sees("another phone, "))
    assert hand.app.work.store.job(job_id).clashes == {}
    turn_to(hand, "review", job_id=job_id)
    assert not hand.sees(told)


def choose(hand: Any, second: str) -> None:
    rows = (w for w in hand.shown() if getattr(w, "second", "").startswith(second))
    hand.tap(next(rows))
