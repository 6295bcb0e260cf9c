import random
import shutil
import sqlite3
import subprocess
from contextlib import closing, suppress
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.errors import RecordError, StoreDamagedError
from logic.records.store import backup, rescue
from logic.records.store.carve import rows
from logic.records.store.store import FILE, Store
from logic.records.store.text_table import LEFT_OUT
from logic.records.verify import check
from tests.logic.records.scenes import answer, customer, open_job, record_of, signed_van, van
from tests.paths import RELEASES

# SQLite's own shell, inside Debian's package fossil: the one in Debian 12's package sqlite3 is
# built without the table that its .recover command reads.
FOSSIL = "fossil"


@pytest.fixture(scope="module")
def release():
    return (RELEASES / "0.1.0.db").read_bytes()


def busy_store(folder, vehicles=12, answers=40):
    with Store.open(folder, "phone-a") as store:
        for number in range(vehicles):
            signed_van(store, f"FHA {number:03}")
            vehicle_id = van(store, f"FHB {number:03}")
            customer(store, vehicle_id, f"Keeper {number}", "long " * 30)
            job_id = open_job(store, vehicle_id)
            for step in range(answers):
                answer(store, vehicle_id, job_id, f"step_{step}", 12 + step / 100)
        return dump(store)


def dump(store):
    return {event.event_id: event for event in store.events()}


