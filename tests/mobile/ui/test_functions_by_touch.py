"""A unit's functions and a trailer's plug, set up and walked through by a finger on the glass."""

from typing import Any

import pytest

from logic.checklist.answers import ChoiceAnswer, ReadingAnswer, YesNoAnswer
from logic.vehicle.installation import Fitted, Trailer
from tests.mobile.driveway import INSTALLATION, open_job
from tests.mobile.ui.legibility import complaints
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import field, vehicle_row, write

EVERYTHING = INSTALLATION.model_copy(
    update={
        "charger": INSTALLATION.charger.model_copy(update={"input_current_limit_a": 30.0}),
        "fitted": Fitted(temperature_sensor=True, reverse_charge=True),
        "trailer": Trailer(plug_rated_current_a=35.0),
    }
)
# Steps with the keys typed at each; what was answered before it decides whether it is asked.
STEPS = (
    ("input_limit_setting", "40"),
    ("sensor_answers", ""),
    ("idle_sensor_temperature", "-40"),
    ("unit_stops_voltage", "11.2"),
    ("reverse_charge_current", "10"),
    ("reverse_charge_voltage", "15.2"),
    ("reverse_charge_ends", ""),
    ("tow_socket_voltage", "12.6"),
    ("unhitched_stops", ""),
    ("solar_start_battery_voltage", "13.4"),
    ("engine_started_again", ""),
    ("input_current_without_sun", "29"),
    ("input_current_in_sun", "29"),
)


def at_the_walk(make_phone: Any, folder: Any, look: Look) -> Any:
    open_job(folder, EVERYTHING)
    finger = make_phone(look)
    work = finger.app.work
    in_hand = work.open_walk(work.store.find_vehicles()[0].open_job)
    in_hand.answer("rest_charger_input_voltage", ReadingAnswer(value=12.2))
    in_hand.answer("rest_house_battery_temperature", ReadingAnswer(value=18))
    in_hand.answer("sensor_answers", ChoiceAnswer(choice="shown"))
    in_hand.answer("unit_stops_with_engine", YesNoAnswer(yes=False))
    return finger


@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_no_text_of_a_function_is_cut_off_or_covered(make_phone, tmp_path, look):
    finger = at_the_walk(make_phone, tmp_path / "store", look)
    in_hand = finger.app.work.walk
    screen = finger.app.navigator.show("step")
    known = {step.id for step in in_hand.steps}
    for step_id, keys in STEPS:
        if step_id not in known:
            assert step_id == "solar_start_battery_voltage", "only the full sheet asks for it"
            continue
        in_hand.go_to(step_id)
        in_hand.say_waited()
        screen.refresh()
        for key in keys:
            screen.panel.widget.press("−" if key == "-" else key)
        for part, scroll in (("", 1), ("-below", 0)):
            screen.ids.body.scroll_y = scroll
            keep_picture(finger, f"functions-{step_id}{part}-{look}")
            assert complaints() == [], step_id


@pytest.fixture
def walk(make_phone, tmp_path):
    finger = at_the_walk(make_phone, tmp_path / "store", Look())
    finger.app.navigator.show("step")
    finger.frames(3)
    return finger


def type_at(finger: Any, step_id: str, keys: str) -> str:
    in_hand, screen = finger.app.work.walk, finger.app.navigator.page
    in_hand.go_to(step_id)
    in_hand.say_waited()
    screen.refresh()
    finger.frames(3)
    for key in keys:
        finger.tap("−" if key == "-" else key)
    return screen.panel.widget.ids.remark.text


def test_the_limit_read_back_says_what_it_costs(walk):
    remark = type_at(walk, "input_limit_setting", "40")
    assert remark.startswith("Out of range")
    assert "of its 40 A output and costs" in remark


def test_a_sensor_off_its_lead_is_told_with_what_it_does(walk):
    remark = type_at(walk, "idle_sensor_temperature", "-40")
    assert remark.startswith("Out of range")
    assert "refuse to charge" in remark


