"""The table ``key_statement`` and this device's own keys: whom this device believes."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from logic.errors import RecordError
from logic.records import trusted_keys
from logic.records.keys import DeviceKey, is_weak, key_id
from logic.records.seal import canonical
from logic.records.store import event_table
from logic.records.store.database import damaged, timestamp
from logic.records.store.settings import setting
from logic.records.trusted_keys import KeyStatement, Standing, WorkshopKey, stated

if TYPE_CHECKING:
    from sqlite_utils import Database

_MOMENT = timedelta(microseconds=1)
_OWN = "own_keys"
_PUT_SETTING = (
    "INSERT INTO setting (name, value) VALUES (?, ?)"
    " ON CONFLICT (name) DO UPDATE SET value = excluded.value"
)


def own_keys(db: Database) -> tuple[str, ...]:
    """Return the public keys that this device has signed with, the present one last."""
    return tuple(setting(db.conn, _OWN, ()))


def remember_own(db: Database, key: DeviceKey, name: str, retired: DeviceKey | None = None) -> None:
    """Note that this device signs with a key, and have the key say so under a name.

    ``retired`` is the key that it signed with until now, which vouches for the new one.
    """
    known = own_keys(db)
    if known and known[-1] == key.public:
        return
    if retired:
        add(db, stated(retired, key.public, name, "trusted", datetime.now(UTC)))
    own = [*(public for public in known if public != key.public), key.public]
    # Inside the caller's transaction: a new key without its first event would be none.
    db.conn.execute(_PUT_SETTING, (_OWN, json.dumps(own)))
    add(db, stated(key, key.public, name, "trusted", datetime.now(UTC)))


def workshop_keys(db: Database) -> dict[str, WorkshopKey]:
    """Return what is to be thought of each key that is the workshop's, or was."""
    return trusted_keys.workshop_keys(statements(db), own_keys(db))


def statements(db: Database) -> tuple[KeyStatement, ...]:
    """Return every statement about a key that its author signed, oldest first.

    Another program may have put one into the file that nobody signed: it says nothing.
    """
    rows = db.conn.execute("SELECT statement FROM key_statement ORDER BY at, sha256")
    try:
        found = [signed_statement(text) for (text,) in rows]
    except ValueError as error:
        raise damaged("a statement about a key cannot be read") from error
    return tuple(one for one in found if one)


@lru_cache(maxsize=20_000)  # the check of a signature takes far longer than all else
def signed_statement(text: str) -> KeyStatement | None:
    """Read a stored statement; ``None`` where it is not signed by whom it names.

    Raises
    ------
    ValueError
        It is no statement.
    """
    statement = KeyStatement.model_validate_json(text)
    return statement if statement.is_signed else None


def add(db: Database, statement: KeyStatement) -> bool:
    """Keep a statement whose signature was checked; say whether it is new here."""
    added = db.conn.execute(
        "INSERT OR IGNORE INTO key_statement VALUES (?, ?, ?, ?, ?)",
        (
            statement.sha256,
            statement.key,
            statement.by,
            timestamp(statement.at),
            canonical(statement.model_dump(mode="json")).decode(),
        ),
    )
    return bool(added.rowcount)


def say(db: Database, own: DeviceKey, public: str, name: str, standing: Standing) -> None:
    """Have this device say of a key that it is the workshop's, or no longer is.

    Raises
    ------
    RecordError
        It is no key, another has its short name, or it is this device's present one.
    """
    if not re.fullmatch(r"[0-9a-f]{64}", public) or is_weak(public):
        raise RecordError(
            "This is no key: a key is 64 digits, 0 to 9 and a to f. Copy or scan it again."
        )
    if public == own.public and standing == "withdrawn":
        raise RecordError(
            "This is the key that this device signs with. To give it up, withdraw it on another "
            "device of the workshop."
        )
    known = workshop_keys(db)
    if any(one.key_id == key_id(public) and one.public != public for one in known.values()):
        raise RecordError(
            "Another key has the same short name, which does not happen by chance. Do not trust "
            "this one; ask whoever gave it to you for a new one."
        )
    at = datetime.now(UTC)
    if public in known:  # a clock that was set back must not make this word the older one
        at = max(at, known[public].at + _MOMENT)
    add(db, stated(own, public, name, standing, at))


def chain_heads(db: Database) -> dict[str, tuple[int, str]]:
    """Return each device's last signed event here, by public key: its number and its digest."""
    keys = db.conn.execute("SELECT DISTINCT key FROM event WHERE key IS NOT NULL ORDER BY key")
    found = {}
    for (public,) in keys.fetchall():
        number, digest = event_table.head_of(db, public)
        if digest:
            found[public] = (number, digest)
    return found
