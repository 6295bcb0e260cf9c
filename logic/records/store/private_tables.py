"""The tables ``customer`` and ``sealed_private``: all that names a person, and can be erased.

Events and signed records hold only salted digests of it and stay as they are.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from logic.records.record import SealedRecord
from logic.records.seal import digest
from logic.records.store.database import Row
from logic.vehicle.identity import Customer

if TYPE_CHECKING:
    from sqlite_utils import Database

_COVERED = {
    "customer": (
        "DELETE FROM customer WHERE vehicle_id = :vehicle AND EXISTS ("
        " SELECT 1 FROM event AS described, event AS erased"
        " WHERE described.event_id = customer.event_id AND erased.vehicle_id = :vehicle"
        " AND erased.kind = 'customer_erased'"
        " AND (erased.at, erased.event_id) > (described.at, described.event_id))"
    ),
    "sealed_private": (
        "DELETE FROM sealed_private WHERE vehicle_id = :vehicle AND EXISTS ("
        " SELECT 1 FROM sealed AS s, event AS erased"
        " WHERE s.sha256 = sealed_private.sha256 AND erased.vehicle_id = :vehicle"
        " AND erased.kind = 'customer_erased' AND erased.at >= s.signed_at)"
    ),
    "held_back": (
        "DELETE FROM held_back WHERE vehicle_id = :vehicle AND part = 'customer' AND EXISTS ("
        " SELECT 1 FROM event AS erased WHERE erased.vehicle_id = :vehicle"
        " AND erased.kind = 'customer_erased' AND erased.at > held_back.at)"
    ),
}


def customer_digest(salt: str, customer: Customer) -> str:
    """Return the digest that stands in the event for the customer's name and contact."""
    return digest({"salt": salt, **customer.model_dump()})


def customers_of(db: Database, vehicle_id: str) -> dict[str, Customer]:
    """Return the customers that are still known, by the event that described them."""
    rows = db.conn.execute(
        "SELECT event_id, name, contact FROM customer WHERE vehicle_id = ?", (vehicle_id,)
    )
    return {event_id: Customer(name=name, contact=contact) for event_id, name, contact in rows}


def write_customer(db: Database, row: Row) -> None:
    """Keep a row of ``customer``; one that is there already is left alone."""
    db.conn.execute("INSERT OR IGNORE INTO customer VALUES (?, ?, ?, ?, ?)", row)


def write_private(db: Database, sealed: SealedRecord) -> None:
    """Keep a signed record's private part, if it has one; otherwise as :func:`write_customer`."""
    if sealed.private is not None:
        db.conn.execute(
            "INSERT OR IGNORE INTO sealed_private VALUES (?, ?, ?)",
            (sealed.sha256, sealed.record.vehicle_id, sealed.private.model_dump_json()),
        )


def erase_covered(db: Database, vehicle_id: str) -> None:
    """Delete what the vehicle's erasures cover: all that was written before the latest of them."""
    for statement in _COVERED.values():
        db.conn.execute(statement, {"vehicle": vehicle_id})


def erase_all(db: Database, vehicle_id: str) -> None:
    """Delete all that names the vehicle's customers, whenever it was written."""
    there = set(db.table_names())  # a copy may be of an older release
    for table in _COVERED.keys() & there:
        db.conn.execute(f"DELETE FROM {table} WHERE vehicle_id = ?", (vehicle_id,))
