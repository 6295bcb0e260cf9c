"""The store's tables, step by step; a released step is never edited, only followed by another.

Never call ``transform()`` on a table here: it rebuilds the table and silently drops the
triggers that keep events from being changed. A new kind of event, or a new field in one, needs
a step too, if an empty one: that is how an older app knows to leave the file alone.
``tables.md`` beside this file explains the tables; a test compares it with the real schema.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection
from contextlib import closing
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

from logic.errors import RecordError
from logic.records.store.database import Row

if TYPE_CHECKING:
    from sqlite_utils import Database
    from sqlite_utils.migrations import Migrations

APPEND_ONLY = ("event", "sealed")
DEFINITIONS = (
    "SELECT type, name, tbl_name, sql FROM sqlite_master WHERE sql IS NOT NULL"
    " AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY rowid"
)
"""How a file is built: whatever was made in it by a statement, tables first."""

_TABLES = """
CREATE TABLE event (
    seq INTEGER PRIMARY KEY,
    event_id TEXT NOT NULL UNIQUE,
    vehicle_id TEXT NOT NULL,
    job_id TEXT,
    at TEXT NOT NULL,
    device TEXT NOT NULL,
    kind TEXT NOT NULL,
    body TEXT NOT NULL
) STRICT;
CREATE INDEX event_of_vehicle ON event (vehicle_id, kind, at, event_id);

CREATE TABLE customer (
    event_id TEXT PRIMARY KEY,
    vehicle_id TEXT NOT NULL,
    salt TEXT NOT NULL,
    name TEXT NOT NULL,
    contact TEXT NOT NULL
) STRICT;
CREATE INDEX customer_of_vehicle ON customer (vehicle_id);

CREATE TABLE sealed (
    sha256 TEXT PRIMARY KEY,
    vehicle_id TEXT NOT NULL,
    job_id TEXT NOT NULL,
    job_kind TEXT NOT NULL,
    revision INTEGER NOT NULL,
    signed_at TEXT NOT NULL,
    record TEXT NOT NULL,
    parts TEXT NOT NULL
) STRICT;
CREATE INDEX sealed_of_vehicle ON sealed (vehicle_id, signed_at);

CREATE TABLE sealed_private (
    sha256 TEXT PRIMARY KEY,
    vehicle_id TEXT NOT NULL,
    private TEXT NOT NULL
) STRICT;
CREATE INDEX sealed_private_of_vehicle ON sealed_private (vehicle_id);

CREATE TABLE vehicle (
    vehicle_id TEXT PRIMARY KEY,
    registration TEXT NOT NULL,
    description TEXT NOT NULL,
    vin TEXT NOT NULL,
    odometer_km INTEGER,
    customer TEXT NOT NULL,
    last_at TEXT NOT NULL,
    search TEXT NOT NULL
) STRICT;
CREATE INDEX vehicle_by_last_at ON vehicle (last_at DESC, vehicle_id, search);

CREATE TABLE job (
    job_id TEXT PRIMARY KEY,
    vehicle_id TEXT NOT NULL,
    kind TEXT NOT NULL,
    checklist_id TEXT NOT NULL,
    opened_at TEXT NOT NULL,
    signed_at TEXT,
    revision INTEGER NOT NULL,
    open INTEGER NOT NULL
) STRICT;
CREATE INDEX job_of_vehicle ON job (vehicle_id, opened_at);

