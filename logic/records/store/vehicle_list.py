"""The list of vehicles, as the first screen and the desk show it: read, never worked out.

What its tables hold is written by :mod:`logic.records.store.vehicle_table`. The first screen
waits for this, so nothing here imports the models of events and records.
"""

import sqlite3
from dataclasses import dataclass
from datetime import datetime

from logic.records.store.database import Row, damaged


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


def squeeze(text: str) -> str:
    """Return letters and digits only, without case, so that "abc 12" finds "ABC-123"."""
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def find(
    connection: sqlite3.Connection, fragment: str, limit: int, offset: int
) -> list[VehicleRow]:
    """List vehicles, latest work first, whose plate, description, VIN or customer fits."""
    wanted = squeeze(fragment)
    where = "WHERE instr(search, ?) > 0" if wanted else ""
    values = ((wanted,) if wanted else ()) + (limit, offset)
    rows = connection.execute(_LIST.format(hits=_HITS.format(where=where)), values)
    return [_row(row) for row in rows]


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
