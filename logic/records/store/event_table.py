"""The table ``event``, which only ever grows.

Of a customer, and of whatever a person wrote freely, it holds the salted digest only; see
``private_tables`` and ``text_table``. :func:`prepared` has the
rules for an event that is new on this device; one that another device wrote is taken as it is.
"""

from __future__ import annotations

import gc
import json
import secrets
from collections.abc import Callable, Collection, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime, timedelta
from functools import cache, partial
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter

from logic.errors import SealedError
from logic.records.chain import SIGNED, event_digest, is_signed, linked
from logic.records.events import (
    Body,
    CustomerDescribed,
    CustomerErased,
    Event,
    JobOpened,
    JobReopened,
    OfStep,
    OfVehicle,
)
from logic.records.keys import DeviceKey
from logic.records.state import (
    JOB_SUMMARY_KINDS,
    StepEntry,
    VehicleState,
    WaitingJob,
    entry_of,
    fold,
    heads,
)
from logic.records.store import text_table
from logic.records.store.database import Row, damaged, timestamp
from logic.records.store.private_tables import (
    customer_digest,
    customers_of,
    erase_covered,
    write_customer,
)
from logic.records.store.text_table import Texts
from logic.vehicle.identity import Customer

if TYPE_CHECKING:
    from sqlite_utils import Database

COLUMNS = ("event_id", "vehicle_id", "job_id", "at", "device", "kind", "body", *SIGNED)
UNSIGNED = (None,) * len(SIGNED)
_SELECT = f"SELECT {', '.join(COLUMNS)} FROM event"
_BODY, _NUMBER = COLUMNS.index("body"), COLUMNS.index("number")
# What an event says; who signed it is asked for by those who pass it on.
_SAID_OF_VEHICLE = f"SELECT {', '.join(COLUMNS[: _BODY + 1])} FROM event WHERE vehicle_id = ?"
_INSERT = (
    f"INSERT OR IGNORE INTO event ({', '.join(COLUMNS)}) VALUES ({', '.join('?' * len(COLUMNS))})"
)
_MOMENT = timedelta(microseconds=1)
MANY = 2000  # events; assumed: up to here all are folded at once in a few hundredths of a second
_OF_VEHICLE = frozenset(
    ("vehicle_described", "customer_described", "customer_erased", "installation_described")
)
_JOB_SUMMARY = frozenset(JOB_SUMMARY_KINDS)


# Reading.


def events_of(db: Database, vehicle_id: str, kinds: Collection[str] = ()) -> list[Event]:
    """Return a vehicle's events, or those of some kinds, in the order in which they are folded."""
    rows = list(rows_of(db, vehicle_id, kinds))
    named = any(row[5] == "customer_described" for row in rows)
    customers = customers_of(db, vehicle_id) if named else {}
    texts = text_table.texts_of(db, vehicle_id)
    return [event_of(row, customers, texts) for row in rows]


def vehicle_of(
    db: Database, vehicle_id: str, reading: Callable[[], AbstractContextManager[None]]
) -> VehicleState | None:
    """Return a vehicle as it stands, ``None`` where it has no events.

    Where it has very many, each job waits for being asked for; ``reading`` is then entered around
    the reading of its events.
    """
    with without_collecting():
        rows = db.conn.execute(_SAID_OF_VEHICLE, (vehicle_id,)).fetchall()
        if not rows:
            return None
        rows.sort(key=itemgetter(3, 0))  # at, event_id; SQLite would move the texts about as well
        customers = customers_of(db, vehicle_id)
        texts = text_table.texts_of(db, vehicle_id)
        event_from = partial(event_of, customers=customers, texts=texts)
        if len(rows) < MANY:
            return fold(vehicle_id, map(event_from, rows))
        return _waiting(vehicle_id, rows, event_from, reading)


def _waiting(
    vehicle_id: str,
    rows: list[Row],
    event_from: Callable[[Row], Event],
    reading: Callable[[], AbstractContextManager[None]],
) -> VehicleState:
    """Fold what is known of the vehicle itself, and let its jobs wait."""
    own: list[Row] = []
    of_job: dict[str, list[Row]] = {}
    for row in rows:
        if row[2] is None or row[5] in _OF_VEHICLE:
            own.append(row)
        else:
            of_job.setdefault(row[2], []).append(row)
    state = fold(vehicle_id, map(event_from, own))
    for job_id, some in of_job.items():
        state.job_of[job_id] = WaitingJob(
            job_id,
            vehicle_id,
            summary=[event_from(row) for row in some if row[5] in _JOB_SUMMARY],
            last_at=datetime.fromisoformat(some[-1][3]),
            devices=partial(_devices, some),
            events=partial(_read, some, event_from, reading),
        )
    state.last_at = datetime.fromisoformat(rows[-1][3])
    return state


def _devices(rows: list[Row]) -> int:
    return len({row[4] for row in rows})


