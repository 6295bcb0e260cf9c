"""A log that lost something, and a file that is not the one that was left: each is told once."""

import shutil
import sqlite3
import struct
from contextlib import closing

import pytest

from logic.records.store import backup
from logic.records.store.store import FILE, Store
from logic.records.store.write_ahead_log import mark_of
from tests.logic.records.scenes import answer, open_job, private, record_of, van

LOG, FRAME = f"{FILE}-wal", 24 + 4096  # sqlite.org/walformat.html, 2.2


def events(store):
    return [event.event_id for event in store.events()]


def begun(store, answers=10):
    vehicle_id = van(store)
    job_id = open_job(store, vehicle_id)
    for number in range(answers):
        answer(store, vehicle_id, job_id, f"step_{number}", 12.6)
    return vehicle_id, job_id


@pytest.fixture
def killed(tmp_path):
    """A store's folder as a kill leaves it: entries in the log, none of them in the file."""
    with Store.open(tmp_path / "living") as store:
        store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        begun(store)
        shutil.copytree(tmp_path / "living", tmp_path / "killed")
        (tmp_path / "killed" / f"{FILE}-shm").unlink(missing_ok=True)
        return tmp_path / "killed", events(store)


def test_a_log_that_is_whole_is_read_and_nothing_is_said(killed):
    folder, whole = killed
    with Store.open(folder) as store:
        assert (events(store), store.notices) == (whole, ())


@pytest.mark.parametrize("part", [0, 4, 10, 40, 100, 2000])
def test_a_log_broken_in_its_middle_is_told_and_what_came_before_stays(killed, part):
    folder, whole = killed
    data = bytearray((folder / LOG).read_bytes())
    frames = (len(data) - 32) // FRAME
    data[32 + (frames // 2) * FRAME + part] ^= 0x10
    (folder / LOG).write_bytes(data)
    with Store.open(folder) as store:
        left = events(store)
        if left != whole:
            assert "log of the latest entries was damaged" in store.notices[0]
        assert left == whole[: len(left)]
    with Store.open(folder) as store:
        assert store.notices == ()


def test_a_break_in_the_first_frame_loses_and_tells_all(killed):
    folder, _ = killed
    data = bytearray((folder / LOG).read_bytes())
    data[32 + 24 + 500] ^= 0x01
    (folder / LOG).write_bytes(data)
    with Store.open(folder) as store:
        assert events(store) == []
        assert "12 or more changes" in store.notices[0] or "or more changes" in store.notices[0]


@pytest.mark.parametrize("head", [bytes(32), b"\xff" * 32, b"no log at all " * 3])
def test_a_log_without_its_head_is_told(killed, head):
    folder, _ = killed
    data = (folder / LOG).read_bytes()
    (folder / LOG).write_bytes(head[:32] + data[32:])
    with Store.open(folder) as store:
        assert events(store) == []
        assert "log of the latest entries was damaged" in store.notices[0]


def test_what_an_earlier_log_left_behind_is_no_loss(killed):
    folder, whole = killed
    data = (folder / LOG).read_bytes()
    old = bytearray(data[32 : 32 + 3 * FRAME])
    for number in range(3):
        struct.pack_into(">II", old, number * FRAME + 8, 1, 2)  # other salts
    (folder / LOG).write_bytes(data + bytes(old))
    with Store.open(folder) as store:
        assert (events(store), store.notices) == (whole, ())


def test_a_transaction_that_was_never_finished_is_no_loss(killed):
    folder, whole = killed
    data = (folder / LOG).read_bytes()
    frame = bytearray(data[-FRAME:])
    struct.pack_into(">I", frame, 4, 0)  # ends no transaction; its sums are wrong as well
    (folder / LOG).write_bytes(data + bytes(frame))
    with Store.open(folder) as store:
        assert (events(store), store.notices) == (whole, ())


# The mark.


def test_what_was_put_away_is_in_the_file_itself(tmp_path):
    with Store.open(tmp_path / "living") as store:
        begun(store)
        whole = events(store)
        store.put_away()
        (tmp_path / "card").mkdir()
        shutil.copy(tmp_path / "living" / FILE, tmp_path / "card" / FILE)
    with Store.open(tmp_path / "card") as store:
        assert (events(store), store.notices) == (whole, ())


def test_what_was_sealed_is_in_the_file_itself(tmp_path):
    with Store.open(tmp_path / "living") as store:
        vehicle_id, job_id = begun(store)
        sealed = store.seal(record_of(vehicle_id, job_id), private())
        with closing(sqlite3.connect(":memory:")) as copy:
            copy.deserialize(
                (tmp_path / "living" / FILE).read_bytes()[:18]
                + b"\1\1"
                + (tmp_path / "living" / FILE).read_bytes()[20:]
            )
            assert copy.execute("SELECT sha256 FROM sealed").fetchall() == [(sealed.sha256,)]


@pytest.mark.parametrize("cut", [0, 32, 32 + FRAME])
def test_entries_that_are_gone_since_it_was_put_away_are_told_once(tmp_path, cut):
    with Store.open(tmp_path / "living") as store:
        begun(store, answers=2)
        store.put_away()
        store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        shutil.copy(tmp_path / "living" / FILE, tmp_path / "older.db")
        begun(store, answers=5)
        store.put_away()
        log = (tmp_path / "living" / LOG).read_bytes()
        folder = tmp_path / "lost"
        folder.mkdir()
        shutil.copy(tmp_path / "older.db", folder / FILE)
        shutil.copy(mark_of(tmp_path / "living" / FILE), mark_of(folder / FILE))
        (folder / LOG).write_bytes(log[:cut])
    with Store.open(folder) as store:
        [told] = store.notices
        assert told.startswith("7 of the latest entries are no longer in the file")
    with Store.open(folder) as store:
        assert store.notices == ()


def test_a_file_of_another_device_in_its_place_is_told(tmp_path):
    for name in ("one", "other"):
        with Store.open(tmp_path / name) as store:
            begun(store)
    shutil.copy(tmp_path / "other" / FILE, tmp_path / "one" / FILE)
    with Store.open(tmp_path / "one") as store:
        assert "an older file was put in its place" in store.notices[0]


def test_a_backup_put_back_on_purpose_is_no_loss(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, job_id = begun(store)
    kept = backup.roll(tmp_path / FILE)
    with Store.open(tmp_path) as store:
        answer(store, vehicle_id, job_id, "later", 12.6)
    backup.restore(kept, tmp_path / FILE)
    with Store.open(tmp_path) as store:
        assert store.notices == ()


def test_a_rescued_store_counts_anew(tmp_path):
    with Store.open(tmp_path) as store:
        begun(store)
    data = bytearray((tmp_path / FILE).read_bytes())
    data[:100] = bytes(100)
    (tmp_path / FILE).write_bytes(data)
    with Store.open(tmp_path) as store:
        assert len(store.notices) == 1
    with Store.open(tmp_path) as store:
        assert store.notices == ()


@pytest.mark.parametrize("text", ["", "no JSON", "{}", '{"seq": "x", "event_id": 1}', "[1]"])
def test_a_mark_that_says_nothing_alarms_nobody(tmp_path, text):
    with Store.open(tmp_path) as store:
        begun(store)
    mark_of(tmp_path / FILE).write_text(text)
    with Store.open(tmp_path) as store:
        assert store.notices == ()
