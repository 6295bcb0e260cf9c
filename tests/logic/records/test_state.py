from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from logic.case import OutOfReach, Reading
from logic.checklist.answers import ReadingAnswer, TextAnswer
from logic.checklist.form import load
from logic.records.events import (
    CustomerDescribed,
    CustomerErased,
    Event,
    JobOpened,
    JobReopened,
    JobSigned,
    ReadingOutOfReach,
    ReadingTaken,
    StepAnswered,
    StepNoted,
    StepSkipped,
    VehicleDescribed,
)
from logic.records.state import COMPLAINT_STEP, SUMMARY_KINDS, StepEntry, fold, heads
from logic.vehicle.identity import Customer, Technician, Vehicle
from logic.vehicle.points import Point, State
from tests.logic.records.scenes import START
from tests.paths import CHECKLISTS

VEHICLE, JOB = "a" * 32, "b" * 32
BODIES = st.one_of(
    st.builds(VehicleDescribed, vehicle=st.builds(Vehicle, registration=st.just("BKS 207"))),
    st.builds(CustomerDescribed, customer=st.just(Customer(name="Bookmobile trust"))),
    st.just(CustomerErased()),
    st.just(JobOpened(job_kind="callback")),
    st.builds(
        JobSigned,
        technician=st.just(Technician(name="R. Okafor-Lindqvist")),
        record_sha256=st.just("c" * 64),
        revision=st.integers(1, 3),
    ),
    st.just(JobReopened(reason="a lug was left loose")),
    st.builds(StepSkipped, step_id=st.just("one"), reason=st.just("later")),
    st.builds(StepNoted, step_id=st.just("one"), text=st.just("a note")),
)


@st.composite
def step_events(draw):
    """Some answers and skips of two steps, each naming any earlier ones or none."""
    events = []
    for number in range(draw(st.integers(0, 8))):
        earlier = [event.event_id for event in events]
        replaces = draw(st.none() | st.sampled_from(earlier)) if earlier else None
        step_id = draw(st.sampled_from(["one", "two"]))
        body = draw(
            st.sampled_from(
                [
                    StepAnswered(
                        step_id=step_id, answer=ReadingAnswer(value=number), replaces=replaces
                    ),
                    StepSkipped(step_id=step_id, reason="later", replaces=replaces),
                ]
            )
        )
        at = START + timedelta(minutes=draw(st.integers(0, 5)))
        device = draw(st.sampled_from(["a", "b", "c"]))
        event_id = f"{number:032x}"
        events.append(
            Event(
                event_id=event_id, vehicle_id=VEHICLE, job_id=JOB, at=at, device=device, body=body
            )
        )
    return events


@given(step_events(), st.randoms(use_true_random=False))
def test_the_state_does_not_depend_on_the_order_in_which_events_came(events, chance):
    shuffled = list(events)
    chance.shuffle(shuffled)
    assert fold(VEHICLE, shuffled) == fold(VEHICLE, events)


@given(step_events())
def test_every_answer_ever_given_is_either_present_or_in_the_history(events):
    state = fold(VEHICLE, events)
    for job in state.jobs:
        kept = [entry.event_id for entries in job.history.values() for entry in entries]
        kept += [entry.event_id for entry in (*job.answers.values(), *job.skipped.values())]
        assert sorted(kept) == sorted(event.event_id for event in events)
        assert not set(job.answers) & set(job.skipped)


@given(step_events())
def test_a_clash_is_always_between_different_devices_and_holds_the_latest(events):
    for job in fold(VEHICLE, events).jobs:
        for step_id, entries in job.clashes.items():
            assert len({entry.device for entry in entries}) == len(entries) > 1
            present = job.answers.get(step_id) or job.skipped.get(step_id)
            assert entries == tuple(sorted(entries, key=lambda one: (one.at, one.event_id)))
            assert present is not None


def summary(state):
    jobs = [(job.opened_at, job.is_signed, job.revision) for job in state.jobs if job.opened_at]
    return state.vehicle, state.customer, jobs


