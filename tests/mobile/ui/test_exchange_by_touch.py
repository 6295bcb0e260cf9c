import shutil
import time
from pathlib import Path
from typing import Any

import pytest

from logic.checklist.answers import ReadingAnswer
from logic.records.bundle.importing import import_bundle
from logic.records.store.store import Store
from mobile.jobs import exchange, workshop_keys
from mobile.ui import device
from tests.mobile.two_phones import STEP, answer, befriend, begun_on_one, carry, file_of, only_file
from tests.mobile.ui.pictures import keep_picture
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


def own_details(finger: Any) -> Any:
    finger.app.navigator.restart("home")
    turn_to(finger, "own")
    return finger


def to_exchange(finger: Any) -> Any:
    own_details(finger).tap("Send and receive")
    assert finger.app.navigator.current == "exchange"
    return finger.app.navigator.page


def choose_file(finger: Any, path: Path, until_seen: str) -> None:
    """Choose a file by touch and wait for what is then said."""
    finger.tap("Choose a file")
    finger.app.root_window.children[0].folder = str(path.parent)
    finger.frames(3)
    finger.tap(path.name)
    finger.until(lambda: finger.sees(until_seen), 20)
    settle_down(finger)


def take_in(finger: Any, path: Path, until_seen: str) -> None:
    """Choose a file by touch, look at what it would do, and take it in."""
    choose_file(finger, path, "What it would do")
    if not finger.app.navigator.page.may_be_taken:
        assert finger.sees("Nothing new: everything in this file is here already.")
        finger.tap("Leave it")
        assert finger.app.navigator.current == "exchange"
        return
    finger.tap("Take it in")
    finger.until(lambda: finger.sees(until_seen), 20)
    settle_down(finger)


def phone_that_trusts(make_phone: Any, sender: Path, tmp_path: Path) -> Any:
    befriend(sender, tmp_path / "store")
    return make_phone()


def settle_down(finger: Any) -> None:
    """Wait until a tap is no bounce of the one before."""
    finger.rest(0.4)


def make_file(finger: Any) -> Any:
    page = finger.app.navigator.page
    finger.tap("Make the file")
    finger.until(lambda: page.ready, 20)
    return page


def job_on(folder: Path, job_id: str) -> Any:
    with Store.open(folder) as store:
        return store.job(job_id)


def test_one_vehicle_goes_from_its_page_to_another_phone(
    make_phone: Any, phones: Any, tmp_path: Path, monkeypatch: Any
) -> None:
    one, _, _ = phones
    finger, shared = make_phone(store=one), []
    finger.app.navigator.restart("home")
    turn_to(finger, "vehicle", vehicle_id=finger.app.work.store.find_vehicles()[0].vehicle_id)
    finger.tap("Send to another phone")
    assert not finger.sees("Choose a file")
    page = make_file(finger)
    path = only_file(one)
    assert finger.sees(f"Ready: {path.name}. 1 vehicle, ")
    assert finger.sees(f"It lies in {path.parent}")
    monkeypatch.setattr(device, "share", lambda *what: shared.append(what))
    finger.tap("Share the file")
    assert shared == [(one, path, "application/octet-stream")]
    finger.tap("Send along")
    assert not page.ready
    make_file(finger)
    with Store.open(tmp_path / "new") as store:
        store.say_of_key(finger.app.work.store.own_key, "one", "trusted")
        import_bundle(store, only_file(one))
        assert store.find_vehicles("Thistlewick")[0].registration == "BEE 338"


def test_a_file_brings_its_vehicle_and_a_second_time_nothing_new(
    make_phone: Any, phones: Any, tmp_path: Path
) -> None:
    path = file_of(phones[0], tmp_path / "all.voltwalk")
    finger = phone_that_trusts(make_phone, phones[0], tmp_path)
    to_exchange(finger)
    assert finger.sees("There is no vehicle on this phone yet.")
    assert finger.find("Make the file").disabled
    take_in(finger, path, "Taken in: 1 new vehicle, 4 new entries.")
    assert finger.sees("Send all: 1 vehicle")
    take_in(finger, path, "")
    finger.press_back()
    assert finger.app.navigator.current == "own"
    finger.app.navigator.restart("home")
    finger.until(lambda: finger.sees("BEE 338"))


def test_a_vehicle_that_came_opens_on_a_tap_and_back_leads_to_what_came(
    make_phone: Any, phones: Any, tmp_path: Path
) -> None:
    path = file_of(phones[0], tmp_path / "all.voltwalk")
    finger = phone_that_trusts(make_phone, phones[0], tmp_path)
    to_exchange(finger)
    take_in(finger, path, "Taken in: 1 new vehicle")
    finger.tap("BEE 338")
    assert finger.app.navigator.current == "vehicle"
    finger.press_back()
    assert finger.sees("Taken in: 1 new vehicle")


