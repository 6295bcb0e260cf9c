"""The callback without a window: what is stored, what is asked next, which answers are dropped."""

from datetime import UTC, datetime, timedelta
from itertools import count

import pytest

from logic.case import Diagnosis, Finding, NextReading, OutOfReach, SuspectReading
from logic.errors import InputError
from logic.records.store.store import Store
from logic.vehicle.points import Point, State
from mobile.jobs import callback_words, job_start
from mobile.jobs.callback import PLATE, TEXTS, Callback, at_once
from tests.diagnoses import FEED_DROP, HIDES, HOUSE_DROP, OUTPUT, hiding, nothing_listed, offered
from tests.mobile.callback_scene import describe, described, library

LIBRARY = library()
INPUT, IDLE = Point.CHARGER_INPUT_VOLTAGE, State.IDLE


def says(
    *faults, suspects=(), offered=((Point.VEHICLE_FEED_DROP, IDLE),), probability=0.6, reach=()
):
    return Diagnosis(
        findings=(Finding(faults=faults or ("no_fault",), probability=probability),),
        marginals={},
        next_readings=_worth(offered),
        worth_reaching=_worth(reach),
        suspect_readings=tuple(
            SuspectReading(point=point, state=state, reason="slipped") for point, state in suspects
        ),
        verdicts=(),
    )


def _worth(keys):
    return tuple(
        NextReading(point=point, state=state, information_bits=1, cost_minutes=1)
        for point, state in keys
    )


class Later:
    """A background that works only when told to."""

    def __init__(self):
        self.waiting = []

    def __call__(self, work, done, failed):
        self.waiting.append(lambda: done(work()))

    def work(self):
        self.waiting.pop(0)()


@pytest.fixture
def store(tmp_path):
    with Store.open(tmp_path / "store") as opened:
        yield opened


@pytest.fixture
def make(store, tmp_path):
    ticks = count()

    def clock():
        return datetime(2026, 11, 25, 9, 0, tzinfo=UTC) + timedelta(seconds=next(ticks))

    def made(*symptoms, background=at_once, diagnose=lambda case: says(), job_id=""):
        vehicle_id = describe(tmp_path / "store", described()) if not job_id else ""
        job_id = job_id or job_start.begin_callback(
            store, LIBRARY, vehicle_id, clock(), symptoms, "flat"
        )
        return Callback(store, LIBRARY, clock, job_id, background, diagnose)

    return made


def take(callback, value, point=INPUT, state=IDLE):
    callback.enter(point, state)
    callback.take(value, str(value))


def test_a_reading_is_in_the_store_when_the_call_returns(make, store):
    callback = make("never_charges")
    take(callback, 12.31)
    [reading] = store.job(callback.job_id).readings
    assert (reading.point, reading.state, reading.value) == (INPUT, IDLE, 12.31)


def test_symptoms_say_where_to_begin_and_after_two_readings_the_diagnosis_leads(make):
    callback = make("start_battery_goes_flat")
    first = LIBRARY.symptoms["start_battery_goes_flat"].first_readings
    callback.ask()
    for expected in first[:2]:
        wanted = callback.next_reading()
        assert (wanted.point, wanted.state) == (expected.point, expected.state)
        assert wanted.asked_by == "symptom"
        take(callback, 12.5, wanted.point, wanted.state)
    assert callback.next_reading().asked_by == "diagnosis"
    # The diagnosis offers a drop: its current comes first.
    assert callback.next_reading().key == (Point.INPUT_CURRENT, IDLE)
    assert callback.next_reading().before is Point.VEHICLE_FEED_DROP
    take(callback, 40.0, Point.INPUT_CURRENT)
    assert callback.next_reading().key == (Point.VEHICLE_FEED_DROP, IDLE)


def test_a_reading_of_a_panel_is_never_asked_for_where_none_is_fitted(make):
    callback = make("not_on_solar")
    assert callback.next_reading() is None
    assert State.SOLAR not in callback.states


def test_an_answer_older_than_the_newest_reading_is_dropped_and_asked_for_again(make):
    later = Later()
    seen = []
    callback = make(
        background=later, diagnose=lambda case: seen.append(len(case.readings)) or says()
    )
    callback.ask()
    take(callback, 12.3)
    take(callback, 12.4, state=State.FAST_IDLE)
    later.work()
    assert callback.diagnosis is None  # it knew of no reading
    assert callback.is_thinking
    later.work()
    assert seen == [0, 2]
    assert not callback.is_thinking
    assert later.waiting == []


