"""A vehicle of very many entries is the same as if all of them had been folded at once."""

import copy
from datetime import timedelta
from threading import Thread

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.case import OutOfReach, Reading
from logic.checklist.answers import ReadingAnswer, TextAnswer
from logic.errors import StoreDamagedError
from logic.records.events import (
    CauseConcluded,
    CustomerDescribed,
    Event,
    ExceptionExplained,
    InstallationDescribed,
    JobOpened,
    JobReopened,
    JobSigned,
    PhotoTaken,
    ReadingOutOfReach,
    ReadingTaken,
    StepAnswered,
    StepNoted,
    StepSkipped,
    VehicleDescribed,
)
from logic.records.state import COMPLAINT_STEP, JobState, WaitingJob, fold
from logic.records.store import event_table
from logic.records.store.database import transaction
from logic.records.store.store import Store
from logic.vehicle.identity import Customer, Technician, Vehicle
from tests.logic.records.scenes import INSTALLATION, START, answer, open_job, van

VEHICLE, JOBS = "a" * 32, ("b" * 32, "c" * 32, "d" * 32)
STEPS = st.sampled_from(["lugs", "drop", COMPLAINT_STEP])
READ = Reading(point="house_battery_voltage", state="rest", value=12.6)
OUT = OutOfReach(point="house_battery_voltage", state="rest")
texts = st.sampled_from(["New lug", "Told the driver", ""])
own = st.one_of(
    texts.map(lambda text: VehicleDescribed(vehicle=Vehicle(registration="A", description=text))),
    texts.map(lambda text: CustomerDescribed(customer=Customer(name=text))),
    st.just(InstallationDescribed(installation=INSTALLATION)),
)
of_job = st.one_of(
    st.builds(JobOpened, job_kind=st.sampled_from(["commissioning", "callback"]), complaint=texts),
    st.builds(
        StepAnswered,
        step_id=STEPS,
        answer=st.one_of(
            texts.map(lambda text: TextAnswer(text=text)),
            st.floats(-9, 9).map(lambda value: ReadingAnswer(value=value)),
        ),
    ),
    st.builds(StepSkipped, step_id=STEPS, reason=texts),
    st.builds(StepNoted, step_id=STEPS, text=texts),
    st.builds(PhotoTaken, step_id=STEPS, sha256=st.just("f" * 64), caption=texts),
    st.builds(ExceptionExplained, step_id=STEPS, explanation=texts),
    st.builds(ReadingTaken, reading=st.just(READ), withdrawn=st.booleans()),
    st.builds(ReadingOutOfReach, reading=st.just(OUT), withdrawn=st.booleans()),
    st.builds(CauseConcluded, cause=texts, repair=texts),
    st.builds(
        JobSigned,
        technician=st.just(Technician(name="R. Quill")),
        record_sha256=st.just("e" * 64),
        revision=st.integers(1, 3),
    ),
    st.builds(JobReopened, reason=texts),
)
deeds = st.tuples(
    st.one_of(st.tuples(st.none(), own), st.tuples(st.sampled_from(JOBS), of_job)),
    st.sampled_from(["one", "other"]),
    st.integers(0, 40),
)


def events_of(deeds):
    """The deeds as events, some of them at the same moment, on two devices."""
    return [
        Event(
            event_id=f"{number:032x}",
            vehicle_id=VEHICLE,
            job_id=job_id,
            at=START + timedelta(minutes=minute),
            device=device,
            body=body,
        )
        for number, ((job_id, body), device, minute) in enumerate(deeds)
    ]


@pytest.fixture(autouse=True)
def every_vehicle_has_many(monkeypatch):
    monkeypatch.setattr(event_table, "MANY", 0)


@settings(max_examples=60, deadline=None)
@given(st.lists(deeds, min_size=1, max_size=30), st.randoms(use_true_random=False))
def test_jobs_that_wait_come_to_the_same_state(tmp_path_factory, deeds, chance):
    events = events_of(deeds)
    whole = fold(VEHICLE, events)
    with Store.open(tmp_path_factory.mktemp("store")) as store:
        with transaction(store._db) as db:
            for event in events:
                event_table.write(db, event, store._signing_key())
        lazy = store.vehicle(VEHICLE)
        assert all(isinstance(job, WaitingJob) for job in lazy.job_of.values())
        assert [job.job_id for job in lazy.jobs] == [job.job_id for job in whole.jobs]
        assert lazy.last_at == whole.last_at
        for job_id, job in whole.job_of.items():
            waiting = lazy.job(job_id)
            for name in ("is_signed", "revision", "opened_at", "kind", "reopen_reason", "last_at"):
                assert getattr(waiting, name) == getattr(job, name)
            assert isinstance(waiting, WaitingJob)
            assert waiting.clashes == job.clashes
        names = ["complaint", "answers", "late", "conclusion", "readings", "history", "notes"]
        chance.shuffle(names)
        for name in names:
            one = store.vehicle(VEHICLE)
            for job_id, job in whole.job_of.items():
                assert getattr(one.job(job_id), name) == getattr(job, name)
                assert type(one.job(job_id)) is JobState
        assert store.vehicle(VEHICLE) == whole
        assert whole == store.vehicle(VEHICLE)
        assert store.vehicle(VEHICLE) == store.vehicle(VEHICLE)


def test_what_is_added_to_a_job_that_waits_comes_after_what_waited(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        answer(store, vehicle_id, job_id, "lugs", 12.6)
        state = store.vehicle(vehicle_id)
        state.add(answer(store, vehicle_id, job_id, "lugs", 12.7))
        assert [one.answer.value for one in state.job(job_id).entries["lugs"]] == [12.6, 12.7]
        assert state == store.vehicle(vehicle_id)


def test_a_copy_of_a_job_that_waits_is_that_job(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        answer(store, vehicle_id, job_id, "lugs", 12.6)
        copied = copy.copy(store.job(job_id))
        assert copied == store.job(job_id)
        assert "12.6" in repr(copied)


def test_a_job_may_be_asked_in_another_thread_than_its_store(tmp_path):
    found = []
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        answer(store, vehicle_id, job_id, "lugs", 12.6)
        job = store.job(job_id)
        thread = Thread(target=lambda: found.append(job.answers["lugs"].answer.value))
        thread.start()
        thread.join()
    assert found == [12.6]


def test_an_entry_that_cannot_be_read_is_told_when_it_is_asked_for_and_looked_for_next_time(
    tmp_path,
):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        with transaction(store._db) as db:
            row = ("0" * 32, vehicle_id, job_id, "2099-01-01T00:00:00.000000Z", "x", "step_noted")
            event_table.write_row(db, (*row, '{"kind":"step_noted"}', *event_table.UNSIGNED))
        job = store.job(job_id)
        with pytest.raises(StoreDamagedError):
            job.answers  # noqa: B018 - asking is what is tested
        assert list(tmp_path.glob("*.check"))
