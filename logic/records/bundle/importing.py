"""An exchange file taken into a store: all or nothing, in any order, any number of times."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from shutil import rmtree
from typing import Literal

from pydantic import AwareDatetime, Field, ValidationError

from logic.case import first_complaint
from logic.errors import BrokenSealError, BundleError
from logic.quantities import Data
from logic.records.bundle.manifest import CUSTOMERS, EVENTS, SEALED, CustomerLine, TextLine
from logic.records.bundle.reader import BundleReader, refuse_without_space
from logic.records.events import Digest, Event, Id
from logic.records.files import sync_folder
from logic.records.state import Clash
from logic.records.store import photos
from logic.records.store.backup import Progress
from logic.records.store.database import Row, errors_in_words, timestamp
from logic.records.store.event_table import row_of
from logic.records.store.exchange import Merge
from logic.records.store.store import Store
from logic.records.verify import check

FASTEST_CLOCK = timedelta(days=2)  # assumed: more ahead than that is a clock set wrong
_INCOMING = ".incoming-"
_UNCHANGED = "Nothing was changed here."


@dataclass(frozen=True)
class Imported:
    """What an import brought that was not here before.

    ``vehicles`` counts all that are in the file, ``known_events`` its entries that were here
    already; the two tuples name vehicles that are new here, and known ones with new entries.
    """

    vehicles: int
    events: int
    sealed: int
    photos: int
    clashes: tuple[Clash, ...]
    known_events: int = 0
    customers: int = 0
    new_vehicles: tuple[str, ...] = ()
    grown_vehicles: tuple[str, ...] = ()

    @property
    def brought_nothing(self) -> bool:
        """Whether everything in the file was here already."""
        return not (self.events or self.sealed or self.photos or self.customers)

    @property
    def summary(self) -> str:
        """Say it in words."""
        if self.brought_nothing:
            return "Everything in it was here already."
        words = (
            f"New here: {_number(self.events, 'entry', 'entries')} of "
            f"{_number(self.vehicles, 'vehicle', 'vehicles')}, "
            f"{_number(self.sealed, 'signed record', 'signed records')}, "
            f"{_number(self.photos, 'photo', 'photos')}."
        )
        if self.clashes:
            words += (
                f" Answered differently on two devices: "
                f"{_number(len(self.clashes), 'step', 'steps')}. Both answers are kept; open the "
                "job to choose."
            )
        return words


def import_bundle(store: Store, path: Path, progress: Progress | None = None) -> Imported:
    """Merge another device's file; the order and number of imports make no difference.

    ``progress`` is called with the bytes done and all bytes.

    Raises
    ------
    BundleError
        The file is refused, with the reason; nothing was changed.
    RecordError
        The store could not be written; nothing was changed.
    """
    with (
        errors_in_words(store.folder),
        BundleReader.open(path) as bundle,
        _staging(store.photo_folder) as staging,
    ):
        refuse_without_space(staging, bundle.total)
        counter = _Counter(bundle.total, progress)
        incoming = _stage_photos(bundle, store.photo_folder, staging, counter)
        with _moved_unless_it_fails(incoming, store.photo_folder), store.merging() as merge:
            _merge(bundle, merge, counter)
    shared = merge.vehicles & merge.known_vehicles if merge.new_events else set()
    return Imported(
        vehicles=len(merge.vehicles),
        events=merge.new_events,
        sealed=merge.new_sealed,
        photos=len(incoming),
        clashes=tuple(_clashes(store, shared)),
        known_events=merge.known_events,
        customers=merge.new_customers,
        new_vehicles=tuple(sorted(merge.vehicles - merge.known_vehicles)),
        grown_vehicles=tuple(sorted(merge.grown_vehicles & merge.known_vehicles)),
    )


class _Counter:
    """Bytes read so far; passes them on two hundred times at most."""

    def __init__(self, total: int, progress: Progress | None) -> None:
        self._total = total
        self._progress = progress
        self._done = 0

    def add(self, more: int) -> None:
        before, self._done = self._done, self._done + more
        step = max(1, self._total // 200)
        passed = before // step != self._done // step or self._done == self._total
        if self._progress and passed:
            self._progress(self._done, self._total)


# What happened, who the customers are, what was signed.


def _merge(bundle: BundleReader, merge: Merge, counter: _Counter) -> None:
    declared = bundle.manifest
    latest = timestamp(datetime.now(UTC) + FASTEST_CLOCK)
    for number, line in enumerate(bundle.lines(EVENTS, counter.add), start=1):
        _refuse_surplus(EVENTS, number, declared.events)
        _add_event(merge, line, number, latest)
    for number, line in enumerate(bundle.lines(CUSTOMERS, counter.add), start=1):
        _refuse_surplus(CUSTOMERS, number, declared.events)
        _add_customer(merge, line, number)
    for number, line in enumerate(bundle.lines(SEALED, counter.add), start=1):
        _refuse_surplus(SEALED, number, declared.sealed)
        _add_sealed(merge, line, number)


def _refuse_surplus(name: str, number: int, declared: int) -> None:
    if number > declared:
        raise BundleError(f"{name} holds more lines than it says. {_UNCHANGED}")


def _add_event(merge: Merge, line: bytes, number: int, latest: str) -> None:
    row = _event_row(line, number)
    event_id, _, _, at, *_ = row
    if at > latest:
        raise BundleError(
            f"Line {number} of {EVENTS} is dated {at[:10]}, which is still to come. Set the "
            f"clocks of both devices right. {_UNCHANGED}"
        )
    if not merge.add_event(row):
        raise BundleError(
            f"Line {number} of {EVENTS} says something else of an event that is here "
            f"already ({event_id}), so one of the two was changed. {_UNCHANGED}"
        )


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


def _event_row(line: bytes, number: int) -> Row:
    try:
        event: Event | _CustomerEvent = Event.model_validate_json(line)
    except ValidationError as first:
        try:
            event = _CustomerEvent.model_validate_json(line)
        except ValidationError:
            raise BundleError(
                f"Line {number} of {EVENTS}: {first_complaint(first)} {_UNCHANGED}"
            ) from first
    if event.body.kind == "customer_described" and isinstance(event, Event):
        raise BundleError(
            f"Line {number} of {EVENTS} holds a customer's name, which belongs in {CUSTOMERS}. "
            f"{_UNCHANGED}"
        )
    try:
        return row_of(event)
    except OverflowError as error:
        raise BundleError(f"Line {number} of {EVENTS}: no such date. {_UNCHANGED}") from error


def _add_customer(merge: Merge, line: bytes, number: int) -> None:
    if b'"texts"' in line:
        _add_text(merge, line, number)
        return
    try:
        customer = CustomerLine.model_validate_json(line)
    except ValidationError as error:
        raise BundleError(
            f"Line {number} of {CUSTOMERS}: {first_complaint(error)} {_UNCHANGED}"
        ) from error
    row = (customer.event_id, customer.salt, customer.name, customer.contact)
    if not merge.add_customer(row):
        raise BundleError(
            f"Line {number} of {CUSTOMERS} is not the customer that was written down. {_UNCHANGED}"
        )


def _add_text(merge: Merge, line: bytes, number: int) -> None:
    try:
        told = TextLine.model_validate_json(line)
    except ValidationError as error:
        raise BundleError(
            f"Line {number} of {CUSTOMERS}: {first_complaint(error)} {_UNCHANGED}"
        ) from error
    if not merge.add_text((told.event_id, told.salt, told.texts)):
        raise BundleError(
            f"Line {number} of {CUSTOMERS} is not what was written down. {_UNCHANGED}"
        )


def _add_sealed(merge: Merge, line: bytes, number: int) -> None:
    try:
        answer = check(line)
    except BrokenSealError as error:
        raise BundleError(f"Line {number} of {SEALED}: {error} {_UNCHANGED}") from error
    if not answer.intact or answer.sealed is None:
        complaints = " ".join((*answer.complaints, *answer.remarks))
        raise BundleError(f"Line {number} of {SEALED}: {complaints} {_UNCHANGED}")
    merge.add_sealed(answer.sealed, answer.text)


def _clashes(store: Store, vehicle_ids: set[str]) -> Iterator[Clash]:
    """Name the clashes of vehicles that both devices knew; a new one cannot have any here."""
    for vehicle_id in sorted(vehicle_ids):
        for job in store.vehicle(vehicle_id).jobs:
            for step_id in job.clashes:
                yield Clash(vehicle_id, job.job_id, step_id)


# Photos.


@contextmanager
def _staging(photo_folder: Path) -> Iterator[Path]:
    photo_folder.mkdir(parents=True, exist_ok=True)
    for left in photo_folder.glob(f"{_INCOMING}*"):
        rmtree(left, ignore_errors=True)  # of an import that was killed
    with tempfile.TemporaryDirectory(prefix=_INCOMING, dir=photo_folder) as folder:
        yield Path(folder)


def _stage_photos(
    bundle: BundleReader, photo_folder: Path, staging: Path, counter: _Counter
) -> list[Path]:
    """Unpack the photos that are not here yet; return their files, on storage."""
    incoming = []
    for packed in bundle.photos():
        if photos.path_of(photo_folder, packed.sha256):
            counter.add(packed.bytes)
            continue
        target = staging / packed.sha256
        bundle.save_photo(packed, target, counter.add)
        incoming.append(photos.with_proper_ending(target))
    photos.bring_to_storage(incoming)
    return incoming


@contextmanager
def _moved_unless_it_fails(incoming: list[Path], photo_folder: Path) -> Iterator[None]:
    """Move the photos among the others before the events that name them are there to be seen."""
    moved = [path.replace(photo_folder / path.name) for path in incoming]
    try:
        sync_folder(photo_folder)
        yield
    except BaseException:
        for path in moved:
            path.unlink(missing_ok=True)
        raise


def _number(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"