def test_a_reading_that_cannot_be_right_is_asked_for_again_once(make):
    callback = make(diagnose=lambda case: says(suspects=[(INPUT, IDLE)] if case.readings else ()))
    take(callback, 1.23)
    assert callback.next_reading().asked_by == "doubt"
    take(callback, 1.23)
    assert callback.next_reading().asked_by != "doubt"


def test_the_digits_the_place_and_the_texts_outlive_the_app(make):
    callback = make()
    callback.shown("repair")
    callback.keep(TEXTS, "repair", "New lug")
    callback.enter(INPUT, State.FAST_IDLE)
    callback.keep_digits("13.")
    again = make(job_id=callback.job_id)
    assert (again.screen, again.entering, again.state) == ("repair", INPUT, State.FAST_IDLE)
    assert again.draft(again.entry_id, "typed") == "13."
    assert again.draft(TEXTS, "repair") == "New lug"


def test_a_reading_taken_back_counts_no_more(make):
    callback = make()
    take(callback, 12.3)
    take(callback, 12.9)
    callback.withdraw(INPUT, IDLE)
    assert callback.value(INPUT) == 12.3
    callback.withdraw(INPUT, IDLE)
    assert callback.readings == ()


def test_what_is_in_hand_is_what_the_store_says_after_everything_that_can_be_given(make, store):
    callback = make("never_charges")
    take(callback, 12.3)
    take(callback, 12.9)
    callback.withdraw(INPUT, IDLE)
    callback.conclude(("vehicle_fuse_open",), "Fuse", "Renewed", "wiring")
    take(callback, 13.1)
    callback.keep(TEXTS, PLATE, "vet 118")
    callback.give_plate()
    assert callback.vehicle == store.vehicle(callback.vehicle_id)
    assert callback.job == store.job(callback.job_id)


def test_after_the_conclusion_only_new_readings_count_and_the_proofs_are_asked_for(make):
    callback = make()
    take(callback, 0.0)
    callback.conclude(("vehicle_fuse_open",), "Fuse", "Renewed", "wiring")
    assert callback.phase == "after"
    assert callback.readings == ()
    asked = []
    while wanted := callback.next_reading():
        asked.append((wanted.point, wanted.state))
        take(callback, 13.0, wanted.point, wanted.state)
    assert tuple(asked) == callback.check_readings()
    assert callback.job.readings[0].value == 0.0
    assert not set(callback.also_touched()) & set(asked)


def test_what_the_readings_said_before_the_repair_is_kept_for_the_record(make):
    callback = make(diagnose=lambda case: says("house_fuse_open" if case.readings else "no_fault"))
    take(callback, 0.0)
    callback.conclude(("house_fuse_open",), "Fuse", "Renewed", "wiring")
    found = []
    callback.diagnosis_before(found.append)
    again = make(job_id=callback.job_id, diagnose=callback._diagnose)
    again.diagnosis_before(found.append)
    assert [one.findings[0].faults for one in found] == [("house_fuse_open",)] * 2


def test_a_vehicle_nobody_knows_goes_by_the_hour_until_the_plate_is_given(store, make, tmp_path):
    fitted = job_start.least_known(store, 25.0, "gel", 24, True)
    came = datetime(2026, 11, 25, 14, 5, tzinfo=UTC)
    vehicle_id = job_start.add_without_plate(store, fitted, came)
    job_id = job_start.begin_callback(store, LIBRARY, vehicle_id, came)
    callback = make(job_id=job_id)
    assert callback.plate == "STRANGER 25-11 1405"
    assert job_start.goes_without_plate(callback.vehicle.vehicle)
    callback.keep(TEXTS, PLATE, "X" * 21)
    with pytest.raises(InputError, match="21 characters"):
        callback.give_plate()
    callback.keep(TEXTS, PLATE, "vet 118")
    callback.give_plate()
    assert callback.plate == "VET 118"
    assert not job_start.goes_without_plate(callback.vehicle.vehicle)
    assert callback.installation.solar is not None


