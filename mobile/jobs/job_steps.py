"""Begins, reopens and seals jobs: what the screens around the walk do to the store.

No Kivy. Files made from a sealed record (PDF, label) lie in the store's folder ``records``
and can be made again at any time: the record in the store is what counts.
"""

import re
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from logic.case import Case, Diagnosis
from logic.records import events as happened
from logic.records.events import Event, new_id
from logic.records.record import SealedRecord
from logic.records.review import WorkDone
from logic.records.state import JobState
from mobile.jobs.job_in_hand import baseline_of

if TYPE_CHECKING:
    from logic.records.sign_off import Signing
    from mobile.jobs.workplace import Workplace

CHECKLIST = "commissioning"
RECORDS = "records"


def begin(work: "Workplace", vehicle_id: str) -> str:
    """Open a commissioning job on a vehicle and return its id."""
    checklist = work.library.checklists[CHECKLIST]
    body = happened.JobOpened(
        job_kind="commissioning",
        checklist_id=checklist.id,
        checklist_version=checklist.version,
    )
    job_id = new_id()
    work.store.append(Event(vehicle_id=vehicle_id, job_id=job_id, at=work.clock(), body=body))
    return job_id


def can_be_walked(job: JobState) -> bool:
    """Tell whether a job has a checklist and is still open."""
    return bool(job.checklist_id) and not job.is_signed


def reopen(work: "Workplace", vehicle_id: str, job_id: str, reason: str) -> None:
    """Open a signed job again; what follows belongs to its next revision."""
    body = happened.JobReopened(reason=reason)
    work.store.append(Event(vehicle_id=vehicle_id, job_id=job_id, at=work.clock(), body=body))


def work_done(work: "Workplace", job_id: str, diagnosis: Diagnosis | None = None) -> WorkDone:
    """Gather what is to be signed for, as the store has it now."""
    vehicle = work.store.vehicle(work.store.job(job_id).vehicle_id)
    job = vehicle.job(job_id)
    return WorkDone(vehicle, job, work.library, baseline_of(work.store, job), diagnosis)


def seal(work: "Workplace", done: WorkDone, signing: "Signing") -> SealedRecord:
    """Sign a job off.

    Raises
    ------
    RecordError
        Something still stands in the way.
    """
    from logic.records import sign_off

    if done.job.kind == "callback" and done.diagnosis is None:
        # The app was opened anew at the signatures: what the readings said is worked out again.
        done = replace(done, diagnosis=_said_before_repair(done))
    return work.store.seal(*sign_off.record(done, signing))


def _said_before_repair(done: WorkDone) -> Diagnosis:
    import logic

    found: Diagnosis = logic.diagnose(
        Case(installation=done.installation, readings=done.job.readings, baseline=done.baseline)
    )
    return found


def erase_customer(work: "Workplace", vehicle_id: str) -> str:
    """Erase a vehicle's customer, also from what this app keeps beside the store; say it in words.

    The records stay and still verify; a PDF is written anew, without the names, when asked for.
    """
    from mobile.jobs.exchange import forget_files
    from mobile.jobs.set_up import SetUp
    from mobile.jobs.signing import forget

    forget_files(work.store_folder)
    vehicle = work.store.vehicle(vehicle_id)
    for job in vehicle.jobs:
        forget(work.store, job.job_id)
        for sealed in work.store.sealed(job.job_id):
            pdf_path(work.store_folder, sealed).unlink(missing_ok=True)
    SetUp.of(work.store, vehicle_id).discard()
    return work.store.erase_customer(vehicle_id).summary


def pdf_path(folder: Path, sealed: SealedRecord) -> Path:
    """Say where a record's PDF lies: by plate, day and revision, and apart by its hash."""
    return _path(folder, sealed, "record", ".pdf")


def label_path(folder: Path, sealed: SealedRecord) -> Path:
    """Say where the picture of a record's label lies."""
    return _path(folder, sealed, "label", ".png")


def write_pdf(folder: Path, sealed: SealedRecord) -> Path:
    """Write a record's PDF and return its path; slow, and safe off the store's thread."""
    from logic.records.paper.report import write_pdf as write
    from logic.records.store.photos import path_of
    from logic.records.store.store import PHOTOS

    path = pdf_path(folder, sealed)
    path.parent.mkdir(parents=True, exist_ok=True)
    write(sealed, partial(path_of, folder / PHOTOS), path)
    return path


def write_label(folder: Path, sealed: SealedRecord) -> Path:
    """Draw a record's label and return the picture's path; slow, as :func:`write_pdf`."""
    from logic.records.label.sticker import write_label_png

    path = label_path(folder, sealed)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_label_png(sealed, path)
    return path


def _path(folder: Path, sealed: SealedRecord, what: str, ending: str) -> Path:
    record = sealed.record
    plate = re.sub(r"[^A-Za-z0-9]+", "-", record.vehicle.registration).strip("-") or "vehicle"
    day = f"{record.signed_at:%Y-%m-%d}"
    name = f"{plate} {day} {what} {record.revision} {sealed.sha256[:8]}{ending}"
    return folder / RECORDS / name
