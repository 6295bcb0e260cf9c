"""Copies of the store: rolling ones that make themselves, and one on request.

A copy is taken through SQLite's own backup, in one step and while the store is in use; it is
checked page by page before it gets its name. Photos are not copied: they never change and lie
beside the store as single files, each checked by its name.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from logic.errors import RecordError
from logic.records.files import sync_folder
from logic.records.keys import ask_for_new_key
from logic.records.store.database import complaint_of, errors_in_words, open_for_reading
from logic.records.store.migrations import APPEND_ONLY
from logic.records.store.write_ahead_log import mark_of

FOLDER = "backups"
RESCUED = "rescued"  # ending of a finished rescue until it has the store's name
EVERY = timedelta(hours=20)  # assumed: once a working day
KEEP_LATEST = 5  # assumed: a working week
KEEP_WEEKLY = 4  # assumed: about a month more
KEEP_BYTES = 2_000_000_000  # assumed: beyond this only the newest copy is kept
_NAME = "voltwalk-%Y%m%d-%H%M%S.db"

Progress = Callable[[int, int], None]


def backups(folder: Path) -> list[Path]:
    """Return the rolling copies of a store's folder, newest first."""
    found = (folder / FOLDER).glob("voltwalk-*.db")
    return sorted(found, key=lambda path: path.name, reverse=True)


def taken_at(backup: Path) -> datetime:
    """Return when a rolling copy was taken, as its name says."""
    # strptime() loads a module of its own, which the first screen would wait for.
    stamp = backup.stem.removeprefix("voltwalk-").replace("-", "T")
    return datetime.fromisoformat(stamp).replace(tzinfo=UTC)


def is_due(folder: Path, now: datetime) -> bool:
    """Whether the newest rolling copy is missing, old, or dated after today."""
    newest = next(iter(backups(folder)), None)
    return newest is None or not timedelta(0) <= now - taken_at(newest) < EVERY


def roll(store: Path, now: datetime | None = None) -> Path:
    """Take a rolling copy of the store's file and let go of those no longer wanted.

    Raises
    ------
    RecordError
        The copy cannot be written.
    StoreDamagedError
        The store itself is damaged; older copies are left as they are.
    """
    folder = store.parent / FOLDER
    now = now or datetime.now(UTC)
    with errors_in_words(folder):
        folder.mkdir(exist_ok=True)
        for left in folder.glob("*.unfinished*"):
            left.unlink(missing_ok=True)  # of a copy that was killed
    _refuse_without_space(store)
    target = folder / now.strftime(_NAME)
    copy(store, target)
    for old in _unwanted(backups(store.parent)):
        old.unlink(missing_ok=True)
    return target


def copy(store: Path, target: Path, progress: Progress | None = None) -> None:
    """Copy a store's file, in use or not, to ``target``; whole and checked, or not at all.

    ``progress`` is called with the pages done and all pages.

    Raises
    ------
    RecordError
        The copy cannot be written.
    StoreDamagedError
        The store is damaged, so the copy was not kept.
    """
    unfinished = target.with_name(f"{target.name}.unfinished")
    with errors_in_words(target):
        unfinished.unlink(missing_ok=True)
        try:
            _copy_pages(store, unfinished, progress)
            unfinished.replace(target)
            sync_folder(target.parent)
        finally:
            for left in target.parent.glob(f"{unfinished.name}*"):
                left.unlink(missing_ok=True)


def roll_in_background(
    store: Path, on_failure: Callable[[RecordError], None]
) -> threading.Thread | None:
    """Take a rolling copy beside the running app if one is due; ``on_failure`` gets the error."""
    if not is_due(store.parent, datetime.now(UTC)):
        return None

    def work() -> None:
        try:
            roll(store)
        except RecordError as error:
            on_failure(error)

    thread = threading.Thread(target=work, name="backup")
    thread.start()
    return thread


