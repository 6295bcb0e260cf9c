"""A hybrid, and a 24 V truck whose house side is 12 V: set up, and looked over in the walk."""

from typing import Any

import pytest

from logic.vehicle.installation import Control, Joined
from tests.mobile.ui.legibility import complaints
from tests.mobile.ui.looks import LOOKS
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import field, vehicle_row, write

HYBRID = (
    "12 V",
    "25 A, sealed",
    "AGM, 100 Ah",
    "Ute tray, return by its own cable",
    "16 mm²",
    "105 °C, 1 or 2 together",
    "Hybrid or electric, DC-DC supply 150 A",
    "EFB, 70 Ah",
    "No",
    "No panel",
    "Ordinary multimeter and current clamp",
)
TRUCK = (
    "24 V",
    "20 A, out at 12 V, sealed",
    "AGM, 100 Ah",
    "Ute tray, return by its own cable",
    "16 mm²",
    "105 °C, 1 or 2 together",
    "Fixed voltage, 120 A",
    "Two flooded 12 V in series, 180 Ah",
    "Yes",
    "No panel",
    "Ordinary multimeter and current clamp",
)


@pytest.fixture(params=LOOKS, ids=str)
def finger(request: Any, make_phone: Any) -> Any:
    finger = make_phone(request.param)
    finger.look = request.param
    return finger


def look_over(finger: Any, name: str) -> None:
    keep_picture(finger, f"{name}-{finger.look}")
    assert complaints() == [], name


def set_up(finger: Any, plate: str, answers: tuple[str, ...]) -> Any:
    finger.tap("New vehicle")
    write(finger, "Registration plate", plate)
    finger.tap("Next: equipment")
    for words in answers:
        page = finger.app.navigator.page
        look_over(finger, f"{plate}-{page.question.split('?')[0][:30]}".replace(" ", "_"))
        finger.tap(words)
    finger.tap("Done")
    store = finger.app.work.store
    return store.vehicle(vehicle_row(store, plate.upper()).vehicle_id).installation


def walk_over(finger: Any, plate: str, steps: tuple[str, ...]) -> Any:
    finger.tap("Start commissioning")
    walk = finger.app.work.walk
    screen = finger.app.navigator.show("step")
    for step_id in steps:
        walk.go_to(step_id)
        if walk.look is not None:
            walk.take_out(step_id)
        screen.refresh()
        look_over(finger, f"{plate}-{step_id}")
        screen.ids.body.scroll_y = 0
        look_over(finger, f"{plate}-{step_id}-below")
    return walk


def test_a_hybrid_is_set_up_and_walked_in_its_own_words(finger: Any) -> None:
    fitted = set_up(finger, "fh 310", HYBRID)
    assert fitted.alternator.control is Control.CONVERTER
    assert fitted.alternator.rated_current_a == 150
    look_over(finger, "fh 310-vehicle")
    steps = (
        "stays_on_low_voltage_side",
        "unit_suits_battery_and_alternator",
        "ignition_source",
        "engine_started",
        "idle_start_battery_voltage",
    )
    walk = walk_over(finger, "fh 310", steps)
    assert finger.sees("Vehicle ready")
    walk.say_waited()
    screen = finger.app.navigator.page
    screen.refresh()
    for key in "12.5":
        screen.panel.widget.press(key)
    look_over(finger, "fh 310-off")
    assert finger.sees("not switched on or is overloaded")
    walk.go_to("profile_setting_voltage")
    screen.refresh()
    look_over(finger, "fh 310-profile")
    assert finger.sees("with the vehicle off"), "a hybrid is not told of its engine"
    assert not finger.sees("engine off")
    walk.go_to_stage("engine_idle")
    finger.app.navigator.show("stage")
    assert finger.sees("Vehicle ready")
    look_over(finger, "fh 310-stage")


def test_a_truck_of_two_batteries_and_two_voltages(finger: Any) -> None:
    fitted = set_up(finger, "fh 424", TRUCK)
    assert fitted.start_battery.second is Joined.SERIES
    assert (fitted.scale, fitted.house_scale) == (2, 1)
    assert 14 < fitted.charger.absorption_voltage_v < 15
    look_over(finger, "fh 424-vehicle")
    steps = ("fed_across_both_in_series", "sides_by_voltage", "rest_first_series_voltage")
    walk_over(finger, "fh 424", steps)
    screen = finger.app.navigator.page
    for key in "12.5":
        screen.panel.widget.press(key)
    look_over(finger, "fh 424-first")


# Absorption of a 12 V AGM battery by its preset, twice that of two in series.
def test_the_guessed_profile_follows_the_house_sides_voltage(finger: Any) -> None:
    finger.tap("New vehicle")
    write(finger, "Registration plate", "fh 511")
    finger.tap("Next: equipment")
    for words in HYBRID[:3]:
        finger.tap(words)
    finger.tap("Charger")
    absorption = "Absorption voltage of the profile to be set"
    before = float(field(finger, absorption).text)
    look_over(finger, "fh 511-charger")
    choice = field(finger, "Voltage of the house side")
    assert [words for _, words in choice.options] == ["12 V", "24 V", "As the vehicle"]
    finger.tap("24 V")
    assert float(field(finger, absorption).text) == pytest.approx(2 * before)
    finger.tap("As the vehicle")
    assert float(field(finger, absorption).text) == pytest.approx(before)
    finger.tap("Done")


def test_a_second_start_battery_is_entered_by_hand(finger: Any) -> None:
    finger.tap("New vehicle")
    write(finger, "Registration plate", "fh 512")
    finger.tap("Next: equipment")
    for words in HYBRID[:8]:
        finger.tap(words)
    finger.tap("Start battery")
    look_over(finger, "fh 512-start-battery")
    chemistry = field(finger, "Chemistry")
    assert {"EFB", "Calcium"} <= {words for _, words in chemistry.options}
    assert "There is one" in {words for _, words in field(finger, "Second start battery").options}
    finger.tap("In parallel")
    finger.tap("Done")
    finger.tap("Done")
    store = finger.app.work.store
    fitted = store.vehicle(vehicle_row(store, "FH 512").vehicle_id).installation
    assert fitted.start_battery.second is Joined.PARALLEL
