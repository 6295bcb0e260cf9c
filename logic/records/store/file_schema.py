"""Whether a store's file is built as this app builds it: tables, indexes, triggers and views.

Another program can put a trigger into the file that rewrites each entry as it is saved, or take
out those that keep entries from being changed. A file is compared with what the same steps make
of an empty one; SQLite keeps the text of each definition, so that any difference shows.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection

from logic.records.store.database import Row, damaged
from logic.records.store.migrations import DEFINITIONS, applied_steps, definitions

_MOST_LETTERS = 40  # of a name that somebody gave


def put_right(connection: sqlite3.Connection) -> list[str]:
    """Take out what changes a store's tables and is not the app's; put back what is missing.

    Tables and views of somebody's own stay: they change nothing. Returns what was done, in words
    for the technician.

    Raises
    ------
    StoreDamagedError
        A table is missing or is built otherwise.
    """
    wanted = _by_name(definitions(applied_steps(connection)))
    if not wanted:
        return []  # a new file, or a newer version's
    found = _by_name(connection.execute(DEFINITIONS).fetchall())
    wrong = {one for one in wanted if found.get(one) != wanted[one]}
    tables = {name for kind, name in wanted if kind == "table"}
    if lost := sorted(name for kind, name in wrong if kind == "table"):
        raise damaged(f"its table {lost[0]} is not built as this app builds it")
    foreign = [one for one in found if one not in wanted and _acts(one, found[one], tables)]
    if not wrong and not foreign:
        return []
    back = [one for one in wanted if one in wrong]
    _rebuild(
        connection,
        out=[*foreign, *(one for one in back if one in found)],
        back=[wanted[one][-1] for one in back],
    )
    return [_words(foreign, back)]


def _by_name(rows: Collection[Row]) -> dict[tuple[str, str], Row]:
    return {(row[0], row[1]): row for row in rows}


def _acts(one: tuple[str, str], definition: Row, tables: Collection[str]) -> bool:
    """Whether it has a say in what is written to the tables; an index refuses what is not unique.

    sqlite-utils has an index of its own on the table that it keeps its steps in.
    """
    kind, _ = one
    return kind == "trigger" or (kind == "index" and definition[2] in tables)


def _rebuild(
    connection: sqlite3.Connection, out: Collection[tuple[str, str]], back: Collection[str]
) -> None:
    connection.execute("BEGIN IMMEDIATE")
    try:
        for kind, name in out:
            quoted = name.replace('"', '""')
            connection.execute(f'DROP {kind} "{quoted}"')
        for definition in back:
            connection.execute(definition)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _words(foreign: Collection[tuple[str, str]], back: Collection[tuple[str, str]]) -> str:
    done = [
        f"{what} {', '.join(map(_named, some))}"
        for what, some in (("taken out:", foreign), ("put back:", back))
        if some
    ]
    return (
        "Another program changed how the file with the records is built. With that, entries can "
        f"be changed unseen. It is built right again ({'; '.join(done)}). Find out who had this "
        "file, and look through the latest jobs. What the app finds changed in entries is told "
        "here too."
    )


def _named(one: tuple[str, str]) -> str:
    kind, name = one
    return f"{kind} {''.join(filter(str.isprintable, name))[:_MOST_LETTERS]}"