def test_a_broken_file_is_refused_in_words_and_nothing_changes(
    make_phone: Any, phones: Any, tmp_path: Path
) -> None:
    path = tmp_path / "broken.voltwalk"
    path.write_bytes(file_of(phones[1], tmp_path / "whole.voltwalk").read_bytes()[:-400])
    finger = make_phone(store=phones[0])
    before = list(finger.app.work.store.events())
    to_exchange(finger)
    choose_file(finger, path, "broken.voltwalk is damaged or no bundle")
    assert "Nothing was changed here." in finger.app.banner.text
    assert list(finger.app.work.store.events()) == before
    assert not finger.find("Choose a file").disabled


def test_back_waits_for_work_under_way_and_how_far_it_is_can_be_seen(
    make_phone: Any, phones: Any, tmp_path: Path, monkeypatch: Any
) -> None:
    path = file_of(phones[1], tmp_path / "all.voltwalk")
    go_on = []

    def slow(folder: Path, path: Path, progress: exchange.Progress) -> Any:
        progress.tell(45, 100)
        while not go_on:
            time.sleep(0.01)
        return look(folder, path, progress)

    look = exchange.look
    monkeypatch.setattr(exchange, "look", slow)
    finger = make_phone(store=phones[0])
    page = to_exchange(finger)
    page.take(path)
    finger.until(lambda: finger.sees("Looking at it: 45 %"))
    finger.press_back()
    assert finger.app.navigator.current == "exchange"
    assert finger.find("Back").disabled
    assert finger.find("Choose a file").disabled
    go_on.append(True)
    finger.until(lambda: finger.sees("Nothing new: everything"), 20)
    finger.press_back()
    finger.press_back()
    assert finger.app.navigator.current == "own"


def test_the_phones_own_picker_hands_over_a_stream(
    make_phone: Any, phones: Any, tmp_path: Path, monkeypatch: Any
) -> None:
    path = file_of(phones[0], tmp_path / "all.voltwalk")
    monkeypatch.setattr(device, "HAS_PICKER", True)
    monkeypatch.setattr(device, "ask_file", lambda done: done("content://9"))
    monkeypatch.setattr(device, "open_chosen", {"content://9": path.open("rb")}.get)
    finger = phone_that_trusts(make_phone, phones[0], tmp_path)
    to_exchange(finger)
    finger.tap("Choose a file")
    finger.until(lambda: finger.sees("It brings 1 new vehicle"), 20)
    settle_down(finger)
    finger.tap("Take it in")
    finger.until(lambda: finger.sees("Taken in: 1 new vehicle"), 20)


def test_a_step_answered_on_two_phones_is_settled_by_a_tap_and_stays_so_on_both(
    make_phone: Any, clashing: Any, tmp_path: Path
) -> None:
    one, other, job_id = clashing
    finger = make_phone(store=one)
    to_exchange(finger)
    take_in(finger, tmp_path / "theirs.voltwalk", "Answered on two phones: to settle")
    assert finger.sees("12.6 V / 12.4 V") or finger.sees("12.60 V / 12.40 V")
    finger.tap(next(w for w in finger.shown() if getattr(w, "text", "").startswith("BEE 338: ")))
    assert finger.app.navigator.current == "step"
    assert finger.sees("this phone, ")
    choose(finger, "another phone, ")
    finger.until(lambda: not finger.sees("another phone, "))
    assert finger.app.work.store.job(job_id).answers[STEP].answer == THERE
    assert finger.app.work.store.job(job_id).clashes == {}
    finger.press_back()
    assert finger.app.navigator.current == "exchange"
    assert not finger.sees("to settle")
    assert carry(one, other, tmp_path / "back.voltwalk").clashes == ()
    assert job_on(other, job_id) == finger.app.work.store.job(job_id)


def test_a_clash_can_be_settled_by_doing_the_step_again(
    make_phone: Any, clashing: Any, tmp_path: Path
) -> None:
    one, other, job_id = clashing
    carry(other, one, tmp_path / "again.voltwalk")
    finger = make_phone(store=one)
    turn_to(finger, "step", job_id=job_id, step_id=STEP)
    for key in ("1", "2", ".", "5", "5"):
        finger.tap(key)
    finger.tap("Save, next")
    job = finger.app.work.store.job(job_id)
    assert job.answers[STEP].answer == ReadingAnswer(value=12.55, typed="12.55")
    assert job.clashes == {}


