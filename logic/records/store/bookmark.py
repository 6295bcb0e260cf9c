"""What may be overwritten: where the technician is, and the app's settings."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

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
    """Return the place last marked, or an empty one."""
    row = db.conn.execute("SELECT place FROM bookmark").fetchone()
    try:
        return Bookmark.model_validate_json(row[0]) if row else Bookmark()
    except ValidationError:
        # Written by another version: losing the place is better than not opening.
        return Bookmark()


def set_bookmark(db: Database, place: Bookmark) -> None:
    """Mark the place. It survives a kill at once; a power cut may lose the latest change.

    One fsync per key press would be felt; the answers themselves never take this road.
    """
    db.conn.execute("PRAGMA synchronous=NORMAL")
    try:
        with db.conn:
            db.conn.execute(
                "INSERT OR REPLACE INTO bookmark VALUES (1, ?)", (place.model_dump_json(),)
            )
    finally:
        db.conn.execute("PRAGMA synchronous=FULL")


def setting(db: Database, name: str, default: Any = None) -> Any:
    """Return a setting's JSON value, or the default where it was never set."""
    row = db.conn.execute("SELECT value FROM setting WHERE name = ?", (name,)).fetchone()
    try:
        return json.loads(row[0]) if row else default
    except ValueError:
        return default  # damaged: entering it again is better than not opening


def set_setting(db: Database, name: str, value: Any) -> None:
    """Keep a JSON value under a name."""
    with db.conn:
        db.conn.execute(
            "INSERT OR REPLACE INTO setting VALUES (?, ?)",
            (name, json.dumps(value, allow_nan=False)),
        )
