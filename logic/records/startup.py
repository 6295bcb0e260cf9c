"""Opening a store's file: look it over, rescue it if it is damaged, bring it up to date."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from logic.errors import StoreDamagedError
from logic.records import rescue
from logic.records.database import complaint_of, open_database, spoken_errors
from logic.records.migrations import migrate

if TYPE_CHECKING:
    from sqlite_utils import Database

# Bytes up to which every page is read at each start; a larger store's pages are read by each
# rolling backup instead, so that opening stays quick. Assumed: some 8,000 answers.
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
        why = str(error.__cause__ or error)
        notices.append(rescue.rescue(path).told(why))
        _marker(path).unlink(missing_ok=True)
        return _checked(path), notices


def ask_for_check(path: Path) -> None:
    """Have every page read when the store is next opened, whatever its size."""
    _marker(path).touch()


def _checked(path: Path) -> Database:
    db = open_database(path)
    try:
        with spoken_errors(path):
            asked = _marker(path).exists()
            if asked or path.stat().st_size <= CHECK_AT_OPEN:
                _refuse_damaged(db, path)
                _marker(path).unlink(missing_ok=True)
            migrate(db)
    except BaseException:
        db.close()
        raise
    return db


def _refuse_damaged(db: Database, path: Path) -> None:
    if complaint := complaint_of(db.conn):
        raise StoreDamagedError(complaint)


def _marker(path: Path) -> Path:
    return path.with_name(f"{path.name}.check")
