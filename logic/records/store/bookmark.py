"""The bookmark: where the technician is, and what is typed and not yet given. Overwritten."""

import json
import sqlite3
from dataclasses import asdict, dataclass, fields

LONGEST = 4000  # characters of what is typed and not yet given


@dataclass(frozen=True)
class Bookmark:
    """Where to open the app again; ``unfinished`` is what was typed and not yet given.

    No pydantic model: the first screen reads it, and would wait for pydantic to be imported.
    """

    vehicle_id: str = ""
    job_id: str = ""
    screen: str = ""
    step_id: str = ""
    unfinished: str = ""

    def __post_init__(self) -> None:
        """Refuse what cannot be kept, with ``ValueError``."""
        for field in fields(self):
            if not isinstance(getattr(self, field.name), str):
                raise ValueError(f"a bookmark's {field.name} is a text")
        if len(self.unfinished) > LONGEST:
            raise ValueError(f"a bookmark keeps at most {LONGEST} characters")


def bookmark(connection: sqlite3.Connection) -> Bookmark:
    """Return the bookmark last set, or an empty one."""
    row = connection.execute("SELECT place FROM bookmark").fetchone()
    try:
        return Bookmark(**json.loads(row[0])) if row else Bookmark()
    except (ValueError, TypeError):
        # Written by another version: beginning at the first screen is better than not opening.
        return Bookmark()


def written(position: Bookmark) -> str:
    """Return a bookmark as its table holds it."""
    return json.dumps(asdict(position), ensure_ascii=False)


def set_bookmark(connection: sqlite3.Connection, position: Bookmark) -> None:
    """Set the bookmark. It survives a kill at once; a power cut may lose the latest change.

    One fsync per key press would be felt; the answers themselves are never written this way.
    """
    text = written(position)
    connection.execute("PRAGMA synchronous=NORMAL")
    try:
        with connection:
            connection.execute("INSERT OR REPLACE INTO bookmark VALUES (1, ?)", (text,))
    finally:
        connection.execute("PRAGMA synchronous=FULL")