def test_review_and_the_vehicle_show_a_clash_and_lead_to_it(
    make_phone: Any, clashing: Any, tmp_path: Path
) -> None:
    one, other, job_id = clashing
    carry(other, one, tmp_path / "again.voltwalk")
    finger = make_phone(store=one)
    finger.app.navigator.restart("home")
    turn_to(finger, "vehicle", vehicle_id=finger.app.work.store.find_vehicles()[0].vehicle_id)
    assert finger.sees("answered on two phones: 1 step to settle")
    turn_to(finger, "review", job_id=job_id)
    told = "two phones answered differently. Do it again to settle it."
    assert finger.sees(told)
    clash = next(w for w in finger.shown() if told in (getattr(w, "text", "") or ""))
    card = clash.parent
    while not any(getattr(w, "text", "") == "Go to it" for w in card.walk()):
        card = card.parent
    finger.tap(next(w for w in card.walk() if getattr(w, "text", "") == "Go to it"))
    choose(finger, "this phone, ")
    finger.until(lambda: not finger.sees("another phone, "))
    assert finger.app.work.store.job(job_id).clashes == {}
    turn_to(finger, "review", job_id=job_id)
    assert not finger.sees(told)


def choose(finger: Any, second: str) -> None:
    rows = (w for w in finger.shown() if getattr(w, "second", "").startswith(second))
    finger.tap(next(rows))


def test_a_strangers_file_shows_the_digits_to_compare_and_is_taken_in_when_they_are_the_same(
    make_phone: Any, phones: Any, tmp_path: Path
) -> None:
    path = file_of(phones[0], tmp_path / "all.voltwalk")
    with Store.open(phones[0]) as store:
        compare = workshop_keys.own_key(store).compare
    finger = make_phone()
    to_exchange(finger)
    choose_file(finger, path, compare)
    keep_picture(finger, "incoming_stranger")
    assert finger.find("Take it in").disabled
    finger.tap("The same: it is one of ours")
    finger.until(lambda: finger.sees("one of the workshop's."), 20)
    settle_down(finger)
    keep_picture(finger, "incoming_known")
    finger.tap("Take it in")
    finger.until(lambda: finger.sees("Taken in: 1 new vehicle"), 20)


def test_an_erasure_that_comes_is_asked_about_by_itself(
    make_phone: Any, phones: Any, tmp_path: Path
) -> None:
    one, other, _ = phones
    carry(one, other, tmp_path / "all.voltwalk")
    with Store.open(other) as store:
        [row] = store.find_vehicles()
        store.erase_customer(row.vehicle_id)
    path = file_of(other, tmp_path / "erased.voltwalk")
    finger = make_phone(store=one)
    to_exchange(finger)
    choose_file(finger, path, "Erase 1 customer here too")
    keep_picture(finger, "incoming_erasure")
    finger.tap("Erase 1 customer here too")
    finger.tap("Take it in")
    finger.until(lambda: finger.app.navigator.current == "exchange", 20)
    assert finger.app.work.store.vehicle(row.vehicle_id).customer_erased


def test_the_keys_page_names_this_phone_and_withdraws_a_lost_ones_key(
    make_phone: Any, phones: Any
) -> None:
    finger = make_phone(store=phones[0])
    own_details(finger).tap("Keys of the workshop")
    page = finger.app.navigator.page
    keep_picture(finger, "keys")
    [line] = workshop_keys.other_keys(finger.app.work.store)
    finger.tap(line.text)
    keep_picture(finger, "keys_withdraw")
    settle_down(finger)
    finger.tap("Withdraw its key")
    assert workshop_keys.other_keys(finger.app.work.store)[0].withdrawn
    page.ids.name.text = "Workshop phone"
    settle_down(finger)
    finger.tap("Done")
    assert workshop_keys.own_key(finger.app.work.store).name == "Workshop phone"


def test_a_key_that_another_phone_vouches_for_is_asked_about_with_its_digits(
    make_phone: Any, phones: Any, tmp_path: Path
) -> None:
    one, other, _ = phones
    with Store.open(tmp_path / "third") as third, Store.open(other) as store:
        store.say_of_key(third.own_key, "bench phone", "trusted")
        compare = workshop_keys.own_key(third).compare.replace("\n", " ")
    path = file_of(other, tmp_path / "theirs.voltwalk")
    finger = make_phone(store=one)
    to_exchange(finger)
    choose_file(finger, path, "Take in 1 key of the workshop")
    assert finger.sees(compare)
    keep_picture(finger, "incoming_key")
    assert finger.find("Take it in").disabled
    finger.tap("Take in 1 key of the workshop")
    finger.tap("Take it in")
    finger.until(lambda: finger.app.navigator.current == "exchange", 20)
    names = [line.text for line in workshop_keys.other_keys(finger.app.work.store)]
    assert "bench phone" in names
