from datetime import UTC, datetime, timedelta

import pytest

from logic.case import Reading
from logic.checklist.answers import ReadingAnswer, YesNoAnswer
from logic.errors import InputError, RecordError, SealedError
from logic.records.events import (
    CauseConcluded,
    CustomerDescribed,
    Event,
    ExceptionExplained,
    InstallationDescribed,
    JobReopened,
    PhotoTaken,
    ReadingTaken,
    StepAnswered,
    StepNoted,
    StepSkipped,
    new_id,
)
from logic.records.store import photos
from logic.records.store.bookmark import Bookmark
from logic.records.store.store import Store
from logic.vehicle.identity import Customer
from logic.vehicle.points import Point, State
from tests.logic.records.scenes import INSTALLATION, answer, open_job, private, record_of, van


@pytest.fixture
def store(tmp_path):
    with Store.open(tmp_path, "phone-a") as store:
        yield store


def test_a_vehicle_is_found_by_any_part_of_its_plate_whatever_its_spaces_and_case(store):
    vehicle_id = van(store, description="mobile library van")
    for fragment in ("", "bks", "s2", "KS-20", "7", "library v", "BKS207"):
        assert [row.vehicle_id for row in store.find_vehicles(fragment)] == [vehicle_id], fragment
    assert store.find_vehicles("xyz") == []


def test_a_vehicle_is_found_by_its_customer(store):
    vehicle_id = van(store)
    customer = Customer(name="Dr Wren", contact="by post")
    store.append(Event(vehicle_id=vehicle_id, body=CustomerDescribed(customer=customer)))
    assert store.find_vehicles("wren")[0].vehicle_id == vehicle_id
    assert store.vehicle(vehicle_id).customer == customer


def test_the_latest_worked_on_comes_first_and_pages_follow_each_other(store):
    first, second, third = (van(store, f"PLATE {n}") for n in range(3))
    open_job(store, first)
    assert [row.vehicle_id for row in store.find_vehicles()] == [first, third, second]
    assert [row.vehicle_id for row in store.find_vehicles(limit=1, offset=2)] == [second]


def test_answers_are_there_after_the_store_was_opened_anew(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        answer(store, vehicle_id, job_id, "house_voltage", 12.61)
    with Store.open(tmp_path) as store:
        job = store.job(job_id)
    assert job.answers["house_voltage"].answer == ReadingAnswer(value=12.61)


def test_a_correction_keeps_the_earlier_value_in_history(store):
    vehicle_id = van(store)
    job_id = open_job(store, vehicle_id)
    first = answer(store, vehicle_id, job_id, "house_voltage", 1.26)
    second = answer(store, vehicle_id, job_id, "house_voltage", 12.6)
    job = store.job(job_id)
    assert second.body.replaces == first.event_id
    assert job.answers["house_voltage"].answer.value == 12.6
    assert [entry.answer.value for entry in job.history["house_voltage"]] == [1.26]
    assert job.clashes == {}


def test_a_step_skipped_after_an_answer_counts_as_skipped(store):
    vehicle_id = van(store)
    job_id = open_job(store, vehicle_id)
    answer(store, vehicle_id, job_id, "solar_volts", 20.1)
    body = StepSkipped(step_id="solar_volts", reason="panel is in the shade")
    store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))
    job = store.job(job_id)
    assert "solar_volts" not in job.answers
    assert job.skipped["solar_volts"].reason == "panel is in the shade"


def test_a_clock_set_back_does_not_put_a_correction_before_what_it_corrects(store):
    vehicle_id = van(store)
    job_id = open_job(store, vehicle_id)
    answer(store, vehicle_id, job_id, "house_voltage", 1.26)
    body = StepAnswered(step_id="house_voltage", answer=ReadingAnswer(value=12.6))
    yesterday = datetime.now(UTC) - timedelta(days=1)
    store.append(Event(vehicle_id=vehicle_id, job_id=job_id, at=yesterday, body=body))
    assert store.job(job_id).answers["house_voltage"].answer.value == 12.6


def test_a_withdrawn_reading_uncovers_the_one_before_it(store):
    vehicle_id = van(store)
    job_id = open_job(store, vehicle_id, "callback")

    def take(value, **more):
        reading = Reading(point=Point.START_BATTERY_VOLTAGE, state=State.IDLE, value=value)
        body = ReadingTaken(reading=reading, **more)
        store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))

    take(14.1)
    take(1.41)
    take(1.41, withdrawn=True)
    take(14.3, when="after")
    job = store.job(job_id)
    assert [reading.value for reading in job.readings] == [14.1]
    assert [reading.value for reading in job.readings_after] == [14.3]


def test_a_signed_job_takes_nothing_more_until_it_is_reopened(store):
    vehicle_id = van(store)
    job_id = open_job(store, vehicle_id)
    store.seal(record_of(vehicle_id, job_id), private())
    assert store.job(job_id).is_signed
    assert store.find_vehicles()[0].signed
    assert store.find_vehicles()[0].open_job is None
    with pytest.raises(SealedError, match="Reopen it"):
        answer(store, vehicle_id, job_id, "house_voltage", 12.6)
    with pytest.raises(SealedError):
        store.seal(record_of(vehicle_id, job_id), private())
    store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=JobReopened(reason="new fuse")))
    answer(store, vehicle_id, job_id, "house_voltage", 12.6)
    second = store.seal(record_of(vehicle_id, job_id), private())
    first = store.sealed(job_id)[0]
    assert (second.record.revision, second.record.previous_sha256) == (2, first.sha256)
    assert [signing.revision for signing in store.job(job_id).signed] == [1, 2]
    assert store.latest_commissioning(vehicle_id) == second


