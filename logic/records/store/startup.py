"""Opening a store's file: look it over, rescue it if it is damaged, bring it up to date."""

from __future__ import annotations

import sqlite3
from collections import deque
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from logic.errors import StoreDamagedError
from logic.records.store import ledger, present, rescue, sealed
from logic.records.store.database import (
    complaint_of,
    damaged,
    open_database,
    spoken_errors,
    transaction,
)
from logic.records.store.migrations import migrate

if TYPE_CHECKING:
    from sqlite_utils import Database

# Bytes up to which every page is read at each start; a larger store's pages are read by each
# rolling backup instead, so that opening stays quick. Assumed: some 15,000 entries, 20 ms.
CHECK_AT_OPEN = 8_000_000


def open_sound(path: Path) -> tuple[Database, list[str]]:
    """Open a store's file, rescued if need be, and say in words what was found.

    Raises
    ------
    RecordError
        The file cannot be used; says what to do.
    """
    notices: list[str] = []
    with spoken_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        rescue.finish(path)
        gone = rescue.is_gone(path)
    if gone:
        notices.append(rescue.rescue(path).told("there was nothing in its place"))
    try:
        return _checked(path), notices
    except StoreDamagedError as error:
        notices.append(rescue.rescue(path).told(error.found))
        _marker(path).unlink(missing_ok=True)
        return _checked(path), notices


def ask_for_check(path: Path) -> None:
    """Have everything read when the store is next opened, whatever its size."""
    with suppress(OSError):  # where storage is so full or ill, the next error will tell
        _marker(path).touch()


def _checked(path: Path) -> Database:
    db = open_database(path)
    try:
        with spoken_errors(path):
            _look_over(db, path)
            migrate(db)
    except sqlite3.DatabaseError as error:
        # Not one of the storage's troubles: the file's own tables do not fit together.
        db.close()
        raise damaged(str(error)) from error
    except BaseException:
        db.close()
        raise
    return db


def _look_over(db: Database, path: Path) -> None:
    asked = _marker(path).exists()
    if (asked or path.stat().st_size <= CHECK_AT_OPEN) and (found := complaint_of(db.conn)):
        raise damaged(found)
    if asked:
        # Something could not be read last time: read everything, which raises what it finds.
        with transaction(db):
            present.rebuild(db)
        deque(ledger.all_events(db), maxlen=0)
        deque(sealed.every(db), maxlen=0)
        _marker(path).unlink(missing_ok=True)


def _marker(path: Path) -> Path:
    return path.with_name(f"{path.name}.check")
