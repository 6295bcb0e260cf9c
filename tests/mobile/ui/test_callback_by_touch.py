"""A whole callback: complaint, readings, findings, repair, its check, signatures; kills between."""

from dataclasses import replace

import pytest

from logic.records.store.store import Store
from logic.vehicle.points import Point, State
from tests.mobile.callback_scene import Mechanic, bench_with, describe, described


@pytest.fixture
def flatbed(tmp_path):
    return describe(tmp_path / "store", described())


@pytest.fixture
def mechanic(make_phone, flatbed):
    made = Mechanic(make_phone(), bench_with("vehicle_fuse_open", described(), seed=1))
    made.begin(flatbed, "Never charges")
    return made


def screen(phone):
    return phone.app.navigator.page


def tap_post(phone, kind, place):
    spot = screen(phone).ids.circuit.middle_of(kind, place)
    phone.tap(spot)
    phone.frames(3)


def job(tmp_path, flatbed):
    with Store.open(tmp_path / "store") as store:
        return store.vehicle(flatbed).jobs[-1]


def test_two_posts_in_either_order_open_the_reading_between_them(mechanic):
    phone = mechanic.phone
    for first, second in (
        ("charger_negative", "charger_input"),
        ("charger_input", "charger_negative"),
    ):
        tap_post(phone, "post", first)
        tap_post(phone, "post", second)
        assert phone.sees("Charger input voltage · Idle")
        phone.press_back()
        assert not phone.sees("Charger input voltage · Idle")


def test_a_clamp_place_and_a_part_open_their_readings(mechanic):
    phone = mechanic.phone
    tap_post(phone, "clamp", "vehicle_feed")
    assert phone.sees("Input current · Idle")
    phone.press_back()
    tap_post(phone, "part", "start_battery")
    assert phone.sees("Start battery voltage · Idle")
    phone.press_back()
    tap_post(phone, "part", "charger")
    phone.tap("Charger case temperature")
    assert phone.sees("Charger case temperature · Idle")


def test_what_the_circuit_cannot_show_is_asked_about_before_it_is_saved(mechanic):
    phone = mechanic.phone
    tap_post(phone, "part", "start_battery")
    for key in "4.65":
        phone.tap(key)
    phone.tap("Save")
    assert phone.sees("Really 4.65 V?")
    assert phone.app.work.callback.value(Point.START_BATTERY_VOLTAGE) is None
    phone.tap("Yes, 4.65 V")
    phone.tap("Save")
    mechanic.settle()
    assert phone.app.work.callback.value(Point.START_BATTERY_VOLTAGE) == 4.65


def test_before_the_first_reading_there_is_no_finding_and_no_repair_button(mechanic):
    phone = mechanic.phone
    pane = screen(phone).ids.pane.children[0]
    assert pane.ids.findings.disabled
    assert "Never charges" in pane.reason
    screen(phone).show("findings")
    phone.frames(3)
    assert phone.sees("Nothing is read yet")
    assert not phone.sees("Put it right")
    phone.tap("Read on")
    phone.frames(3)
    mechanic.follow(1)
    assert not screen(phone).ids.pane.children[0].ids.findings.disabled


def test_each_reading_says_how_it_is_taken_with_its_cautions_and_can_be_left_out(mechanic):
    phone = mechanic.phone
    callback = phone.app.work.callback
    first = callback.next_reading().key
    assert screen(phone).ids.pane.children[0].has_cautions
    phone.tap(mechanic.button)
    assert phone.sees("start delay")
    phone.tap("How")
    phone.frames(2)
    told = callback.how_to_take(first)
    assert phone.sees(told.how)
    assert phone.sees(told.why)
    assert all(phone.sees(f"{one.title}. {one.text}") for one in told.cautions)
    phone.tap("Cannot take it: plan without it")
    mechanic.settle()
    assert first in callback.job.beyond_reach
    assert callback.entering is None
    assert callback.next_reading().key != first
    assert not screen(phone).ids.pane.children[0].has_cautions


