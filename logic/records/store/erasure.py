"""A customer's data, erased on request, while the technical record stays and still verifies.

Erasing deletes the rows that name a person (``private_tables``) and overwrites their bytes
(``secure_delete``), also in the rolling backups. An erasure is an event like any other:
exchanged, it erases on the other phone too, and what a later bundle brings back from before it
is dropped.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from logic.errors import RecordError
from logic.records.store.backup import backups
from logic.records.store.database import complaint_of, errors_in_words, wrap
from logic.records.store.private_tables import erase_all
from logic.records.store.vehicle_table import refresh


@dataclass(frozen=True)
class Erased:
    """What was erased, and the files that may still hold some of it."""

    backups: int
    remaining: tuple[Path, ...] = ()

    @property
    def summary(self) -> str:
        """Say it in words for the technician."""
        words = (
            "The customer's name, contact and signatures are erased here "
            f"and in {self.backups} backups. PDFs and bundles that were handed out, and other "
            "phones until they import from this one, still hold them."
        )
        if self.remaining:
            names = ", ".join(str(path) for path in self.remaining)
            words += f" These files could not be cleared; delete them when you can: {names}."
        return words

    def with_remaining(self, path: Path) -> Erased:
        """Return the same with one more file that may still hold some of it."""
        return replace(self, remaining=(*self.remaining, path))


def erase_in_backups(folder: Path, vehicle_id: str) -> Erased:
    """Delete all that is known of a vehicle's customer from the rolling copies."""
    done, failed = 0, [*_set_aside(folder)]
    for path in backups(folder):
        try:
            _erase_in_file(path, vehicle_id)
            done += 1
        except RecordError:
            failed.append(path)
    return Erased(done, tuple(failed))


def _erase_in_file(path: Path, vehicle_id: str) -> None:
    with errors_in_words(path), closing(sqlite3.connect(path)) as connection:
        db = wrap(connection)
        connection.execute("PRAGMA secure_delete=ON")
        with connection:
            erase_all(db, vehicle_id)
            connection.execute("DELETE FROM bookmark")  # may hold a name half typed
            refresh(db, vehicle_id)
        if complaint_of(connection):
            raise RecordError(f"{path} is damaged. Delete it.")


def _set_aside(folder: Path) -> Iterator[Path]:
    for why in ("damaged", "replaced"):
        yield from (folder / why).glob("*/*.db")