def restore(backup: Path, store: Path) -> Path | None:
    """Replace a store that nobody has open with a copy.

    The store that was there is kept beside it under the returned name.

    Raises
    ------
    RecordError
        The copy is damaged or is no store of ours; nothing was changed.
    """
    _refuse_unfit(backup)
    store.parent.mkdir(parents=True, exist_ok=True)
    kept = set_aside(store, "replaced")
    ask_for_new_key(store.parent)
    copy(backup, store)
    return kept


def set_aside(store: Path, why: str) -> Path | None:
    """Move a store's file and its journals out of the way and return its new path.

    A log left behind would be played into whatever file comes after the store.
    """
    found = [path for path in _with_journals(store) if path.exists()]
    mark_of(store).unlink(missing_ok=True)  # it says which entry was the last of this very file
    if not found:
        return None
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S-%f")
    folder = store.parent / why / stamp
    with errors_in_words(store):
        folder.mkdir(parents=True)
        for path in found:
            path.replace(folder / path.name)
        sync_folder(folder)
        sync_folder(store.parent)
    return folder / store.name


def finish_rescue(path: Path) -> Path | None:
    """Give a finished rescue the store's name; return where the damaged file went, if any."""
    ready = path.with_name(f"{path.name}.{RESCUED}")
    if not ready.exists():
        return None
    aside = set_aside(path, "damaged")
    with errors_in_words(path):
        ready.replace(path)
        sync_folder(path.parent)
    return aside


def is_gone(path: Path) -> bool:
    """Whether the store's file is missing or empty although backups of it exist."""
    return bool(backups(path.parent)) and (not path.exists() or not path.stat().st_size)


def _with_journals(store: Path) -> list[Path]:
    return [store.with_name(store.name + end) for end in ("", "-wal", "-shm", "-journal")]


def _refuse_without_space(store: Path) -> None:
    size, free = store.stat().st_size, shutil.disk_usage(store.parent).free
    if free < 2 * size:
        raise RecordError(
            f"A backup needs {size / 1e6:.0f} MB and {free / 1e6:.0f} MB of storage are free. Free "
            "some space, or make a backup on another drive."
        )


def _refuse_unfit(backup: Path) -> None:
    try:
        with closing(open_for_reading(backup)) as source:
            complaint = complaint_of(source)
            names = {row[0] for row in source.execute("SELECT name FROM sqlite_master")}
    except sqlite3.DatabaseError as error:
        complaint, names = str(error), set()
    if complaint or not names.issuperset(APPEND_ONLY):
        raise RecordError(
            f"{backup} is not a sound backup ({complaint or 'it holds no records of ours'}). "
            "Choose an older one; nothing was changed."
        )


def _copy_pages(store: Path, target: Path, progress: Progress | None) -> None:
    # In steps only where somebody watches: a copy in one step cannot be disturbed by a writer.
    pages = 2000 if progress else -1

    def report(status: int, remaining: int, total: int) -> None:
        if progress:
            progress(total - remaining, total)

    with closing(open_for_reading(store)) as source, closing(sqlite3.connect(target)) as copied:
        source.backup(copied, pages=pages, progress=report)
        # A single file, without the journals that the store's own mode would want.
        copied.execute("PRAGMA journal_mode=DELETE")
        if complaint := complaint_of(copied):
            damage = sqlite3.DatabaseError(complaint)
            damage.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
            raise damage
    with target.open("rb") as file:
        os.fsync(file.fileno())


def _unwanted(newest_first: list[Path]) -> list[Path]:
    """Keep the latest few, then the newest of each of some earlier weeks."""
    weeks: dict[tuple[int, int], Path] = {}
    for path in newest_first[KEEP_LATEST:]:
        weeks.setdefault(taken_at(path).isocalendar()[:2], path)
    wanted = [*newest_first[:KEEP_LATEST], *sorted(weeks.values(), reverse=True)[:KEEP_WEEKLY]]
    kept: set[Path] = set()
    size = 0
    for path in wanted:
        size += path.stat().st_size
        if not kept or size <= KEEP_BYTES:
            kept.add(path)
    return [path for path in newest_first if path not in kept]
