"""The bookmark: where the technician is, and what is typed and not yet given. Overwritten."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field, ValidationError

from logic.quantities import Data

if TYPE_CHECKING:
    from sqlite_utils import Database


class Bookmark(Data):
    """Where to open the app again; ``unfinished`` is what was typed and not yet given."""

    vehicle_id: str = ""
    job_id: str = ""
    screen: str = ""
    step_id: str = ""
    unfinished: str = Field("", max_length=4000)


def bookmark(db: Database) -> Bookmark:
    """Return the bookmark last set, or an empty one."""
    row = db.conn.execute("SELECT place FROM bookmark").fetchone()
    try:
        return Bookmark.model_validate_json(row[0]) if row else Bookmark()
    except ValidationError:
        # Written by another version: beginning at the first screen is better than not opening.
        return Bookmark()


def set_bookmark(db: Database, position: Bookmark) -> None:
    """Set the bookmark. It survives a kill at once; a power cut may lose the latest change.

    One fsync per key press would be felt; the answers themselves are never written this way.
    """
    db.conn.execute("PRAGMA synchronous=NORMAL")
    try:
        with db.conn:
            db.conn.execute(
                "INSERT OR REPLACE INTO bookmark VALUES (1, ?)", (position.model_dump_json(),)
            )
    finally:
        db.conn.execute("PRAGMA synchronous=FULL")
