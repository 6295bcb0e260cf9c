import json
from zipfile import ZipFile

import pytest

from logic.errors import RecordError
from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle
from logic.records.events import (
    Event,
    InstallationDescribed,
    JobReopened,
    StepSkipped,
    new_id,
)
from logic.records.store.exchange import Agreed
from logic.records.store.store import Store
from logic.vehicle.identity import Customer
from tests.logic.records.scenes import (
    INSTALLATION,
    answer,
    befriend,
    open_job,
    photograph,
    private,
    record_of,
    signed_van,
    van,
)


@pytest.fixture
def two_phones(tmp_path):
    with (
        Store.open(tmp_path / "a", "phone-a") as here,
        Store.open(tmp_path / "b", "phone-b") as there,
    ):
        befriend(here, there)
        yield here, there


def everything(store):
    """Return all that a store holds, independent of how it came there."""
    return (
        sorted(store.events(), key=lambda event: event.event_id),
        sorted(store.sealed_records(), key=lambda done: done.sha256),
        sorted(path.name for path in (store.folder / "photos").glob("*")),
        store.find_vehicles(limit=10_000),
    )


def test_a_vehicle_arrives_whole_on_another_phone(two_phones, tmp_path):
    here, there = two_phones
    vehicle_id, job_id = signed_van(here)
    van(here, "STAYS 1")
    exported = export_bundle(here, tmp_path / "one.zip", [vehicle_id])
    imported = import_bundle(there, tmp_path / "one.zip")
    assert (exported.vehicles, exported.sealed, exported.photos) == (1, 1, 1)
    assert imported.summary == "New here: 7 entries of 1 vehicle, 1 signed record, 1 photo."
    assert there.vehicle(vehicle_id) == here.vehicle(vehicle_id)
    assert there.sealed(job_id) == here.sealed(job_id)
    assert there.find_vehicles("stays") == []
    sha256 = there.job(job_id).photos["mounting"][0].sha256
    assert there.photo_path(sha256).read_bytes() == here.photo_path(sha256).read_bytes()
    assert there.photo_path(sha256).suffix == ".jpg"


def test_importing_again_changes_nothing(two_phones, tmp_path):
    here, there = two_phones
    signed_van(here)
    export_bundle(here, tmp_path / "all.zip")
    import_bundle(there, tmp_path / "all.zip")
    before = everything(there)
    again = import_bundle(there, tmp_path / "all.zip")
    assert (again.events, again.sealed, again.photos) == (0, 0, 0)
    assert again.summary == "Everything in it was here already."
    assert everything(there) == before
    assert import_bundle(here, tmp_path / "all.zip").events == 0


def test_a_step_answered_on_two_phones_keeps_both_and_says_so(two_phones, tmp_path):
    here, there = two_phones
    vehicle_id = van(here)
    job_id = open_job(here, vehicle_id)
    export_bundle(here, tmp_path / "start.zip")
    import_bundle(there, tmp_path / "start.zip")
    answer(here, vehicle_id, job_id, "house_voltage", 12.6)
    body = StepSkipped(step_id="house_voltage", reason="cover does not come off")
    there.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))
    export_bundle(here, tmp_path / "a.zip")
    export_bundle(there, tmp_path / "b.zip")
    imported = import_bundle(here, tmp_path / "b.zip")
    import_bundle(there, tmp_path / "a.zip")
    assert [clash.step_id for clash in imported.clashes] == ["house_voltage"]
    assert "Answered differently on two devices: 1 step." in imported.summary
    clash = here.job(job_id).clashes["house_voltage"]
    assert {entry.device for entry in clash} == {"phone-a", "phone-b"}
    assert here.job(job_id) == there.job(job_id)
    # One more answer, given with both in sight, settles it everywhere.
    answer(there, vehicle_id, job_id, "house_voltage", 12.58)
    export_bundle(there, tmp_path / "b.zip")
    import_bundle(here, tmp_path / "b.zip")
    assert here.job(job_id).clashes == {}
    assert here.job(job_id).answers["house_voltage"].answer.value == 12.58
    assert len(here.job(job_id).history["house_voltage"]) == 2


def test_an_answer_given_before_the_others_was_seen_is_a_clash_even_after_the_import(
    two_phones, tmp_path
):
    here, there = two_phones
    vehicle_id = van(here)
    job_id = open_job(here, vehicle_id)
    first = answer(here, vehicle_id, job_id, "house_voltage", 12.6)
    export_bundle(here, tmp_path / "start.zip")
    import_bundle(there, tmp_path / "start.zip")
    answer(there, vehicle_id, job_id, "house_voltage", 12.7)
    export_bundle(there, tmp_path / "b.zip")
    import_bundle(here, tmp_path / "b.zip")
    answer(here, vehicle_id, job_id, "house_voltage", 12.8, replaces=first.event_id)
    assert len(here.job(job_id).clashes["house_voltage"]) == 2


def test_work_done_elsewhere_after_the_signature_is_shown_as_late(two_phones, tmp_path):
    here, there = two_phones
    vehicle_id, job_id = signed_van(here)
    here.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=JobReopened()))
    export_bundle(here, tmp_path / "open.zip")
    import_bundle(there, tmp_path / "open.zip")
    here.seal(record_of(vehicle_id, job_id), private())
    answer(there, vehicle_id, job_id, "case_temperature", 48)
    export_bundle(there, tmp_path / "b.zip")
    import_bundle(here, tmp_path / "b.zip")
    job = here.job(job_id)
    assert job.is_signed
    assert [event.body.step_id for event in job.late] == ["case_temperature"]


