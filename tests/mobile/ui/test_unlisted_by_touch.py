"""By touch: no listed fault explains the readings; what a fault hid; what cannot be reached."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from kivy.metrics import dp

import logic
from logic.case import Case, Diagnosis, Reading
from logic.records.events import Event, ReadingOutOfReach, ReadingTaken
from logic.records.store.store import Store
from logic.vehicle.points import Point, State
from mobile.jobs.callback import SCREEN
from mobile.jobs.job_start import begin_callback
from mobile.jobs.workplace import system_clock
from tests.diagnoses import (
    ACCOUNTED,
    FEED_DROP,
    HIDES,
    HOUSE_DROP,
    NOT_EXPLAINED,
    OUTPUT,
    TO_CHECK,
    hiding,
    nothing_listed,
    offered,
    sound_but_out_of_range,
)
from tests.mobile.callback_scene import Mechanic, bench_with, describe, described, library
from tests.mobile.ui.pictures import keep_picture

# The input current too: a drop is offered once its current is read.
READ = {
    (Point.START_BATTERY_VOLTAGE, State.IDLE): 13.94,
    (Point.INPUT_CURRENT, State.IDLE): 31.0,
    NOT_EXPLAINED.key: NOT_EXPLAINED.value,
}
Says = Callable[[Callable[[Case], Diagnosis]], None]


@pytest.fixture
def says(monkeypatch: pytest.MonkeyPatch) -> Says:
    """Put words into the engine's mouth."""

    def put(diagnose: Callable[[Case], Diagnosis]) -> None:
        monkeypatch.setitem(logic.__dict__, "diagnose", diagnose)

    return put


@pytest.fixture
def job_id(tmp_path: Path) -> str:
    """A callback with some readings: from here on the diagnosis leads."""
    vehicle_id = describe(tmp_path / "store", described())
    with Store.open(tmp_path / "store") as store:
        opened = begin_callback(
            store, library(), vehicle_id, system_clock(), ["charges_slowly"], "Fridge off"
        )
        for (point, state), value in READ.items():
            body = ReadingTaken(reading=Reading(point=point, state=state, value=value))
            store.append(Event(vehicle_id=vehicle_id, job_id=opened, body=body))
    return opened


def show(phone: Any, job_id: str, screen: str = SCREEN) -> None:
    phone.app.navigator.show(screen, job_id=job_id)
    settle(phone)


def settle(phone: Any) -> None:
    phone.until(lambda: not phone.app.work.callback.is_thinking, 60)
    phone.frames(4)


def pane(phone: Any) -> Any:
    return phone.app.navigator.page.ids.pane.children[0]


def offering(*keys: tuple[Point, State]) -> Callable[[Case], Diagnosis]:
    """An engine that offers these readings, but never one that is taken or out of reach."""

    def diagnose(case: Case) -> Diagnosis:
        known = {one.key for one in (*case.readings, *case.out_of_reach)}
        return nothing_listed(0.3, next_readings=offered(k for k in keys if k not in known))

    return diagnose


# No listed fault


def test_that_no_listed_fault_explains_the_readings_leads_wherever_an_answer_is_named(
    make_phone, says, job_id
):
    says(lambda case: nothing_listed(0.62))
    phone = make_phone()
    show(phone, job_id)
    assert pane(phone).summary == "None of the listed faults explains the readings: 62 %"
    assert not phone.sees("Enough to act on")
    assert not phone.sees("as it should be")
    phone.tap("See the findings")
    phone.frames(4)
    head, detail, *_ = reversed(phone.app.navigator.page.ids.body.stack.children)
    assert (head.text, head.sure, head.percent) == ("None of the listed faults", "Likely", "62 %")
    words = [w.text for w in detail.walk() if getattr(w, "text", "")]
    assert words.index(NOT_EXPLAINED.text) < words.index(TO_CHECK[0]) < words.index(TO_CHECK[1])


def test_where_a_listed_fault_is_likelier_it_leads_and_the_other_can_be_unfolded(
    make_phone, says, job_id
):
    says(lambda case: nothing_listed(0.3))
    phone = make_phone()
    show(phone, job_id, "findings")
    heads = [
        w.text for w in phone.app.navigator.page.ids.body.stack.children if hasattr(w, "percent")
    ]
    assert heads[::-1][:2] == ["High resistance in the vehicle feed", "None of the listed faults"]
    assert not phone.sees(TO_CHECK[0])
    phone.tap("None of the listed faults")
    phone.frames(3)
    assert phone.sees(TO_CHECK[0])


def test_then_no_fault_is_taken_for_granted_when_it_is_put_right(make_phone, says, job_id):
    says(lambda case: nothing_listed(0.62))
    phone = make_phone()
    show(phone, job_id, "findings")
    phone.tap("Put it right")
    phone.frames(3)
    page = phone.app.navigator.page
    chips = page.ids.causes.children[::-1]
    assert [chip.chosen for chip in chips] == [True, False, False]
    assert chips[0].text == "Something else: write it below"
    phone.tap("Done: close the visit")
    assert phone.sees("write the cause in your own words")
    for field, text in ((page.ids.cause, "Diode in the feed"), (page.ids.repair, "Taken out")):
        phone.tap(field.ids.input)
        phone.type(text)
    phone.tap("Done: close the visit")
    phone.until(lambda: phone.app.navigator.current == "closing", 10)
    conclusion = phone.app.work.store.job(job_id).conclusion
    assert (conclusion.faults, conclusion.cause) == ((), "Diode in the feed")


