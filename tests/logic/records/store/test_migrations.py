import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from logic.case import OutOfReach
from logic.errors import RecordError
from logic.records.events import Event, ReadingOutOfReach
from logic.records.store import migrations
from logic.records.store.database import open_database
from logic.records.store.store import FILE, Store
from logic.records.verify import check
from logic.vehicle.points import Point, State
from tests.logic.records.scenes import open_job, signed_van, van
from tests.paths import RELEASES

STORES = sorted(RELEASES.glob("*.db"))
TABLES = Path(migrations.__file__).with_name("tables.md")
NEVER = {
    "event_never_changed",
    "event_never_deleted",
    "sealed_never_changed",
    "sealed_never_deleted",
    "event_never_replaced",
    "sealed_never_replaced",
}


def names(connection, kind):
    rows = connection.execute("SELECT name FROM sqlite_master WHERE type = ?", (kind,))
    return {name for (name,) in rows if not name.startswith("sqlite_")}


@pytest.fixture
def file(tmp_path):
    with Store.open(tmp_path) as store:
        signed_van(store)
    with closing(sqlite3.connect(tmp_path / FILE)) as connection:
        yield connection


@pytest.mark.parametrize("release", STORES, ids=lambda path: path.stem)
def test_a_store_of_each_release_opens_with_all_its_events_and_triggers(tmp_path, release):
    shutil.copy(release, tmp_path / FILE)
    with closing(sqlite3.connect(release)) as old:
        before = {row[0] for row in old.execute("SELECT event_id FROM event")}
    with Store.open(tmp_path) as store:
        assert store.notices == ()
        assert {event.event_id for event in store.events()} == before
        assert len(store.find_vehicles()) == 2
        assert all(check(done).intact for done in store.sealed_records())
        signed_van(store, "NEW 1")
    with closing(sqlite3.connect(tmp_path / FILE)) as connection:
        assert names(connection, "trigger") >= NEVER
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_there_is_a_stored_release(tmp_path):
    assert [path.stem for path in STORES] >= ["0.1.0"]


@pytest.mark.parametrize("table", migrations.APPEND_ONLY)
@pytest.mark.parametrize("change", ["UPDATE {table} SET vehicle_id = 'x'", "DELETE FROM {table}"])
def test_what_happened_is_neither_changed_nor_deleted(file, table, change):
    before = file.execute(f"SELECT * FROM {table}").fetchall()
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        file.execute(change.format(table=table))
    assert file.execute(f"SELECT * FROM {table}").fetchall() == before


# Another vehicle's id in a row that is there: by the id, and by the row's own number.
REPLACED = {
    "event": (
        "{verb} INTO event (seq, event_id, vehicle_id, at, device, kind, body)"
        " SELECT seq, event_id, 'x', at, device, kind, body FROM event WHERE true",
        "{verb} INTO event (seq, event_id, vehicle_id, at, device, kind, body)"
        " SELECT seq, event_id || 'x', 'x', at, device, kind, body FROM event WHERE true",
        "{verb} INTO event (event_id, vehicle_id, at, device, kind, body)"
        " SELECT event_id, 'x', at, device, kind, body FROM event WHERE true",
    ),
    "sealed": (
        "{verb} INTO sealed (sha256, vehicle_id, job_id, job_kind, revision, signed_at, record,"
        " parts) SELECT sha256, 'x', job_id, job_kind, revision, signed_at, record, parts"
        " FROM sealed WHERE true",
        "{verb} INTO sealed (rowid, sha256, vehicle_id, job_id, job_kind, revision, signed_at,"
        " record, parts) SELECT rowid, sha256 || 'x', 'x', job_id, job_kind, revision, signed_at,"
        " record, parts FROM sealed WHERE true",
    ),
}


@pytest.mark.parametrize("recursive", ["on", "off"])  # SQLite's own default is off
@pytest.mark.parametrize(
    "verb", ["INSERT OR REPLACE", "REPLACE", "INSERT OR IGNORE", "INSERT OR FAIL", "INSERT"]
)
@pytest.mark.parametrize(
    ("table", "change"), [(table, change) for table in REPLACED for change in REPLACED[table]]
)
def test_no_row_is_replaced_whoever_opens_the_file(file, table, change, verb, recursive):
    file.execute(f"PRAGMA recursive_triggers={recursive}")
    before = file.execute(f"SELECT rowid, * FROM {table}").fetchall()
    file.execute(change.format(verb=verb))
    file.execute(
        change.format(verb="INSERT") + " ON CONFLICT DO UPDATE SET vehicle_id = excluded.vehicle_id"
    )
    assert file.execute(f"SELECT rowid, * FROM {table}").fetchall() == before


