"""The rules of writing down an event on the device where it happens.

An imported event is taken as it is; these rules are for new ones only.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from logic.errors import SealedError
from logic.records import events as happened
from logic.records.events import Event
from logic.records.state import Entry, entry_of, heads
from logic.records.store import ledger

if TYPE_CHECKING:
    from sqlite_utils import Database

_MOMENT = timedelta(microseconds=1)


def prepare(db: Database, event: Event, device: str) -> Event:
    """Return an event as it will be written, or refuse it.

    Its time is put after everything known of the vehicle, so that a clock that was set back
    cannot place an answer before the one it corrects.

    Raises
    ------
    SealedError
        Its job is signed and was not reopened.
    ValueError
        It needs a job, and there is none of that id.
    """
    _refuse_if_closed(db, event)
    body = event.body
    if isinstance(body, happened.OfStep):
        body = _naming_what_it_replaces(db, event, body)
    update = {"device": event.device or device, "at": _later(db, event), "body": body}
    return event.model_copy(update=update)


def _refuse_if_closed(db: Database, event: Event) -> None:
    body = event.body
    if isinstance(body, happened.OfVehicle):
        return
    if event.job_id is None:
        raise ValueError(f"{body.kind} needs the id of the job it belongs to")
    if isinstance(body, happened.JobOpened):
        return
    row = db.conn.execute("SELECT open FROM job WHERE job_id = ?", (event.job_id,)).fetchone()
    if row is None:
        raise ValueError(f"{body.kind} belongs to job {event.job_id}, which was never opened")
    if not row[0] and not isinstance(body, happened.JobReopened):
        raise SealedError(
            "This job is signed, so nothing in it changes any more. Reopen it to make a new "
            "revision; the signed one stays as it is."
        )


def _later(db: Database, event: Event) -> datetime:
    (latest,) = db.conn.execute(
        "SELECT max(at) FROM event WHERE vehicle_id = ?", (event.vehicle_id,)
    ).fetchone()
    if latest is None:
        return event.at
    return max(event.at, datetime.fromisoformat(latest) + _MOMENT)


def _naming_what_it_replaces(db: Database, event: Event, body: happened.OfStep) -> happened.OfStep:
    """Name the answers that were there to be seen, so that they are no clash with this one.

    An answer that names a predecessor which is itself outdated was given without seeing what
    came since (an import meanwhile), and is left to clash with it.
    """
    standing = [entry.event_id for entry in heads(_entries(db, event, body.step_id))]
    replaces = body.replaces or (standing[-1] if standing else None)
    if replaces not in standing:
        return body
    others = tuple(name for name in standing if name != replaces)
    return body.model_copy(update={"replaces": replaces, "also_replaces": others})


def _entries(db: Database, event: Event, step_id: str) -> list[Entry]:
    rows = db.conn.execute(
        f"SELECT {ledger.COLUMNS} FROM event WHERE vehicle_id = ?"
        " AND kind IN ('step_answered', 'step_skipped') AND job_id = ?"
        " AND json_extract(body, '$.step_id') = ? ORDER BY at, event_id",
        (event.vehicle_id, event.job_id, step_id),
    )
    found = (ledger.read(row) for row in rows)
    return [entry_of(old, old.body) for old in found if isinstance(old.body, happened.OfStep)]