def spoil(path, pages, seed, size=4096):
    noise = random.Random(seed)
    with path.open("r+b") as file:
        file.seek(0, 2)
        chosen = noise.sample(range(1, file.tell() // size), pages)
        for number in chosen:
            file.seek(number * size)
            file.write(noise.randbytes(size))


def test_every_row_of_a_sound_file_is_carved(tmp_path):
    before = busy_store(tmp_path, vehicles=4)
    found = {row.values[1] for row in rows(tmp_path / FILE) if len(row.values) == 12}
    assert found >= set(before)


def test_rows_still_in_the_log_are_carved_too(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, _ = signed_van(store)
        expected = {event.event_id for event in store.events(vehicle_id)}
        assert (tmp_path / f"{FILE}-wal").stat().st_size
        found = {row.values[1] for row in rows(tmp_path / FILE) if len(row.values) == 12}
    assert found >= expected


@pytest.mark.parametrize("seed", range(4))
def test_a_damaged_store_opens_with_what_can_be_read_and_says_so(tmp_path, seed):
    before = busy_store(tmp_path)
    spoil(tmp_path / FILE, 4, seed)
    with Store.open(tmp_path) as store:
        after = dump(store)
        assert "set aside" in store.notices[0]
        assert str(tmp_path / "damaged") in store.notices[0]
        assert sum(1 for _ in store.sealed_records()) > 0
    assert len(after) > 0.5 * len(before)
    # An event is either whole or gone; only what is kept apart may be missing, names and words.
    for event_id, event in after.items():
        if event.body.kind != "customer_described" and LEFT_OUT not in event.model_dump_json():
            assert event == before[event_id]
    aside = next((tmp_path / "damaged").glob(f"*/{FILE}"))
    assert aside.stat().st_size
    with Store.open(tmp_path) as store:
        assert store.notices == ()
        assert dump(store) == after


def recovered_by_sqlite(path, folder):
    shutil.copy(path, folder / "copy.db")
    script = subprocess.run(
        [FOSSIL, "sql", "--no-repository", folder / "copy.db", ".recover"],
        capture_output=True,
        text=True,
        errors="replace",  # what it finds on a page of noise is no text
        check=True,
        env={"HOME": str(folder)},
    ).stdout
    with closing(sqlite3.connect(":memory:")) as recovered:
        recovered.executescript(script)
        found = set(recovered.execute("SELECT event_id, body, signature FROM event"))
        lost = "SELECT 1 FROM sqlite_master WHERE name = 'lost_and_found'"
        if recovered.execute(lost).fetchone():
            # Rows whose table it cannot tell; an event's are told by their twelve columns.
            query = "SELECT c1, c7, c11 FROM lost_and_found WHERE nfield = 12 AND c0 IS NULL"
            found |= set(recovered.execute(query))
    return found


# With seed 2 the page with the tables' definitions is spoilt, of which that command makes nothing.
@pytest.mark.outside
@pytest.mark.parametrize("seed", [0, 1, 3, 4, 5])
def test_no_event_that_sqlites_own_recover_finds_is_missed(tmp_path, seed):
    busy_store(tmp_path)
    with closing(sqlite3.connect(tmp_path / FILE)) as sound:
        written = set(sound.execute("SELECT event_id, body, signature FROM event"))
    spoil(tmp_path / FILE, 5, seed)
    # Half an event is none: its signature tells, which that command does not look at.
    theirs = {row[0] for row in recovered_by_sqlite(tmp_path / FILE, tmp_path) & written}
    with Store.open(tmp_path) as store:
        ours = set(dump(store))
    assert len(theirs) > 100
    assert ours >= theirs


def test_what_the_damaged_file_lost_comes_from_the_backup(tmp_path):
    before = busy_store(tmp_path)
    backup.roll(tmp_path / FILE)
    spoil(tmp_path / FILE, 12, 1)
    with Store.open(tmp_path) as store:
        assert dump(store) == before
        assert "nothing is missing" in store.notices[0]
        assert "from backups, the newest of" in store.notices[0]


def test_a_file_that_is_no_database_at_all_is_replaced_from_the_backup(tmp_path):
    before = busy_store(tmp_path, vehicles=2)
    backup.roll(tmp_path / FILE)
    (tmp_path / FILE).write_bytes(b"holiday pictures" * 4000)
    with Store.open(tmp_path) as store:
        assert dump(store) == before


def test_a_first_page_of_noise_costs_no_event(tmp_path):
    before = busy_store(tmp_path, vehicles=3)
    with (tmp_path / FILE).open("r+b") as file:
        file.write(random.Random(1).randbytes(4096))
    with Store.open(tmp_path) as store:
        assert dump(store) == before


def test_a_store_whose_file_vanished_comes_back_from_its_backup(tmp_path):
    before = busy_store(tmp_path, vehicles=2)
    backup.roll(tmp_path / FILE)
    (tmp_path / FILE).unlink()
    with Store.open(tmp_path) as store:
        assert dump(store) == before
        assert "nothing in its place" in store.notices[0]


def test_the_log_of_a_vanished_file_is_rescued_and_not_played_into_the_next(tmp_path):
    busy_store(tmp_path, vehicles=2)
    backup.roll(tmp_path / FILE)
    with Store.open(tmp_path) as store:
        vehicle_id = van(store, "LATE 1")
        before = dump(store)
        log = (tmp_path / f"{FILE}-wal").read_bytes()
    (tmp_path / FILE).unlink()
    (tmp_path / f"{FILE}-wal").write_bytes(log)
    with Store.open(tmp_path) as store:
        assert dump(store) == before
        assert store.vehicle(vehicle_id).vehicle.registration == "LATE 1"
    assert Store.open(tmp_path).notices == ()


@settings(deadline=None)
@given(st.binary(max_size=6000), st.booleans())
def test_no_bytes_bring_the_carving_down(tmp_path_factory, data, as_log):
    path = tmp_path_factory.mktemp("carve") / FILE
    path.write_bytes(b"" if as_log else data)
    path.with_name(f"{FILE}-wal").write_bytes(data if as_log else b"")
    list(rows(path))


def use(store):
    for row in store.find_vehicles():
        store.vehicle(row.vehicle_id)
    list(store.sealed_records())
    store.bookmark(), store.setting("workshop")
    return dump(store)


@settings(max_examples=40, deadline=None)
@given(flips=st.lists(st.tuples(st.integers(0, 122_879), st.integers(0, 255)), max_size=40))
def test_after_any_flipped_bytes_the_store_works_at_the_second_start_at_the_latest(
    tmp_path_factory, release, flips
):
    folder = tmp_path_factory.mktemp("flip")
    content = bytearray(release)
    for at, value in flips:
        content[at] = value
    (folder / FILE).write_bytes(content)
    list(rows(folder / FILE))
    with suppress(RecordError), Store.open(folder) as store:
        use(store)
    with Store.open(folder) as store:
        use(store)
        signed_van(store, "NEW 1")
    shutil.rmtree(folder)


def test_a_spoilt_entry_is_told_then_filled_in_from_an_older_backup(tmp_path):
    before = busy_store(tmp_path, vehicles=2)
    backup.roll(tmp_path / FILE, datetime(2026, 3, 2, tzinfo=UTC))
    content = (tmp_path / FILE).read_bytes()
    (tmp_path / FILE).write_bytes(
        content.replace(b'"step_id":"step_7"', b'"step_id"\xff"step_7"', 1)
    )
    # A copy taken since holds the spoilt entry too.
    backup.roll(tmp_path / FILE, datetime(2026, 3, 3, tzinfo=UTC))
    with Store.open(tmp_path) as store, pytest.raises(StoreDamagedError, match="open it again"):
        use(store)
    with Store.open(tmp_path) as store:
        assert use(store) == before
        assert "1 more from backups" in store.notices[0]


def test_a_rescue_killed_before_its_last_rename_is_finished_later(tmp_path, monkeypatch):
    before = busy_store(tmp_path, vehicles=2)
    spoil(tmp_path / FILE, 1, 3)
    with monkeypatch.context() as patch:
        patch.setattr(rescue.backup, "finish_rescue", lambda path: None)
        rescue.rescue(tmp_path / FILE)
    backup.set_aside(tmp_path / FILE, "damaged")
    with Store.open(tmp_path) as store:
        assert len(dump(store)) > 0.5 * len(before)


def test_a_long_signed_record_that_runs_over_many_pages_is_rescued(tmp_path):
    step = record_of("a" * 32, "b" * 32).steps[0]
    steps = tuple(step.model_copy(update={"step_id": f"step_{number}"}) for number in range(60))
    with Store.open(tmp_path) as store:
        vehicle_id, job_id = signed_van(store, steps=steps)
        before = store.sealed(job_id)
    with (tmp_path / FILE).open("r+b") as file:
        file.write(bytes(4096))
    with Store.open(tmp_path) as store:
        assert store.sealed(job_id) == before
        assert check(store.sealed(job_id)[0]).intact
        assert store.vehicle(vehicle_id).customer.name == "Bookmobile trust"


def test_an_erased_customer_does_not_come_back_with_a_rescue(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, job_id = signed_van(store)
        backup.roll(tmp_path / FILE)
        kept = (backup.backups(tmp_path)[0]).read_bytes()
        store.erase_customer(vehicle_id)
    backup.backups(tmp_path)[0].write_bytes(kept)  # a copy put back by hand
    with (tmp_path / FILE).open("r+b") as file:
        file.write(bytes(4096))
    with Store.open(tmp_path) as store:
        assert store.vehicle(vehicle_id).customer.name == ""
        assert store.sealed(job_id)[0].private is None


def test_a_file_whose_tables_do_not_fit_together_is_rescued(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, _ = signed_van(store)
    with closing(sqlite3.connect(tmp_path / FILE)) as connection, connection:
        connection.execute("DROP TABLE _sqlite_migrations")
    with Store.open(tmp_path) as store:
        assert "already exists" in store.notices[0]
        assert store.vehicle(vehicle_id).vehicle.registration == "BKS 207"


@pytest.mark.parametrize(
    "harm",
    [
        "UPDATE vehicle SET last_at = 'yesterday'",
        "UPDATE sealed_private SET private = '{'",
        "DROP TRIGGER event_never_changed; UPDATE event SET body = '{' WHERE kind = 'job_opened'",
        "DROP TRIGGER sealed_never_changed; UPDATE sealed SET record = '{'",
    ],
)
def test_a_row_that_cannot_be_read_is_told_and_gone_at_the_next_start(tmp_path, harm):
    with Store.open(tmp_path) as store:
        vehicle_id, _ = signed_van(store)
    with closing(sqlite3.connect(tmp_path / FILE)) as connection:
        connection.executescript(harm)
    with Store.open(tmp_path) as store, pytest.raises(StoreDamagedError, match="open it again"):
        use(store)
    with Store.open(tmp_path) as store:
        use(store)
        assert store.vehicle(vehicle_id).vehicle.registration == "BKS 207"


def test_a_signed_record_changed_inside_the_store_is_named_by_its_part(tmp_path):
    with Store.open(tmp_path) as store:
        _, job_id = signed_van(store)
    harm = (
        "DROP TRIGGER sealed_never_changed;"
        "UPDATE sealed SET record = replace(record, '\"12.6 V\"', '\"12.9 V\"')"
    )
    with closing(sqlite3.connect(tmp_path / FILE)) as connection:
        connection.executescript(harm)
    with Store.open(tmp_path) as store:
        complaints = check(store.sealed(job_id)[0]).complaints
    assert complaints[0] == ('Step house_voltage was changed after signing; it now says "12.9 V".')


def test_writing_to_a_vehicle_with_an_unreadable_entry_is_told_as_damage(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, _ = signed_van(store)
    harm = "DROP TRIGGER event_never_changed; UPDATE event SET body = '[' WHERE kind LIKE 'veh%'"
    with closing(sqlite3.connect(tmp_path / FILE)) as connection:
        connection.executescript(harm)
    with Store.open(tmp_path) as store, pytest.raises(StoreDamagedError):
        customer(store, vehicle_id, "Dr Wren")


def test_settings_and_the_bookmark_survive_a_rescue(tmp_path):
    with Store.open(tmp_path) as store:
        signed_van(store)
        store.set_setting("workshop", "Fernhollow Auto Electrical")
    with (tmp_path / FILE).open("r+b") as file:
        file.write(bytes(4096))
    with Store.open(tmp_path) as store:
        assert store.setting("workshop") == "Fernhollow Auto Electrical"
