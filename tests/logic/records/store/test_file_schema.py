"""A file whose triggers, indexes or tables another program changed."""

import shutil
import sqlite3
from contextlib import closing

import pytest

from logic.records.store.migrations import DEFINITIONS
from logic.records.store.store import FILE, Store
from tests.logic.records.scenes import signed_van, van
from tests.paths import RELEASES


@pytest.fixture
def folder(tmp_path):
    with Store.open(tmp_path) as store:
        signed_van(store, "LIB 042")
    return tmp_path


def changed(folder, *statements):
    with closing(sqlite3.connect(folder / FILE)) as connection, connection:
        for statement in statements:
            connection.execute(statement)


def built(folder):
    with closing(sqlite3.connect(folder / FILE)) as connection:
        return sorted(connection.execute(DEFINITIONS).fetchall())


REWRITES = (
    "CREATE TRIGGER rewrites AFTER INSERT ON event BEGIN"
    " UPDATE event SET body = replace(body, 'VET', 'XXX') WHERE seq = NEW.seq; END"
)


@pytest.mark.parametrize(
    ("statements", "words"),
    [
        (["DROP TRIGGER event_never_changed"], "put back: trigger event_never_changed"),
        (["DROP TRIGGER event_never_changed", REWRITES], "taken out: trigger rewrites; put back:"),
        (["CREATE UNIQUE INDEX one_each ON event (at)"], "taken out: index one_each"),
        (["DROP INDEX event_of_key"], "put back: index event_of_key"),
        (
            ["DROP VIEW reading", "CREATE VIEW reading AS SELECT 14.4 AS value"],
            "put back: view reading",
        ),
        (
            [
                "DROP TRIGGER sealed_never_deleted",
                "CREATE TRIGGER sealed_never_deleted BEFORE DELETE ON sealed BEGIN SELECT 1; END",
            ],
            "put back: trigger sealed_never_deleted",
        ),
    ],
)
def test_what_another_program_changed_is_put_right_and_told(folder, statements, words):
    before = built(folder)
    changed(folder, *statements)
    with Store.open(folder) as store:
        assert words in store.notices[0]
        vehicle_id = van(store, "VET 117")
        assert store.vehicle(vehicle_id).vehicle.registration == "VET 117"
    assert built(folder) == before
    with Store.open(folder) as store:
        assert store.notices == ()


def test_a_trigger_in_a_store_of_release_0_1_0_is_out_before_the_store_is_brought_up(tmp_path):
    shutil.copy(RELEASES / "0.1.0.db", tmp_path / FILE)
    changed(tmp_path, REWRITES)
    with Store.open(tmp_path) as store:
        assert "taken out: trigger rewrites" in store.notices[0]
    assert not any("rewrites" in row for row in built(tmp_path))


def test_a_table_that_is_built_otherwise_is_read_out_into_a_right_one(folder):
    before = built(folder)
    changed(
        folder,
        "PRAGMA writable_schema = ON",
        "UPDATE sqlite_master SET sql = replace(sql, 'UNIQUE', 'UNIQUE ON CONFLICT REPLACE')"
        " WHERE name = 'event'",
    )
    with Store.open(folder) as store:
        assert "its table event is not built as this app builds it" in store.notices[0]
        [row] = store.find_vehicles("LIB 042")
        assert len(list(store.sealed_records())) == 1
        assert store.vehicle(row.vehicle_id).customer.name == "Bookmobile trust"
    assert built(folder) == before


def test_views_and_tables_of_somebodys_own_stay(folder):
    changed(
        folder,
        "CREATE VIEW of_mine AS SELECT count(*) FROM event",
        "CREATE TABLE notes_of_mine (text TEXT)",
        "CREATE INDEX by_text ON notes_of_mine (text)",
    )
    with Store.open(folder) as store:
        assert store.notices == ()
    assert {"of_mine", "notes_of_mine", "by_text"} <= {row[1] for row in built(folder)}
