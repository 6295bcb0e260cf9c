import shutil
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest

from logic.errors import RecordError, StoreDamagedError
from logic.records.store import backup
from logic.records.store.store import FILE, Store
from tests.logic.records.scenes import answer, open_job, signed_van, van

DAY = datetime(2026, 3, 2, 7, tzinfo=UTC)


def test_a_backup_is_taken_by_itself_when_a_store_with_work_in_it_is_opened(tmp_path):
    with Store.open(tmp_path) as store:
        van(store)
    assert backup.backups(tmp_path) == []
    for _ in range(2):
        Store.open(tmp_path).close()
    assert len(backup.backups(tmp_path)) == 1


def test_a_backup_taken_while_answers_come_in_holds_a_whole_number_of_them(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        answer(store, vehicle_id, job_id, "one", 1)
        path = backup.roll(tmp_path / FILE, DAY)
        answer(store, vehicle_id, job_id, "two", 2)
    with sqlite3.connect(path) as copied:
        assert copied.execute("SELECT count(*) FROM event").fetchone() == (3,)
        assert copied.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    copied.close()
    assert [left.name for left in (tmp_path / "backups").iterdir()] == [path.name]


def test_the_last_five_days_and_four_earlier_weeks_are_kept(tmp_path):
    with Store.open(tmp_path) as store:
        van(store)
    for day in range(45):
        backup.roll(tmp_path / FILE, DAY + timedelta(days=day))
    kept = [backup.taken_at(path) for path in backup.backups(tmp_path)]
    assert kept[:5] == [DAY + timedelta(days=day) for day in range(44, 39, -1)]
    assert len(kept) == 9
    assert kept[-1] > DAY + timedelta(days=13)


def test_a_backup_is_due_once_a_day_and_after_the_clock_was_set_back(tmp_path):
    with Store.open(tmp_path) as store:
        van(store)
    backup.roll(tmp_path / FILE, DAY)
    assert not backup.is_due(tmp_path, DAY + timedelta(hours=3))
    assert backup.is_due(tmp_path, DAY + timedelta(days=1))
    assert backup.is_due(tmp_path, DAY - timedelta(days=1))


def test_a_damaged_store_never_pushes_out_a_sound_backup(tmp_path):
    with Store.open(tmp_path) as store:
        for number in range(30):
            signed_van(store, f"FHA {number}")
    backup.roll(tmp_path / FILE, DAY)
    with (tmp_path / FILE).open("r+b") as file:
        file.seek(3 * 4096)
        file.write(b"\x55" * 4096 * 20)
    with pytest.raises(StoreDamagedError):
        backup.roll(tmp_path / FILE, DAY + timedelta(days=1))
    assert [backup.taken_at(path) for path in backup.backups(tmp_path)] == [DAY]
    assert len(list((tmp_path / "backups").iterdir())) == 1


def test_a_restored_backup_is_the_store_as_it_was_and_the_other_is_kept(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        kept = list(store.events())
        backup.copy(tmp_path / FILE, tmp_path / "out.db", lambda done, total: None)
        van(store, "LATER 1")
    aside = backup.restore(tmp_path / "out.db", tmp_path / FILE)
    with Store.open(tmp_path) as store:
        assert list(store.events(vehicle_id)) == kept
        assert store.count_vehicles() == 1
    assert aside.exists()


@pytest.mark.parametrize("content", [b"", b"no database" * 1000])
def test_what_is_no_backup_is_not_restored(tmp_path, content):
    with Store.open(tmp_path) as store:
        van(store)
    wrong = tmp_path / "wrong.db"
    wrong.write_bytes(content)
    with pytest.raises(RecordError, match="not a sound backup"):
        backup.restore(wrong, tmp_path / FILE)
    with Store.open(tmp_path) as store:
        assert store.count_vehicles() == 1


def test_progress_of_a_copy_ends_at_all_pages(tmp_path):
    with Store.open(tmp_path) as store:
        signed_van(store)
    told = []
    backup.copy(
        tmp_path / FILE, tmp_path / "out.db", lambda done, total: told.append((done, total))
    )
    assert told[-1][0] == told[-1][1] > 0


def test_copies_of_a_huge_store_do_not_pile_up(tmp_path, monkeypatch):
    monkeypatch.setattr(backup, "KEEP_BYTES", 250_000)  # two copies of this store
    with Store.open(tmp_path) as store:
        van(store)
    for day in range(4):
        newest = backup.roll(tmp_path / FILE, DAY + timedelta(days=day))
    kept = backup.backups(tmp_path)
    assert kept[0] == newest
    assert len(kept) == 250_000 // newest.stat().st_size


def test_no_backup_is_begun_that_would_fill_the_storage(tmp_path, monkeypatch):
    with Store.open(tmp_path) as store:
        van(store)
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(backup.shutil, "disk_usage", lambda folder: usage._replace(free=1000))
    with Store.open(tmp_path) as store:
        pass
    assert "No backup was taken. A backup needs" in store.notices[0]
    assert backup.backups(tmp_path) == []
