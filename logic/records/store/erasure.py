"""A customer's data, erased on request, while the technical record stays and still verifies.

Erasing deletes the rows that name a person (``private_tables``, ``text_table``) and overwrites
their bytes (``secure_delete``): in the store, in its rolling backups, in stores that were set
aside and in backups that the desk made elsewhere. Files that can be made again are deleted. What
holds the name and cannot be reached is listed for the person who asked. An erasure is an event
like any other: exchanged, it erases on the other phone too, in its tables, backups and files, and
what a later bundle brings back from before it is dropped.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from logic.errors import RecordError
from logic.records.customer_names import CustomerNames
from logic.records.store import kept_files, settings
from logic.records.store.backup import backups
from logic.records.store.database import complaint_of, errors_in_words, wrap
from logic.records.store.private_tables import erase_all
from logic.records.store.traces import Trace, Traces, traces
from logic.records.store.unfinished import WRITTEN, clear_unfinished, names_unfinished
from logic.records.store.vehicle_table import refresh
from logic.words.names import capitalised, counted

if TYPE_CHECKING:
    from sqlite_utils import Database


@dataclass(frozen=True)
class Remaining:
    """Something that may still hold the name, and what to do about it."""

    what: str
    advice: str
    path: Path | None = None


@dataclass(frozen=True)
class Erased:
    """What was erased, and what may still hold some of it.

    ``texts`` are the entries whose words went, ``possible`` those left that may name the
    customer; ``files`` were deleted, ``elsewhere`` are files of the desk's that a person must
    decide on.
    """

    backups: int = 0
    texts: tuple[str, ...] = ()
    possible: tuple[Trace, ...] = ()
    files: tuple[Path, ...] = ()
    elsewhere: tuple[Path, ...] = ()
    remaining: tuple[Remaining, ...] = ()
    photos: int = 0

    @property
    def summary(self) -> str:
        """Say it in one or two sentences for the technician."""
        words = (
            "The customer's name, contact and signatures are erased here and in "
            f"{counted(self.backups, 'backup')}"
        )
        if self.texts:
            words += f", with the words of {counted(len(self.texts), 'entry', 'entries')}"
        left = len(self.remaining) + len(self.elsewhere) + len(self.possible)
        if not left:
            return f"{words}."
        verb = "remains" if left == 1 else "remain"
        return f"{words}. {counted(left, 'thing')} {verb} to be looked at: see the list."

    @property
    def lines(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Return the whole list for the person who asked: headings, each with its lines.

        It quotes nothing of what was erased, so it can be handed on.
        """
        done = [
            "Name, contact and signatures in the records of this vehicle.",
            *(f"The words of {text}." for text in self.texts),
        ]
        if self.backups:
            done.append(f"The same in {counted(self.backups, 'backup')}.")
        done += [f"The file {path.name}." for path in self.files]
        found = (
            ("Erased", tuple(done)),
            ("May name the customer, and was left", tuple(map(_possible_words, self.possible))),
            ("Still holds the name", tuple(self._remaining_words())),
            ("Not in reach of this device", tuple(self._out_of_reach())),
        )
        return tuple((heading, lines) for heading, lines in found if lines)

    @property
    def text(self) -> str:
        """Return the list as one text, to be copied or sent."""
        parts = [
            "\n".join((f"{heading}:", *(f"- {line}" for line in lines)))
            for heading, lines in self.lines
        ]
        return "\n\n".join(parts)

    def with_deleted(self) -> Erased:
        """Delete the files elsewhere, and return the same without those that went."""
        deleted, kept = _deleted(self.elsewhere)
        return replace(
            self,
            elsewhere=(),
            files=(*self.files, *deleted),
            remaining=(*self.remaining, *kept),
        )

    def with_copies(self, deleted: Iterable[str], kept: Iterable[str]) -> Erased:
        """Return the same with copies in the phone's Downloads folder, by their names."""
        left = (
            Remaining(f"the copy {name} in this phone's Downloads folder", "Delete it there.")
            for name in kept
        )
        return replace(
            self,
            files=(*self.files, *map(Path, deleted)),
            remaining=(*self.remaining, *left),
        )

    def _remaining_words(self) -> Iterator[str]:
        for one in self.remaining:
            yield f"{capitalised(one.what)}. {one.advice}"
        for path in self.elsewhere:
            yield f"{path}. It was written by this desk. Delete it."

    def _out_of_reach(self) -> Iterator[str]:
        yield "Prints, PDFs and bundles that were handed out or sent: ask who has them."
        yield "Other phones and desks, until they take in a bundle from this one."
        if self.photos:
            yield (
                f"{counted(self.photos, 'photo')} of this vehicle: look whether one shows the "
                "customer or papers with the name. A photo stays with its record."
            )


def _possible_words(trace: Trace) -> str:
    return f"{capitalised(trace.where)}."


def look(db: Database, vehicle_id: str) -> Traces:
    """Find where a vehicle's customer is named, or may be."""
    return traces(db, vehicle_id, names_unfinished(db, vehicle_id))


def fixed_texts(found: Traces) -> tuple[Remaining, ...]:
    """Return what names the customer and can never be changed."""
    return tuple(
        Remaining(
            trace.where,
            "It cannot be changed without breaking what it proves. Hand it to nobody who need "
            "not see it.",
        )
        for trace in found.fixed
    )


