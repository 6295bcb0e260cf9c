from datetime import UTC, datetime
from pathlib import Path

import pytest

from logic.errors import RecordError
from logic.records.record import Signature
from logic.records.sign_off import Signing
from logic.records.store.bookmark import Bookmark
from logic.vehicle.identity import Technician
from mobile.jobs import record_files
from mobile.jobs.job_start import begin_commissioning
from mobile.jobs.signing import SigningForm, seal, work_done
from mobile.jobs.under_way import job_under_way
from mobile.jobs.workplace import Workplace
from tests.mobile.ui.workshop import FRESH, READY, SIGNED, fill, vehicle_row
from tests.paths import CHECKLISTS

STROKES = [[(0.1, 0.2), (0.9, 0.4)]]


@pytest.fixture(scope="module")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    fill(folder)
    return folder


@pytest.fixture
def work(demo_store: Path, tmp_path: Path) -> Workplace:
    import shutil

    shutil.copytree(demo_store, tmp_path / "store")
    opened = Workplace(tmp_path / "store", CHECKLISTS)
    yield opened
    opened.close()


def ready_job(work: Workplace) -> str:
    return vehicle_row(work.store, READY).open_job


def begin(work: Workplace) -> str:
    vehicle_id = vehicle_row(work.store, FRESH).vehicle_id
    return begin_commissioning(work.store, work.library, vehicle_id, work.clock())


def test_a_begun_job_carries_the_checklist_that_it_was_begun_with(work: Workplace) -> None:
    job_id = begin(work)
    job = work.store.job(job_id)
    checklist = work.library.checklists["commissioning"]
    assert (job.checklist_id, job.checklist_version) == (checklist.id, checklist.version)
    assert work.walk_of(job_id).is_open


def test_the_marked_job_is_taken_up_where_it_was_left(work: Workplace) -> None:
    walk = work.open_walk(ready_job(work))
    step_id = walk.steps[7].id
    walk.go_to(step_id)
    walk.keep(walk.step.id, "value", "12.")
    again = Workplace(work.store_folder, CHECKLISTS)
    resumed = again.open_walk(ready_job(again))
    assert resumed.step.id == step_id
    assert resumed.draft(step_id, "value") == "12."
    again.close()


def test_the_list_offers_to_go_on_with_the_job_under_way(work: Workplace) -> None:
    work.open_walk(ready_job(work)).mark()
    found = job_under_way(work)
    assert found.plate == READY
    assert "steps done" in found.about


@pytest.mark.parametrize("marked", [Bookmark(), Bookmark(vehicle_id="0" * 32, job_id="1" * 32)])
def test_a_bookmark_that_leads_nowhere_offers_nothing(work: Workplace, marked: Bookmark) -> None:
    work.store.set_bookmark(marked)
    assert job_under_way(work) is None


def test_a_signed_job_is_not_offered_again(work: Workplace) -> None:
    vehicle = work.store.vehicle(vehicle_row(work.store, SIGNED).vehicle_id)
    marked = Bookmark(vehicle_id=vehicle.vehicle_id, job_id=vehicle.jobs[0].job_id)
    work.store.set_bookmark(marked)
    assert job_under_way(work) is None


def test_a_job_with_something_in_the_way_is_never_sealed(work: Workplace) -> None:
    done = work_done(work, ready_job(work))
    signed = Signature(name="x", strokes=(((0.1, 0.2), (0.9, 0.4)),))
    signing = Signing(Technician(name="x"), signed, signed, datetime.now(UTC), "0")
    with pytest.raises(RecordError, match="out of range"):
        seal(work, done, signing)
    assert not work.store.job(ready_job(work)).is_signed


def test_a_signature_belongs_to_what_was_there_when_it_was_given(work: Workplace) -> None:
    form = SigningForm(work.store, work_done(work, ready_job(work)))
    form.draw("technician", STROKES)
    same = SigningForm(work.store, work_done(work, ready_job(work)))
    assert same.strokes("technician")
    assert not same.was_changed
    walk = work.open_walk(ready_job(work))
    walk.note(walk.step.id, "Found later")
    changed = SigningForm(work.store, work_done(work, ready_job(work)))
    assert changed.was_changed
    assert changed.strokes("technician") == []


def test_one_jobs_signatures_never_serve_another(work: Workplace) -> None:
    SigningForm(work.store, work_done(work, ready_job(work))).draw("technician", STROKES)
    other = begin(work)
    assert SigningForm(work.store, work_done(work, other)).strokes("technician") == []


def test_files_of_two_revisions_never_take_each_others_place(work: Workplace) -> None:
    [sealed] = work.store.sealed(
        work.store.vehicle(vehicle_row(work.store, SIGNED).vehicle_id).jobs[0].job_id
    )
    second = sealed.model_copy(update={"record": sealed.record.model_copy(update={"revision": 2})})
    folder = work.store_folder
    names = {record_files.pdf_path(folder, sealed), record_files.pdf_path(folder, second)}
    names |= {record_files.label_path(folder, sealed), record_files.label_path(folder, second)}
    assert len(names) == 4
    assert all(path.name.startswith("LIB-204 ") for path in names)
