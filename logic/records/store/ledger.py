"""Events in and out of the table ``event``, which only ever grows.

The customer's name and contact are kept apart in ``customer``: the event holds their salted
digest only, so they can be erased without touching an event.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Collection, Iterator
from datetime import UTC, datetime
from functools import cache
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter

from logic.records.events import Body, CustomerDescribed, CustomerErased, Event
from logic.records.seal import digest
from logic.records.store.database import Row, damaged
from logic.records.store.erasure import forget
from logic.vehicle.identity import Customer

if TYPE_CHECKING:
    from sqlite_utils import Database

COLUMNS = "event_id, vehicle_id, job_id, at, device, kind, body"
_INSERT = f"INSERT OR IGNORE INTO event ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?)"
_INSERT_CUSTOMER = "INSERT OR IGNORE INTO customer VALUES (?, ?, ?, ?, ?)"


def stamp(at: datetime) -> str:
    """Write a time so that times sort as text: UTC, microseconds, Z."""
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def customer_digest(salt: str, customer: Customer) -> str:
    """Return the digest that stands in the event for the customer's name and contact."""
    return digest({"salt": salt, **customer.model_dump()})


def write(db: Database, event: Event) -> None:
    """Append one event; one that is there already is left alone."""
    if isinstance(event.body, CustomerDescribed):
        _write_customer(db, event, event.body.customer)
        return
    write_row(db, row_of(event))
    if isinstance(event.body, CustomerErased):
        forget(db, event.vehicle_id)


def write_row(db: Database, row: Row) -> bool:
    """Append an event that is a row already; say whether it is new here."""
    return bool(db.conn.execute(_INSERT, row).rowcount)


def write_customer(db: Database, row: Row) -> None:
    """Keep a customer that is a row of the table ``customer`` already."""
    db.conn.execute(_INSERT_CUSTOMER, row)


def same_body(one: str, other: str) -> bool:
    """Whether two JSON texts say the same of an event, in whatever words."""
    if one == other:
        return True
    if '"customer_described"' in one:
        return bool(json.loads(one) == json.loads(other))
    bodies = _bodies()
    return bodies.validate_json(one) == bodies.validate_json(other)


def events_of(db: Database, vehicle_id: str, kinds: Collection[str] = ()) -> list[Event]:
    """Return a vehicle's events, or those of some kinds, in the order in which they are folded."""
    of_kinds = f"AND kind IN ({', '.join('?' * len(kinds))})" if kinds else ""
    rows = db.conn.execute(
        f"SELECT {COLUMNS} FROM event WHERE vehicle_id = ? {of_kinds} ORDER BY at, event_id",
        (vehicle_id, *kinds),
    ).fetchall()
    named = any(row[5] == "customer_described" for row in rows)
    customers = customers_of(db, vehicle_id) if named else {}
    return [read(row, customers) for row in rows]


def all_events(db: Database) -> Iterator[Event]:
    """Yield every event, vehicle by vehicle, without holding them all."""
    for (vehicle_id,) in db.conn.execute("SELECT vehicle_id FROM vehicle ORDER BY vehicle_id"):
        yield from events_of(db, vehicle_id)


def customers_of(db: Database, vehicle_id: str) -> dict[str, Customer]:
    """Return the customers that are still known, by the event that described them."""
    rows = db.conn.execute(
        "SELECT event_id, name, contact FROM customer WHERE vehicle_id = ?", (vehicle_id,)
    )
    return {event_id: Customer(name=name, contact=contact) for event_id, name, contact in rows}


def read(row: Row, customers: dict[str, Customer] | None = None) -> Event:
    """Return a row as an event; an erased customer reads as an empty one.

    Raises
    ------
    StoreDamagedError
        It is no event. No newer version of the app can have written it, since each kind of
        event comes with a migration and
        :func:`~logic.records.store.migrations.migrate` looks first.
    """
    event_id, vehicle_id, job_id, at, device, kind, text = row
    body: Body
    try:
        if kind == "customer_described":
            body = CustomerDescribed(customer=(customers or {}).get(event_id, Customer()))
        else:
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


@cache
def _bodies() -> TypeAdapter[Body]:
    return TypeAdapter(Body)


def row_of(event: Any) -> Row:
    """Return an event, or one like it whose customer is a digest, as a row of ``COLUMNS``."""
    return (
        event.event_id,
        event.vehicle_id,
        event.job_id,
        stamp(event.at),
        event.device,
        event.body.kind,
        event.body.model_dump_json(),
    )


def _write_customer(db: Database, event: Event, customer: Customer) -> None:
    salt = secrets.token_hex(16)
    body = {"kind": "customer_described", "sha256": customer_digest(salt, customer)}
    write_row(db, (*row_of(event)[:-1], json.dumps(body, separators=(",", ":"))))
    write_customer(db, (event.event_id, event.vehicle_id, salt, customer.name, customer.contact))
