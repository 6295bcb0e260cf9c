"""One SQLite file: opened safely, its errors put in plain words.

``synchronous=FULL`` in WAL mode means that a commit returns only when the phone's storage has
it, which is what "saved" promises. ``secure_delete`` overwrites erased customer data.
"""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logic.errors import RecordError, StoreDamagedError

if TYPE_CHECKING:
    from sqlite_utils import Database

BUSY_SECONDS = 5.0
PAGE = 4096  # bytes
_PRAGMAS = (
    f"PRAGMA page_size={PAGE}",
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",
    "PRAGMA secure_delete=ON",
    "PRAGMA foreign_keys=ON",
    "PRAGMA trusted_schema=OFF",
)
_ADVICE = {
    sqlite3.SQLITE_FULL: (
        "The storage is full, so this was not saved. Free some space (old videos, other apps) "
        "and enter it again; everything before it is safe."
    ),
    sqlite3.SQLITE_READONLY: (
        "The records may not be written here, so this was not saved. Give the app leave to write "
        "to its folder, or take the write protection off {path}."
    ),
    sqlite3.SQLITE_BUSY: (
        "Another program is writing to the records, so this was not saved. Close that program "
        "or wait a moment, then try again."
    ),
    sqlite3.SQLITE_CANTOPEN: (
        "The records at {path} cannot be opened. Check that the folder is there and that the app "
        "may read and write it."
    ),
    sqlite3.SQLITE_IOERR: (
        "The storage refused to write, so this was not saved. It may be full or failing: free "
        "some space, export what you have, and try again."
    ),
}
_ADVICE[sqlite3.SQLITE_LOCKED] = _ADVICE[sqlite3.SQLITE_BUSY]
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT)


def wrap(connection: sqlite3.Connection) -> Database:
    """Hand a connection to sqlite-utils, without the numpy it would import for its types."""
    absent = "numpy" not in sys.modules
    if absent:
        sys.modules["numpy"] = None  # type: ignore[assignment]  # reads as "not installed"
    try:
        from sqlite_utils import Database
    finally:
        if absent:
            del sys.modules["numpy"]
    return Database(connection, execute_plugins=False)


def open_database(path: Path) -> Database:
    """Open or create the file as :func:`open_connection` does, for sqlite-utils."""
    return wrap(open_connection(path))


def open_connection(path: Path) -> sqlite3.Connection:
    """Open or create the file in WAL mode; each commit is on storage when it returns.

    Raises
    ------
    RecordError
        The file cannot be opened or written; says what to do.
    StoreDamagedError
        The file is not a sound database.
    """
    with errors_in_words(path):
        if complaint := _header_complaint(path):
            raise damaged(complaint)
        connection = sqlite3.connect(path, timeout=BUSY_SECONDS)
        try:
            for pragma in _PRAGMAS:
                connection.execute(pragma)
            return connection
        except BaseException:
            connection.close()
            raise


def damaged(what: str) -> StoreDamagedError:
    """Return the error for a file whose content cannot be trusted; ``what`` was found."""
    return StoreDamagedError(
        f"The records' file is damaged ({what}). Close the app and open it again: what can be "
        "read is then rescued.",
        what,
    )


def open_for_reading(path: Path) -> sqlite3.Connection:
    """Open a file that is only looked at."""
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=BUSY_SECONDS)


def complaint_of(connection: sqlite3.Connection) -> str:
    """Return what is wrong with the whole file, or "" where every page is in order."""
    try:
        answer = str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
    except sqlite3.DatabaseError as error:
        return str(error)
    return "" if answer == "ok" else answer.splitlines()[-1]


def timestamp(at: datetime) -> str:
    """Write a time so that times sort as text: UTC, microseconds, Z."""
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


@contextmanager
def transaction(database: Database) -> Iterator[Database]:
    """Do all of it or nothing; the writer's lock is taken first, so none can fail half way."""
    connection = database.conn
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield database
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


@contextmanager
def errors_in_words(path: Path) -> Iterator[None]:
    """Turn SQLite's errors into ours, which say what to do."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if code in _DAMAGED or "decode to UTF-8" in str(error):
            raise damaged(str(error)) from error
        if code in _ADVICE:
            raise RecordError(_ADVICE[code].format(path=path)) from error
        raise
    except UnicodeDecodeError as error:
        # From SQLite's own words about a table whose definition is no text any more.
        raise damaged(str(error)) from error
    except OSError as error:
        raise RecordError(
            f"{error.filename or path} cannot be used ({error.strerror or error}). Check that "
            "there is space and that the app may write there, then try again."
        ) from error


def _header_complaint(path: Path) -> str:
    """Look at what SQLite would only answer with "not writable" or "unsupported".

    References
    ----------
    "Database File Format", sqlite.org/fileformat2.html, 1.3: the first hundred bytes.
    """
    if not path.exists() or not path.stat().st_size:
        return ""
    with path.open("rb") as file:
        head = file.read(100)
    sound = (
        len(head) == 100
        and head.startswith(b"SQLite format 3\x00")
        and int.from_bytes(head[16:18], "big") == PAGE
        and head[18] in (1, 2)
        and head[19] in (1, 2)
        and head[20:24] == bytes((0, 64, 32, 32))
        and int.from_bytes(head[44:48], "big") <= 4
        and int.from_bytes(head[56:60], "big") <= 1
    )
    return "" if sound else "its first bytes are not those of a database"


Row = tuple[Any, ...]