@given(st.lists(BODIES, max_size=8))
def test_the_kinds_that_a_list_reads_say_as_much_of_it_as_all_events(bodies):
    events = [
        Event(vehicle_id=VEHICLE, job_id=JOB, at=START + timedelta(minutes=number), body=body)
        for number, body in enumerate(bodies)
    ]
    few = [event for event in events if event.body.kind in SUMMARY_KINDS]
    assert summary(fold(VEHICLE, few)) == summary(fold(VEHICLE, events))


def test_answers_that_name_each_other_in_a_circle_leave_the_latest():
    first = StepEntry(START, "1", "a", ReadingAnswer(value=1), "", ("2",))
    second = StepEntry(START, "2", "b", ReadingAnswer(value=2), "", ("1",))
    assert heads([first, second]) == (second,)


def test_a_vehicle_without_events_is_one_of_which_nothing_is_known():
    state = fold(VEHICLE, [])
    assert (state.vehicle, state.jobs, state.open_job) == (None, (), None)


FEED = OutOfReach(point=Point.VEHICLE_FEED_DROP, state=State.IDLE)
HOUSE = OutOfReach(point=Point.HOUSE_FEED_DROP, state=State.IDLE)
READ = Reading(point=FEED.point, state=FEED.state, value=0.2)


def job_after(*bodies):
    events = [
        Event(vehicle_id=VEHICLE, job_id=JOB, at=START + timedelta(minutes=number), body=body)
        for number, body in enumerate(bodies)
    ]
    return fold(VEHICLE, events).job(JOB)


def test_what_cannot_be_reached_is_kept_in_the_order_in_which_it_was_said():
    job = job_after(ReadingOutOfReach(reading=HOUSE), ReadingOutOfReach(reading=FEED))
    assert job.out_of_reach == (HOUSE, FEED)
    assert job.times_left_out == {HOUSE.key: 1, FEED.key: 1}


def test_it_is_taken_back_by_saying_so():
    said = ReadingOutOfReach(reading=FEED), ReadingOutOfReach(reading=HOUSE)
    job = job_after(*said, ReadingOutOfReach(reading=FEED, withdrawn=True))
    assert job.out_of_reach == (HOUSE,)


def test_what_was_taken_after_all_counts_and_is_no_longer_out_of_reach():
    job = job_after(ReadingOutOfReach(reading=FEED), ReadingTaken(reading=READ))
    assert job.out_of_reach == ()
    assert [reading.value for reading in job.readings] == [0.2]


def test_a_reading_taken_back_does_not_say_that_it_could_not_be_reached():
    read = ReadingTaken(reading=READ)
    withdrawn = ReadingTaken(reading=READ, withdrawn=True)
    assert job_after(ReadingOutOfReach(reading=FEED), read, withdrawn).out_of_reach == ()
    assert job_after(read, ReadingOutOfReach(reading=FEED), withdrawn).out_of_reach == (FEED,)


def test_a_complaint_written_down_later_is_the_jobs_complaint():
    written = StepAnswered(step_id=COMPLAINT_STEP, answer=TextAnswer(text="Fridge warm by noon"))
    assert job_after(JobOpened(job_kind="callback"), written).complaint == "Fridge warm by noon"


def test_the_complaint_given_at_the_start_stands_until_it_is_written_anew():
    opened = JobOpened(job_kind="callback", complaint="Flat battery")
    assert job_after(opened).complaint == "Flat battery"
    written = StepAnswered(step_id=COMPLAINT_STEP, answer=TextAnswer(text="Flat every Monday"))
    skipped = StepSkipped(step_id=COMPLAINT_STEP, reason="said already")
    assert job_after(opened, skipped).complaint == "Flat battery"
    assert job_after(opened, written, skipped).complaint == "Flat every Monday"


def test_the_step_that_asks_for_the_complaint_is_in_the_callbacks_checklist():
    checklist = load(CHECKLISTS).checklists["fault_finding"]
    assert checklist.by_id[COMPLAINT_STEP].ask.kind == "text"
