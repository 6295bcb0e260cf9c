"""The tables ``vehicle`` and ``job``: what a list shows, derived from the events.

What they say is decided by :func:`logic.records.state.fold`: a vehicle's rows are worked out anew
from its events, so they are the same whatever order the events came in and can be thrown away
and rebuilt.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from logic.records.events import Event
from logic.records.state import SUMMARY_KINDS, JobState, fold
from logic.records.store import event_table
from logic.records.store.database import Row, damaged, timestamp

if TYPE_CHECKING:
    from sqlite_utils import Database


@dataclass(frozen=True)
class VehicleRow:
    """One line of the list of vehicles; ``open_job`` is the latest job not signed off."""

    vehicle_id: str
    registration: str
    description: str
    customer: str
    last_at: datetime
    open_job: str | None
    open_job_kind: str | None
    signed: bool


_LIST = """
SELECT v.vehicle_id, v.registration, v.description, v.customer, v.last_at, j.job_id, j.kind,
    EXISTS (SELECT 1 FROM job WHERE job.vehicle_id = v.vehicle_id AND revision > 0)
FROM ({hits}) AS hit JOIN vehicle AS v USING (vehicle_id)
LEFT JOIN job AS j ON j.job_id = (
    SELECT job_id FROM job WHERE job.vehicle_id = v.vehicle_id AND open
    ORDER BY opened_at DESC, job_id DESC LIMIT 1)
ORDER BY v.last_at DESC, v.vehicle_id
"""
# The inner query reads the index vehicle_by_last_at only: newest first, it stops at the limit.
_HITS = "SELECT vehicle_id FROM vehicle {where} ORDER BY last_at DESC, vehicle_id LIMIT ? OFFSET ?"

# Only what is different is written: each page touched is one more to bring to storage.
_PUT_VEHICLE = """
INSERT INTO vehicle VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (vehicle_id) DO UPDATE SET
    registration = excluded.registration, description = excluded.description,
    vin = excluded.vin, odometer_km = excluded.odometer_km, customer = excluded.customer,
    last_at = excluded.last_at, search = excluded.search
"""
_PUT_JOB = """
INSERT INTO job VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (job_id) DO UPDATE SET
    kind = excluded.kind, checklist_id = excluded.checklist_id, opened_at = excluded.opened_at,
    signed_at = excluded.signed_at, revision = excluded.revision, open = excluded.open
WHERE (kind, checklist_id, opened_at, signed_at, revision, open) IS NOT
    (excluded.kind, excluded.checklist_id, excluded.opened_at, excluded.signed_at,
    excluded.revision, excluded.open)
"""


def squeeze(text: str) -> str:
    """Return letters and digits only, without case, so that "abc 12" finds "ABC-123"."""
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def find(db: Database, fragment: str, limit: int, offset: int) -> list[VehicleRow]:
    """List vehicles, latest work first, whose plate, description, VIN or customer fits."""
    wanted = squeeze(fragment)
    where = "WHERE instr(search, ?) > 0" if wanted else ""
    values = ((wanted,) if wanted else ()) + (limit, offset)
    rows = db.conn.execute(_LIST.format(hits=_HITS.format(where=where)), values)
    return [_row(row) for row in rows]


def refresh(db: Database, vehicle_id: str) -> None:
    """Work out one vehicle's rows anew from its events.

    Raises
    ------
    StoreDamagedError
        One of them cannot be read.
    """
    (last_at,) = db.conn.execute(
        "SELECT max(at) FROM event WHERE vehicle_id = ?", (vehicle_id,)
    ).fetchone()
    if last_at is None:
        return
    state = fold(vehicle_id, event_table.events_of(db, vehicle_id, SUMMARY_KINDS))
    vehicle, customer = state.vehicle, state.customer.name
    described = (vehicle.registration, vehicle.description, vehicle.vin) if vehicle else ("",) * 3
    odometer_km = vehicle.odometer_km if vehicle else None
    search = "\n".join(squeeze(text) for text in (*described, customer))
    row = (vehicle_id, *described, odometer_km, customer, last_at, search)
    db.conn.execute(_PUT_VEHICLE, row)
    db.conn.executemany(_PUT_JOB, (_job_row(job) for job in state.jobs if job.opened_at))


def appended(db: Database, event: Event) -> None:
    """Bring the rows up to date with an event that is later than all others of its vehicle."""
    if event.body.kind not in SUMMARY_KINDS:
        moved = db.conn.execute(
            "UPDATE vehicle SET last_at = ? WHERE vehicle_id = ?",
            (timestamp(event.at), event.vehicle_id),
        )
        if moved.rowcount:
            return
    refresh(db, event.vehicle_id)


def rebuild(db: Database) -> None:
    """Throw the derived tables away and work all of them out from the events."""
    db.conn.execute("DELETE FROM job")
    db.conn.execute("DELETE FROM vehicle")
    for (vehicle_id,) in db.conn.execute("SELECT DISTINCT vehicle_id FROM event").fetchall():
        refresh(db, vehicle_id)


def _row(row: Row) -> VehicleRow:
    vehicle_id, registration, description, customer, at, open_job, kind, signed = row
    try:
        last_at = datetime.fromisoformat(at)
    except ValueError as error:
        raise damaged(f"the list's line of vehicle {vehicle_id} cannot be read") from error
    return VehicleRow(
        vehicle_id=vehicle_id,
        registration=registration,
        description=description,
        customer=customer,
        last_at=last_at,
        open_job=open_job,
        open_job_kind=kind,
        signed=bool(signed),
    )


def _job_row(job: JobState) -> Row:
    return (
        job.job_id,
        job.vehicle_id,
        job.kind,
        job.checklist_id,
        timestamp(job.opened_at) if job.opened_at else None,
        timestamp(job.signed[-1].at) if job.signed else None,
        job.revision,
        not job.is_signed,
    )
