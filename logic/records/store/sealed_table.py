"""The table ``sealed``: each record as the exact text that was hashed, its erasable part apart."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

from logic.records.record import Private, Record, SealedRecord, SealSignature
from logic.records.seal import canonical
from logic.records.store.database import Row, damaged, timestamp
from logic.records.store.private_tables import write_private

if TYPE_CHECKING:
    from sqlite_utils import Database

_READ = (
    "SELECT s.sha256, s.record, p.private, s.parts, s.signature"
    " FROM sealed AS s LEFT JOIN sealed_private AS p USING (sha256)"
)


def write(db: Database, sealed: SealedRecord, text: bytes = b"") -> bool:
    """Store a signed record and say whether it is new; one that is there is left alone.

    ``text`` is its canonical JSON where that was worked out already.
    """
    record = sealed.record
    text = text or canonical(record.model_dump(mode="json"))
    added = db.conn.execute(
        "INSERT OR IGNORE INTO sealed VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            sealed.sha256,
            record.vehicle_id,
            record.job_id,
            record.job_kind,
            record.revision,
            timestamp(record.signed_at),
            text.decode(),
            json.dumps(sealed.parts),
            sealed.signature.model_dump_json() if sealed.signature else None,
        ),
    )
    write_private(db, sealed)
    return bool(added.rowcount)


def of_job(db: Database, job_id: str) -> tuple[SealedRecord, ...]:
    """Return a job's signed records, first revision first.

    Here as below, what cannot be read as a record any more raises ``StoreDamagedError``.
    """
    rows = db.conn.execute(f"{_READ} WHERE s.job_id = ? ORDER BY s.revision, s.sha256", (job_id,))
    return tuple(_sealed(row) for row in rows)


def of_vehicle(db: Database, vehicle_id: str) -> tuple[SealedRecord, ...]:
    """Return a vehicle's signed records, oldest first."""
    rows = db.conn.execute(
        f"{_READ} WHERE s.vehicle_id = ? ORDER BY s.signed_at, s.sha256", (vehicle_id,)
    )
    return tuple(_sealed(row) for row in rows)


def every(db: Database) -> Iterator[SealedRecord]:
    """Yield every signed record, oldest first."""
    for row in db.conn.execute(f"{_READ} ORDER BY s.signed_at, s.sha256"):
        yield _sealed(row)


def refuse_changed(db: Database) -> None:
    """Raise ``StoreDamagedError`` where a record's text does not fit its hash any more."""
    for sha256, text in db.conn.execute("SELECT sha256, record FROM sealed"):
        if hashlib.sha256(text.encode()).hexdigest() != sha256:
            raise damaged(f"signed record {sha256} is not what was signed")


def latest_commissioning(db: Database, vehicle_id: str) -> SealedRecord | None:
    """Return a vehicle's newest signed commissioning."""
    row = db.conn.execute(
        f"{_READ} WHERE s.vehicle_id = ? AND s.job_kind = 'commissioning'"
        " ORDER BY s.signed_at DESC, s.revision DESC LIMIT 1",
        (vehicle_id,),
    ).fetchone()
    return _sealed(row) if row else None


def _sealed(row: Row) -> SealedRecord:
    sha256, text, private, parts, signature = row
    try:
        return SealedRecord(
            record=Record.model_validate_json(text),
            private=Private.model_validate_json(private) if private else None,
            sha256=sha256,
            parts=json.loads(parts),
            signature=SealSignature.model_validate_json(signature) if signature else None,
        )
    except ValueError as error:  # pydantic's own error is one too
        raise damaged(f"signed record {sha256} cannot be read") from error
