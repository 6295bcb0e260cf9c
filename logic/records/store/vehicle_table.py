"""The tables ``vehicle`` and ``job``: what a list shows, derived from the events.

What they say is decided by :func:`logic.records.state.fold`: a vehicle's rows are worked out anew
from its events, so they are the same whatever order the events came in and can be thrown away
and rebuilt.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from logic.records.events import Event
from logic.records.state import SUMMARY_KINDS, JobState, fold
from logic.records.store import event_table
from logic.records.store.database import Row, timestamp
from logic.records.store.vehicle_list import squeeze

if TYPE_CHECKING:
    from sqlite_utils import Database


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


def refresh(db: Database, vehicle_id: str) -> bool:
    """Work out one vehicle's rows anew from its events; say whether there is such a vehicle.

    Raises
    ------
    StoreDamagedError
        One of them cannot be read.
    """
    (last_at,) = db.conn.execute(
        "SELECT max(at) FROM event WHERE vehicle_id = ?", (vehicle_id,)
    ).fetchone()
    if last_at is None:
        db.conn.execute("DELETE FROM vehicle WHERE vehicle_id = ?", (vehicle_id,))
        return False
    state = fold(vehicle_id, event_table.events_of(db, vehicle_id, SUMMARY_KINDS))
    vehicle, customer = state.vehicle, state.customer.name
    described = (vehicle.registration, vehicle.description, vehicle.vin) if vehicle else ("",) * 3
    odometer_km = vehicle.odometer_km if vehicle else None
    search = "\n".join(squeeze(text) for text in (*described, customer))
    row = (vehicle_id, *described, odometer_km, customer, last_at, search)
    db.conn.execute(_PUT_VEHICLE, row)
    db.conn.executemany(_PUT_JOB, (_job_row(job) for job in state.jobs if job.opened_at))
    return True


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


def forget_job(db: Database, job_id: str) -> None:
    """Take a job out of the list: its entries are not the vehicle's."""
    db.conn.execute("DELETE FROM job WHERE job_id = ?", (job_id,))


def rebuild(db: Database) -> None:
    """Throw the derived tables away and work all of them out from the events."""
    db.conn.execute("DELETE FROM job")
    db.conn.execute("DELETE FROM vehicle")
    for (vehicle_id,) in db.conn.execute("SELECT DISTINCT vehicle_id FROM event").fetchall():
        refresh(db, vehicle_id)


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