def test_events_of_one_batch_are_written_all_or_none(store):
    vehicle_id = van(store)
    good = Event(vehicle_id=vehicle_id, body=InstallationDescribed(installation=INSTALLATION))
    stray = Event(
        vehicle_id=vehicle_id,
        job_id=new_id(),
        body=StepAnswered(step_id="x", answer=YesNoAnswer(yes=True)),
    )
    with pytest.raises(ValueError, match="never opened"):
        store.append_all((good, stray))
    assert store.vehicle(vehicle_id).installation is None


def test_an_unknown_vehicle_or_job_is_told_in_words(store):
    with pytest.raises(RecordError, match="Look for it by its plate"):
        store.vehicle(new_id())
    with pytest.raises(RecordError, match="Open the vehicle"):
        store.job(new_id())


def test_the_bookmark_and_settings_come_back_as_they_were(tmp_path):
    place = Bookmark(vehicle_id="v", screen="walk", step_id="house_voltage", unfinished="12.")
    with Store.open(tmp_path) as store:
        assert store.bookmark() == Bookmark()
        store.set_bookmark(place)
        store.set_setting("meter", {"voltage_accuracy_percent": 0.5})
        device = store.device
    with Store.open(tmp_path) as store:
        assert store.bookmark() == place
        assert store.setting("meter") == {"voltage_accuracy_percent": 0.5}
        assert store.setting("workshop", "none yet") == "none yet"
        assert store.device == device != ""


def test_a_photo_is_kept_under_the_digest_of_its_bytes(store):
    data = b"\xff\xd8\xff picture"
    sha256 = store.add_photo(data)
    assert store.add_photo(data) == sha256
    assert store.photo_path(sha256).read_bytes() == data
    assert store.photo_path("0" * 64) is None


@pytest.mark.parametrize("data", [b"", bytes(40_000_001)])
def test_a_photo_that_is_none_or_far_too_large_is_refused(store, data):
    with pytest.raises(InputError, match="Take it again"):
        store.add_photo(data)


def test_a_photo_that_was_changed_or_lost_is_told(store, tmp_path):
    sha256 = store.add_photo(b"\xff\xd8\xff picture")
    assert photos.read(tmp_path / "photos", sha256) == b"\xff\xd8\xff picture"
    store.photo_path(sha256).write_bytes(b"other")
    with pytest.raises(RecordError, match="changed"):
        photos.read(tmp_path / "photos", sha256)
    store.photo_path(sha256).unlink()
    with pytest.raises(RecordError, match="missing"):
        photos.read(tmp_path / "photos", sha256)


def test_a_spoilt_bookmark_or_setting_is_none_rather_than_an_error(store):
    store.set_bookmark(Bookmark(screen="walk"))
    store.set_setting("meter", 1)
    with store._db.conn as connection:
        connection.execute("UPDATE bookmark SET place = '{'")
        connection.execute("UPDATE setting SET value = '{' WHERE name = 'meter'")
    assert store.bookmark() == Bookmark()
    assert store.setting("meter", 7) == 7


def test_what_belongs_to_a_job_needs_one(store):
    vehicle_id = van(store)
    with pytest.raises(ValueError, match="needs the id of the job"):
        store.append(Event(vehicle_id=vehicle_id, body=JobReopened()))


def test_notes_photos_explanations_and_the_conclusion_are_in_the_jobs_state(store):
    vehicle_id = van(store)
    job_id = open_job(store, vehicle_id, "callback")
    conclusion = CauseConcluded(faults=("vehicle_fuse_open",), repair="new fuse")
    sha256 = store.add_photo(b"\xff\xd8\xff picture")
    for body in (
        StepNoted(step_id="fuse", text="holder is green"),
        StepNoted(step_id="fuse", text="cleaned"),
        PhotoTaken(step_id="fuse", sha256=sha256, caption="holder"),
        ExceptionExplained(step_id="drop", explanation="temporary cable"),
        conclusion,
    ):
        store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))
    job = store.job(job_id)
    assert job.notes == {"fuse": ("holder is green", "cleaned")}
    assert [photo.caption for photo in job.photos["fuse"]] == ["holder"]
    assert job.explanations == {"drop": "temporary cable"}
    assert job.conclusion == conclusion
    assert store.vehicle(vehicle_id).open_job == job


def test_a_store_that_fails_while_opening_is_closed_again(tmp_path, monkeypatch):
    Store.open(tmp_path).close()
    monkeypatch.setattr(Store, "_own_name", lambda store: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        Store.open(tmp_path)


def test_a_conclusion_with_a_fault_of_a_later_version_is_kept_as_it_is(store):
    vehicle_id = van(store)
    job_id = open_job(store, vehicle_id, "callback")
    conclusion = CauseConcluded(faults=("second_unit_dead",), repair="renewed")
    store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=conclusion))
    assert store.job(job_id).conclusion == conclusion