def test_the_customer_can_be_left_out_and_added_by_a_later_bundle(two_phones, tmp_path):
    here, there = two_phones
    vehicle_id, job_id = signed_van(here)
    export_bundle(here, tmp_path / "without.zip", with_customers=False)
    assert all(
        b"Bookmobile" not in archive.read(name)
        for archive in [ZipFile(tmp_path / "without.zip")]
        for name in archive.namelist()
    )
    import_bundle(there, tmp_path / "without.zip")
    assert there.vehicle(vehicle_id).customer == Customer()
    assert there.sealed(job_id)[0].private is None
    export_bundle(here, tmp_path / "with.zip")
    import_bundle(there, tmp_path / "with.zip")
    assert there.vehicle(vehicle_id).customer.name == "Bookmobile trust"
    assert there.sealed(job_id) == here.sealed(job_id)
    assert [row.vehicle_id for row in there.find_vehicles("bookmobile")] == [vehicle_id]


def test_an_erasure_travels_and_an_old_bundle_does_not_undo_it(two_phones, tmp_path):
    here, there = two_phones
    vehicle_id, job_id = signed_van(here)
    export_bundle(here, tmp_path / "old.zip")
    import_bundle(there, tmp_path / "old.zip")
    here.erase_customer(vehicle_id)
    export_bundle(here, tmp_path / "new.zip")
    import_bundle(there, tmp_path / "new.zip", agreed=Agreed(erasures=True))
    for store in (here, there):
        import_bundle(store, tmp_path / "old.zip")
        assert store.vehicle(vehicle_id).customer == Customer()
        assert store.sealed(job_id)[0].private is None
    assert everything(here) == everything(there)


def test_a_photo_that_is_not_here_is_named_and_the_rest_is_exported(two_phones, tmp_path):
    here, there = two_phones
    vehicle_id, job_id = signed_van(here)
    here.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=JobReopened()))
    lost = photograph(here, vehicle_id, job_id, b"\x89PNG\r\n\x1a\n and more")
    here.photo_path(lost).unlink()
    exported = export_bundle(here, tmp_path / "all.zip")
    assert exported.missing_photos == (lost,)
    assert import_bundle(there, tmp_path / "all.zip").photos == 1


def test_a_bundle_with_many_photos_brings_them_all(two_phones, tmp_path):
    here, there = two_phones
    vehicle_id = van(here)
    job_id = open_job(here, vehicle_id)
    taken = {photograph(here, vehicle_id, job_id, b"\xff\xd8\xff%d" % n) for n in range(25)}
    export_bundle(here, tmp_path / "all.zip")
    assert import_bundle(there, tmp_path / "all.zip").photos == 25
    assert {photo.sha256 for photo in there.job(job_id).photos["mounting"]} == taken
    assert all(there.photo_path(sha256) for sha256 in taken)


def test_progress_runs_to_its_end_both_ways(two_phones, tmp_path):
    here, there = two_phones
    for number in range(3):
        signed_van(here, f"FHA {number}")
    out, back = [], []
    export_bundle(here, tmp_path / "all.zip", progress=lambda *told: out.append(told))
    import_bundle(there, tmp_path / "all.zip", progress=lambda *told: back.append(told))
    assert out == [(1, 3), (2, 3), (3, 3)]
    assert back[-1][0] == back[-1][1] > 0
    assert back == sorted(back)


def test_a_vehicle_that_is_not_here_cannot_be_exported(two_phones, tmp_path):
    with pytest.raises(RecordError, match="no vehicle"):
        export_bundle(two_phones[0], tmp_path / "x.zip", [new_id()])
    assert not list(tmp_path.glob("x.zip*"))


def test_the_bundle_is_lines_of_plain_json_that_anybody_can_read(two_phones, tmp_path):
    here, _ = two_phones
    signed_van(here)
    export_bundle(here, tmp_path / "all.zip")
    with ZipFile(tmp_path / "all.zip") as archive:
        manifest = json.loads(archive.read("manifest.json"))
        events = [json.loads(line) for line in archive.read("events.jsonl").splitlines()]
    assert manifest["kind"] == "voltwalk-bundle"
    assert manifest["events"] == len(events) == 7
    assert {event["body"]["kind"] for event in events} >= {"vehicle_described", "job_signed"}


def test_the_photo_of_a_units_plate_goes_along(two_phones, tmp_path):
    here, there = two_phones
    vehicle_id = van(here, "PLT 1")
    sha256 = here.add_photo(b"\xff\xd8\xff a rating plate")
    unit = INSTALLATION.charger.model_copy(update={"plate_photo": sha256})
    fitted = INSTALLATION.model_copy(update={"charger": unit})
    here.append(Event(vehicle_id=vehicle_id, body=InstallationDescribed(installation=fitted)))
    exported = export_bundle(here, tmp_path / "one.zip", [vehicle_id])
    import_bundle(there, tmp_path / "one.zip")
    assert (exported.photos, exported.missing_photos) == (1, ())
    assert there.photo_path(sha256).read_bytes() == here.photo_path(sha256).read_bytes()
