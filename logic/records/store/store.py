"""The store: everything that was ever done to every vehicle on this device.

One SQLite file (``voltwalk.db``) with a folder of photos beside it. Events are appended and
never changed; ``tables.md`` beside this file explains the tables to whoever opens the file in
another tool. A ``Store`` belongs to the thread that opened it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logic.errors import RecordError
from logic.records.events import CustomerErased, Event, JobSigned
from logic.records.record import Private, Record, SealedRecord
from logic.records.seal import seal
from logic.records.state import JobState, VehicleState, fold
from logic.records.store import bookmark as places
from logic.records.store import ledger, photos, present, sealed
from logic.records.store.appending import prepare
from logic.records.store.bookmark import Bookmark
from logic.records.store.erasure import Erased, forget_in_backups
from logic.records.store.present import VehicleRow
from logic.records.store.storefile import FILE, StoreFile

if TYPE_CHECKING:
    from logic.records.bundle.bundle import Exported, Imported, Progress

__all__ = ["FILE", "PHOTOS", "Store"]

PHOTOS = "photos"
_NO_TEXT = {"unfinished": ""}


class Store(StoreFile):
    """Open with :meth:`Store.open`; close it, or use it as a context manager."""

    # What happened.

    def append(self, event: Event) -> Event:
        """Write one event down; when this returns, a dying phone cannot lose it.

        Returns it as written: with the device's name, a time after everything already known
        of the vehicle, and for an answer the answers that it takes the place of.

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
        with self._speaking():
            if vehicle_id:
                yield from ledger.events_of(self._db, vehicle_id)
            else:
                yield from ledger.all_events(self._db)

    # The present state.

    def find_vehicles(
        self, fragment: str = "", limit: int = 50, offset: int = 0
    ) -> list[VehicleRow]:
        """List vehicles, latest work first, by any part of plate, description, VIN or customer.

        Case, spaces and dashes do not matter.
        """
        with self._speaking():
            return present.find(self._db, fragment, limit, offset)

    def count_vehicles(self) -> int:
        """Return how many vehicles there are."""
        with self._speaking():
            return int(self._db.execute("SELECT count(*) FROM vehicle").fetchone()[0])

    def vehicle(self, vehicle_id: str) -> VehicleState:
        """Return a vehicle as it stands.

        Raises
        ------
        RecordError
            There is no such vehicle.
        """
        with self._speaking():
            events = ledger.events_of(self._db, vehicle_id)
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
        with self._speaking():
            row = self._db.execute(
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
            done = seal(record.model_copy(update=update), private, previous)
            body = JobSigned(
                technician=done.record.technician,
                record_sha256=done.sha256,
                revision=done.record.revision,
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
            sealed.keep(self._db, done)
        return done

    def sealed(self, job_id: str) -> tuple[SealedRecord, ...]:
        """Return a job's signed records, first revision first."""
        with self._speaking():
            return sealed.of_job(self._db, job_id)

    def sealed_records(self) -> Iterator[SealedRecord]:
        """Yield every signed record, oldest first."""
        with self._speaking():
            yield from sealed.every(self._db)

    def latest_commissioning(self, vehicle_id: str) -> SealedRecord | None:
        """Return the newest signed commissioning: the baseline of a callback."""
        with self._speaking():
            return sealed.latest_commissioning(self._db, vehicle_id)

    # What may be overwritten.

    def bookmark(self) -> Bookmark:
        """Return where the technician was."""
        with self._speaking():
            return places.bookmark(self._db)

    def set_bookmark(self, place: Bookmark) -> None:
        """Mark where the technician is, with what is typed and not yet given."""
        with self._speaking():
            places.set_bookmark(self._db, place)

    def setting(self, name: str, default: Any = None) -> Any:
        """Return a setting's JSON value: technician, workshop, meter and the like."""
        with self._speaking():
            return places.setting(self._db, name, default)

    def set_setting(self, name: str, value: Any) -> None:
        """Keep a setting; ``value`` is anything that JSON can hold."""
        with self._speaking():
            places.set_setting(self._db, name, value)

    # Photos.

    def add_photo(self, data: bytes) -> str:
        """Keep a photo's bytes and return their SHA-256, for a ``PhotoTaken``."""
        with self._speaking():
            return photos.add(self.folder / PHOTOS, data)

    def photo_path(self, sha256: str) -> Path | None:
        """Return where a photo lies, or ``None`` where its file is not on this device."""
        return photos.path_of(self.folder / PHOTOS, sha256)

    # To and from other devices.

    def export_bundle(
        self,
        path: Path,
        vehicle_ids: Iterable[str] | None = None,
        with_customers: bool = True,
        progress: Progress | None = None,
    ) -> Exported:
        """Write vehicles, or all of them, with everything that belongs to them as one file.

        ``progress`` is told vehicles done and all vehicles.

        Raises
        ------
        RecordError
            A vehicle is not here, or the file cannot be written.
        """
        from logic.records.bundle.write_out import BundleWriter

        wanted = list(self._all_vehicle_ids() if vehicle_ids is None else vehicle_ids)
        if vehicle_ids is not None:
            for vehicle_id in wanted:
                self.vehicle(vehicle_id)
        writer = BundleWriter(self._db, self.folder / PHOTOS, with_customers)
        with self._speaking():
            return writer.write(path, wanted, self.device, progress)

    def import_bundle(self, path: Path, progress: Progress | None = None) -> Imported:
        """Merge another device's file; the order and number of imports make no difference.

        ``progress`` is told bytes done and all bytes.

        Raises
        ------
        BundleError
            The file is refused, with the reason; nothing was changed.
        """
        from logic.records.bundle.take_in import BundleImport

        with self._speaking():
            return BundleImport(self._db, self.folder / PHOTOS, progress).take(path)

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
        with self._speaking():
            places.set_bookmark(self._db, places.bookmark(self._db).model_copy(update=_NO_TEXT))
            # The log's old pages still hold the name: fold them in and cut it to nothing.
            busy, *_ = self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            erased = forget_in_backups(self.folder, vehicle_id)
        return erased.but_for(self._path.with_name(f"{FILE}-wal")) if busy else erased

    def _all_vehicle_ids(self) -> list[str]:
        with self._speaking():
            rows = self._db.conn.execute("SELECT vehicle_id FROM vehicle ORDER BY vehicle_id")
            return [vehicle_id for (vehicle_id,) in rows]

    def _write(self, event: Event) -> Event:
        event = prepare(self._db, event, self.device)
        ledger.write(self._db, event)
        present.appended(self._db, event)
        return event