def test_a_finding_that_is_not_likely_enough_says_what_it_would_still_take(mechanic):
    phone = mechanic.phone
    tap_post(phone, "part", "start_battery")
    for key in "14.1":
        phone.tap(key)
    phone.tap("Save")
    mechanic.settle()
    screen(phone).show("findings")
    phone.frames(3)
    assert phone.sees("Not likely enough to act on yet. It takes:")
    assert not phone.sees("Put it right")
    phone.rest(0.5)
    phone.tap("Read on")
    mechanic.settle()
    assert mechanic.asked()


def test_two_posts_that_nothing_is_judged_between_say_what_goes_with_them(mechanic):
    phone = mechanic.phone
    tap_post(phone, "post", "charger_input")
    tap_post(phone, "post", "house_battery_positive")
    assert phone.sees("nothing is judged")
    assert phone.sees("House battery + goes with: charger output +, house battery −")


def test_a_reading_stands_at_its_post_and_can_be_taken_back(mechanic):
    phone = mechanic.phone
    phone.tap(mechanic.button)
    mechanic.read(Point.CHARGER_INPUT_VOLTAGE, State.IDLE)
    shown = screen(phone).ids.circuit.picture.values[Point.CHARGER_INPUT_VOLTAGE]
    assert phone.sees(shown.text)
    plain = shown.text.removeprefix("in ")
    tap_post(phone, "post", "charger_input")
    tap_post(phone, "post", "charger_negative")
    phone.tap(f"Not {plain}")
    mechanic.settle()
    assert Point.CHARGER_INPUT_VOLTAGE not in screen(phone).ids.circuit.picture.values


def test_half_typed_digits_and_the_place_outlive_a_kill(mechanic, make_phone):
    mechanic.phone.tap(mechanic.button)
    for key in "13.":
        mechanic.phone.tap(key)
    phone = make_phone()  # the same store, a new app: nothing was said on leaving
    phone.frames(4)
    assert phone.app.navigator.current == "circuit"
    assert phone.sees("Charger input voltage · Idle")
    assert phone.sees("13.")


def test_a_half_told_complaint_outlives_a_kill(make_phone, flatbed):
    phone = make_phone()
    phone.app.navigator.show("callback", vehicle_id=flatbed)
    phone.frames(3)
    phone.tap("Unit gets hot")
    phone.tap(screen(phone).ids.complaint.ids.input)
    phone.type("Smells after an hour")
    phone = make_phone()
    phone.frames(3)
    assert phone.app.navigator.current == "callback"
    assert phone.find("Unit gets hot").chosen
    assert not phone.find("Never charges").chosen
    assert phone.sees("Smells after an hour")


def test_a_meter_that_shows_nonsense_is_answered_and_nothing_is_lost(mechanic):
    phone = mechanic.phone
    phone.tap(mechanic.button)
    for key in "12840":
        phone.tap(key)
    assert phone.sees("12840")
    phone.tap("Yes, 12840 mV")
    phone.tap("Save")
    mechanic.settle()
    value = phone.app.work.callback.value(Point.CHARGER_INPUT_VOLTAGE, State.IDLE)
    assert value == pytest.approx(12.84)


def test_a_callback_is_repaired_proved_and_signed(mechanic):
    phone = mechanic.phone
    job_id = phone.app.work.callback.job_id
    mechanic.follow()
    repair(phone)
    mechanic.settle()
    proved = prove(mechanic)
    phone.tap("Sign")
    assert phone.app.navigator.current == "closing"  # something still stands in the way
    each_line_leads_to_what_it_asks_for(phone)
    answer_all(phone)
    phone.tap("Sign")
    phone.until(lambda: phone.app.navigator.current == "signing", 30)
    sign(phone)
    record = phone.app.work.store.sealed(job_id)[-1].record
    assert record.job_kind == "callback"
    assert record.symptoms == ("Never charges",)
    assert record.conclusion.faults == ("vehicle_fuse_open",)
    assert record.conclusion.responsibility == "wiring"
    assert record.diagnosis.findings[0].faults == ("vehicle_fuse_open",)
    assert len(record.readings) == len(mechanic.taken)
    assert {(r.point, r.state) for r in record.readings_after} == set(proved)


