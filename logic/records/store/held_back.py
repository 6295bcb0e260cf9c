"""The table ``held_back``: what came from another device and may not be taken in, or not yet.

Nothing in it counts for a vehicle's state. A line of a customer never stays here once the
customer is erased, and a signed record lies here without its private part.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from sqlite_utils import Database

Part = Literal["event", "customer", "sealed"]
Why = Literal["key", "date", "erasure", "kind", "other", "displaced", "waits"]

FOR_GOOD: tuple[Why, ...] = ("other", "displaced")
"""What is kept to be looked at only, and is never taken in later."""

WORDS: dict[Why, str] = {
    "key": "signed by a key that this workshop does not know, or by none",
    "date": "dated ahead: a clock was set wrong",
    "erasure": "the erasure of a customer, not agreed to",
    "kind": "written by a newer version of the app",
    "other": "another version of an entry that is here",
    "displaced": "taken out again, because the signed version came",
    "waits": "waiting for the entry that it belongs to",
}


@dataclass(frozen=True)
class Held:
    """One line that is held back; ``key`` is who signed it or the file it came in, "" for none."""

    part: Part
    vehicle_id: str
    event_id: str
    at: str
    why: Why
    key: str
    line: str

    @property
    def sha256(self) -> str:
        """The SHA-256 of the line."""
        return sha256(self.line.encode()).hexdigest()


def put(db: Database, held: Held) -> bool:
    """Hold a line back, for the latest reason; say whether it is new here."""
    known = db.conn.execute("SELECT why FROM held_back WHERE sha256 = ?", (held.sha256,)).fetchone()
    if known and known[0] in FOR_GOOD:
        return False
    db.conn.execute(
        "INSERT OR REPLACE INTO held_back VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (
            held.sha256,
            held.part,
            held.vehicle_id,
            held.event_id,
            held.at,
            held.why,
            held.key,
            held.line,
        ),
    )
    return known is None


def release(db: Database, held: Held) -> None:
    """Let go of a line that was taken in."""
    db.conn.execute("DELETE FROM held_back WHERE sha256 = ?", (held.sha256,))


_NOT_FOR_GOOD = f"why NOT IN ({', '.join('?' * len(FOR_GOOD))})"
_MAY_GO = (
    "SELECT part, vehicle_id, event_id, at, why, key, line FROM held_back AS held"
    " WHERE why = 'date' AND at <= :latest"
    " OR why IN ('key', 'kind') AND key IN (SELECT value FROM json_each(:trusted))"
    " OR part = 'customer' AND EXISTS (SELECT 1 FROM event WHERE event_id = held.event_id)"
    " OR part = 'sealed' AND EXISTS (SELECT 1 FROM event WHERE vehicle_id = held.vehicle_id"
    " AND kind = 'job_signed')"
    " ORDER BY CASE part WHEN 'event' THEN 0 WHEN 'customer' THEN 1 ELSE 2 END, at, sha256"
)


def that_may_go(db: Database, trusted: Collection[str], latest: str) -> list[Held]:
    """Return what may be taken in now, events before what belongs to them.

    ``trusted`` are the keys that are believed, ``latest`` the latest time that is believed.
    """
    given = {"latest": latest, "trusted": json.dumps(sorted(trusted))}
    return [Held(*row) for row in db.conn.execute(_MAY_GO, given).fetchall()]


def every(db: Database) -> list[Held]:
    """Return all that may be taken in some day."""
    rows = db.conn.execute(
        "SELECT part, vehicle_id, event_id, at, why, key, line FROM held_back"
        f" WHERE {_NOT_FOR_GOOD} ORDER BY part, at, sha256",
        FOR_GOOD,
    )
    return [Held(*row) for row in rows.fetchall()]


def release_event(db: Database, event_id: str) -> None:
    """Let go of whatever of an event waits: it was taken in."""
    db.conn.execute(
        f"DELETE FROM held_back WHERE event_id = ? AND part = 'event' AND {_NOT_FOR_GOOD}",
        (event_id, *FOR_GOOD),
    )


def count(db: Database) -> int:
    """Count the lines that are held back."""
    return int(db.conn.execute("SELECT count(*) FROM held_back").fetchone()[0])


def of_later_versions(db: Database, vehicle_id: str) -> Iterator[str]:
    """Yield the lines of a vehicle that only a newer version of the app can read."""
    for (line,) in db.conn.execute(
        "SELECT line FROM held_back WHERE vehicle_id = ? AND part = 'event' AND why = 'kind'"
        " ORDER BY at, sha256",
        (vehicle_id,),
    ):
        yield str(line)


def counted(db: Database) -> dict[Why, int]:
    """Count what is held back, by reason."""
    return dict(db.conn.execute("SELECT why, count(*) FROM held_back GROUP BY why").fetchall())
