"""The table ``event_text``: what a person wrote freely, apart from its event, so that it can go.

An event is never changed, and any words in it may name the customer. So every free text lies
here, one row an event, and the event holds a salted digest of it: that proves what was written as
long as it is there, and tells nothing once it is erased. Events of release 0.1.0 hold their words
themselves and stay as they are.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Collection
from typing import TYPE_CHECKING, Any

from logic.records.customer_names import CustomerNames
from logic.records.seal import digest
from logic.records.store.database import Row

if TYPE_CHECKING:
    from sqlite_utils import Database

LEFT_OUT = "(not kept: erased, left out or lost)"
"""What stands in an event in place of each text that lies apart, and is read once that is gone."""

# Where each kind of event holds words of a person.
FREE_TEXTS = {
    "vehicle_described": ("vehicle.description",),
    "installation_described": (
        "installation.charger.profile_note",
        "installation.charger.model",
        "installation.charger.serial_number",
        "installation.charger.fitted_by",
    ),
    "job_opened": ("complaint",),
    "step_answered": ("answer.text",),
    "step_skipped": ("reason",),
    "step_noted": ("text",),
    "photo_taken": ("caption",),
    "exception_explained": ("explanation",),
    "cause_concluded": ("cause", "repair"),
    "job_reopened": ("reason",),
}
MARK = '"texts_sha256"'
COLUMNS = ("event_id", "vehicle_id", "salt", "texts")

Texts = dict[str, str]


def taken_apart(body: dict[str, Any]) -> tuple[dict[str, Any], str, Texts]:
    """Return an event's body as it is stored, with the salt and the texts that lie apart.

    A body without free text comes back as it is.
    """
    texts = {path: text for path in _paths(body) if (text := _at(body, path))}
    if not texts or body.get("texts_sha256"):
        return body, "", {}
    salt = secrets.token_hex(16)
    stored = json.loads(json.dumps(body))
    for path in texts:
        _put(stored, path, LEFT_OUT)
    return stored | {"texts_sha256": text_digest(salt, texts)}, salt, texts


def put_together(text: str, texts: Texts) -> str:
    """Return a stored body's JSON with its texts where they belong."""
    body = json.loads(text)
    del body["texts_sha256"]
    for path in _paths(body):
        if path in texts:
            _put(body, path, texts[path])
    return json.dumps(body)


def text_digest(salt: str, texts: Texts) -> str:
    """Return the digest that stands in the event for the texts that lie apart."""
    return digest({"salt": salt, "texts": texts})


def free_texts(body: dict[str, Any]) -> Texts:
    """Return the words of a person in an event's body, by where they stand."""
    found = {path: _at(body, path) for path in _paths(body)}
    return {path: text for path, text in found.items() if text and text != LEFT_OUT}


def without_texts(body: dict[str, Any]) -> dict[str, Any]:
    """Return an event's body with :data:`LEFT_OUT` in place of each text in it."""
    stored: dict[str, Any] = json.loads(json.dumps(body))
    for path in free_texts(body):
        _put(stored, path, LEFT_OUT)
    return stored


def texts_of(db: Database, vehicle_id: str) -> dict[str, Texts]:
    """Return a vehicle's texts that are still there, by event."""
    rows = db.conn.execute(
        "SELECT event_id, texts FROM event_text WHERE vehicle_id = ?", (vehicle_id,)
    )
    return {event_id: json.loads(texts) for event_id, texts in rows}


def rows_of(db: Database, vehicle_id: str, but: CustomerNames | None = None) -> list[Row]:
    """Return a vehicle's texts as rows of ``COLUMNS``, but those that may name somebody."""
    rows = db.conn.execute(
        f"SELECT {', '.join(COLUMNS)} FROM event_text WHERE vehicle_id = ? ORDER BY event_id",
        (vehicle_id,),
    ).fetchall()
    if not but:
        return rows
    return [row for row in rows if not _may_name(but, json.loads(row[3]))]


def naming(db: Database, vehicle_id: str, names: CustomerNames, before: str = "") -> list[str]:
    """Return the events whose texts surely name the customer, told before a time if one is given.

    ``before`` is a row's ``at`` and ``event_id``, joined.
    """
    if not names:
        return []
    rows = db.conn.execute(
        "SELECT t.event_id, t.texts FROM event_text AS t JOIN event AS e USING (event_id)"
        " WHERE t.vehicle_id = ?1 AND (?2 = '' OR e.at || e.event_id < ?2) ORDER BY e.at",
        (vehicle_id, before),
    )
    return [
        event_id
        for event_id, texts in rows
        if any(map(names.surely_in, json.loads(texts).values()))
    ]


def write(db: Database, row: Row) -> bool:
    """Keep a row of ``COLUMNS`` and say whether it is new; one that is there is left alone."""
    added = db.conn.execute("INSERT OR IGNORE INTO event_text VALUES (?, ?, ?, ?)", row)
    return bool(added.rowcount)


def delete(db: Database, vehicle_id: str, event_ids: Collection[str]) -> None:
    """Delete the texts of a vehicle's events; another vehicle's stay, whoever names them."""
    many = [(event_id, vehicle_id) for event_id in event_ids]
    db.conn.executemany("DELETE FROM event_text WHERE event_id = ? AND vehicle_id = ?", many)


def _may_name(names: CustomerNames, texts: Texts) -> bool:
    return any(names.surely_in(text) or names.maybe_in(text) for text in texts.values())


def _paths(body: dict[str, Any]) -> tuple[str, ...]:
    return FREE_TEXTS.get(str(body.get("kind")), ())


def _at(body: dict[str, Any], path: str) -> str:
    value: Any = body
    for name in path.split("."):
        value = value.get(name) if isinstance(value, dict) else None
    return value if isinstance(value, str) else ""


def _put(body: dict[str, Any], path: str, text: str) -> None:
    *way, last = path.split(".")
    for name in way:
        body = body[name]
    body[last] = text
