"""How the app feels in the hand: signals, the left hand, the look by one tap."""

import shutil
from pathlib import Path
from typing import Any

import pytest
from kivy.core.window import Window

from mobile.jobs.job_start import begin_callback
from mobile.jobs.own_choices import Look as ChosenLook
from mobile.jobs.own_choices import OwnChoices, chosen, keep
from mobile.ui import device, light_sensor, own_way
from mobile.ui.theme import theme
from tests.mobile.ui.legibility import complaints, small_targets
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import READY, field, turn_to, vehicle_row

DROP, REST = "idle_vehicle_feed_drop", "rest_start_battery_voltage"


@pytest.fixture
def signals_given(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    given: list[bool] = []
    monkeypatch.setattr(device, "signal", lambda: given.append(True))
    return given


@pytest.fixture(autouse=True)
def as_nobody_chose() -> Any:
    yield
    own_way.take_on(OwnChoices())


@pytest.fixture
def started(make_phone: Any, demo_store: Path, tmp_path: Path) -> Any:
    def start(look: Look = LOOKS[0]) -> Any:
        store = tmp_path / "store"
        shutil.copytree(demo_store, store)
        return make_phone(look, store)

    return start


def at_step(finger: Any, step_id: str) -> Any:
    finger.app.work.open_walk(vehicle_row(finger.app.work.store, READY).open_job)
    finger.app.work.walk.go_to(step_id)
    return turn_to(finger, "step")


def press(finger: Any, keys: str) -> None:
    for key in keys:
        finger.tap(next(w for w in finger.shown() if type(w).__name__ == "Key" and w.text == key))


# Out of range: the demo's feed is let to lose some tenths of a volt at most.


def test_a_reading_out_of_range_is_signalled_once_when_the_keys_rest(
    started: Any, signals_given: list[bool]
) -> None:
    finger = started()
    at_step(finger, DROP)
    press(finger, "2.9")
    assert not signals_given, "half a number says nothing yet"
    finger.rest(1)
    assert len(signals_given) == 1
    finger.tap("Save, next")
    finger.rest(1.5)
    assert len(signals_given) == 1


def test_what_is_saved_at_once_is_signalled_at_once(
    started: Any, signals_given: list[bool]
) -> None:
    finger = started()
    at_step(finger, DROP)
    press(finger, "2.9")
    finger.tap("Save, next")
    assert len(signals_given) == 1
    at_step(finger, DROP)
    finger.rest(1.5)
    assert len(signals_given) == 1, "it stands there since: nothing new came out"


def test_a_reading_in_range_and_half_of_one_left_behind_signal_nothing(
    started: Any, signals_given: list[bool]
) -> None:
    finger = started()
    at_step(finger, REST)
    press(finger, "12.7")
    finger.rest(1.5)
    finger.tap("Save, next")
    at_step(finger, DROP)
    press(finger, "2.9")
    at_step(finger, REST)
    finger.rest(1.5)
    assert not signals_given


def test_the_signal_can_be_switched_off_and_is_given_when_it_is_switched_on(
    started: Any, signals_given: list[bool]
) -> None:
    finger = started()
    turn_to(finger, "own")
    finger.tap(field(finger, "Signal when out of range"))
    assert chosen(finger.app.work.store_file).signals is False
    at_step(finger, DROP)
    press(finger, "2.9")
    finger.rest(1.5)
    assert not signals_given
    turn_to(finger, "own")
    finger.tap(field(finger, "Signal when out of range"))
    assert len(signals_given) == 1


def test_the_screen_stays_on_while_readings_are_taken_and_waited_for(started: Any) -> None:
    finger = started()
    turn_to(finger, "home")
    assert Window.allow_screensaver
    at_step(finger, DROP)
    assert not Window.allow_screensaver
    finger.rest(600)
    assert not Window.allow_screensaver
    turn_to(finger, "home")
    assert Window.allow_screensaver
    work = finger.app.work
    vehicle_id = vehicle_row(work.store, READY).vehicle_id
    begun = work.store, work.library, vehicle_id, work.clock(), ["charges_slowly"], "Slow"
    finger.app.navigator.show("circuit", job_id=begin_callback(*begun))
    for page in ("circuit", "ladder", "findings", "compared", "repair"):
        turn_to(finger, page)
        assert not Window.allow_screensaver, page


# The left hand


def side(finger: Any, widget: Any) -> str:
    middle = widget.to_window(*widget.center)[0]
    return "left" if middle < finger.app.root.width / 2 else "right"


@pytest.mark.parametrize("left", [False, True], ids=["right_hand", "left_hand"])
@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_what_decides_stands_under_the_thumb_that_holds_the_phone(
    started: Any, look: Look, left: bool
) -> None:
    finger = started(look)
    turn_to(finger, "own")
    if left:
        finger.tap(field(finger, "Left hand"))
    name = f"{look}/{'left' if left else 'right'}_hand"
    thumb, other = ("left", "right") if left else ("right", "left")
    turn_to(finger, "home")
    assert side(finger, finger.find("New vehicle")) == thumb
    faults = faults_here(finger, f"{name}_home")
    page = at_step(finger, DROP)
    press(finger, "2.9")
    assert (side(finger, page.ids.next), side(finger, page.ids.back)) == (thumb, other)
    digits = [next(w for w in finger.shown() if getattr(w, "text", "") == d) for d in "123"]
    xs = [w.to_window(*w.center)[0] for w in digits]
    assert xs == sorted(xs), "digits stand as on any phone"
    faults += faults_here(finger, f"{name}_step")
    finger.tap(page.ids.next)
    page = at_step(finger, "job_made_safe")
    assert (side(finger, page.ids.next), side(finger, page.ids.back)) == (thumb, other)
    assert side(finger, finger.find("Yes")) == "left", "an order that is read stays"
    vehicle = vehicle_row(finger.app.work.store, READY).vehicle_id
    turn_to(finger, "particulars", page_id="charger", vehicle_id=vehicle)
    faults += faults_here(finger, f"{name}_particulars")
    rated = field(finger, "Rated output")
    tags = [w for w in rated.ids.box.children if type(w).__name__ == "WayTag" and w.shown]
    assert {side(finger, tag) for tag in tags} == {thumb}
    finger.tap(rated)
    finger.frames(3)
    done = next(w for w in finger.shown() if getattr(w, "text", "") == "Done")
    assert side(finger, done) == thumb
    faults += faults_here(finger, f"{name}_sheet")
    assert faults == []


def faults_here(finger: Any, name: str) -> list[str]:
    finger.frames(4)
    keep_picture(finger, name)
    return [f"{name}: {fault}" for fault in (*complaints(), *small_targets(48))]


def test_the_hand_can_be_changed_under_an_open_page_and_back(started: Any) -> None:
    finger = started()
    page = at_step(finger, DROP)
    before = page.ids.next.pos[:]
    for left in (True, False):
        theme.left_handed = left
        finger.frames(3)
        assert side(finger, page.ids.next) == ("left" if left else "right")
    assert page.ids.next.pos == before


# Light and dark


def look_button(finger: Any) -> Any:
    return next(w for w in finger.shown() if type(w).__name__ == "LookButton")


def test_one_tap_on_every_page_of_the_work_changes_the_look_and_is_kept(started: Any) -> None:
    finger = started()
    store = finger.app.work.store_file
    vehicle = vehicle_row(finger.app.work.store, READY)
    pages = {"home": {}, "vehicle": {"vehicle_id": vehicle.vehicle_id}, "quick_check": {}}
    for name, what in pages.items():
        turn_to(finger, name, **what)
        for look in (ChosenLook.DARK, ChosenLook.LIGHT):
            finger.tap(look_button(finger))
            assert theme.dark is (look is ChosenLook.DARK), name
            assert chosen(store).look is look
            finger.rest(0.5)
    at_step(finger, DROP)
    press(finger, "2")
    finger.tap(look_button(finger))
    assert theme.dark
    assert finger.app.navigator.page.panel.widget.text == "2"
    keep_picture(finger, "one_tap/dark_step")


def test_the_look_goes_with_the_phone_until_one_is_chosen(
    make_phone: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    night = [True]
    monkeypatch.setattr(device, "is_night", lambda: night[0])
    finger = make_phone()
    assert theme.dark
    night[0] = False
    finger.app.dispatch("on_resume")
    assert not theme.dark
    keep(finger.app.work.store_file, "look", ChosenLook.DARK)
    finger.app.dispatch("on_resume")
    assert theme.dark


@pytest.mark.parametrize(("was", "is_now"), [(True, ChosenLook.DARK), (False, ChosenLook.LIGHT)])
def test_a_dark_screen_chosen_before_there_were_looks_stays_chosen(
    phone: Any, was: bool, is_now: ChosenLook
) -> None:
    store = phone.app.work.store_file
    assert chosen(store) == OwnChoices()
    store.set_setting("dark", was)
    assert chosen(store).look is is_now
    keep(store, "look", ChosenLook.AS_PHONE)
    assert chosen(store).look is ChosenLook.AS_PHONE
    store.set_setting("look", "no such look")
    store.set_setting("left_handed", "perhaps")
    assert chosen(store) == OwnChoices(look=is_now)


def test_the_light_sensor_turns_the_look_only_where_it_was_chosen(
    make_phone: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[Any] = []
    monkeypatch.setattr(light_sensor, "is_there", lambda: True)
    monkeypatch.setattr(light_sensor, "begin", told.append)
    monkeypatch.setattr(light_sensor, "end", told.clear)
    finger = make_phone()
    assert not told
    finger.tap("Menu")
    finger.tap("Look by the light")
    [shine] = told
    shine(0.3)
    assert theme.dark
    finger.tap(look_button(finger))
    assert not theme.dark
    finger.rest(5)
    assert not theme.dark, "a tap stands until the light is another"
    shine(300.0)
    finger.rest(5)
    shine(0.3)
    finger.rest(5)
    assert theme.dark
    finger.app.dispatch("on_pause")
    assert not told, "another app is in front"
    finger.app.dispatch("on_resume")
    assert len(told) == 1


def test_without_a_light_sensor_nothing_is_said_of_it(phone: Any) -> None:
    phone.tap("Menu")
    assert not phone.sees("Look by the light")
