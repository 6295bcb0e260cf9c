"""A damaged store: set it aside, save every row that proves itself, say what happened.

Each saved row is checked on its own (an event must read as one, a signed record must fit its
hash, a customer or a text the digest in the event), so nothing damaged gets into the new store.
What the damaged file no longer holds is filled in from the newest sound backup.
"""

from __future__ import annotations

import json
import re
import sqlite3
from collections import deque
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from logic.errors import RecordError
from logic.records.chain import SIGNED, Link, is_signed
from logic.records.keys import ask_for_new_key
from logic.records.seal import digest
from logic.records.store import backup, event_table, sealed_table, text_table, vehicle_table
from logic.records.store.carve import Value, rows
from logic.records.store.database import (
    errors_in_words,
    open_database,
    open_for_reading,
    transaction,
)
from logic.records.store.migrations import migrate
from logic.records.store.private_tables import customer_digest, erase_covered
from logic.records.trusted_keys import KeyStatement
from logic.vehicle.identity import Customer
from logic.words.dates import day_and_time

if TYPE_CHECKING:
    from sqlite_utils import Database


@dataclass(frozen=True)
class Rescue:
    """What was saved: entries from the damaged file, from a backup, and how many are gone."""

    entries: int
    from_backup: int
    missing: int
    backup: Path | None
    aside: Path | None

    def summary(self, why: str) -> str:
        """Say it in words for the technician; ``why`` the file was not used."""
        missing = (
            f"About {self.missing} are missing: look through the latest jobs before you go on."
            if self.missing
            else "As far as can be seen nothing is missing."
        )
        aside = f"The damaged file was set aside in {self.aside.parent}. " if self.aside else ""
        filled = (
            f", and {self.from_backup} more from backups, the newest of "
            f"{day_and_time(backup.taken_at(self.backup))} UTC"
            if self.backup and self.from_backup
            else ""
        )
        return (
            f"The file with the records was damaged or gone ({why}). {aside}{self.entries} entries "
            f"were read back from it{filled}. {missing}"
        )


def rescue(path: Path) -> Rescue:
    """Build a sound store from a damaged one and replace that with it.

    A kill at any moment leaves either the damaged store or the rescued one.

    Raises
    ------
    RecordError
        The new file cannot be written; the damaged one is where it was.
    """
    unfinished, ready = _beside(path, "unfinished"), _beside(path, backup.RESCUED)
    with errors_in_words(path):
        _delete(unfinished)
        with closing(open_database(unfinished)) as db:
            migrate(db)
            with transaction(db):
                entries, highest = _save_rows(db, path)
                source, added = _fill_from_backups(db, path.parent, highest)
                _finish_tables(db)
            # One file without journals, so that a single rename is enough.
            db.conn.execute("PRAGMA journal_mode=DELETE")
        unfinished.replace(ready)
    ask_for_new_key(path.parent)
    missing = max(0, highest - entries - added)
    return Rescue(entries, added, missing, source, backup.finish_rescue(path))


def read_everything(db: Database) -> None:
    """Work the lists out anew and read every event and record: raises what cannot be read."""
    with transaction(db):
        vehicle_table.rebuild(db)
    deque(event_table.all_events(db), maxlen=0)
    deque(sealed_table.every(db), maxlen=0)
    sealed_table.refuse_changed(db)
    event_table.refuse_changed(db)


def _save_rows(db: Database, path: Path) -> tuple[int, int]:
    highest = 0
    for carved in rows(path):
        for table, fits in _FITTING.items():
            if fits(carved.values):
                highest = max(highest, carved.number if table == "event" else 0)
                # Settings are overwritten in life, so the copy found last is the newest.
                _put(db, table, carved.values, "REPLACE" if table in _MUTABLE else "IGNORE")
    _drop_unproven(db)
    return _count(db), highest


def _put(db: Database, table: str, row: tuple[Value, ...], conflict: str) -> None:
    if table == "event":
        row = row[1:]  # it gets a new number in the order of arrival
    elif table == "bookmark":
        row = (1, *row[1:])
    if table in ("event", "sealed"):
        width = len(event_table.COLUMNS) if table == "event" else _SEALED_LENGTHS[-1]
        row = (*row, *(None,) * (width - len(row)))
    columns = f"({', '.join(event_table.COLUMNS)})" if table == "event" else ""
    marks = ", ".join("?" * len(row))
    db.conn.execute(f"INSERT OR {conflict} INTO {table} {columns} VALUES ({marks})", row)


def _fill_from_backups(db: Database, folder: Path, highest: int) -> tuple[Path | None, int]:
    """Add what backups still have, newest first, until nothing is missing."""
    before, newest = _count(db), None
    for path in backup.backups(folder):
        with suppress(sqlite3.DatabaseError), closing(open_for_reading(path)) as source:
            there = {name for (name,) in source.execute("SELECT name FROM sqlite_master")}
            for table in _FITTING:
                if table in there:  # a copy may be of an older release
                    _copy_table(db, source, table)
            newest = newest or path
        if highest and _count(db) >= highest:
            break
    return newest, _count(db) - before


def _copy_table(db: Database, source: sqlite3.Connection, table: str) -> None:
    # A copy may have been taken when a row was spoilt already, so these prove themselves too.
    source.text_factory = lambda data: data.decode(errors="replace")
    for row in source.execute(f"SELECT * FROM {table}"):
        hidden = (None, *row[1:]) if table in ("event", "bookmark") else row
        if _FITTING[table](hidden):
            _put(db, table, hidden, "IGNORE")


def _finish_tables(db: Database) -> None:
    _drop_unproven(db)
    vehicle_table.rebuild(db)
    for (vehicle_id,) in db.conn.execute(
        "SELECT DISTINCT vehicle_id FROM event WHERE kind = 'customer_erased'"
    ).fetchall():
        erase_covered(db, vehicle_id)


