"""Storage that is full, write-protected, in use elsewhere, or lost the end of the log."""

import os
import resource
import signal
import sqlite3
import tempfile
from contextlib import closing, contextmanager

import pytest

from logic.errors import RecordError
from logic.records.store.store import FILE, Store
from tests.logic.records.scenes import answer, open_job, signed_van, van


def events(store):
    return [event.event_id for event in store.events()]


@contextmanager
def no_file_larger_than(size):
    """Let the system refuse to grow any file past a size, as a full disk does."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    old = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, old)


@contextmanager
def as_nobody():
    """Work as a user whom file permissions bind; as root they bind nobody."""
    if os.geteuid():
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def fill_up(store, vehicle_id, job_id):
    for number in range(2000):
        answer(store, vehicle_id, job_id, f"step_{number}", 12.6)


def test_a_full_disk_is_told_and_costs_nothing_that_was_saved(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        with no_file_larger_than(1_200_000), pytest.raises(RecordError) as refusal:
            fill_up(store, vehicle_id, job_id)
        assert "not saved" in str(refusal.value)
        assert "ree some space" in str(refusal.value)
        saved = events(store)
        assert len(saved) > 20
        # Space was made: the same step goes in, on the same connection.
        answer(store, vehicle_id, job_id, "after", 12.7)
    with Store.open(tmp_path) as store:
        assert events(store)[:-1] == saved
        assert store.job(job_id).answers["after"].answer.value == 12.7
        assert store.notices == ()


def test_sqlites_own_word_that_it_is_full_is_told_too(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        store._db.conn.execute("PRAGMA max_page_count = 60")
        with pytest.raises(RecordError, match="The storage is full, so this was not saved"):
            fill_up(store, vehicle_id, job_id)
        saved = events(store)
    with Store.open(tmp_path) as store:
        assert events(store) == saved


def test_a_photo_that_does_not_fit_is_told_and_leaves_nothing_half_written(tmp_path):
    with Store.open(tmp_path) as store:
        with no_file_larger_than(10_000), pytest.raises(RecordError, match="space"):
            store.add_photo(b"\xff\xd8\xff" * 10_000)
        assert list((tmp_path / "photos").iterdir()) == []
        store.add_photo(b"\xff\xd8\xff" * 10_000)


def test_a_write_protected_file_can_be_read_and_says_why_nothing_is_saved(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
    before = (tmp_path / FILE).read_bytes()
    tmp_path.chmod(0o777)
    for folder in tmp_path.parents:  # nobody must get to it, however deep it lies
        if folder.owner() == tmp_path.owner() and folder.is_relative_to(tempfile.gettempdir()):
            folder.chmod(folder.stat().st_mode | 0o055)
    (tmp_path / FILE).chmod(0o444)
    with as_nobody(), Store.open(tmp_path) as store:
        assert store.vehicle(vehicle_id).vehicle.registration == "BKS 207"
        with pytest.raises(RecordError, match="may not be written here, so this was not saved"):
            van(store, "OTHER")
    assert (tmp_path / FILE).read_bytes() == before


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(RecordError, match="Check that there is space"):
        Store.open(tmp_path / "file" / "store")


def test_a_store_locked_by_another_program_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr("logic.records.store.database.BUSY_SECONDS", 0.05)
    with Store.open(tmp_path) as store, closing(sqlite3.connect(tmp_path / FILE)) as other:
        vehicle_id = van(store)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RecordError, match="Another program is writing"):
            van(store, "OTHER")
        other.execute("ROLLBACK")
        assert [row.vehicle_id for row in store.find_vehicles()] == [vehicle_id]


def test_a_log_cut_anywhere_leaves_whole_entries_from_the_first_on(tmp_path):
    (tmp_path / "living").mkdir()
    with Store.open(tmp_path / "living") as store:
        store._db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        for number in range(10):
            answer(store, vehicle_id, job_id, f"step_{number}", 12.6)
        whole = events(store)
        file, log = ((tmp_path / "living" / name).read_bytes() for name in (FILE, f"{FILE}-wal"))
    counts = set()
    for size in range(0, len(log), len(log) // 60):
        folder = tmp_path / f"cut-{size}"
        folder.mkdir()
        (folder / FILE).write_bytes(file)
        (folder / f"{FILE}-wal").write_bytes(log[:size])
        with Store.open(folder) as store:
            left = events(store)
            assert store.notices == ()
        assert left == whole[: len(left)]
        counts.add(len(left))
    assert {0, len(whole)} - counts <= {len(whole)}
    assert len(counts) > 8


def test_two_stores_on_one_folder_see_each_others_entries(tmp_path):
    with Store.open(tmp_path) as one, Store.open(tmp_path) as other:
        vehicle_id, _ = signed_van(one)
        assert other.vehicle(vehicle_id) == one.vehicle(vehicle_id)
        van(other, "OTHER")
        assert one.count_vehicles() == 2
