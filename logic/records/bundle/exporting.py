"""Vehicles written from a store into an exchange file."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from logic.errors import RecordError
from logic.records.bundle.manifest import (
    CUSTOMERS,
    EVENTS,
    KEYS,
    MANIFEST,
    SEALED,
    SIGNATURE,
    Manifest,
    PackedFile,
    signed_text,
)
from logic.records.store import photos
from logic.records.store.backup import Progress
from logic.records.store.database import Row, errors_in_words
from logic.records.store.event_table import as_exchanged
from logic.records.store.exchange import CUSTOMER_COLUMNS, EVENT_COLUMNS, TEXT_COLUMNS, Snapshot
from logic.records.store.store import Store


@dataclass(frozen=True)
class Exported:
    """What a written bundle holds; photos whose files are not on this device are named."""

    vehicles: int
    events: int
    sealed: int
    photos: int
    missing_photos: tuple[str, ...]


def export_bundle(
    store: Store,
    path: Path,
    vehicle_ids: Iterable[str] | None = None,
    with_customers: bool = True,
    progress: Progress | None = None,
) -> Exported:
    """Write vehicles, or all of them, with everything that belongs to them as one file.

    The file is written whole or not at all, all of it as of one moment. ``progress`` is called
    with the vehicles done and all vehicles.

    Raises
    ------
    RecordError
        A vehicle is not here, or the file cannot be written.
    """
    wanted = list(store.all_vehicle_ids() if vehicle_ids is None else vehicle_ids)
    if vehicle_ids is not None:
        for vehicle_id in wanted:
            store.vehicle(vehicle_id)
    unfinished = path.with_name(f"{path.name}.unfinished")
    with errors_in_words(path):
        _ = store.own_key  # made before the store is read as of one moment
        try:
            with store.snapshot() as snapshot, ZipFile(unfinished, "w", ZIP_DEFLATED) as archive:
                writer = _Writer(archive, snapshot, store.photo_folder, with_customers)
                exported = writer.write(wanted, store, progress)
            unfinished.replace(path)
        finally:
            unfinished.unlink(missing_ok=True)
    return exported


class _Writer:
    """One bundle being written."""

    def __init__(
        self, archive: ZipFile, snapshot: Snapshot, photo_folder: Path, with_customers: bool
    ) -> None:
        self._archive = archive
        self._snapshot = snapshot
        self._photo_folder = photo_folder
        self._with_customers = with_customers
        self._files: list[PackedFile] = []

    def write(self, vehicle_ids: list[str], store: Store, progress: Progress | None) -> Exported:
        def each(lines_of: Callable[[str], Iterable[str]]) -> Iterator[str]:
            for vehicle_id in vehicle_ids:
                yield from lines_of(vehicle_id)

        def events() -> Iterator[str]:
            for done, vehicle_id in enumerate(vehicle_ids, start=1):
                yield from map(_event_line, self._snapshot.events(vehicle_id))
                yield from self._snapshot.carried_on(vehicle_id)
                if progress:
                    progress(done, len(vehicle_ids))

        statements = self._snapshot.statements()
        self._add_lines(KEYS, (one.model_dump_json() for one in statements))
        event_count = self._add_lines(EVENTS, events())
        self._add_lines(CUSTOMERS, each(self._customers))
        sealed_count = self._add_lines(SEALED, each(self._sealed))
        photo_count, missing = self._add_photos(vehicle_ids)
        manifest = Manifest(
            made_at=datetime.now(UTC),
            device=store.device,
            with_customers=self._with_customers,
            vehicles=len(vehicle_ids),
            events=event_count,
            sealed=sealed_count,
            statements=len(statements),
            parts=tuple(self._files),
        )
        text = manifest.model_dump_json(indent=1).encode()
        self._archive.writestr(MANIFEST, text)
        self._archive.writestr(SIGNATURE, store.sign(signed_text(text)).model_dump_json())
        return Exported(len(vehicle_ids), event_count, sealed_count, photo_count, tuple(missing))

    def _add_lines(self, name: str, lines: Iterable[str]) -> int:
        seen, size, count = hashlib.sha256(), 0, 0
        with self._archive.open(_entry(name, ZIP_DEFLATED), "w", force_zip64=True) as file:
            for line in lines:
                data = f"{line}\n".encode()
                file.write(data)
                seen.update(data)
                size, count = size + len(data), count + 1
        self._files.append(PackedFile(name=name, bytes=size, sha256=seen.hexdigest()))
        return count

    def _add_photos(self, vehicle_ids: list[str]) -> tuple[int, list[str]]:
        wanted: set[str] = set()
        for vehicle_id in vehicle_ids:
            wanted |= self._snapshot.photos(vehicle_id)
        missing = []
        for sha256 in sorted(wanted):
            try:
                data = photos.read(self._photo_folder, sha256)
            except RecordError:
                missing.append(sha256)
                continue
            name = f"photos/{sha256}"
            self._archive.writestr(_entry(name, ZIP_STORED), data)
            self._files.append(PackedFile(name=name, bytes=len(data), sha256=sha256))
        return len(wanted) - len(missing), missing

    def _customers(self, vehicle_id: str) -> Iterator[str]:
        if self._with_customers:
            for row in self._snapshot.customers(vehicle_id):
                yield json.dumps(dict(zip(CUSTOMER_COLUMNS, row, strict=True)))
        for row in self._snapshot.texts(vehicle_id, with_customers=self._with_customers):
            yield json.dumps(dict(zip(TEXT_COLUMNS, row, strict=True)))

    def _sealed(self, vehicle_id: str) -> Iterator[str]:
        for sealed in self._snapshot.sealed(vehicle_id):
            kept = sealed if self._with_customers else sealed.model_copy(update={"private": None})
            yield kept.model_dump_json()


def _event_line(row: Row) -> str:
    """Write a row as the event's JSON, its body as it stands in the store."""
    event = as_exchanged(row)
    event.pop("body")
    return f'{json.dumps(event)[:-1]}, "body": {row[EVENT_COLUMNS.index("body")]}}}'


def _entry(name: str, method: int) -> ZipInfo:
    entry = ZipInfo(name, date_time=(2000, 1, 1, 0, 0, 0))
    entry.compress_type = method
    return entry