def test_the_start_battery_is_judged_by_the_current_that_was_typed_before(walk):
    type_at(walk, "reverse_charge_current", "10")
    walk.tap(walk.app.navigator.page.ids.next)
    assert type_at(walk, "reverse_charge_voltage", "12.8").startswith("In range")
    stored = walk.app.work.walk.job.answers["reverse_charge_current"].answer
    assert stored == ReadingAnswer(value=10.0, typed="10")


def test_a_live_tow_socket_is_out_of_range(walk):
    assert type_at(walk, "tow_socket_voltage", "12.6").startswith("Out of range")


def test_a_reverse_charge_that_does_not_end_stays_for_a_second_look(walk):
    in_hand, screen = walk.app.work.walk, walk.app.navigator.page
    in_hand.go_to("reverse_charge_ends")
    screen.refresh()
    walk.frames(3)
    walk.tap("does not end")
    assert in_hand.step.id == "reverse_charge_ends"
    assert walk.sees("Not in order")


# The set-up's page of the plug


@pytest.fixture
def new_vehicle(phone: Any) -> Any:
    phone.tap("New vehicle")
    write(phone, "Registration plate", "fh 310")
    phone.tap("Next: equipment")
    return phone


def test_the_plug_is_asked_for_only_where_something_sits_in_a_trailer(new_vehicle):
    for words in ("12 V", "40 A, sealed", "AGM, 100 Ah"):
        new_vehicle.tap(words)
    assert not new_vehicle.sees("Trailer plug")
    new_vehicle.tap("Charger")
    assert new_vehicle.sees("Boats are left out")
    keep_picture(new_vehicle, "functions-charger-page")
    new_vehicle.tap("Trailer")
    new_vehicle.tap("Done")
    new_vehicle.tap("Trailer plug")
    keep_picture(new_vehicle, "functions-trailer-page")
    assert complaints() == []
    new_vehicle.tap(field(new_vehicle, "One contact carries"))
    for key in "20":
        new_vehicle.tap(key)
    new_vehicle.tap("Done")
    new_vehicle.tap("No")
    new_vehicle.tap("Done")
    new_vehicle.tap("Done")
    store = new_vehicle.app.work.store
    fitted = store.vehicle(vehicle_row(store, "FH 310").vehicle_id).installation
    assert fitted.trailer == Trailer(plug_rated_current_a=20, socket_dead_unhitched=False)


@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_the_plugs_rules_can_be_read_on_every_phone(make_phone, tmp_path, look):
    finger = at_the_walk(make_phone, tmp_path / "store", look)
    vehicle_id = finger.app.work.store.find_vehicles()[0].vehicle_id
    page = finger.app.navigator.show("design", vehicle_id=vehicle_id)
    finger.frames(3)
    cards = [one for one in page.ids.rules.walk() if type(one).__name__ == "RuleCard"]
    titles = {card.title for card in cards}
    assert titles >= {
        "Plug carries the current",
        "Fused in the towing vehicle",
        "Return by its own conductor",
        "Tow socket dead when unhitched",
        "Output that the input limit leaves",
    }
    page.ids.body.scroll_y = 0.6
    keep_picture(finger, f"functions-design-{look}")
    assert complaints() == []


@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_no_text_of_the_terminations_look_is_cut_off_with_a_trailer(make_phone, tmp_path, look):
    finger = at_the_walk(make_phone, tmp_path / "store", look)
    in_hand = finger.app.work.walk
    screen = finger.app.navigator.show("step")
    in_hand.go_to("trailer_feed_and_return")
    screen.refresh()
    for part, scroll in (("", 1), ("-below", 0)):
        screen.ids.body.scroll_y = scroll
        keep_picture(finger, f"functions-look{part}-{look}")
        assert complaints() == []
    assert {step.id for step in in_hand.steps} >= {"trailer_brakes_untouched", "drawbar_plug"}
