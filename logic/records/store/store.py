"""The store: everything that was ever done to every vehicle on this device.

One SQLite file (``voltwalk.db``) with a folder of photos beside it. Events are appended and
never changed; ``tables.md`` beside this file explains the tables to whoever opens the file in
another tool. A ``Store`` belongs to the thread that opened it.

Migrations, settings and counts go through sqlite-utils; triggers, views, the list of vehicles
and whatever writes or reads row after row (events, signed records, the exchange, a rescue) are
plain SQL, which says more there and is about ten times as quick for a single row.
"""

from __future__ import annotations

import secrets
import sqlite3
from collections import deque
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Thread
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from logic.errors import RecordError, StoreDamagedError
from logic.records.events import CustomerErased, Event, JobSigned
from logic.records.record import Private, Record, SealedRecord
from logic.records.seal import seal
from logic.records.state import JobState, VehicleState, fold
from logic.records.store import bookmark as bookmarks
from logic.records.store import (
    event_table,
    photos,
    present,
    rescue,
    sealed_table,
    settings,
)
from logic.records.store.backup import roll_in_background
from logic.records.store.bookmark import Bookmark
from logic.records.store.database import (
    complaint_of,
    damaged,
    errors_in_words,
    open_database,
    transaction,
)
from logic.records.store.erasure import Erased, erase_in_backups
from logic.records.store.exchange import Merge, Snapshot
from logic.records.store.migrations import migrate
from logic.records.store.present import VehicleRow

if TYPE_CHECKING:
    from sqlite_utils import Database

FILE = "voltwalk.db"
PHOTOS = "photos"

# Bytes up to which every page is read at each start; a larger store's pages are read by each
# rolling backup instead, so that opening stays quick. Assumed: some 15,000 entries, 20 ms.
CHECK_AT_OPEN = 8_000_000