def test_a_new_row_still_goes_in_beside_those_that_are_there(file):
    count = file.execute("SELECT count(*) FROM event").fetchone()[0]
    added = file.execute(
        "INSERT OR REPLACE INTO event (event_id, vehicle_id, at, device, kind, body)"
        " VALUES ('new', 'v', '', '', '', '')"
    )
    assert added.rowcount == 1
    assert file.execute("SELECT count(*) FROM event").fetchone()[0] == count + 1


def test_the_stores_own_connection_refuses_replacing_too(tmp_path):
    with closing(open_database(tmp_path / FILE)) as db:
        migrations.migrate(db)
        assert db.execute("PRAGMA recursive_triggers").fetchone() == (1,)
        assert db.execute("PRAGMA synchronous").fetchone() == (2,)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_migration_that_fails_leaves_the_file_as_it_was(tmp_path, monkeypatch):
    monkeypatch.setattr(migrations, "_VIEWS", "CREATE VIEW broken AS SELECT 1;\nNO SQL AT ALL;\n")
    with closing(open_database(tmp_path / FILE)) as db:
        with pytest.raises(sqlite3.OperationalError, match="syntax"):
            migrations.migrate(db)
        assert names(db.conn, "table") <= {"_sqlite_migrations"}
        assert names(db.conn, "view") == set()


def test_a_store_that_a_newer_version_was_at_is_left_alone(tmp_path):
    Store.open(tmp_path).close()
    with closing(sqlite3.connect(tmp_path / FILE)) as connection, connection:
        connection.execute(
            "INSERT INTO _sqlite_migrations (migration_set, name, applied_at)"
            " VALUES ('voltwalk', '0099_from_later', '2030')"
        )
    with pytest.raises(RecordError, match="Update this one"):
        Store.open(tmp_path)
    assert not (tmp_path / "damaged").exists()


def test_no_migration_rebuilds_a_table_since_that_drops_its_triggers():
    code = Path(migrations.__file__).read_text().replace("``transform()``", "")
    assert "transform" not in code


def test_numbers_and_texts_cannot_be_mixed_up_in_a_column(file):
    with pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT value in INTEGER"):
        file.execute("INSERT INTO vehicle VALUES ('v', '', '', '', 'many', '', '', '')")


def test_the_page_on_the_tables_names_each_table_column_and_view(file):
    page = TABLES.read_text()
    sections = dict(re.findall(r"^### (\w+)\n(.*?)(?=^#|\Z)", page, re.M | re.S))
    described = {
        table: re.findall(r"^\| (\w+) \|", text, re.M)[1:] for table, text in sections.items()
    }
    real = {
        table: [row[1] for row in file.execute(f"PRAGMA table_info({table})")]
        for table in names(file, "table") - {"_sqlite_migrations"}
    }
    assert described == real
    views = page.split("## Views")[1].split("## ")[0]
    assert set(re.findall(r"^\| (\w+) \|", views, re.M)) - {"view"} == names(file, "view")


def test_the_pages_example_runs_and_every_view_answers(file):
    example = re.search(r"```sql\n(.*?)```", TABLES.read_text(), re.S).group(1)
    assert file.execute(example).fetchall() == []
    for view in names(file, "view"):
        file.execute(f"SELECT * FROM {view}").fetchall()


def test_the_view_of_answers_shows_the_present_value(file):
    rows = file.execute("SELECT step_id, kind, value FROM answer").fetchall()
    assert rows == [("house_voltage", "reading", 12.6)]


@pytest.mark.parametrize("release", STORES, ids=lambda path: path.stem)
def test_a_store_of_each_release_takes_a_reading_out_of_reach_and_shows_it(tmp_path, release):
    shutil.copy(release, tmp_path / FILE)
    reading = OutOfReach(point=Point.VEHICLE_FEED_DROP, state=State.IDLE)
    with Store.open(tmp_path) as store:
        vehicle_id = van(store, "NEW 2")
        job_id = open_job(store, vehicle_id, "callback")
        body = ReadingOutOfReach(reading=reading)
        store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))
    with Store.open(tmp_path) as store:
        assert store.job(job_id).out_of_reach == (reading,)
    with closing(sqlite3.connect(tmp_path / FILE)) as connection:
        rows = connection.execute("SELECT point, state, withdrawn FROM out_of_reach").fetchall()
    assert rows == [("vehicle_feed_drop", "idle", 0)]
