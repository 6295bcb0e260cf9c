"""What storage may lose without SQLite saying so: the end of the log, or the file as it last was.

A log that is broken in its middle is read up to the break and the rest passed over in silence; one
whose head is broken, or that belongs to another file, is passed over as a whole. A file that was
put back as it was earlier is sound in itself. Both are found here: the first by counting the
log's transactions before SQLite reads it, the second by a mark beside the store that says which
entry was the last when the app was put away.

References
----------
"WAL-mode File Format", sqlite.org/walformat.html: 2.1 the WAL's header, 2.2 its frames.
"""

from __future__ import annotations

import json
import sqlite3
import struct
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from logic.records.files import write_whole
from logic.records.store.database import PAGE

_HEADER, _FRAME = 32, 24  # bytes
_MAGIC = (0x377F0682, 0x377F0683)
_LOOK = "Look through the latest jobs before you go on; what is missing has to be entered again."


@dataclass(frozen=True)
class LogFound:
    """A log as it lay there: the numbers of the frames that end a transaction of this log.

    ``frames`` counts all whole frames in it, of this log or left from one before.
    """

    frames: int
    ends: tuple[int, ...]
    is_ours: bool


def found_beside(store: Path) -> LogFound | None:
    """Look at a store's log before SQLite does; ``None`` where there is none to speak of."""
    path = store.with_name(f"{store.name}-wal")
    with suppress(OSError):
        frames = (path.stat().st_size - _HEADER) // (_FRAME + PAGE)
        if frames < 1:
            return None
        with path.open("rb") as file:
            head = file.read(_HEADER)
            magic, _, page = struct.unpack_from(">III", head)
            is_ours = magic in _MAGIC and page == PAGE
            ends = []
            for number in range(frames):
                file.seek(_HEADER + number * (_FRAME + PAGE))
                frame = file.read(_FRAME)
                # Those of an earlier log have other salts: they are history, not loss.
                if frame[8:16] == head[16:24] and struct.unpack_from(">I", frame, 4)[0]:
                    ends.append(number + 1)
        return LogFound(frames, tuple(ends), is_ours)
    return None


def passed_over(connection: sqlite3.Connection, found: LogFound | None) -> str:
    """Say in words what SQLite did not read of a log, or "" where it read all of it.

    The log is folded into the file on the way, which also keeps it short.
    """
    if found is None:
        return ""
    # Another program at the store, or a file that may not be written, is no loss.
    with suppress(sqlite3.OperationalError):
        _, read, _ = connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
        # The very last may have been under way, and so promised to nobody, when the app was ended.
        lost = sum(end > read for end in found.ends[:-1])
        if read <= 0 and not found.is_ours:
            lost = max(lost, 1)
        if lost:
            return (
                "The log of the latest entries was damaged when the app last ended, and what stood "
                f"in its end could not be read: {lost} or more changes. {_LOOK}"
            )
    return ""


# The mark of the last entry.


def mark_last(connection: sqlite3.Connection, store: Path, before: str) -> str:
    """Write down beside the store which entry is the last, unless that is ``before``; return it."""
    row = connection.execute("SELECT seq, event_id FROM event ORDER BY seq DESC LIMIT 1").fetchone()
    text = json.dumps(dict(zip(("seq", "event_id"), row, strict=True))) if row else ""
    if text and text != (before or _marked(store)):
        # Where storage is full or may not be written there is no mark, and so no false alarm.
        with suppress(OSError):
            write_whole(mark_of(store), text.encode())
    return text


def _marked(store: Path) -> str:
    with suppress(OSError, ValueError):
        return mark_of(store).read_text(encoding="utf-8")
    return ""


def mark_of(store: Path) -> Path:
    """Return where the mark of the last entry lies."""
    return store.with_name(f"{store.name}.last")


def lost_since_marked(connection: sqlite3.Connection, store: Path) -> str:
    """Say in words what is missing of the entries that were there when it was last marked."""
    try:
        marked = json.loads(mark_of(store).read_text(encoding="utf-8"))
        seq, event_id = int(marked["seq"]), str(marked["event_id"])
    except (OSError, ValueError, KeyError, TypeError):
        return ""
    if connection.execute("SELECT 1 FROM event WHERE event_id = ?", (event_id,)).fetchone():
        return ""
    (last,) = connection.execute("SELECT coalesce(max(seq), 0) FROM event").fetchone()
    mark_of(store).unlink(missing_ok=True)  # it is told once
    how_many = f"{seq - last} of the latest entries are" if seq > last else "The latest entries are"
    return (
        f"{how_many} no longer in the file with the records, though they were saved: the end of "
        "its log was lost, or an older file was put in its place. "
        f"{_LOOK} The folder backups beside it may hold them."
    )