def test_a_diagnosis_that_fails_is_raised_where_the_app_shows_it(make):
    def failing(work, done, failed):
        failed(ZeroDivisionError("one by nought"))

    callback = make(background=failing)
    with pytest.raises(ZeroDivisionError):
        take(callback, 12.3)
    assert callback.value(INPUT) == 12.3


def test_what_cannot_be_reached_is_in_the_store_and_the_next_best_reading_is_asked(make, store):
    asked = []

    def diagnose(case):
        asked.append(case.out_of_reach)
        return says(offered=(FEED_DROP, HOUSE_DROP))

    later = Later()
    callback = make(diagnose=diagnose, background=later)
    take(callback, 40.0, Point.INPUT_CURRENT)
    later.work()
    assert callback.next_reading().key == FEED_DROP
    callback.cannot_reach(*FEED_DROP)
    beyond = (OutOfReach(point=FEED_DROP[0], state=FEED_DROP[1]),)
    assert store.job(callback.job_id).out_of_reach == beyond
    assert callback.next_reading().key == HOUSE_DROP  # even before the engine has answered anew
    later.work()
    assert asked == [(), beyond]
    assert callback.next_reading().key == HOUSE_DROP


def test_what_cannot_be_reached_is_not_asked_for_by_a_complaint_either(make):
    callback = make("start_battery_goes_flat")
    first, second = LIBRARY.symptoms["start_battery_goes_flat"].first_readings[:2]
    callback.cannot_reach(*first.key)
    assert callback.next_reading().key == second.key
    again = make(job_id=callback.job_id)
    assert again.next_reading().key == second.key


def test_what_was_left_out_and_alone_would_tell_is_asked_for_once_more(make):
    def diagnose(case):
        beyond = [one.key for one in case.out_of_reach]
        return says("solar_open", offered=() if beyond else (HOUSE_DROP,), reach=beyond)

    callback = make(diagnose=diagnose)
    take(callback, 40.0, Point.OUTPUT_CURRENT)
    take(callback, 13.1)
    callback.cannot_reach(*HOUSE_DROP)
    asked = callback.next_reading()
    assert (asked.key, asked.asked_by) == (HOUSE_DROP, "left out")
    assert callback_words.reason(callback, asked).startswith("Left out so far. ")
    assert not callback.may_act
    again = make(diagnose=diagnose, job_id=callback.job_id)
    again.ask()
    assert again.next_reading().key == HOUSE_DROP, "after a restart too"
    callback.cannot_reach(*HOUSE_DROP)
    assert callback.next_reading() is None
    assert callback.may_act
    assert "what was left out might tell" in callback_words.what_it_takes(callback)


def test_what_would_tell_is_not_asked_for_again_where_the_answer_stands(make):
    callback = make(
        diagnose=lambda case: says("solar_open", offered=(), reach=(HOUSE_DROP,), probability=0.97)
    )
    take(callback, 40.0, Point.OUTPUT_CURRENT)
    take(callback, 13.1)
    callback.cannot_reach(*HOUSE_DROP)
    assert callback.next_reading() is None


@pytest.mark.parametrize(("probability", "asks"), [(0.7, True), (0.97, False)])
def test_a_complaint_is_not_answered_with_all_is_well_before_its_own_readings(
    make, probability, asks
):
    callback = make(
        "start_battery_goes_flat", diagnose=lambda case: says(offered=(), probability=probability)
    )
    own = [one.key for one in LIBRARY.symptoms["start_battery_goes_flat"].first_readings]
    asked = []
    callback.ask()
    while wanted := callback.next_reading():
        asked.append(wanted.key)
        take(callback, 12.5, *wanted.key)
    assert asked == (own if asks else own[:2])


def test_that_it_cannot_be_reached_is_undone_by_typing_it_or_by_saying_so(make):
    callback = make(diagnose=lambda case: says(offered=(FEED_DROP, HOUSE_DROP)))
    take(callback, 40.0, Point.INPUT_CURRENT)
    for key in (FEED_DROP, HOUSE_DROP):
        callback.cannot_reach(*key)
    assert callback.next_reading() is None
    take(callback, 0.21, *FEED_DROP)
    assert callback.value(*FEED_DROP) == 0.21
    assert [one.key for one in callback.case.out_of_reach] == [HOUSE_DROP]
    callback.can_reach(*HOUSE_DROP)
    assert callback.case.out_of_reach == ()
    assert callback.next_reading().key == HOUSE_DROP