def repair(phone):
    """Say what was done, after being told what is missing."""
    phone.tap("See the findings")
    phone.tap("Put it right")
    phone.tap("Done: now prove it")
    assert phone.sees("Write what was done")
    phone.tap("agrees to the work")
    phone.tap(phone.app.navigator.page.ids.repair.ids.input)
    phone.type("Feed fuse renewed, chafed cable sleeved")
    phone.tap("Done: now prove it")


def each_line_leads_to_what_it_asks_for(phone):
    page = phone.app.navigator.page
    assert page.ids.sign.disabled
    assert phone.sees("Before it can be signed")
    rows = [w for w in page.ids.body.stack.children[-1].children if hasattr(w, "second")]
    assert len(rows) > 3
    asked = next(row for row in rows if row.text.startswith("Covers on, tools out"))
    phone.tap(asked)
    phone.frames(3)
    assert phone.app.navigator.current == "closing"
    assert phone.sees("All covered, nothing left behind?")
    assert not phone.sees("repair nothing yet")


def prove(mechanic):
    """Take the readings that the fault touches again, on a vehicle that is sound now."""
    phone = mechanic.phone
    assert phone.sees("after the repair")
    proving = Mechanic(phone, bench_with("no_fault", described(), seed=1))
    assert proving.follow() == len(phone.app.work.callback.check_readings())
    assert mechanic.button.text == "Close the visit"
    phone.tap(mechanic.button)
    phone.frames(3)
    assert phone.sees("now 13.") or phone.sees("now 14.")
    return proving.taken


def answer_all(phone):
    """Answer what closing still asks for, as it stands on the page."""
    page = phone.app.navigator.page
    asked = "The complaint, in the customer's words"
    field = next(w for w in phone.shown() if getattr(w, "question", "") == asked)
    phone.tap(field.ids.field.ids.input)
    phone.type("Fridge battery flat after two days")
    for words in ("a knock, water or a jump start", "gone"):
        phone.tap(words)
    for _ in range(8):
        open_ones = [
            w
            for w in page.ids.body.stack.walk()
            if type(w).__name__ == "YesNoPanel" and w.value == ""
        ]
        if not open_ones:
            break
        phone.tap(open_ones[0].ids.yes)


def sign(phone):
    page = phone.app.navigator.page
    phone.tap(page.ids.name.ids.input)
    phone.type("R. Fernhollow")
    page.form.draw("technician", [[(0.1, 0.1), (0.9, 0.9)]])
    page.form.draw("customer", [[(0.1, 0.9), (0.9, 0.1)]])
    page.opened(job_id=page.done.job.job_id, diagnosis=page.done.diagnosis)
    page.seal()
    phone.frames(4)


def test_a_phone_that_dies_at_the_signatures_opens_there_and_the_record_is_whole(
    mechanic, make_phone
):
    job_id = mechanic.phone.app.work.callback.job_id
    mechanic.follow()
    repair(mechanic.phone)
    mechanic.settle()
    prove(mechanic)
    answer_all(mechanic.phone)
    mechanic.phone.tap("Sign")
    mechanic.phone.until(lambda: mechanic.phone.app.navigator.current == "signing", 30)
    phone = make_phone()
    phone.frames(4)
    assert phone.app.navigator.current == "signing"
    sign(phone)
    record = phone.app.work.store.sealed(job_id)[-1].record
    assert record.diagnosis.findings[0].faults == ("vehicle_fuse_open",)


def test_a_bookmark_of_release_0_1_0_opens_the_circuit_under_its_new_name(mechanic, make_phone):
    store = mechanic.phone.app.work.store
    store.set_bookmark(replace(store.bookmark(), screen="loop"))
    phone = make_phone()
    phone.frames(4)
    assert phone.app.navigator.current == "circuit"
