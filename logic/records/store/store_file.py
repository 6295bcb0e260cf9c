"""The store's file: opened, looked over, backed up, closed; and what the first screen reads of it.

That is the list of vehicles, the settings and the bookmark. The models of events and records,
pydantic and sqlite-utils are imported when :class:`logic.records.store.store.Store` is asked for
the first time: the app's first picture waits for none of them.
"""

from __future__ import annotations

import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import cached_property
from pathlib import Path
from threading import Thread
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from logic.errors import RecordError, StoreDamagedError
from logic.records.store import bookmark as bookmarks
from logic.records.store import settings, soundness, vehicle_list, write_ahead_log
from logic.records.store.backup import finish_rescue, is_gone, roll_in_background
from logic.records.store.bookmark import Bookmark
from logic.records.store.database import (
    complaint_of,
    damaged,
    errors_in_words,
    open_connection,
    wrap,
)
from logic.records.store.file_schema import put_right
from logic.records.store.migrations import is_up_to_date, migrate
from logic.records.store.vehicle_list import VehicleRow

if TYPE_CHECKING:
    from sqlite_utils import Database

    from logic.records.keys import Wrapping
    from logic.records.store.rescue import Rescue

FILE = "voltwalk.db"

# Bytes up to which every page is read at each start; a larger store's pages are read by each
# rolling backup instead, so that opening stays quick. Assumed: some 15,000 entries, 20 ms.
CHECK_AT_OPEN = 8_000_000


class StoreFile:
    """Open with :meth:`open`; close it, or use it as a context manager.

    It belongs to the thread that opened it.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, notices: list[str]) -> None:
        self.folder = path.parent
        self.device = ""
        self._path = path
        self._connection = connection
        self._notices = notices
        self._backup: Thread | None = None
        self._reading: soundness.Reading | None = None
        self._marked = ""
        self._wrapping: Wrapping | None = None

    # The file: opened, looked over, backed up, closed.

    @classmethod
    def open(cls, folder: Path, device: str = "", wrapping: Wrapping | None = None) -> Self:
        """Open a folder's store, creating it if need be; a damaged one is rescued first.

        ``device`` names this phone in events; left out, the store makes a name once and
        keeps it. ``wrapping`` is the phone's own key store, where there is one: it guards the key
        that this device signs with. A rolling backup is taken beside the running app when one
        is due.

        Raises
        ------
        RecordError
            The folder cannot be used; says what to do.
        """
        path = folder / FILE
        connection, notices = _open_sound(path)
        store = cls(path, connection, notices)
        store._wrapping = wrapping
        try:
            with store._errors_in_words():
                store.device = device or store._own_name()
                if store._holds_anything():
                    store._backup = roll_in_background(path, store._note_failed_backup)
                    store._reading = soundness.Reading(path, store._note_unsound, store.device)
        except BaseException:
            connection.close()
            raise
        return store

    @property
    def notices(self) -> tuple[str, ...]:
        """What the start-up check and the backup have to tell the technician, in words."""
        return tuple(self._notices)

    def close(self) -> None:
        """Close the file, waiting for a backup that is under way; closing twice is harmless."""
        if self._reading:
            self._reading.stop()
        self.finish_backup()
        with suppress(sqlite3.Error):  # closed already, or too ill to be asked
            self._mark()
        self._connection.close()

    def finish_backup(self) -> None:
        """Wait for a backup that is under way."""
        if self._backup:
            self._backup.join()

    def put_away(self) -> None:
        """Bring what is in the log into the file itself, and mark which entry is the last.

        For a moment after which the phone may end the app, or storage be taken out.
        """
        with self._errors_in_words(), suppress(sqlite3.OperationalError):
            # It waits for nobody: what another reader holds up is done the next time.
            self._connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
            self._mark()

    def _mark(self) -> None:
        self._marked = write_ahead_log.mark_last(self._connection, self._path, self._marked)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    # What the first screen shows.

    def find_vehicles(
        self, fragment: str = "", limit: int = 50, offset: int = 0
    ) -> list[VehicleRow]:
        """List vehicles, latest work first, by any part of plate, description, VIN or customer.

        Case, spaces and dashes do not matter.
        """
        with self._errors_in_words():
            return vehicle_list.find(self._connection, fragment, limit, offset)

    # What may be overwritten.

    def bookmark(self) -> Bookmark:
        """Return where the technician was."""
        with self._errors_in_words():
            return bookmarks.bookmark(self._connection)

    def set_bookmark(self, position: Bookmark) -> None:
        """Mark where the technician is, with what is typed and not yet given."""
        with self._errors_in_words():
            bookmarks.set_bookmark(self._connection, position)

    def setting(self, name: str, default: Any = None) -> Any:
        """Return a setting's JSON value: technician, workshop, meter and the like."""
        with self._errors_in_words():
            return settings.setting(self._connection, name, default)

    def set_setting(self, name: str, value: Any) -> None:
        """Keep a setting; ``value`` is anything that JSON can hold."""
        with self._errors_in_words():
            settings.set_setting(self._db, name, value)

    @cached_property
    def _db(self) -> Database:
        return wrap(self._connection)

    @contextmanager
    def _errors_in_words(self) -> Iterator[None]:
        try:
            with errors_in_words(self._path):
                yield
        except StoreDamagedError:
            _ask_for_check(self._path)
            raise

    def _note_failed_backup(self, error: RecordError) -> None:
        self._notices.append(f"No backup was taken. {error}")
        if isinstance(error, StoreDamagedError):
            _ask_for_check(self._path)

    def _note_unsound(self, found: soundness.Found) -> None:
        self._notices.append(found.words)
        if found.can_be_healed:
            _ask_for_check(self._path)

    def _own_name(self) -> str:
        name = settings.setting(self._connection, "device")
        if not name:
            name = f"device-{secrets.token_hex(4)}"
            settings.set_setting(self._db, "device", name)
        return str(name)

    def _holds_anything(self) -> bool:
        return bool(self._connection.execute("SELECT EXISTS (SELECT 1 FROM event)").fetchone()[0])


