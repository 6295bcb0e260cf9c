"""A customer's data, erased on request, while the technical record stays and still verifies.

What names a person lies in two tables of its own, ``customer`` and ``sealed_private``; events
and signed records hold only salted digests of it. Erasing deletes those rows and overwrites
their bytes (``secure_delete``), also in the rolling backups. An erasure is an event like any
other: exchanged, it erases on the other phone too, and what a later bundle brings back from
before it is dropped.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from logic.errors import RecordError
from logic.records.store.backup import backups
from logic.records.store.database import complaint_of, spoken_errors, wrap

if TYPE_CHECKING:
    from sqlite_utils import Database

_COVERED = {
    "customer": (
        "DELETE FROM customer WHERE vehicle_id = :vehicle AND EXISTS ("
        " SELECT 1 FROM event AS told, event AS erased"
        " WHERE told.event_id = customer.event_id AND erased.vehicle_id = :vehicle"
        " AND erased.kind = 'customer_erased'"
        " AND (erased.at, erased.event_id) > (told.at, told.event_id))"
    ),
    "sealed_private": (
        "DELETE FROM sealed_private WHERE vehicle_id = :vehicle AND EXISTS ("
        " SELECT 1 FROM sealed AS s, event AS erased"
        " WHERE s.sha256 = sealed_private.sha256 AND erased.vehicle_id = :vehicle"
        " AND erased.kind = 'customer_erased' AND erased.at >= s.signed_at)"
    ),
}


@dataclass(frozen=True)
class Erased:
    """What was erased, and the files that may still hold some of it."""

    backups: int
    remaining: tuple[Path, ...] = ()

    @property
    def told(self) -> str:
        """Say it in words."""
        words = (
            "The customer's name, contact and signatures are erased here "
            f"and in {self.backups} backups. PDFs and bundles that were handed out, and other "
            "phones until they import from this one, still hold them."
        )
        if self.remaining:
            names = ", ".join(str(path) for path in self.remaining)
            words += f" These files could not be cleared; delete them when you can: {names}."
        return words

    def but_for(self, path: Path) -> Erased:
        """Return the same with one more file that may still hold some of it."""
        return replace(self, remaining=(*self.remaining, path))


def forget(db: Database, vehicle_id: str) -> None:
    """Delete what the vehicle's erasures cover: everything told before the latest of them."""
    for statement in _COVERED.values():
        db.conn.execute(statement, {"vehicle": vehicle_id})


def forget_in_backups(folder: Path, vehicle_id: str) -> Erased:
    """Delete all that is known of a vehicle's customer from the rolling copies."""
    done, failed = 0, [*_set_aside(folder)]
    for path in backups(folder):
        try:
            _forget_in_file(path, vehicle_id)
            done += 1
        except RecordError:
            failed.append(path)
    return Erased(done, tuple(failed))


def _forget_in_file(path: Path, vehicle_id: str) -> None:
    from logic.records.store.present import refresh

    with spoken_errors(path), closing(sqlite3.connect(path)) as connection:
        db = wrap(connection)
        connection.execute("PRAGMA secure_delete=ON")
        with connection:
            for table in _COVERED:
                connection.execute(f"DELETE FROM {table} WHERE vehicle_id = ?", (vehicle_id,))
            connection.execute("DELETE FROM bookmark")  # may hold a name half typed
            refresh(db, vehicle_id)
        if complaint_of(connection):
            raise RecordError(f"{path} is damaged. Delete it.")


def _set_aside(folder: Path) -> Iterator[Path]:
    for why in ("damaged", "replaced"):
        yield from (folder / why).glob("*/*.db")