def test_what_the_fault_hid_is_asked_for_with_the_checks_of_its_repair_each_once(make):
    callback = make(diagnose=lambda case: hiding("vehicle_fuse_open"))
    take(callback, 0.0)
    assert HOUSE_DROP in callback.checks_of(("vehicle_fuse_open",))
    assert HOUSE_DROP not in callback.checks_of(("ignition_signal_missing",))
    callback.conclude(("vehicle_fuse_open",), "Fuse", "Renewed", "wiring")
    again = make(job_id=callback.job_id)  # as after a restart: nothing is asked of the engine
    assert again.check_readings() == callback.check_readings()
    assert again.check_readings().count(HOUSE_DROP) == 1
    asked = {}
    while wanted := again.next_reading():
        asked[wanted.key] = wanted
        take(again, 13.0, wanted.point, wanted.state)
    assert tuple(asked) == again.check_readings()
    assert asked.pop(HOUSE_DROP).asked_by == "hidden"
    assert {wanted.asked_by for wanted in asked.values()} == {"repair check"}
    assert again.job.conclusion.hides == HIDES


def test_a_hidden_reading_that_checks_the_repair_anyway_is_asked_for_once_as_its_check(make):
    from logic.diagnosis.catalogue import check_readings

    [key, *_] = check_readings(("vehicle_fuse_open",))
    same = HIDES[0].model_copy(update={"point": key.point, "state": key.state})
    finding = Finding(faults=("vehicle_fuse_open",), probability=0.9, hides=(same,))
    said = says().model_copy(update={"findings": (finding,)})
    callback = make(diagnose=lambda case: said)
    callback.ask()
    callback.conclude(("vehicle_fuse_open",), "Fuse", "Renewed", "wiring")
    assert callback.check_readings() == check_readings(("vehicle_fuse_open",))
    assert callback.next_reading().asked_by == "repair check"


def test_another_cause_of_a_later_day_hides_nothing_but_the_same_one_still_does(make):
    callback = make(diagnose=lambda case: hiding("vehicle_fuse_open"))
    callback.ask()
    callback.conclude(("vehicle_fuse_open",), "Fuse", "Renewed", "wiring")
    again = make(job_id=callback.job_id)
    again.conclude(("vehicle_fuse_open",), "Fuse", "Renewed, holder too", "wiring")
    assert again.job.conclusion.hides == HIDES
    again.conclude(("house_fuse_open",), "The other fuse", "Renewed", "wiring")
    assert again.job.conclusion.hides == ()


def test_while_no_listed_fault_explains_the_readings_nothing_is_settled(make):
    callback = make(diagnose=lambda case: nothing_listed(0.97, next_readings=offered([OUTPUT])))
    take(callback, 12.3)
    take(callback, 12.4, state=State.FAST_IDLE)
    assert not callback.is_settled
    assert callback.next_reading().key == OUTPUT


def test_a_diagnosis_without_any_finding_settles_nothing(make):
    empty = says().model_copy(update={"findings": (), "unexplained": 1.0})
    callback = make(diagnose=lambda case: empty)
    take(callback, 12.3)
    take(callback, 12.4, state=State.FAST_IDLE)
    assert not callback.is_settled


def test_what_a_finding_would_still_take_is_said_even_where_it_was_left_out(make):
    callback = make(diagnose=lambda case: says(offered=(HOUSE_DROP,), probability=0.6))
    take(callback, 12.3)
    take(callback, 40.0, Point.OUTPUT_CURRENT)
    assert not callback.may_act
    assert "It takes: drop in the house feed" in callback_words.what_it_takes(callback)
    callback.cannot_reach(*HOUSE_DROP)
    assert callback.may_act  # nothing else would change it: no dead end
    assert "what was left out might tell: drop in the house" in (
        callback_words.what_it_takes(callback)
    )


def test_a_very_likely_finding_takes_nothing_more(make):
    callback = make(diagnose=lambda case: says(offered=(HOUSE_DROP,), probability=0.85))
    take(callback, 12.3)
    assert callback.may_act
    assert callback_words.what_it_takes(callback) == ""


def test_nothing_is_offered_for_repair_before_the_first_reading(make):
    callback = make(diagnose=lambda case: says(probability=0.99))
    callback.ask()
    assert not callback.may_act