# What is out of range and yet no fault


def test_beside_all_as_it_should_be_stands_what_accounts_for_a_reading_out_of_range(
    make_phone, says, job_id
):
    says(lambda case: sound_but_out_of_range())
    phone = make_phone()
    show(phone, job_id, "findings")
    assert phone.sees("What to check")
    assert phone.sees(ACCOUNTED.text)
    keep_picture(phone, "findings_out_of_range_and_no_fault")


# What a fault hid


def test_what_a_fault_hides_is_shown_under_it_and_asked_for_once_after_the_repair(
    make_phone, says, job_id
):
    says(lambda case: hiding("vehicle_fuse_open"))
    phone = make_phone()
    show(phone, job_id, "findings")
    assert phone.sees("What it may hide")
    assert phone.sees(HIDES[0].text)
    phone.tap("Put it right")
    phone.frames(3)
    phone.tap("agrees to the work")
    phone.tap(phone.app.navigator.page.ids.repair.ids.input)
    phone.type("Fuse renewed")
    phone.tap("Done: now prove it")
    proving = Mechanic(phone, bench_with("no_fault", described(), seed=1))
    proving.settle()
    assert phone.sees("after the repair")
    proving.follow()
    assert proving.taken == list(phone.app.work.callback.check_readings())
    assert proving.taken.count(HOUSE_DROP) == 1
    assert proving.button.text == "Close the visit"


# What cannot be reached


def test_one_tap_says_that_a_reading_cannot_be_reached_and_the_next_best_is_asked_for(
    make_phone, says, job_id
):
    says(offering(FEED_DROP, OUTPUT))
    phone = make_phone()
    show(phone, job_id)
    assert pane(phone).take_words == "Take: Drop in the vehicle feed"
    button = pane(phone).ids.cannot
    assert min(button.size) >= dp(56)
    phone.tap("Cannot reach this")
    # On disk before anything else is shown.
    last = list(phone.app.work.store.events(phone.app.work.callback.vehicle_id))[-1]
    assert isinstance(last.body, ReadingOutOfReach)
    assert last.body.reading.key == FEED_DROP
    settle(phone)
    assert pane(phone).take_words == "Engine at fast idle: Output current"
    assert phone.sees("Left out: drop in the vehicle feed, engine idling")
    phone.tap("Cannot reach this")
    settle(phone)
    assert pane(phone).take_words == "See the findings"
    assert not pane(phone).can_fail
    phone.tap("See the findings")
    phone.frames(3)
    assert phone.sees("Could not be reached")
    assert phone.sees("Output current, engine at fast idle")


def test_a_glove_that_bounces_leaves_one_reading_out_and_not_two(make_phone, says, job_id):
    says(offering(FEED_DROP, OUTPUT, HOUSE_DROP))
    phone = make_phone()
    show(phone, job_id)
    phone.rest(0.5)
    phone.double_tap(pane(phone).ids.cannot)
    settle(phone)
    assert [one.key for one in phone.app.work.store.job(job_id).out_of_reach] == [FEED_DROP]


def test_it_outlives_a_kill_and_can_be_taken_back(make_phone, says, job_id):
    says(offering(FEED_DROP, OUTPUT))
    phone = make_phone()
    show(phone, job_id)
    phone.tap("Cannot reach this")
    phone = make_phone()  # the same store, a new app: nothing was said on leaving
    settle(phone)
    assert pane(phone).take_words == "Engine at fast idle: Output current"
    phone.tap("More")
    phone.frames(3)
    phone.tap("1 reading out of reach")
    phone.frames(3)
    phone.tap("Drop in the vehicle feed, engine idling")
    settle(phone)
    assert pane(phone).take_words == "Take: Drop in the vehicle feed"
    assert phone.app.work.store.job(job_id).out_of_reach == ()


def test_a_reading_left_out_can_still_be_typed_and_then_it_counts(make_phone, says, job_id):
    says(offering(FEED_DROP, OUTPUT))
    phone = make_phone()
    show(phone, job_id)
    phone.tap("Cannot reach this")
    settle(phone)
    circuit = phone.app.navigator.page.ids.circuit
    for post in (FEED_DROP[0].red, FEED_DROP[0].black):
        phone.tap(circuit.middle_of("post", post.value))
        phone.frames(3)
    for key in "0.21":
        phone.tap(key)
    phone.tap("Save")
    settle(phone)
    job = phone.app.work.store.job(job_id)
    assert job.out_of_reach == ()
    assert [one.value for one in job.readings if one.key == FEED_DROP] == [0.21]


def test_what_was_read_and_is_doubted_is_not_offered_as_out_of_reach(make_phone, says, job_id):
    from logic.case import SuspectReading

    doubt = SuspectReading(
        point=NOT_EXPLAINED.point, state=NOT_EXPLAINED.state, reason="Slipped. Take it again."
    )
    says(lambda case: nothing_listed(0.62, suspect_readings=(doubt,)))
    phone = make_phone()
    show(phone, job_id)
    assert pane(phone).take_words == "Take again: Charger input voltage"
    assert not pane(phone).can_fail