def _read(
    rows: list[Row],
    event_from: Callable[[Row], Event],
    reading: Callable[[], AbstractContextManager[None]],
) -> Iterator[Event]:
    with reading(), without_collecting():
        yield from map(event_from, rows)


@contextmanager
def without_collecting() -> Iterator[None]:
    """Keep the garbage collector from looking through what is being read: all of it stays.

    With 100,000 events it takes two thirds of the time (``tests/benchmarks/store.py``).
    """
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()


def rows_of(db: Database, vehicle_id: str, kinds: Collection[str] = ()) -> Iterator[Row]:
    """Yield the same as rows of ``COLUMNS``."""
    of_kinds = f"AND kind IN ({', '.join('?' * len(kinds))})" if kinds else ""
    yield from db.conn.execute(
        f"{_SELECT} WHERE vehicle_id = ? {of_kinds} ORDER BY at, event_id", (vehicle_id, *kinds)
    )


def row_with_id(db: Database, event_id: str) -> Row | None:
    """Return one event's row, or ``None`` where there is none of that id."""
    found: Row | None = db.conn.execute(f"{_SELECT} WHERE event_id = ?", (event_id,)).fetchone()
    return found


def all_events(db: Database) -> Iterator[Event]:
    """Yield every event, vehicle by vehicle, without holding them all."""
    for (vehicle_id,) in db.conn.execute("SELECT vehicle_id FROM vehicle ORDER BY vehicle_id"):
        yield from events_of(db, vehicle_id)


def event_of(
    row: Row,
    customers: dict[str, Customer] | None = None,
    texts: dict[str, Texts] | None = None,
) -> Event:
    """Return a row as an event; an erased customer reads as an empty one.

    Where the texts of one are not there, :data:`~logic.records.store.text_table.LEFT_OUT` is.

    Raises
    ------
    StoreDamagedError
        It is no event. No newer version of the app can have written it, since each kind of
        event comes with a migration and
        :func:`~logic.records.store.migrations.migrate` looks first.
    """
    event_id, vehicle_id, job_id, at, device, kind, text, *_ = row
    body: Body
    try:
        if kind == "customer_described":
            body = CustomerDescribed(customer=(customers or {}).get(event_id, Customer()))
        else:
            if text_table.MARK in text:
                text = text_table.put_together(text, (texts or {}).get(event_id, {}))
            body = _bodies().validate_json(text)
        return Event(
            event_id=event_id,
            vehicle_id=vehicle_id,
            job_id=job_id,
            at=datetime.fromisoformat(at),
            device=device,
            body=body,
        )
    except (ValueError, TypeError) as error:  # pydantic's own error is a ValueError
        raise damaged(f"entry {event_id} cannot be read") from error


def refuse_changed(db: Database) -> None:
    """Raise ``StoreDamagedError`` where an event is not what its device signed any more."""
    for row in db.conn.execute(f"{_SELECT} WHERE signature IS NOT NULL ORDER BY seq"):
        if not is_signed(as_exchanged(row)):
            raise damaged(f"entry {row[0]} is not what its device signed")


def as_exchanged(row: Row) -> dict[str, Any]:
    """Return a row as it stands in an exchange file, and as it is signed."""
    event_id, vehicle_id, job_id, at, device, _, body, *signed = row
    event = {
        "event_id": event_id,
        "vehicle_id": vehicle_id,
        "job_id": job_id,
        "at": at,
        "device": device,
    }
    if signed[0] is not None:
        event |= zip(SIGNED, signed, strict=True)
    return {**event, "body": json.loads(body)}


def same_body(one: str, other: str) -> bool:
    """Whether two JSON texts say the same of an event, in whatever order, spacing and detail."""
    if one == other or json.loads(one) == json.loads(other):
        return True
    try:
        # Another version of the app may have left out what says nothing.
        return bool(_bodies().validate_json(one) == _bodies().validate_json(other))
    except ValueError:
        return False


@cache
def _bodies() -> TypeAdapter[Body]:
    return TypeAdapter(Body)


# Writing.


def write(db: Database, event: Event, key: DeviceKey) -> None:
    """Append one event of this device, signed; one that is there already is left alone."""
    if isinstance(event.body, CustomerDescribed):
        _write_described(db, event, event.body.customer, key)
        return
    row = row_of(event)
    body, salt, texts = text_table.taken_apart(json.loads(row[_BODY]))
    if texts:
        text = json.dumps(body, ensure_ascii=False, separators=(",", ":"))
        row = (*row[:_BODY], text, *UNSIGNED)
    if write_row(db, _signed(db, row, key)) and texts:
        told = json.dumps(texts, ensure_ascii=False)
        text_table.write(db, (event.event_id, event.vehicle_id, salt, told))
    if isinstance(event.body, CustomerErased):
        erase_covered(db, event.vehicle_id)


