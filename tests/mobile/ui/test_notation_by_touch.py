"""Figures as the technician wants them: typed and seen so, kept in °C with a point all the same."""

import shutil
from pathlib import Path
from typing import Any

import pytest

from logic.vehicle.points import Point
from mobile.jobs.job_start import begin_callback
from mobile.jobs.own_choices import OwnChoices
from mobile.ui import own_way
from mobile.ui.widgets.reading_panel import ReadingPanel
from mobile.ui.widgets.words import Written
from tests.mobile.ui.legibility import complaints
from tests.mobile.ui.looks import LOOKS
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import READY, field, turn_to, vehicle_row


@pytest.fixture(autouse=True)
def as_nobody_chose() -> Any:
    yield
    own_way.take_on(OwnChoices())


@pytest.fixture
def finger(make_phone: Any, demo_store: Path, tmp_path: Path) -> Any:
    shutil.copytree(demo_store, tmp_path / "store")
    return make_phone(LOOKS[0], tmp_path / "store")


def choose(finger: Any, *words: str) -> None:
    turn_to(finger, "own")
    for one in words:
        finger.tap(one)
        finger.frames(2)


def seen(finger: Any) -> str:
    return " | ".join(w.drawn for w in finger.shown() if isinstance(w, Written))


def press(finger: Any, keys: str) -> None:
    for key in keys:
        finger.tap(next(w for w in finger.shown() if type(w).__name__ == "Key" and w.text == key))


def at_reading(finger: Any, point: Point) -> Any:
    walk = finger.app.work.open_walk(vehicle_row(finger.app.work.store, READY).open_job)
    walk.go_to(next(step.id for step in walk.checklist.steps if step.point is point))
    return turn_to(finger, "step")


def begun_callback(finger: Any) -> Any:
    work = finger.app.work
    vehicle = vehicle_row(work.store, READY).vehicle_id
    begun = work.store, work.library, vehicle, work.clock(), ["charges_slowly"], "Slow"
    return begin_callback(*begun)


def at_case_temperature(finger: Any, job_id: str) -> Any:
    page = turn_to(finger, "circuit", job_id=job_id)
    page.enter(Point.CHARGER_CASE_TEMPERATURE)
    finger.rest(0.4)
    return next(w for w in page.walk() if isinstance(w, ReadingPanel))


def test_a_temperature_is_typed_and_seen_in_fahrenheit_and_kept_in_celsius(finger: Any) -> None:
    choose(finger, "°F")
    job_id = begun_callback(finger)
    panel = at_case_temperature(finger, job_id)
    press(finger, "104")
    assert (panel.shown, panel.unit, panel.typed.value) == ("104", "°F", 40)
    assert "°C" not in seen(finger)
    assert complaints() == []
    keep_picture(finger, "notation/fahrenheit")
    panel = at_case_temperature(finger, job_id)
    assert panel.shown == "104", "what is typed and not saved stays too"
    finger.tap("Save")
    work = finger.app.work
    assert work.callback.value(Point.CHARGER_CASE_TEMPERATURE) == 40
    assert "104" in seen_of_circuit(finger)
    choose(finger, "°C")
    panel = at_case_temperature(finger, job_id)
    assert panel.unit == "°C"
    assert "40" in seen_of_circuit(finger)


def seen_of_circuit(finger: Any) -> str:
    circuit = finger.app.navigator.page.ids.circuit
    return " ".join(line.text for _, found in circuit.set_texts() for line in found.lines)


def test_what_is_very_hot_is_asked_about_in_the_unit_that_is_typed(finger: Any) -> None:
    choose(finger, "°F")
    at_case_temperature(finger, begun_callback(finger))
    press(finger, "230")
    assert "230 °F is very hot" in seen(finger)
    press(finger, "9")
    assert "302 °F" in seen(finger)
    assert "°C" not in seen(finger)


def test_a_figure_of_the_set_up_is_typed_in_fahrenheit(finger: Any) -> None:
    choose(finger, "°F")
    vehicle = vehicle_row(finger.app.work.store, READY).vehicle_id
    page = turn_to(finger, "particulars", page_id="extras", vehicle_id=vehicle)
    air = field(finger, "Air temperature today")
    finger.tap(air)
    finger.frames(3)
    press(finger, "86")
    assert air.unit == "°F"
    assert page.owner.draft["ambient_c"] == "30"
    press(finger, "0")
    assert "°F here" in air.complaint.replace("°C", "°F")
    assert "°C" not in seen(finger)
    finger.tap("Not known")
    assert page.owner.draft["ambient_c"] == ""


def test_a_decimal_comma_is_seen_everywhere_while_the_text_keeps_its_point(finger: Any) -> None:
    choose(finger, "12,6 (comma)")
    page = at_reading(finger, Point.START_BATTERY_VOLTAGE)
    press(finger, "12,6")
    panel = page.panel.widget
    assert panel.text == "12.6"
    assert "12,6" in seen(finger)
    assert not [w.drawn for w in finger.shown() if isinstance(w, Written) and _has_point(w.drawn)]
    keep_picture(finger, "notation/comma_step")
    choose(finger, "12.6 (point)")
    assert "12,6 (comma)" in seen(finger)
    at_reading(finger, Point.START_BATTERY_VOLTAGE)
    assert "12.6" in seen(finger)


def test_gauges_stand_before_areas_where_they_are_wanted(finger: Any) -> None:
    choose(finger, "AWG first")
    vehicle = vehicle_row(finger.app.work.store, READY).vehicle_id
    turn_to(finger, "particulars", page_id="vehicle_feed", vehicle_id=vehicle)
    stated = chosen_way(finger)
    assert stated.options[0][1].startswith("AWG")


def chosen_way(finger: Any) -> Any:
    return next(
        w for w in finger.shown() if any("AWG" in words for _, words in getattr(w, "options", ()))
    )


def _has_point(text: str) -> bool:
    return any(
        a.isdigit() and b == "." and c.isdigit()
        for a, b, c in zip(text, text[1:], text[2:], strict=False)
    )