def _open_sound(path: Path) -> tuple[sqlite3.Connection, list[str]]:
    """Open a store's file, rescued if need be, and say in words what was found.

    Raises
    ------
    RecordError
        The file cannot be used; says what to do.
    """
    notices: list[str] = []
    with errors_in_words(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        finish_rescue(path)
        gone = is_gone(path)
        log = write_ahead_log.found_beside(path)
    if gone:
        notices.append(_rescued(path).summary("there was nothing in its place"))
    try:
        connection, changed = _checked(path)
    except StoreDamagedError as error:
        notices.append(_rescued(path).summary(error.found))
        _marker(path).unlink(missing_ok=True)
        connection, changed = _checked(path)
    else:
        with errors_in_words(path):
            lost = write_ahead_log.passed_over(connection, log)
            lost = write_ahead_log.lost_since_marked(connection, path) or lost
            notices += [lost] if lost else []
    return connection, notices + changed


def _rescued(path: Path) -> Rescue:
    from logic.records.store.rescue import rescue  # reads events: not on the start path

    return rescue(path)


def _ask_for_check(path: Path) -> None:
    """Have everything read when the store is next opened, whatever its size."""
    with suppress(OSError):  # where storage is so full or ill, the next error will tell
        _marker(path).touch()


def _checked(path: Path) -> tuple[sqlite3.Connection, list[str]]:
    """Open a sound file, built as it should be; say in words what had to be put right."""
    connection = open_connection(path)
    try:
        with errors_in_words(path):
            _look_over(connection, path)
            # Before anything is written: a foreign trigger would have its say in a step too.
            changed = put_right(connection)
            if not is_up_to_date(connection):
                migrate(wrap(connection))
    except sqlite3.DatabaseError as error:
        # Not one of the storage's troubles: the file's own tables do not fit together.
        connection.close()
        raise damaged(str(error)) from error
    except BaseException:
        connection.close()
        raise
    return connection, changed


def _look_over(connection: sqlite3.Connection, path: Path) -> None:
    asked = _marker(path).exists()
    if (asked or path.stat().st_size <= CHECK_AT_OPEN) and (found := complaint_of(connection)):
        raise damaged(found)
    if asked:
        # Something could not be read last time: read everything, which raises what it finds.
        from logic.records.store import rescue  # not on the start path

        rescue.read_everything(wrap(connection))
        _marker(path).unlink(missing_ok=True)


def _marker(path: Path) -> Path:
    return path.with_name(f"{path.name}.check")
