"""The store: everything that was ever done to every vehicle on this device.

One SQLite file (``voltwalk.db``) with a folder of photos beside it. Events are appended and
never changed; ``tables.md`` beside this file explains the tables to whoever opens the file in
another tool. A ``Store`` belongs to the thread that opened it.

Migrations, writing a setting, counts and plain lists of rows go through sqlite-utils. Triggers,
views, the list of vehicles, what the first screen reads, and whatever goes row by row (events,
signed records, the exchange, a rescue) are plain SQL, which says more there and takes about a
tenth of the time for a single row.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cached_property
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import Any

from logic.errors import RecordError
from logic.records.customer_names import CustomerNames
from logic.records.events import MOST_TEXTS, CustomerErased, Event, JobSigned
from logic.records.keys import DeviceKey, forget_retired, own_key, retired_key
from logic.records.record import ChainHead, Private, Record, SealedRecord, SealSignature
from logic.records.seal import seal
from logic.records.state import JobState, VehicleState
from logic.records.store import (
    erasure,
    event_table,
    held_back,
    key_table,
    photos,
    sealed_table,
    vehicle_table,
)
from logic.records.store.database import transaction
from logic.records.store.erasure import Erased
from logic.records.store.exchange import NOTHING_AGREED, Agreed, Merge, Snapshot
from logic.records.store.held_back import Why
from logic.records.store.held_words import erase_held
from logic.records.store.store_file import FILE, StoreFile
from logic.records.store.traces import Traces
from logic.records.store.unfinished import clear_unfinished, forget_unlisted, unlisted
from logic.records.trusted_keys import Standing, WorkshopKey

__all__ = ["FILE", "PHOTOS", "Store"]

PHOTOS = "photos"


class Store(StoreFile):
    """Open with :meth:`Store.open`; close it, or use it as a context manager."""

    @classmethod
    def over(cls, file: StoreFile) -> Store:
        """Return the whole store over a file that is open already; closing one closes both."""
        store = cls(file._path, file._connection, file._notices)
        store.device, store._backup = file.device, file._backup
        store._marked, store._reading = file._marked, file._reading
        store._wrapping = file._wrapping
        return store

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
            state = event_table.vehicle_of(self._db, vehicle_id, self._errors_in_words)
        if state is None:
            raise RecordError(
                f"There is no vehicle {vehicle_id} here. Look for it by its plate, or import the "
                "bundle that holds it."
            )
        return state

    def has_vehicle(self, vehicle_id: str) -> bool:
        """Whether anything is known of a vehicle here."""
        with self._errors_in_words():
            query = "SELECT EXISTS (SELECT 1 FROM event WHERE vehicle_id = ?)"
            return bool(self._connection.execute(query, (vehicle_id,)).fetchone()[0])

    def job(self, job_id: str) -> JobState:
        """Return a job as it stands.

        Raises
        ------
        RecordError
            There is no such job.
        """
        with self._errors_in_words():
            row = self._connection.execute(
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

        The store fills in ``revision``, ``previous_sha256``, ``chain`` and ``private_sha256``, and
        signs with this device's key.

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
            key = self._signing_key()
            number, head = event_table.head_of(self._db, key.public)
            chain = ChainHead(key=key.public, number=number, sha256=head)
            sealed = seal(record.model_copy(update=update), private, previous, key, chain)
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
        self.put_away()
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

    # Whose keys are trusted.

    @property
    def own_key(self) -> str:
        """This device's public key, 64 hexadecimal digits; it is made when first asked for.

        Raises
        ------
        RecordError
            The key's file cannot be read or written.
        """
        with self._writing():
            return self._signing_key().public

    def sign(self, text: bytes) -> SealSignature:
        """Return this device's key and its signature under a text.

        Raises
        ------
        RecordError
            The key's file cannot be read or written.
        """
        return SealSignature(key=self._key.public, signature=self._key.sign(text))

    def workshop_keys(self) -> dict[str, WorkshopKey]:
        """Return what is to be thought of each key that is the workshop's, or was."""
        with self._errors_in_words():
            return key_table.workshop_keys(self._db)

    def say_of_key(self, public: str, name: str, standing: Standing) -> None:
        """Say that a key is the workshop's, under a name, or no longer is.

        What is held back for that key comes with the next file, which says so beforehand.

        Raises
        ------
        RecordError
            It is no key, another key has its short name, or it is the one that this device signs
            with now.
        """
        with self._writing():
            key_table.say(self._db, self._signing_key(), public, name, standing)

    def held_back(self) -> dict[Why, int]:
        """Count what came from other devices and may not be taken in, or not yet, by reason."""
        with self._errors_in_words():
            return held_back.counted(self._db)

    def chain_heads(self) -> dict[str, tuple[int, str]]:
        """Return each device's last signed event here, by public key: its number and its digest."""
        with self._errors_in_words():
            return key_table.chain_heads(self._db)

    def chain_of(self, public: str) -> Iterator[dict[str, Any]]:
        """Yield the signed events of one key as they stand in an exchange file, first one first."""
        with self._errors_in_words():
            yield from event_table.chain_of(self._db, public)

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
            self._connection.execute("BEGIN")
            try:
                yield Snapshot(self._db)
            finally:
                self._connection.execute("ROLLBACK")  # nothing was written

    @contextmanager
    def merging(self, agreed: Agreed = NOTHING_AGREED, signer: str = "") -> Iterator[Merge]:
        """Add what another device wrote down; an error inside leaves everything as it was.

        Call :meth:`Merge.finish` inside, after the last line. ``agreed`` is what the technician
        agreed to, ``signer`` the key that signed the file.
        """
        with self._writing():
            merge = Merge(self._db, agreed, signer, self._signing_key())
            yield merge
        for vehicle_id, names in merge.erased_names.items():
            self._erase_what_came(vehicle_id, names)

    def look_at(self, agreed: Agreed, signer: str, add: Callable[[Merge], None]) -> Merge:
        """Return what :meth:`merging` would do, and do nothing of it."""
        with self._errors_in_words():
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                merge = Merge(self._db, agreed, signer, self._key)
                add(merge)
                merge.finish()
                return merge
            finally:
                self._connection.execute("ROLLBACK")

    # A customer's wish.

    def holds_signatures(self, vehicle_id: str) -> bool:
        """Whether a vehicle's records have private parts here: who signed, and where."""
        with self._errors_in_words():
            query = "SELECT EXISTS (SELECT 1 FROM sealed_private WHERE vehicle_id = ?)"
            return bool(self._connection.execute(query, (vehicle_id,)).fetchone()[0])

    def erased_vehicles(self) -> frozenset[str]:
        """Return the vehicles whose customer was erased and none described since."""
        with self._errors_in_words():
            rows = self._connection.execute(
                "SELECT vehicle_id FROM event AS erased WHERE kind = 'customer_erased' AND NOT"
                " EXISTS (SELECT 1 FROM customer WHERE customer.vehicle_id = erased.vehicle_id)"
            )
            return frozenset(vehicle_id for (vehicle_id,) in rows)

    def customer_traces(self, vehicle_id: str) -> Traces:
        """Find where a vehicle's customer is named: what an erasure takes, offers or leaves."""
        with self._errors_in_words():
            return erasure.look(self._db, vehicle_id)

    def erase_customer(self, vehicle_id: str, also: Collection[str] = ()) -> Erased:
        """Erase a vehicle's customer here and in the backups; the technical record stays.

        ``also`` are events whose words may name the customer and shall go as well.

        Raises
        ------
        RecordError
            There is no such vehicle, or it could not be written.
        """
        self.vehicle(vehicle_id)
        found = self.customer_traces(vehicle_id)
        chosen = [trace for trace in found.possible if trace.event_id in also]
        going = [*found.sure, *chosen]
        self.finish_backup()
        with self._writing():
            held = {trace.event_id for trace in going if trace.is_held}
            texts = tuple(trace.event_id for trace in going if not trace.is_held)
            erase_held(self._db, vehicle_id, found.names, held)
            self._write_erasures(vehicle_id, texts)
            clear_unfinished(self._db, vehicle_id, found.names)
        erased = self._erase_beside(vehicle_id, found.names)
        return replace(
            erased,
            texts=tuple(trace.where for trace in going),
            possible=tuple(trace for trace in found.possible if trace not in chosen),
            remaining=(*erasure.fixed_texts(found), *erased.remaining),
            photos=self._count_photos(vehicle_id),
        )

    def follow_erasures(self) -> int:
        """Erase what erasures from other devices did not know of, and return how many texts.

        Their texts are named by an erasure of this device's own, so that they go everywhere.
        Called after taking in a bundle; taking in itself only does what every device does.
        """
        with self._writing():
            ids = unlisted(self._db)
            rows = self._db.conn.execute(
                "SELECT vehicle_id, event_id FROM event_text, json_each(?)"
                " WHERE event_id = json_each.value ORDER BY 1, 2",
                (json.dumps(ids),),
            ).fetchall()
            for vehicle_id, some in groupby(rows, key=itemgetter(0)):
                texts = tuple(event_id for _, event_id in some)
                self._write_erasures(vehicle_id, texts)
            forget_unlisted(self._db)
        for vehicle_id in dict.fromkeys(vehicle_id for vehicle_id, _ in rows):
            self._erase_what_came(vehicle_id, CustomerNames())
        return len(rows)

    def _write_erasures(self, vehicle_id: str, texts: tuple[str, ...]) -> None:
        for first in range(0, len(texts) or 1, MOST_TEXTS):
            body = CustomerErased(texts=texts[first : first + MOST_TEXTS])
            self._write(Event(vehicle_id=vehicle_id, body=body))

    def _erase_beside(self, vehicle_id: str, names: CustomerNames) -> Erased:
        with self._errors_in_words():
            # The log's old pages still hold the name: fold them in and cut it to nothing.
            busy, *_ = self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            target = erasure.target_of(self._db, vehicle_id, names)
            written = erasure.written_elsewhere(self._connection)
            erased = erasure.erase_beside(self.folder, target, written)
        if not busy:
            return erased
        log = self._path.with_name(f"{FILE}-wal")
        what = f"the store's log {log}, which another program is reading"
        left = erasure.Remaining(what, "Close that program, then erase once more.", log)
        return replace(erased, remaining=(*erased.remaining, left))

    def _erase_what_came(self, vehicle_id: str, names: CustomerNames) -> None:
        """Do beside the store what an erasure from another device did in it.

        What was taken in stays taken in, whatever is wrong with a backup or a file here.
        """
        self.finish_backup()
        plate = self._connection.execute(
            "SELECT registration FROM vehicle WHERE vehicle_id = ?", (vehicle_id,)
        ).fetchone()
        told = f"{plate[0] if plate else vehicle_id}: another device erased the customer's data. "
        try:
            erased = self._erase_beside(vehicle_id, names)
        except RecordError as error:
            self._notices.append(f"{told}Not all of it could be cleared here. {error}")
            return
        left = [f"{one.what}. {one.advice}" for one in erased.remaining]
        left += [f"{path}. Delete it." for path in erased.elsewhere]
        words = f"What may still hold it here: {' '.join(left)}" if left else erased.summary
        self._notices.append(f"{told}{words}")

    def _count_photos(self, vehicle_id: str) -> int:
        with self._errors_in_words():
            return len(Snapshot(self._db).photos(vehicle_id))

    _retired: DeviceKey | None = None

    def _signing_key(self) -> DeviceKey:
        """Return this device's key, noted as its own within the transaction under way."""
        key = self._key
        key_table.remember_own(self._db, key, self.device, self._retired)
        return key

    @cached_property
    def _key(self) -> DeviceKey:
        retired = retired_key(self.folder, self._wrapping)
        key, notice = own_key(self.folder, self._wrapping)
        if retired and key_table.own_keys(self._db)[-1:] == (key.public,):
            forget_retired(self.folder)
        else:
            self._retired = retired
        if notice:
            self._notices.append(notice)
        return key

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with self._errors_in_words(), transaction(self._db):
            yield

    def _write(self, event: Event) -> Event:
        event = event_table.prepared(self._db, event, self.device)
        event_table.write(self._db, event, self._signing_key())
        vehicle_table.appended(self._db, event)
        return event
