"""The tables ``customer`` and ``sealed_private``: all that names a person, and can be erased.

Events and signed records hold only salted digests of it and stay as they are. What a person wrote
freely lies in ``event_text`` (see ``text_table``) and goes with it where it names the customer.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING

from logic.records.customer_names import CustomerNames
from logic.records.record import SealedRecord
from logic.records.seal import digest
from logic.records.store import text_table
from logic.records.store.database import Row
from logic.records.store.held_words import erase_held
from logic.vehicle.identity import Customer

if TYPE_CHECKING:
    from sqlite_utils import Database

_COVERED = {
    "customer": (
        "FROM customer WHERE vehicle_id = :vehicle AND EXISTS ("
        " SELECT 1 FROM event AS described, event AS erased"
        " WHERE described.event_id = customer.event_id AND erased.vehicle_id = :vehicle"
        " AND erased.kind = 'customer_erased'"
        " AND (erased.at, erased.event_id) > (described.at, described.event_id))"
    ),
    "sealed_private": (
        "FROM sealed_private WHERE vehicle_id = :vehicle AND EXISTS ("
        " SELECT 1 FROM sealed AS s, event AS erased"
        " WHERE s.sha256 = sealed_private.sha256 AND erased.vehicle_id = :vehicle"
        " AND erased.kind = 'customer_erased' AND erased.at >= s.signed_at)"
    ),
    "held_back": (
        # Words of a person too, in what can never be taken in: nobody needs it any more.
        "FROM held_back WHERE vehicle_id = :vehicle"
        " AND (part = 'customer' OR why IN ('other', 'displaced')) AND EXISTS ("
        " SELECT 1 FROM event AS erased WHERE erased.vehicle_id = :vehicle"
        " AND erased.kind = 'customer_erased' AND erased.at > held_back.at)"
    ),
}
_ERASURES = (
    "SELECT at || event_id, json_extract(body, '$.texts') FROM event"
    " WHERE vehicle_id = ? AND kind = 'customer_erased' ORDER BY at, event_id"
)


def customer_digest(salt: str, customer: Customer) -> str:
    """Return the digest that stands in the event for the customer's name and contact."""
    return digest({"salt": salt, **customer.model_dump()})


def customers_of(db: Database, vehicle_id: str) -> dict[str, Customer]:
    """Return the customers that are still known, by the event that described them."""
    rows = db.conn.execute(
        "SELECT event_id, name, contact FROM customer WHERE vehicle_id = ?", (vehicle_id,)
    )
    return {event_id: Customer(name=name, contact=contact) for event_id, name, contact in rows}


def write_customer(db: Database, row: Row) -> bool:
    """Keep a row of ``customer`` and say whether it is new; one that is there is left alone."""
    added = db.conn.execute("INSERT OR IGNORE INTO customer VALUES (?, ?, ?, ?, ?)", row)
    return bool(added.rowcount)


def write_private(db: Database, sealed: SealedRecord) -> bool:
    """Keep a signed record's private part, if it has one; otherwise as :func:`write_customer`."""
    if sealed.private is None:
        return False
    added = db.conn.execute(
        "INSERT OR IGNORE INTO sealed_private VALUES (?, ?, ?)",
        (sealed.sha256, sealed.record.vehicle_id, sealed.private.model_dump_json()),
    )
    return bool(added.rowcount)


def names_of(db: Database, vehicle_id: str) -> CustomerNames:
    """Return everything that a vehicle's customers are known as here."""
    return _names(db, "customer WHERE vehicle_id = :vehicle", vehicle_id) + _names_signed(
        db, "sealed_private WHERE vehicle_id = :vehicle", vehicle_id
    )


def names_covered(db: Database, vehicle_id: str) -> CustomerNames:
    """Return what the customers are known as whom the vehicle's erasures cover."""
    customers = _COVERED["customer"].removeprefix("FROM ")
    private = _COVERED["sealed_private"].removeprefix("FROM ")
    return _names(db, customers, vehicle_id) + _names_signed(db, private, vehicle_id)


def forget(db: Database, event_id: str) -> None:
    """Delete whom or what an event told of: it gave way to another of its id."""
    db.conn.execute("DELETE FROM customer WHERE event_id = ?", (event_id,))
    db.conn.execute("DELETE FROM event_text WHERE event_id = ?", (event_id,))


def erase_covered(db: Database, vehicle_id: str) -> CustomerNames:
    """Delete what the vehicle's erasures cover: all that was written before the latest of them.

    Of texts those go that the erasures name, and no others: so it comes to the same on every
    device, in whatever order their entries arrive. Of what is held back whatever names the
    customer goes. Returns what the erased customers were known
    as: there is more to clear than the tables.
    """
    erasures = db.conn.execute(_ERASURES, (vehicle_id,)).fetchall()
    if not erasures:
        return CustomerNames()
    names = names_covered(db, vehicle_id)
    for _, event_ids in erasures:
        text_table.delete(db, vehicle_id, json.loads(event_ids or "[]"))
    named = {one for _, event_ids in erasures for one in json.loads(event_ids or "[]")}
    erase_held(db, vehicle_id, names, named)
    for statement in _COVERED.values():
        db.conn.execute(f"DELETE {statement}", {"vehicle": vehicle_id})
    return names


def unlisted_texts(db: Database, vehicle_id: str, names: CustomerNames) -> list[str]:
    """Return the events from before an erasure that name the customer and that it did not know."""
    erasures = db.conn.execute(_ERASURES, (vehicle_id,)).fetchall()
    if not erasures:
        return []
    return text_table.naming(db, vehicle_id, names, before=erasures[-1][0])


def erase_all(
    db: Database, vehicle_id: str, names: CustomerNames, event_ids: Iterable[str] = ()
) -> None:
    """Delete all that names the vehicle's customers, whenever it was written.

    ``names`` is what else they are known as, ``event_ids`` are further texts that name them.
    """
    there = set(db.table_names())  # a copy may be of an older release
    if "event_text" in there:
        text_table.delete(db, vehicle_id, tuple(event_ids))
        known = names + names_of(db, vehicle_id)
        text_table.delete(db, vehicle_id, text_table.naming(db, vehicle_id, known))
    for table in _COVERED.keys() & there:
        db.conn.execute(f"DELETE FROM {table} WHERE vehicle_id = ?", (vehicle_id,))


def _names(db: Database, source: str, vehicle_id: str) -> CustomerNames:
    rows = db.conn.execute(f"SELECT name, contact FROM {source}", {"vehicle": vehicle_id})
    return CustomerNames.of(Customer(name=name, contact=contact) for name, contact in rows)


def _names_signed(db: Database, source: str, vehicle_id: str) -> CustomerNames:
    rows = db.conn.execute(f"SELECT private FROM {source}", {"vehicle": vehicle_id})
    signed = [json.loads(text) for (text,) in rows]
    return CustomerNames.of(
        customer
        for one in signed
        for customer in (
            Customer(**one["customer"]),
            Customer(name=one["customer_signature"].get("name", "")),
        )
    )
