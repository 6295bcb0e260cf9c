"""What is typed and not yet given (bookmark, drafts, signing form), when a customer is erased."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from logic.records.customer_names import CustomerNames
from logic.records.store import bookmark as bookmarks
from logic.vehicle.identity import Customer

if TYPE_CHECKING:
    from sqlite_utils import Database

SIGNING = "signing"
"""The setting that holds what is given to sign a job with, until it is sealed."""
WRITTEN = "written_elsewhere"
"""The setting in which the desk notes what it wrote outside the store's folder, and where."""
UNLISTED = "texts_to_erase"
"""The setting with the ids of texts that an erasure from another device did not know of."""

# The technician's own details; a label's text, which names no customer; what the desk wrote.
_NOBODYS = ("technician", "meter", "labels", "device", "own_keys", WRITTEN, UNLISTED)


def remember_unlisted(db: Database, event_ids: Collection[str]) -> None:
    """Keep the ids of texts that an erasure did not know of, until this device erases them."""
    if event_ids:
        both = sorted({*unlisted(db), *event_ids})
        row = (UNLISTED, json.dumps(both))
        db.conn.execute("INSERT OR REPLACE INTO setting VALUES (?, ?)", row)


def unlisted(db: Database) -> list[str]:
    """Return the ids that :func:`remember_unlisted` keeps."""
    row = db.conn.execute("SELECT value FROM setting WHERE name = ?", (UNLISTED,)).fetchone()
    kept = _json(row[0]) if row else None
    return kept if isinstance(kept, list) else []


def forget_unlisted(db: Database) -> None:
    """Let go of the ids: the texts are erased."""
    db.conn.execute("DELETE FROM setting WHERE name = ?", (UNLISTED,))


def clear_unfinished(db: Database, vehicle_id: str, names: CustomerNames) -> None:
    """Clear bookmark, drafts and settings of whatever names a vehicle's customer, or may."""
    marked = bookmarks.bookmark(db.conn)
    if marked.unfinished and (
        marked.vehicle_id == vehicle_id
        or names.surely_in(marked.unfinished)
        or names.maybe_in(marked.unfinished)
    ):
        place = replace(marked, unfinished="")
        db.conn.execute("UPDATE bookmark SET place = ?", (bookmarks.written(place),))
    jobs = _jobs(db, vehicle_id)
    for name, text in db.conn.execute("SELECT name, value FROM setting").fetchall():
        value = _json(text)
        if name in _NOBODYS or value is None:
            continue
        cleared = _cleared(value, vehicle_id, names, inside=False)
        if name == SIGNING and isinstance(value, dict) and value.get("job_id") in jobs:
            cleared = {}
        if cleared != value:
            db.conn.execute(
                "UPDATE setting SET value = ? WHERE name = ?", (json.dumps(cleared), name)
            )


def _cleared(value: Any, vehicle_id: str, names: CustomerNames, *, inside: bool) -> Any:
    """Return a setting's value without texts that name the customer.

    ``inside`` what belongs to this vehicle a part of the name is enough: it is only unfinished.
    """
    if isinstance(value, str):
        named = names.surely_in(value) or (inside and names.maybe_in(value))
        return "" if named else value
    if isinstance(value, list):
        return [_cleared(one, vehicle_id, names, inside=inside) for one in value]
    if isinstance(value, dict):
        return {
            key: _cleared(one, vehicle_id, names, inside=inside or key == vehicle_id)
            for key, one in value.items()
            if not (inside and key.startswith("customer"))
        }
    return value


def names_unfinished(db: Database, vehicle_id: str) -> CustomerNames:
    """Return the names that are typed for a vehicle's customer and not yet given."""
    found = []
    jobs = _jobs(db, vehicle_id)
    for name, text in db.conn.execute("SELECT name, value FROM setting"):
        value = _json(text)
        if not isinstance(value, dict):
            continue
        if name == SIGNING and value.get("job_id") in jobs:
            found.append(Customer.model_construct(name=str(value.get("customer_name", ""))))
        draft = value.get(vehicle_id)
        if isinstance(draft, dict):
            typed, contact = (str(draft.get(f"customer.{key}", "")) for key in ("name", "contact"))
            found.append(Customer.model_construct(name=typed, contact=contact))
    return CustomerNames.of(found)


def _jobs(db: Database, vehicle_id: str) -> set[str]:
    rows = db.conn.execute("SELECT job_id FROM job WHERE vehicle_id = ?", (vehicle_id,))
    return {job_id for (job_id,) in rows}


def _json(text: str) -> Any:
    try:
        return json.loads(text)
    except ValueError:
        return None
