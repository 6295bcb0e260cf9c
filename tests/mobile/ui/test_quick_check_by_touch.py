"""A vehicle nobody here knows, and one that is known from its label only."""

import pytest

from logic.vehicle.installation import Chemistry
from tests.mobile.callback_scene import Mechanic, bench_with, described


def open_quick_check(phone):
    phone.frames(3)
    phone.tap("Quick check")
    phone.frames(3)
    return phone.app.navigator.page


def type_rating(phone, page, digits):
    phone.tap(page.ids.rating)
    phone.frames(3)
    for key in digits:
        phone.tap(key)
    phone.tap("Done")
    phone.frames(3)


def test_rating_and_chemistry_are_enough_and_the_rest_is_not_known(make_phone):
    phone = make_phone()
    page = open_quick_check(phone)
    type_rating(phone, page, "40")
    phone.tap("AGM")
    phone.tap("Check this vehicle")
    phone.frames(5)
    assert phone.sees("No commissioning record of this vehicle here")
    phone.tap("Never charges")
    phone.tap("Safe to work: begin")
    mechanic = Mechanic(phone, bench_with("vehicle_fuse_open", described(), seed=2))
    mechanic.settle()
    fitted = phone.app.work.callback.installation
    assert fitted.charger.rated_output_current_a == 40
    assert fitted.house_battery.chemistry is Chemistry.AGM
    assert fitted.runs.vehicle_feed.length_m is None
    mechanic.follow()
    assert phone.sees("use or breaker open in the vehicle feed")
    assert phone.app.work.callback.plate.startswith("STRANGER ")


def test_what_is_missing_is_said_and_what_was_typed_outlives_a_kill(make_phone):
    phone = make_phone()
    page = open_quick_check(phone)
    phone.tap("Check this vehicle")
    assert "rating plate" in page.ids.rating.complaint
    assert "chemistry" in page.ids.chemistry.complaint
    type_rating(phone, page, "4000")
    phone.tap("Gel")
    phone.tap("Check this vehicle")
    assert "from 1 to 200 A" in page.ids.rating.complaint
    phone = make_phone()
    assert phone.app.navigator.current == "quick_check"
    page = phone.app.navigator.page
    assert page.ids.rating.text == "4000"
    assert page.ids.chemistry.value == "gel"


def test_a_quick_check_that_release_0_1_0_left_open_opens_again(make_phone):
    phone = make_phone()
    phone.app.work.mark_screen("stranger")
    assert make_phone().app.navigator.current == "quick_check"


@pytest.mark.parametrize("text", ["", "VOLTWALK:NOTALABEL", "hello"])
def test_a_text_that_is_no_label_is_answered(make_phone, text):
    phone = make_phone()
    page = open_quick_check(phone)
    page.ids.label.text = text
    phone.tap("Take the vehicle from this text")
    phone.frames(3)
    assert page.ids.label.complaint
    assert phone.app.navigator.current == "quick_check"


def test_a_label_brings_vehicle_equipment_and_the_readings_of_that_day(make_phone, sealed_label):
    label, record = sealed_label
    phone = make_phone()
    page = open_quick_check(phone)
    page.ids.label.text = label
    phone.tap("Take the vehicle from this text")
    phone.frames(5)
    assert phone.sees("readings of its commissioning to compare with")
    phone.tap("Charges slowly")
    phone.tap("Safe to work: begin")
    phone.frames(8)
    callback = phone.app.work.callback
    assert callback.plate == record.vehicle.registration
    assert callback.installation.house_battery == record.installation.house_battery
    assert callback.baseline


@pytest.fixture
def sealed_label():
    from logic.records.label.encoding import encode
    from tests.logic.records import sample_records

    sealed = sample_records.seal(sample_records.commissioning())
    return encode(sealed), sealed.record