# What lies beside the store.


@dataclass(frozen=True)
class Target:
    """What is erased: a vehicle's customer by all names, entries, and records by their hashes."""

    vehicle_id: str
    names: CustomerNames
    event_ids: tuple[str, ...]
    hashes: tuple[str, ...]


def target_of(db: Database, vehicle_id: str, names: CustomerNames) -> Target:
    """Return what is to be erased around a store in which it is erased already."""
    erased = db.conn.execute(
        "SELECT value FROM event, json_each(event.body, '$.texts')"
        " WHERE vehicle_id = ? AND kind = 'customer_erased'",
        (vehicle_id,),
    )
    hashes = db.conn.execute("SELECT sha256 FROM sealed WHERE vehicle_id = ?", (vehicle_id,))
    return Target(
        vehicle_id,
        names,
        tuple(event_id for (event_id,) in erased),
        tuple(sha256 for (sha256,) in hashes),
    )


def erase_beside(folder: Path, target: Target, written: Iterable[dict[str, str]] = ()) -> Erased:
    """Erase in everything that this program wrote around the store.

    ``written`` is what the desk noted of its work elsewhere; see :data:`WRITTEN`.
    """
    noted = [one for one in written if one.get("vehicle_id", "") in ("", target.vehicle_id)]
    copies = [Path(one["path"]) for one in noted if one.get("what") == "backup"]
    done, remaining = 0, []
    for path in [*backups(folder), *copies]:
        if left := _left_in(path, target):
            remaining.append(left)
        else:
            done += 1
    for path in _set_aside(folder):
        remaining += _erase_set_aside(path, target)
    files, kept = _delete_files(folder, target)
    exports = (Path(one["path"]) for one in noted if one.get("what") == "export")
    return Erased(
        backups=done,
        files=tuple(files),
        elsewhere=tuple(_exported(exports, target)),
        remaining=(*remaining, *kept),
    )


def _left_in(path: Path, target: Target) -> Remaining | None:
    """Erase in one copy of the store; return it where that was not possible."""
    if not path.exists():
        advice = "It is not there now. Bring it back, then erase once more."
        return Remaining(f"the backup {path}", advice, path)
    try:
        _erase_in_file(path, target)
    except (RecordError, sqlite3.DatabaseError):
        return Remaining(f"the file {path}, which cannot be cleared", "Delete it.", path)
    return None


def _erase_in_file(path: Path, target: Target) -> None:
    with errors_in_words(path), closing(sqlite3.connect(path)) as connection:
        db = wrap(connection)
        connection.execute("PRAGMA secure_delete=ON")
        # A store that was set aside has a log of its own, whose old pages hold the name too.
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.execute("PRAGMA journal_mode=DELETE")
        with connection:
            names = target.names + names_unfinished(db, target.vehicle_id)
            erase_all(db, target.vehicle_id, names, target.event_ids)
            clear_unfinished(db, target.vehicle_id, names)
            refresh(db, target.vehicle_id)
        if complaint_of(connection):
            raise RecordError(f"{path} is damaged. Delete it.")


def _set_aside(folder: Path) -> Iterator[Path]:
    for why in ("damaged", "replaced"):
        yield from (folder / why).glob("*/*.db")


def _erase_set_aside(path: Path, target: Target) -> Iterator[Remaining]:
    """Erase in a store that was set aside; in one too damaged for that, blank the bytes."""
    try:
        _erase_in_file(path, target)
    except (RecordError, sqlite3.DatabaseError):
        for part in path.parent.glob(f"{path.name}*"):
            kept_files.overwrite(part, target.names)
        yield Remaining(
            f"the damaged store {path}: the name is blanked in it, a signature may be left",
            "Delete it once nothing is missing any more.",
            path,
        )


def _delete_files(folder: Path, target: Target) -> tuple[list[Path], list[Remaining]]:
    naming = kept_files.naming(folder, target.names, target.vehicle_id)
    return _deleted([*kept_files.made_again(folder, target.hashes), *naming])


def _deleted(paths: Iterable[Path]) -> tuple[list[Path], list[Remaining]]:
    """Delete files; return those that went, and those that did not with what to do about them."""
    deleted: list[Path] = []
    kept: list[Remaining] = []
    for path in dict.fromkeys(paths):
        try:
            path.unlink(missing_ok=True)
            deleted.append(path)
        except OSError:
            kept.append(Remaining(f"the file {path}", "Delete it.", path))
    return deleted, kept


def _exported(noted: Iterable[Path], target: Target) -> Iterator[Path]:
    """Yield the files that the desk wrote elsewhere and that hold the customer's data."""
    found: dict[Path, None] = {}
    for path in noted:
        files: Collection[Path] = (path,)
        if path.is_dir():
            files = [file for one in target.hashes for file in path.glob(f"*{one[:8]}*")]
        for file in files:
            if file.is_file() and kept_files.holds(file, target.names, target.vehicle_id):
                found[file] = None
    yield from found


def written_elsewhere(connection: sqlite3.Connection) -> list[dict[str, str]]:
    """Return what the desk noted of its work outside the store's folder."""
    noted = settings.setting(connection, WRITTEN, [])
    return [one for one in noted if isinstance(one, dict) and isinstance(one.get("path"), str)]
