"""The app's settings on this device: JSON values by name, overwritten at will."""

from __future__ import annotations

import json
import sqlite3
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sqlite_utils import Database


def setting(connection: sqlite3.Connection, name: str, default: Any = None) -> Any:
    """Return a setting's JSON value, or the default where it was never set."""
    # On the way to the first screen, which does not wait for sqlite-utils to be imported.
    found = connection.execute("SELECT value FROM setting WHERE name = ?", (name,)).fetchone()
    try:
        return json.loads(found[0]) if found else default
    except ValueError:
        return default  # damaged: entering it again is better than not opening


def set_setting(db: Database, name: str, value: Any) -> None:
    """Keep a JSON value under a name."""
    text = json.dumps(value, allow_nan=False)
    db.table("setting").upsert({"name": name, "value": text}, pk="name")
