"""Take an exchange file into a store: all of it or nothing, in any order, any number of times."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from shutil import rmtree
from typing import TYPE_CHECKING, Literal

from pydantic import AwareDatetime, Field, ValidationError

from logic.case import first_complaint
from logic.errors import BrokenSealError, BundleError
from logic.quantities import Data
from logic.records.bundle.bundle import (
    CUSTOMERS,
    EVENTS,
    SEALED,
    Clash,
    CustomerLine,
    Imported,
    Progress,
)
from logic.records.bundle.container import BundleReader, refuse_without_space
from logic.records.events import Digest, Event, Id
from logic.records.state import fold
from logic.records.store import ledger, photos, present, sealed
from logic.records.store.database import Row, transaction
from logic.records.store.erasure import forget
from logic.records.verify import check
from logic.vehicle.identity import Customer

if TYPE_CHECKING:
    from sqlite_utils import Database

FASTEST_CLOCK = timedelta(days=2)  # assumed: more ahead than that is a clock set wrong
_INCOMING = ".incoming-"
_UNCHANGED = "Nothing was changed here."


class _CustomerDigest(Data):
    kind: Literal["customer_described"]
    sha256: Digest


class _CustomerEvent(Data):
    """An event that describes a customer, as exchanged: only the digest stands in it."""

    event_id: Id
    vehicle_id: Id
    job_id: Id | None = None
    at: AwareDatetime
    device: str = Field("", max_length=64)
    body: _CustomerDigest


class BundleImport:
    """One import into one store."""

    def __init__(self, db: Database, photo_folder: Path, progress: Progress | None) -> None:
        self._db = db
        self._photo_folder = photo_folder
        self._progress = progress
        self._done = 0
        self._total = 0
        self._latest = ledger.stamp(datetime.now(UTC) + FASTEST_CLOCK)
        self._touched: set[str] = set()
        self._known_before: set[str] = set()
        self._grown: set[str] = set()
        self._new = {EVENTS: 0, CUSTOMERS: 0, SEALED: 0}
        self._known_events = 0

    def take(self, path: Path) -> Imported:
        """Merge a file.

        Raises
        ------
        BundleError
            The file is refused, with the reason; nothing was changed.
        RecordError
            The store could not be written; nothing was changed.
        """
        with BundleReader.open(path) as bundle, self._staging() as staging:
            self._total = bundle.total
            refuse_without_space(staging, bundle.total)
            incoming = self._stage_photos(bundle, staging)
            with self._moved_unless_it_fails(incoming):
                self._merge(bundle)
        return Imported(
            vehicles=len(self._touched),
            events=self._new[EVENTS],
            sealed=self._new[SEALED],
            photos=len(incoming),
            clashes=tuple(self._clashes()),
            known_events=self._known_events,
            customers=self._new[CUSTOMERS],
            new_vehicles=tuple(sorted(self._touched - self._known_before)),
            grown_vehicles=tuple(sorted(self._grown & self._known_before)),
        )

    def _merge(self, bundle: BundleReader) -> None:
        with transaction(self._db):
            declared, customers_before = bundle.manifest, self._customers()
            for number, line in enumerate(bundle.lines(EVENTS, self._tell), start=1):
                _refuse_surplus(EVENTS, number, declared.events)
                self._take_event(line, number)
            for number, line in enumerate(bundle.lines(CUSTOMERS, self._tell), start=1):
                _refuse_surplus(CUSTOMERS, number, declared.events)
                self._take_customer(line, number)
            for number, line in enumerate(bundle.lines(SEALED, self._tell), start=1):
                _refuse_surplus(SEALED, number, declared.sealed)
                self._take_sealed(line, number)
            for vehicle_id in self._touched:
                forget(self._db, vehicle_id)
                present.refresh(self._db, vehicle_id)
            # Not line by line: what was erased here is erased again.
            self._new[CUSTOMERS] = max(0, self._customers() - customers_before)

    def _customers(self) -> int:
        return int(self._db.conn.execute("SELECT count(*) FROM customer").fetchone()[0])

    def _take_event(self, line: bytes, number: int) -> None:
        row = _row(line, number)
        _, vehicle_id, _, at, *_ = row
        if at > self._latest:
            raise BundleError(
                f"Line {number} of {EVENTS} is dated {at[:10]}, which is still to come. Set the "
                f"clocks of both devices right. {_UNCHANGED}"
            )
        self._touch(vehicle_id)
        if ledger.write_row(self._db, row):
            self._new[EVENTS] += 1
            self._grown.add(vehicle_id)
        else:
            self._refuse_contradiction(row, number)
            self._known_events += 1

    def _touch(self, vehicle_id: str) -> None:
        if vehicle_id in self._touched:
            return
        self._touched.add(vehicle_id)
        query = "SELECT 1 FROM vehicle WHERE vehicle_id = ?"
        if self._db.conn.execute(query, (vehicle_id,)).fetchone():
            self._known_before.add(vehicle_id)

    def _refuse_contradiction(self, row: Row, number: int) -> None:
        query = f"SELECT {ledger.COLUMNS} FROM event WHERE event_id = ?"
        kept = self._db.conn.execute(query, (row[0],)).fetchone()
        # Another version of the app may have written the same body in other words.
        if kept[:6] != row[:6] or not ledger.same_body(kept[6], row[6]):
            raise BundleError(
                f"Line {number} of {EVENTS} says something else of an event that is here "
                f"already ({row[0]}), so one of the two was changed. {_UNCHANGED}"
            )

    def _take_customer(self, line: bytes, number: int) -> None:
        told = _validated(CustomerLine, line, CUSTOMERS, number)
        query = "SELECT vehicle_id, json_extract(body, '$.sha256') FROM event WHERE event_id = ?"
        row = self._db.conn.execute(query, (told.event_id,)).fetchone()
        customer = Customer(name=told.name, contact=told.contact)
        if not row or row[1] != ledger.customer_digest(told.salt, customer):
            raise BundleError(
                f"Line {number} of {CUSTOMERS} is not the customer that was written down. "
                f"{_UNCHANGED}"
            )
        kept = (told.event_id, row[0], told.salt, told.name, told.contact)
        ledger.write_customer(self._db, kept)
        self._touch(row[0])

    def _take_sealed(self, line: bytes, number: int) -> None:
        try:
            answer = check(line)
        except BrokenSealError as error:
            raise BundleError(f"Line {number} of {SEALED}: {error} {_UNCHANGED}") from error
        if not answer.intact or answer.sealed is None:
            told = " ".join((*answer.complaints, *answer.remarks))
            raise BundleError(f"Line {number} of {SEALED}: {told} {_UNCHANGED}")
        self._new[SEALED] += sealed.keep(self._db, answer.sealed, answer.text)
        self._touch(answer.sealed.record.vehicle_id)

    def _clashes(self) -> Iterator[Clash]:
        """Name the clashes of vehicles that both devices knew; a new one cannot have any here."""
        for vehicle_id in sorted(self._touched & self._known_before) if self._new[EVENTS] else ():
            for job in fold(vehicle_id, ledger.events_of(self._db, vehicle_id)).jobs:
                for step_id in job.clashes:
                    yield Clash(vehicle_id, job.job_id, step_id)

    def _stage_photos(self, bundle: BundleReader, staging: Path) -> list[Path]:
        incoming = []
        for part in bundle.photos():
            if photos.path_of(self._photo_folder, part.sha256):
                self._tell(part.bytes)
                continue
            target = staging / part.sha256
            bundle.save_photo(part, target, self._tell)
            incoming.append(photos.named(target))
        photos.bring_to_storage(incoming)
        return incoming

    @contextmanager
    def _staging(self) -> Iterator[Path]:
        self._photo_folder.mkdir(parents=True, exist_ok=True)
        for left in self._photo_folder.glob(f"{_INCOMING}*"):
            rmtree(left, ignore_errors=True)  # of an import that was killed
        with tempfile.TemporaryDirectory(prefix=_INCOMING, dir=self._photo_folder) as folder:
            yield Path(folder)

    @contextmanager
    def _moved_unless_it_fails(self, incoming: list[Path]) -> Iterator[None]:
        """Put the photos in place before the events that name them are there to be seen."""
        moved = [path.replace(self._photo_folder / path.name) for path in incoming]
        try:
            photos.sync_folder(self._photo_folder)
            yield
        except BaseException:
            for path in moved:
                path.unlink(missing_ok=True)
            raise

    def _tell(self, more: int) -> None:
        before, self._done = self._done, self._done + more
        step = max(1, self._total // 200)
        passed = before // step != self._done // step or self._done == self._total
        if self._progress and passed:
            self._progress(self._done, self._total)


def _row(line: bytes, number: int) -> Row:
    try:
        event: Event | _CustomerEvent = Event.model_validate_json(line)
    except ValidationError as first:
        try:
            event = _CustomerEvent.model_validate_json(line)
        except ValidationError:
            told = first_complaint(first)
            raise BundleError(f"Line {number} of {EVENTS}: {told} {_UNCHANGED}") from first
    if event.body.kind == "customer_described" and isinstance(event, Event):
        raise BundleError(
            f"Line {number} of {EVENTS} holds a customer's name, which belongs in {CUSTOMERS}. "
            f"{_UNCHANGED}"
        )
    try:
        return ledger.row_of(event)
    except OverflowError as error:
        raise BundleError(f"Line {number} of {EVENTS}: no such date. {_UNCHANGED}") from error


def _validated(form: type[CustomerLine], line: bytes, name: str, number: int) -> CustomerLine:
    try:
        return form.model_validate_json(line)
    except ValidationError as error:
        raise BundleError(
            f"Line {number} of {name}: {first_complaint(error)} {_UNCHANGED}"
        ) from error


def _refuse_surplus(name: str, number: int, declared: int) -> None:
    if number > declared:
        raise BundleError(f"{name} holds more lines than it says. {_UNCHANGED}")