def _drop_unproven(db: Database) -> None:
    """Let go of names, texts and signatures that do not fit the digest that was written down."""
    customers = db.conn.execute(
        "SELECT c.event_id, c.salt, c.name, c.contact, e.body"
        " FROM customer AS c LEFT JOIN event AS e USING (event_id)"
    ).fetchall()
    for event_id, salt, name, contact, body in customers:
        customer = Customer.model_construct(name=name, contact=contact)
        if not body or json.loads(body).get("sha256") != customer_digest(salt, customer):
            db.conn.execute("DELETE FROM customer WHERE event_id = ?", (event_id,))
    texts = db.conn.execute(
        "SELECT t.event_id, t.salt, t.texts, e.body"
        " FROM event_text AS t LEFT JOIN event AS e USING (event_id)"
    ).fetchall()
    for event_id, salt, told, body in texts:
        stated = json.loads(body).get("texts_sha256") if body else None
        if stated != text_table.text_digest(salt, json.loads(told)):
            db.conn.execute("DELETE FROM event_text WHERE event_id = ?", (event_id,))
    private = db.conn.execute(
        "SELECT p.sha256, p.private, s.record"
        " FROM sealed_private AS p LEFT JOIN sealed AS s USING (sha256)"
    ).fetchall()
    for record_sha256, text, record in private:
        if not record or json.loads(record).get("private_sha256") != _digest_of(text):
            db.conn.execute("DELETE FROM sealed_private WHERE sha256 = ?", (record_sha256,))


def _count(db: Database) -> int:
    return int(db.conn.execute("SELECT count(*) FROM event").fetchone()[0])


def _beside(path: Path, ending: str) -> Path:
    return path.with_name(f"{path.name}.{ending}")


def _delete(path: Path) -> None:
    for end in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + end).unlink(missing_ok=True)


def _id(value: Value) -> bool:
    return isinstance(value, str) and re.fullmatch("[0-9a-f]{32}", value) is not None


def _texts(values: tuple[Value, ...]) -> bool:
    return all(isinstance(value, str) for value in values)


def _is_event(row: tuple[Value, ...]) -> bool:
    if len(row) not in _EVENT_LENGTHS or row[0] is not None or not _texts((*row[1:3], *row[4:8])):
        return False
    if (link := _link(row)) is None:
        return False
    try:
        if row[6] == "customer_described":
            reads = set(json.loads(str(row[7]))) == {"kind", "sha256"}
        else:
            reads = event_table.event_of(row[1:]).body.kind == row[6]
        # A flipped bit in a signed event shows even where it still reads as one.
        return reads and (not link or is_signed(event_table.as_exchanged(row[1:])))
    except (RecordError, ValueError, TypeError):
        return False


def _link(row: tuple[Value, ...]) -> dict[str, Value] | None:
    """Return what signs an event's row, {} where it is not signed, ``None`` where it cannot be."""
    signed = row[8:]
    if not any(value is not None for value in signed):
        return {}
    try:
        return Link.model_validate(dict(zip(SIGNED, signed, strict=True))).model_dump()
    except ValueError:
        return None


def _is_customer(row: tuple[Value, ...]) -> bool:
    return len(row) == 5 and _texts(row) and all(_id(value) for value in row[:3])


def _is_text(row: tuple[Value, ...]) -> bool:
    if len(row) != 4 or not _texts(row) or not all(_id(value) for value in row[:3]):
        return False
    try:
        told = json.loads(str(row[3]))
    except (ValueError, RecursionError):
        return False
    return isinstance(told, dict) and all(isinstance(text, str) for text in told.values())


def _is_sealed(row: tuple[Value, ...]) -> bool:
    return (
        len(row) in _SEALED_LENGTHS
        and isinstance(row[4], int)
        and _texts((*row[:4], *row[5:8]))
        and _digest_of(row[6]) == row[0]
        and _digest_of(row[7]) != ""
        and all(value is None or _digest_of(value) != "" for value in row[8:])
    )


def _is_key_statement(row: tuple[Value, ...]) -> bool:
    if len(row) != 5 or not _texts(row) or _digest_of(row[4]) != row[0]:
        return False
    try:
        return KeyStatement.model_validate_json(str(row[4])).is_signed
    except ValueError:
        return False


def _is_held_back(row: tuple[Value, ...]) -> bool:
    return len(row) == 8 and _texts(row) and sha256(str(row[7]).encode()).hexdigest() == row[0]


def _is_private(row: tuple[Value, ...]) -> bool:
    return len(row) == 3 and _texts(row) and _id(row[1]) and _digest_of(row[2]) != ""


def _is_setting(row: tuple[Value, ...]) -> bool:
    return len(row) == 2 and _texts(row) and _digest_of(row[1]) != ""


def _is_bookmark(row: tuple[Value, ...]) -> bool:
    return len(row) == 2 and row[0] is None and _digest_of(row[1]) != ""


def _digest_of(text: Value) -> str:
    try:
        return digest(json.loads(str(text)))
    except (ValueError, RecursionError):
        return ""


# A row of release 0.1.0 ends before what signs it.
_EVENT_LENGTHS = (8, 8 + len(SIGNED))
_SEALED_LENGTHS = (8, 9)

_FITTING: dict[str, Callable[[tuple[Value, ...]], bool]] = {
    "event": _is_event,
    "sealed": _is_sealed,
    "customer": _is_customer,
    "sealed_private": _is_private,
    "key_statement": _is_key_statement,
    "held_back": _is_held_back,
    "setting": _is_setting,
    "bookmark": _is_bookmark,
    "event_text": _is_text,
}
_MUTABLE = ("setting", "bookmark")