def write_row(db: Database, row: Row) -> bool:
    """Append an event that is a row already; say whether it is new here."""
    return bool(db.conn.execute(_INSERT, row).rowcount)


def take_out(db: Database, row: Row) -> None:
    """Take an unsigned event out, which must lie in ``held_back`` already."""
    db.conn.execute("DELETE FROM event WHERE event_id = ?", (row[0],))


def unsigned_of_job(db: Database, vehicle_id: str, job_id: str) -> list[Row] | None:
    """Return a job's events on a vehicle where none of them is signed, else ``None``."""
    rows = db.conn.execute(
        f"{_SELECT} WHERE vehicle_id = ? AND job_id = ?", (vehicle_id, job_id)
    ).fetchall()
    return None if any(row[-1] is not None for row in rows) else rows


def row_of(event: Any) -> Row:
    """Return an event, or one like it whose customer is a digest, as an unsigned row."""
    return (
        event.event_id,
        event.vehicle_id,
        event.job_id,
        timestamp(event.at),
        event.device,
        event.body.kind,
        event.body.model_dump_json(),
        *UNSIGNED,
    )


def head_of(db: Database, key: str) -> tuple[int, str | None]:
    """Return the number and the digest of the last event here that a key has signed."""
    row = db.conn.execute(
        f"{_SELECT} WHERE key = ? ORDER BY number DESC, seq DESC LIMIT 1", (key,)
    ).fetchone()
    return (row[_NUMBER], event_digest(as_exchanged(row))) if row else (0, None)


def chain_of(db: Database, key: str) -> Iterator[dict[str, Any]]:
    """Yield the events that a key has signed, as they stand in an exchange file, in order."""
    for row in db.conn.execute(f"{_SELECT} WHERE key = ? ORDER BY number, seq", (key,)):
        yield as_exchanged(row)


def _signed(db: Database, row: Row, key: DeviceKey) -> Row:
    number, before = head_of(db, key.public)
    link = linked(as_exchanged(row), key, number + 1, before)
    return (*row[: -len(SIGNED)], link.key, link.number, link.before, link.signature)


def _write_described(db: Database, event: Event, customer: Customer, key: DeviceKey) -> None:
    salt = secrets.token_hex(16)
    body = {"kind": "customer_described", "sha256": customer_digest(salt, customer)}
    text = json.dumps(body, separators=(",", ":"))
    write_row(db, _signed(db, (*row_of(event)[:_BODY], text, *UNSIGNED), key))
    write_customer(db, (event.event_id, event.vehicle_id, salt, customer.name, customer.contact))


# An event that is new on this device.


def prepared(db: Database, event: Event, device: str) -> Event:
    """Return an event as it will be written, or refuse it.

    Its time is put after everything known of the vehicle, so that a clock that was set back
    cannot put an answer before the one it corrects.

    Raises
    ------
    SealedError
        Its job is signed and was not reopened.
    ValueError
        It needs a job, and there is none of that id.
    """
    _refuse_if_closed(db, event)
    body = event.body
    if isinstance(body, OfStep):
        body = _naming_what_it_replaces(db, event, body)
    update = {"device": event.device or device, "at": _after_all_known(db, event), "body": body}
    return event.model_copy(update=update)


def _refuse_if_closed(db: Database, event: Event) -> None:
    body = event.body
    if isinstance(body, OfVehicle):
        return
    if event.job_id is None:
        raise ValueError(f"{body.kind} needs the id of the job it belongs to")
    if isinstance(body, JobOpened):
        return
    row = db.conn.execute("SELECT open FROM job WHERE job_id = ?", (event.job_id,)).fetchone()
    if row is None:
        raise ValueError(f"{body.kind} belongs to job {event.job_id}, which was never opened")
    if not row[0] and not isinstance(body, JobReopened):
        raise SealedError(
            "This job is signed, so nothing in it changes any more. Reopen it to make a new "
            "revision; the signed one stays as it is."
        )


def _after_all_known(db: Database, event: Event) -> datetime:
    (latest,) = db.conn.execute(
        "SELECT max(at) FROM event WHERE vehicle_id = ?", (event.vehicle_id,)
    ).fetchone()
    if latest is None:
        return event.at
    return max(event.at, datetime.fromisoformat(latest) + _MOMENT)


def _naming_what_it_replaces(db: Database, event: Event, body: OfStep) -> OfStep:
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


def _entries(db: Database, event: Event, step_id: str) -> list[StepEntry]:
    rows = db.conn.execute(
        f"{_SELECT} WHERE vehicle_id = ? AND kind IN ('step_answered', 'step_skipped')"
        " AND job_id = ? AND json_extract(body, '$.step_id') = ? ORDER BY at, event_id",
        (event.vehicle_id, event.job_id, step_id),
    )
    found = (event_of(row) for row in rows)
    return [entry_of(old, old.body) for old in found if isinstance(old.body, OfStep)]