CREATE TABLE bookmark (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    place TEXT NOT NULL
) STRICT;
CREATE TABLE setting (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
"""

_NEVER = """
CREATE TRIGGER {table}_never_changed BEFORE UPDATE ON {table}
BEGIN SELECT RAISE(ABORT, '{table} rows are never changed'); END;
CREATE TRIGGER {table}_never_deleted BEFORE DELETE ON {table}
BEGIN SELECT RAISE(ABORT, '{table} rows are never deleted'); END;
"""

_VIEWS = """
CREATE VIEW answer_history AS
SELECT vehicle_id, job_id, json_extract(body, '$.step_id') AS step_id, at, device,
    CASE kind WHEN 'step_skipped' THEN 'skipped' ELSE json_extract(body, '$.answer.kind') END
        AS kind,
    json_extract(body, '$.answer.value') AS value,
    coalesce(
        json_extract(body, '$.answer.text'), json_extract(body, '$.answer.choice'),
        json_extract(body, '$.answer.sha256'), json_extract(body, '$.reason'),
        CASE json_extract(body, '$.answer.yes') WHEN 1 THEN 'yes' WHEN 0 THEN 'no' END,
        json_extract(body, '$.answer.typed')) AS text,
    json_extract(body, '$.replaces') AS replaces, event_id
FROM event WHERE kind IN ('step_answered', 'step_skipped');

CREATE VIEW answer AS
SELECT vehicle_id, job_id, step_id, at, device, kind, value, text, event_id FROM (
    SELECT *, row_number() OVER (
        PARTITION BY job_id, step_id ORDER BY at DESC, event_id DESC) AS place
    FROM answer_history
) WHERE place = 1;

CREATE VIEW reading AS
SELECT vehicle_id, job_id, json_extract(body, '$.when') AS before_or_after,
    json_extract(body, '$.reading.point') AS point,
    json_extract(body, '$.reading.state') AS state,
    json_extract(body, '$.reading.value') AS value,
    json_extract(body, '$.withdrawn') AS withdrawn, at, device, event_id
FROM event WHERE kind = 'reading_taken';

CREATE VIEW note AS
SELECT vehicle_id, job_id, json_extract(body, '$.step_id') AS step_id, kind,
    coalesce(json_extract(body, '$.text'), json_extract(body, '$.explanation')) AS text,
    at, device, event_id
FROM event WHERE kind IN ('step_noted', 'exception_explained');

CREATE VIEW photo AS
SELECT vehicle_id, job_id, json_extract(body, '$.step_id') AS step_id,
    json_extract(body, '$.sha256') AS sha256, json_extract(body, '$.caption') AS caption,
    at, device, event_id
FROM event WHERE kind = 'photo_taken';

CREATE VIEW conclusion AS
SELECT vehicle_id, job_id, json_extract(body, '$.faults') AS faults,
    json_extract(body, '$.cause') AS cause, json_extract(body, '$.repair') AS repair,
    json_extract(body, '$.responsibility') AS responsibility, at, device, event_id
FROM event WHERE kind = 'cause_concluded';
"""


def first_tables(db: Database) -> None:
    """0.1.0: events, signed records, the present state, and views for any SQLite tool."""
    never = "".join(_NEVER.format(table=table) for table in APPEND_ONLY)
    for statement in _statements(_TABLES + never + _VIEWS):
        db.conn.execute(statement)


_OUT_OF_REACH = """
CREATE VIEW out_of_reach AS
SELECT vehicle_id, job_id, json_extract(body, '$.reading.point') AS point,
    json_extract(body, '$.reading.state') AS state,
    json_extract(body, '$.withdrawn') AS withdrawn, at, device, event_id
FROM event WHERE kind = 'reading_out_of_reach';
"""


def readings_out_of_reach(db: Database) -> None:
    """After 0.1.0: a reading may be out of reach, and a conclusion names what its faults hid."""
    for statement in _statements(_OUT_OF_REACH):
        db.conn.execute(statement)


def depth_of_a_job(_db: Database) -> None:
    """After 0.1.0: a job's opening says how much it asks for; older jobs ask for everything.

    Nothing changes in the tables: an app that does not know the field must not open the file.
    """


_SIGNED_EVENTS = """
ALTER TABLE event ADD COLUMN key TEXT;
ALTER TABLE event ADD COLUMN number INTEGER;
ALTER TABLE event ADD COLUMN before TEXT;
ALTER TABLE event ADD COLUMN signature TEXT;
CREATE INDEX event_of_key ON event (key, number);

ALTER TABLE sealed ADD COLUMN signature TEXT;

CREATE TABLE key_statement (
    sha256 TEXT PRIMARY KEY,
    key TEXT NOT NULL,
    by TEXT NOT NULL,
    at TEXT NOT NULL,
    statement TEXT NOT NULL
) STRICT;
CREATE TRIGGER key_statement_never_changed BEFORE UPDATE ON key_statement
BEGIN SELECT RAISE(ABORT, 'key_statement rows are never changed'); END;
CREATE TRIGGER key_statement_never_deleted BEFORE DELETE ON key_statement
BEGIN SELECT RAISE(ABORT, 'key_statement rows are never deleted'); END;

CREATE TABLE held_back (
    sha256 TEXT PRIMARY KEY,
    part TEXT NOT NULL,
    vehicle_id TEXT NOT NULL,
    event_id TEXT NOT NULL,
    at TEXT NOT NULL,
    why TEXT NOT NULL,
    key TEXT NOT NULL,
    line TEXT NOT NULL
) STRICT;
CREATE INDEX held_back_of_vehicle ON held_back (vehicle_id);
CREATE INDEX held_back_of_event ON held_back (event_id);

DROP TRIGGER event_never_deleted;
CREATE TRIGGER event_never_deleted BEFORE DELETE ON event
WHEN OLD.signature IS NOT NULL OR NOT EXISTS (
    SELECT 1 FROM held_back
    WHERE held_back.event_id = OLD.event_id AND held_back.part = 'event'
        AND held_back.why = 'displaced'
)
BEGIN SELECT RAISE(ABORT, 'event rows are never deleted'); END;
"""


def signed_events(db: Database) -> None:
    """After 0.1.0: each event and each seal is signed; what may not be taken in is held back.

    A row without a signature may leave ``event`` only once it lies in ``held_back`` as displaced
    by the signed one of the same id.
    """
    for statement in _statements(_SIGNED_EVENTS):
        db.conn.execute(statement)


_NEVER_REPLACED = """
CREATE TRIGGER event_never_replaced BEFORE INSERT ON event
WHEN EXISTS (SELECT 1 FROM event WHERE event_id = NEW.event_id)
    OR EXISTS (SELECT 1 FROM event WHERE seq = NEW.seq)
BEGIN SELECT RAISE(IGNORE); END;
CREATE TRIGGER sealed_never_replaced BEFORE INSERT ON sealed
WHEN EXISTS (SELECT 1 FROM sealed WHERE sha256 = NEW.sha256)
    OR EXISTS (SELECT 1 FROM sealed WHERE rowid = NEW.rowid)
BEGIN SELECT RAISE(IGNORE); END;
"""
_TEXTS_APART = """
CREATE TABLE event_text (
    event_id TEXT PRIMARY KEY,
    vehicle_id TEXT NOT NULL,
    salt TEXT NOT NULL,
    texts TEXT NOT NULL
) STRICT;
CREATE INDEX event_text_of_vehicle ON event_text (vehicle_id);

DROP VIEW answer;
DROP VIEW answer_history;
DROP VIEW note;
DROP VIEW photo;
DROP VIEW conclusion;

CREATE VIEW answer_history AS
SELECT vehicle_id, job_id, json_extract(body, '$.step_id') AS step_id, at, device,
    CASE kind WHEN 'step_skipped' THEN 'skipped' ELSE json_extract(body, '$.answer.kind') END
        AS kind,
    json_extract(body, '$.answer.value') AS value,
    coalesce(
        json_extract(texts, '$."answer.text"'), json_extract(texts, '$.reason'),
        json_extract(body, '$.answer.text'), json_extract(body, '$.answer.choice'),
        json_extract(body, '$.answer.sha256'), json_extract(body, '$.reason'),
        CASE json_extract(body, '$.answer.yes') WHEN 1 THEN 'yes' WHEN 0 THEN 'no' END,
        json_extract(body, '$.answer.typed')) AS text,
    json_extract(body, '$.replaces') AS replaces, event_id
FROM event LEFT JOIN (SELECT event_id, texts FROM event_text) USING (event_id)
WHERE kind IN ('step_answered', 'step_skipped');

CREATE VIEW answer AS
SELECT vehicle_id, job_id, step_id, at, device, kind, value, text, event_id FROM (
    SELECT *, row_number() OVER (
        PARTITION BY job_id, step_id ORDER BY at DESC, event_id DESC) AS place
    FROM answer_history
) WHERE place = 1;

CREATE VIEW note AS
SELECT vehicle_id, job_id, json_extract(body, '$.step_id') AS step_id, kind,
    coalesce(
        json_extract(texts, '$.text'), json_extract(texts, '$.explanation'),
        json_extract(body, '$.text'), json_extract(body, '$.explanation')) AS text,
    at, device, event_id
FROM event LEFT JOIN (SELECT event_id, texts FROM event_text) USING (event_id)
WHERE kind IN ('step_noted', 'exception_explained');

CREATE VIEW photo AS
SELECT vehicle_id, job_id, json_extract(body, '$.step_id') AS step_id,
    json_extract(body, '$.sha256') AS sha256,
    coalesce(json_extract(texts, '$.caption'), json_extract(body, '$.caption')) AS caption,
    at, device, event_id
FROM event LEFT JOIN (SELECT event_id, texts FROM event_text) USING (event_id)
WHERE kind = 'photo_taken';

CREATE VIEW conclusion AS
SELECT vehicle_id, job_id, json_extract(body, '$.faults') AS faults,
    coalesce(json_extract(texts, '$.cause'), json_extract(body, '$.cause')) AS cause,
    coalesce(json_extract(texts, '$.repair'), json_extract(body, '$.repair')) AS repair,
    json_extract(body, '$.responsibility') AS responsibility, at, device, event_id
FROM event LEFT JOIN (SELECT event_id, texts FROM event_text) USING (event_id)
WHERE kind = 'cause_concluded';

DELETE FROM setting WHERE name = 'signing_place';
"""


def texts_apart(db: Database) -> None:
    """After 0.1.0: what a person writes freely can be erased, and no row can be replaced.

    A row that is there is passed over, whoever opens the file and however it is written: SQLite's
    REPLACE deletes a row without asking the triggers for that, unless it is told to. A row
    without a number of its own has -1 while the trigger runs, which no row ever gets. The place
    that the next customer was offered to sign at is forgotten: it was the last one's.
    """
    for statement in _statements(_NEVER_REPLACED + _TEXTS_APART):
        db.conn.execute(statement)


_UNIT = """
CREATE VIEW unit AS
SELECT vehicle_id,
    coalesce(
        json_extract(texts, '$."installation.charger.model"'),
        json_extract(body, '$.installation.charger.model')) AS model,
    coalesce(
        json_extract(texts, '$."installation.charger.serial_number"'),
        json_extract(body, '$.installation.charger.serial_number')) AS serial_number,
    coalesce(
        json_extract(texts, '$."installation.charger.fitted_by"'),
        json_extract(body, '$.installation.charger.fitted_by')) AS fitted_by,
    json_extract(body, '$.installation.charger.warranty') AS warranty,
    json_extract(body, '$.installation.charger.plate_photo') AS plate_photo,
    at, device, event_id
FROM event LEFT JOIN (SELECT event_id, texts FROM event_text) USING (event_id)
WHERE kind = 'installation_described';
"""


def identity_of_the_unit(db: Database) -> None:
    """After 0.1.0: which unit it is stands in the installation, and can be asked for by view."""
    for statement in _statements(_UNIT):
        db.conn.execute(statement)


def is_up_to_date(connection: sqlite3.Connection) -> bool:
    """Whether exactly today's steps were applied."""
    return applied_steps(connection) == _STEPS.keys()


def applied_steps(connection: sqlite3.Connection) -> set[str]:
    """Return the names of the steps that were applied, asked without importing sqlite-utils."""
    try:
        applied = connection.execute(
            "SELECT name FROM _sqlite_migrations WHERE migration_set = ?", (_SET,)
        ).fetchall()
    except sqlite3.OperationalError:
        return set()  # a new file
    return {name for (name,) in applied}


def definitions(steps: Collection[str]) -> list[Row]:
    """Return how a file is built once these steps were applied, as rows of :data:`DEFINITIONS`.

    None where one of them is a newer version's.
    """
    if not _STEPS.keys() >= set(steps):
        return []
    with closing(sqlite3.connect(":memory:")) as empty:
        for name, step in _STEPS.items():
            if name in steps:
                step(cast("Database", SimpleNamespace(conn=empty)))  # a step asks for no more
        return empty.execute(DEFINITIONS).fetchall()


def migrate(db: Database) -> tuple[str, ...]:
    """Bring a file to today's tables and name the steps taken; all of a step or none.

    Raises
    ------
    RecordError
        A newer version of the app has been at the file.
    """
    steps = migrations()
    known = {step.name for step in steps.applied(db)}
    if known - _STEPS.keys():
        raise RecordError(
            "These records were last opened by a newer version of the app. Update this one; "
            "nothing was changed."
        )
    pending = tuple(step.name for step in steps.pending(db))
    if pending:
        steps.apply(db)
    return pending


def migrations() -> Migrations:
    """Return every step since the first release, in order."""
    from sqlite_utils.migrations import Migrations

    steps = Migrations(_SET)
    for name, step in _STEPS.items():
        steps(name=name)(step)
    return steps


_SET = "voltwalk"
_STEPS = {
    "0001_first_tables": first_tables,
    "0002_readings_out_of_reach": readings_out_of_reach,
    "0003_depth_of_a_job": depth_of_a_job,
    "0004_signed_events": signed_events,
    "0005_texts_apart": texts_apart,
    "0006_identity_of_the_unit": identity_of_the_unit,
}


def _statements(script: str) -> list[str]:
    # executescript() would commit first and so break the step's one transaction.
    found, text = [], ""
    for line in script.splitlines(keepends=True):
        text += line
        if text.strip() and sqlite3.complete_statement(text):
            found.append(text)
            text = ""
    return found