class Store:
    """Open with :meth:`Store.open`; close it, or use it as a context manager."""

    def __init__(self, path: Path, db: Database, notices: list[str]) -> None:
        self.folder = path.parent
        self.device = ""
        self._path = path
        self._db = db
        self._notices = notices
        self._backup: Thread | None = None

    # The file: opened, looked over, backed up, closed.

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
        db, notices = _open_sound(path)
        store = cls(path, db, notices)
        try:
            with store._errors_in_words():
                store.device = device or store._own_name()
                if store._holds_anything():
                    store._backup = roll_in_background(path, store._note_failed_backup)
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

    # What happened.

    def append(self, event: Event) -> Event:
        """Write one event down; when this returns, a dying phone cannot lose it.

        Returns it as written: with the device's name, a time after everything already known
        of the vehicle, and for an answer the answers that it replaces.

        Raises
        ------
        SealedError
            The job is signed: append a ``JobReopened`` first.
        RecordError
            It was not written; says what to do. Nothing was changed.
        """
        return self.append_all((event,))[0]

    def append_all(self, events: Iterable[Event]) -> tuple[Event, ...]:
        """Write several events down, all or none; otherwise as :meth:`append`."""
        with self._writing():
            return tuple(self._write(event) for event in events)

    def events(self, vehicle_id: str = "") -> Iterator[Event]:
        """Yield a vehicle's events, or everybody's, oldest first within each vehicle."""
        with self._errors_in_words():
            if vehicle_id:
                yield from event_table.events_of(self._db, vehicle_id)
            else:
                yield from event_table.all_events(self._db)

    # The present state.

    def find_vehicles(
        self, fragment: str = "", limit: int = 50, offset: int = 0
    ) -> list[VehicleRow]:
        """List vehicles, latest work first, by any part of plate, description, VIN or customer.

        Case, spaces and dashes do not matter.
        """
        with self._errors_in_words():
            return present.find(self._db, fragment, limit, offset)

    def count_vehicles(self) -> int:
        """Return how many vehicles there are."""
        with self._errors_in_words():
            return int(self._db["vehicle"].count)

    def all_vehicle_ids(self) -> list[str]:
        """Return the id of every vehicle."""
        with self._errors_in_words():
            rows = self._db["vehicle"].rows_where(select="vehicle_id", order_by="vehicle_id")
            return [row["vehicle_id"] for row in rows]

    def vehicle(self, vehicle_id: str) -> VehicleState:
        """Return a vehicle as it stands.

        Raises
        ------
        RecordError
            There is no such vehicle.
        """
        with self._errors_in_words():
            events = event_table.events_of(self._db, vehicle_id)
        if not events:
            raise RecordError(
                f"There is no vehicle {vehicle_id} here. Look for it by its plate, or import the "
                "bundle that holds it."
            )
        return fold(vehicle_id, events)

    def job(self, job_id: str) -> JobState:
        """Return a job as it stands.

        Raises
        ------
        RecordError
            There is no such job.
        """
        with self._errors_in_words():
            row = self._db.conn.execute(
                "SELECT vehicle_id FROM job WHERE job_id = ?", (job_id,)
            ).fetchone()
        if not row:
            raise RecordError(
                f"There is no job {job_id} here. Open the vehicle and choose the job there."
            )
        return self.vehicle(row[0]).job(job_id)

    # Signed records.

    def seal(self, record: Record, private: Private, device: str = "") -> SealedRecord:
        """Sign a job: seal the record, keep it, and close the job, all or nothing.

        The store fills in ``revision``, ``previous_sha256`` and ``private_sha256``.

        Raises
        ------
        SealedError
            The job is signed already.
        """
        with self._writing():
            # By the events, not the records: one that was lost still counts in the chain.
            signed = sorted(self.job(record.job_id).signed, key=lambda one: (one.revision, one.at))
            last = signed[-1] if signed else None
            update = {"revision": last.revision + 1 if last else 1}
            previous = last.record_sha256 if last else None
            sealed = seal(record.model_copy(update=update), private, previous)
            body = JobSigned(
                technician=sealed.record.technician,
                record_sha256=sealed.sha256,
                revision=sealed.record.revision,
            )
            self._write(
                Event(
                    vehicle_id=record.vehicle_id,
                    job_id=record.job_id,
                    at=record.signed_at,
                    device=device,
                    body=body,
                )
            )
            sealed_table.write(self._db, sealed)
        return sealed

    def sealed(self, job_id: str) -> tuple[SealedRecord, ...]:
        """Return a job's signed records, first revision first."""
        with self._errors_in_words():
            return sealed_table.of_job(self._db, job_id)

    def sealed_records(self) -> Iterator[SealedRecord]:
        """Yield every signed record, oldest first."""
        with self._errors_in_words():
            yield from sealed_table.every(self._db)

    def latest_commissioning(self, vehicle_id: str) -> SealedRecord | None:
        """Return the newest signed commissioning: the baseline of a callback."""
        with self._errors_in_words():
            return sealed_table.latest_commissioning(self._db, vehicle_id)

    # What may be overwritten.

    def bookmark(self) -> Bookmark:
        """Return where the technician was."""
        with self._errors_in_words():
            return bookmarks.bookmark(self._db)

    def set_bookmark(self, position: Bookmark) -> None:
        """Mark where the technician is, with what is typed and not yet given."""
        with self._errors_in_words():
            bookmarks.set_bookmark(self._db, position)

    def setting(self, name: str, default: Any = None) -> Any:
        """Return a setting's JSON value: technician, workshop, meter and the like."""
        with self._errors_in_words():
            return settings.setting(self._db, name, default)

    def set_setting(self, name: str, value: Any) -> None:
        """Keep a setting; ``value`` is anything that JSON can hold."""
        with self._errors_in_words():
            settings.set_setting(self._db, name, value)

    # Photos.

    @property
    def photo_folder(self) -> Path:
        """Where the photos lie, each under the SHA-256 of its bytes."""
        return self.folder / PHOTOS

    def add_photo(self, data: bytes) -> str:
        """Keep a photo's bytes and return their SHA-256, for a ``PhotoTaken``."""
        with self._errors_in_words():
            return photos.add(self.photo_folder, data)

    def photo_path(self, sha256: str) -> Path | None:
        """Return where a photo lies, or ``None`` where its file is not on this device."""
        return photos.path_of(self.photo_folder, sha256)

    # To and from other devices: the files themselves are made and read by the room ``bundle``.

    @contextmanager
    def snapshot(self) -> Iterator[Snapshot]:
        """Read the store as it is now, whatever is written to it meanwhile."""
        with self._errors_in_words():
            self._db.conn.execute("BEGIN")
            try:
                yield Snapshot(self._db)
            finally:
                self._db.conn.execute("ROLLBACK")  # nothing was written

    @contextmanager
    def merging(self) -> Iterator[Merge]:
        """Add what another device wrote down; an error inside leaves everything as it was."""
        with self._writing():
            merge = Merge(self._db)
            yield merge
            merge.finish()

    # A customer's wish.

    def erase_customer(self, vehicle_id: str) -> Erased:
        """Erase a vehicle's customer here and in the backups; the technical record stays.

        Raises
        ------
        RecordError
            There is no such vehicle, or it could not be written.
        """
        self.vehicle(vehicle_id)
        if self._backup:
            self._backup.join()
        with self._writing():
            self._write(Event(vehicle_id=vehicle_id, body=CustomerErased()))
        with self._errors_in_words():
            # What is typed and not yet given may be a name.
            cleared = bookmarks.bookmark(self._db).model_copy(update={"unfinished": ""})
            bookmarks.set_bookmark(self._db, cleared)
            # The log's old pages still hold the name: fold them in and cut it to nothing.
            busy, *_ = self._db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            erased = erase_in_backups(self.folder, vehicle_id)
        log = self._path.with_name(f"{FILE}-wal")
        return erased.with_remaining(log) if busy else erased

    @contextmanager
    def _errors_in_words(self) -> Iterator[None]:
        try:
            with errors_in_words(self._path):
                yield
        except StoreDamagedError:
            _ask_for_check(self._path)
            raise

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with self._errors_in_words(), transaction(self._db):
            yield

    def _write(self, event: Event) -> Event:
        event = event_table.prepared(self._db, event, self.device)
        event_table.write(self._db, event)
        present.appended(self._db, event)
        return event

    def _note_failed_backup(self, error: RecordError) -> None:
        self._notices.append(f"No backup was taken. {error}")
        if isinstance(error, StoreDamagedError):
            _ask_for_check(self._path)

    def _own_name(self) -> str:
        name = settings.setting(self._db, "device")
        if not name:
            name = f"device-{secrets.token_hex(4)}"
            settings.set_setting(self._db, "device", name)
        return str(name)

    def _holds_anything(self) -> bool:
        return bool(self._db.conn.execute("SELECT EXISTS (SELECT 1 FROM event)").fetchone()[0])


def _open_sound(path: Path) -> tuple[Database, list[str]]:
    """Open a store's file, rescued if need be, and say in words what was found.

    Raises
    ------
    RecordError
        The file cannot be used; says what to do.
    """
    notices: list[str] = []
    with errors_in_words(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        rescue.finish(path)
        gone = rescue.is_gone(path)
    if gone:
        notices.append(rescue.rescue(path).summary("there was nothing in its place"))
    try:
        return _checked(path), notices
    except StoreDamagedError as error:
        notices.append(rescue.rescue(path).summary(error.found))
        _marker(path).unlink(missing_ok=True)
        return _checked(path), notices


def _ask_for_check(path: Path) -> None:
    """Have everything read when the store is next opened, whatever its size."""
    with suppress(OSError):  # where storage is so full or ill, the next error will tell
        _marker(path).touch()


def _checked(path: Path) -> Database:
    db = open_database(path)
    try:
        with errors_in_words(path):
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
        deque(event_table.all_events(db), maxlen=0)
        deque(sealed_table.every(db), maxlen=0)
        _marker(path).unlink(missing_ok=True)


def _marker(path: Path) -> Path:
    return path.with_name(f"{path.name}.check")
