"""The life of a store's file: opened, looked over, backed up, closed, its errors put in words."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from types import TracebackType
from typing import TYPE_CHECKING, Self

from logic.errors import RecordError, StoreDamagedError
from logic.records.store import bookmark as places
from logic.records.store.backup import roll_in_background
from logic.records.store.database import spoken_errors, transaction
from logic.records.store.startup import ask_for_check, open_sound

if TYPE_CHECKING:
    from sqlite_utils import Database

FILE = "voltwalk.db"


class StoreFile:
    """What a ``Store`` stands on; it belongs to the thread that opened it."""

    def __init__(self, path: Path, db: Database, notices: list[str]) -> None:
        self.folder = path.parent
        self.device = ""
        self._path = path
        self._db = db
        self._notices = notices
        self._backup: Thread | None = None

    @classmethod
    def open(cls, folder: Path, device: str = "") -> Self:
        """Open a folder's store, creating it if need be; a damaged one is rescued first.

        ``device`` names this phone in events; left out, the store makes a name once and
        keeps it. A rolling backup is taken beside the running app when one is due.

        Raises
        ------
        RecordError
            The folder cannot be used; says what to do.
        """
        path = folder / FILE
        db, notices = open_sound(path)
        store = cls(path, db, notices)
        try:
            with store._speaking():
                store.device = device or store._own_name()
                if store._holds_anything():
                    store._backup = roll_in_background(path, store._hear)
        except BaseException:
            db.close()
            raise
        return store

    @property
    def notices(self) -> tuple[str, ...]:
        """What the start-up check and the backup have to tell the technician, in words."""
        return tuple(self._notices)

    def close(self) -> None:
        """Close the file, waiting for a backup that is under way; closing twice is harmless."""
        if self._backup:
            self._backup.join()
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @contextmanager
    def _speaking(self) -> Iterator[None]:
        try:
            with spoken_errors(self._path):
                yield
        except StoreDamagedError:
            ask_for_check(self._path)
            raise

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with self._speaking(), transaction(self._db):
            yield

    def _hear(self, trouble: RecordError) -> None:
        self._notices.append(f"No backup was taken. {trouble}")
        if isinstance(trouble, StoreDamagedError):
            ask_for_check(self._path)

    def _own_name(self) -> str:
        name = places.setting(self._db, "device")
        if not name:
            name = f"device-{secrets.token_hex(4)}"
            places.set_setting(self._db, "device", name)
        return str(name)

    def _holds_anything(self) -> bool:
        return bool(self._db.conn.execute("SELECT EXISTS (SELECT 1 FROM event)").fetchone()[0])
