"""Write an exchange file from a store."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from logic.errors import RecordError
from logic.records.bundle.bundle import (
    CUSTOMERS,
    EVENTS,
    MANIFEST,
    SEALED,
    Exported,
    Manifest,
    Part,
    Progress,
)
from logic.records.store import photos, sealed
from logic.records.store.database import Row, spoken_errors
from logic.records.store.ledger import COLUMNS

if TYPE_CHECKING:
    from sqlite_utils import Database

_ONE_OR_ALL = "WHERE vehicle_id = ?"
_PHOTOS = (
    "SELECT DISTINCT coalesce(json_extract(body, '$.sha256'), json_extract(body,"
    " '$.answer.sha256')) FROM event WHERE vehicle_id = ?"
    " AND kind IN ('photo_taken', 'step_answered')"
)


class BundleWriter:
    """Writes the vehicles asked for, each with all that belongs to it, as of one moment."""

    def __init__(self, db: Database, photo_folder: Path, with_customers: bool) -> None:
        self._db = db
        self._photo_folder = photo_folder
        self._with_customers = with_customers
        self._parts: list[Part] = []
        self._counts: dict[str, int] = {}

    def write(
        self, path: Path, vehicle_ids: Sequence[str], device: str, progress: Progress | None
    ) -> Exported:
        """Write the file whole or not at all; ``progress`` is told vehicles done and all."""
        unfinished = path.with_name(f"{path.name}.unfinished")
        with spoken_errors(path):
            try:
                with self._as_of_now(), ZipFile(unfinished, "w", ZIP_DEFLATED) as archive:
                    exported = self._fill(archive, vehicle_ids, device, progress)
                unfinished.replace(path)
            finally:
                unfinished.unlink(missing_ok=True)
        return exported

    @contextmanager
    def _as_of_now(self) -> Iterator[None]:
        self._db.conn.execute("BEGIN")
        try:
            yield
        finally:
            self._db.conn.execute("ROLLBACK")  # nothing was written: only the moment is let go

    def _fill(
        self, archive: ZipFile, vehicle_ids: Sequence[str], device: str, progress: Progress | None
    ) -> Exported:
        def each(of_one: Callable[[str], Iterable[str]], told: bool) -> Iterator[str]:
            for done, vehicle_id in enumerate(vehicle_ids, start=1):
                yield from of_one(vehicle_id)
                if told and progress:
                    progress(done, len(vehicle_ids))

        self._add_lines(archive, EVENTS, each(self._events, told=True))
        customers = each(self._customers, told=False) if self._with_customers else ()
        self._add_lines(archive, CUSTOMERS, customers)
        self._add_lines(archive, SEALED, each(self._sealed, told=False))
        added, missing = self._add_photos(archive, vehicle_ids)
        manifest = Manifest(
            made_at=datetime.now(UTC),
            device=device,
            with_customers=self._with_customers,
            vehicles=len(vehicle_ids),
            events=self._counts[EVENTS],
            sealed=self._counts[SEALED],
            parts=tuple(self._parts),
        )
        archive.writestr(MANIFEST, manifest.model_dump_json(indent=1))
        return Exported(
            len(vehicle_ids), self._counts[EVENTS], self._counts[SEALED], added, tuple(missing)
        )

    def _add_lines(self, archive: ZipFile, name: str, lines: Iterable[str]) -> None:
        seen, size, count = hashlib.sha256(), 0, 0
        with archive.open(_entry(name, ZIP_DEFLATED), "w", force_zip64=True) as file:
            for line in lines:
                data = f"{line}\n".encode()
                file.write(data)
                seen.update(data)
                size, count = size + len(data), count + 1
        self._parts.append(Part(name=name, bytes=size, sha256=seen.hexdigest()))
        self._counts[name] = count

    def _add_photos(self, archive: ZipFile, vehicle_ids: Sequence[str]) -> tuple[int, list[str]]:
        wanted: set[str] = set()
        for vehicle_id in vehicle_ids:
            found = self._db.conn.execute(_PHOTOS, (vehicle_id,))
            wanted |= {sha256 for (sha256,) in found if sha256}
        missing = []
        for sha256 in sorted(wanted):
            try:
                data = photos.read(self._photo_folder, sha256)
            except RecordError:
                missing.append(sha256)
                continue
            name = f"photos/{sha256}"
            archive.writestr(_entry(name, ZIP_STORED), data)
            self._parts.append(Part(name=name, bytes=len(data), sha256=sha256))
        return len(wanted) - len(missing), missing

    def _events(self, vehicle_id: str) -> Iterator[str]:
        query = f"SELECT {COLUMNS} FROM event {_ONE_OR_ALL} ORDER BY at, event_id"
        return map(_event_line, self._db.conn.execute(query, (vehicle_id,)))

    def _customers(self, vehicle_id: str) -> Iterator[str]:
        query = f"SELECT event_id, salt, name, contact FROM customer {_ONE_OR_ALL}"
        for row in self._db.conn.execute(query, (vehicle_id,)):
            yield json.dumps(dict(zip(("event_id", "salt", "name", "contact"), row, strict=True)))

    def _sealed(self, vehicle_id: str) -> Iterator[str]:
        for done in sealed.of_vehicle(self._db, vehicle_id):
            kept = done if self._with_customers else done.model_copy(update={"private": None})
            yield kept.model_dump_json()


def _event_line(row: Row) -> str:
    event_id, vehicle_id, job_id, at, device, _, body = row
    head = json.dumps(
        {
            "event_id": event_id,
            "vehicle_id": vehicle_id,
            "job_id": job_id,
            "at": at,
            "device": device,
        }
    )
    return f'{head[:-1]}, "body": {body}}}'


def _entry(name: str, method: int) -> ZipInfo:
    entry = ZipInfo(name, date_time=(2000, 1, 1, 0, 0, 0))
    entry.compress_type = method
    return entry
