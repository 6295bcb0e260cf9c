"""Words of a person in what is held back: found by an erasure, and never taken in after it.

Once a customer is erased nobody here knows the name any more, so that a line which is let go
later cannot be searched for it. What was written before a vehicle's latest erasure therefore
loses its words when it is held back or let go, whomever they name: a customer and a text go as a
whole, an entry without a signature keeps all else. In a signed one they lie apart already.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from logic.records.customer_names import CustomerNames
from logic.records.store import text_table
from logic.records.store.held_back import Held

if TYPE_CHECKING:
    from sqlite_utils import Database

_LINES = (
    "SELECT part, vehicle_id, event_id, at, why, key, line FROM held_back WHERE vehicle_id = ?"
    " ORDER BY at, sha256"
)
_COVERED = (
    "SELECT 1 FROM event WHERE vehicle_id = ? AND kind = 'customer_erased' AND at > ? LIMIT 1"
)


@dataclass(frozen=True)
class HeldWords:
    """A line that is held back, with every word in it."""

    held: Held
    words: tuple[str, ...]

    def surely_name(self, names: CustomerNames) -> bool:
        """Whether they name the customer for sure."""
        return any(map(names.surely_in, self.words))


def held_words(db: Database, vehicle_id: str) -> Iterator[HeldWords]:
    """Yield what is held back of a vehicle."""
    for row in db.conn.execute(_LINES, (vehicle_id,)).fetchall():
        held = Held(*row)
        yield HeldWords(held, tuple(_words(json.loads(held.line))))


def erase_held(
    db: Database, vehicle_id: str, names: CustomerNames, event_ids: Collection[str]
) -> None:
    """Delete what is held back of a vehicle and names the customer, or is of one of the events.

    A signed record stays: it would no longer be what was signed.
    """
    for one in held_words(db, vehicle_id):
        has_words = one.held.part == "customer" or _free_texts(one.held)
        chosen = one.held.event_id in event_ids and has_words
        if one.held.part != "sealed" and (chosen or one.surely_name(names)):
            db.conn.execute("DELETE FROM held_back WHERE sha256 = ?", (one.held.sha256,))


def without_erased_words(db: Database, held: Held) -> Held | None:
    """Return a line as it may be kept or let go; ``None`` where nothing of it may.

    An entry that is here already is left as it is: it is compared with that one.
    """
    if not db.conn.execute(_COVERED, (held.vehicle_id, held.at)).fetchone():
        return held
    if held.part == "customer":
        return None
    is_here = "SELECT 1 FROM event WHERE event_id = ?"
    if held.part == "sealed" or db.conn.execute(is_here, (held.event_id,)).fetchone():
        return held
    event = json.loads(held.line)
    if "signature" in event or not _free_texts(held):
        return held
    event["body"] = text_table.without_texts(event["body"])
    return replace(held, line=json.dumps(event, ensure_ascii=False))


def _free_texts(held: Held) -> bool:
    return held.part == "event" and bool(text_table.free_texts(json.loads(held.line)["body"]))


def _words(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from _words(one)
    elif isinstance(value, list):
        for one in value:
            yield from _words(one)
