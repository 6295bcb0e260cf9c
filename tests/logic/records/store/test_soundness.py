"""A bit turned round in a text: SQLite's check passes it, the reading behind the app does not."""

import re
import sqlite3
from contextlib import closing

import pytest

from logic.records.store import backup, soundness
from logic.records.store.database import complaint_of, open_for_reading
from logic.records.store.store import FILE, Store
from logic.records.verify import check
from tests.logic.records.scenes import signed_van, van


@pytest.fixture(autouse=True)
def at_once(monkeypatch):
    monkeypatch.setattr(soundness, "AFTER", 0.0)


@pytest.fixture
def folder(tmp_path):
    with Store.open(tmp_path) as store:
        signed_van(store, "LIB 042")
        signed_van(store, "VET 117")
        store.put_away()
    return tmp_path


def turn_a_bit(folder, within, bit=1, times=1):
    """Turn one bit round in the file, in a text that stands there exactly so many times."""
    data = bytearray((folder / FILE).read_bytes())
    assert data.count(within) == times
    at = data.index(within) + len(within) - 1
    data[at] ^= bit
    (folder / FILE).write_bytes(data)
    with closing(open_for_reading(folder / FILE)) as connection:
        assert complaint_of(connection) == ""  # SQLite sees nothing


def told(folder):
    with Store.open(folder) as store:
        store._reading.wait()
        return store.notices


def test_a_sound_store_has_nothing_to_tell(folder):
    backup.roll(folder / FILE)
    assert told(folder) == ()
    assert told(folder) == ()


def in_a_record(folder):
    with closing(sqlite3.connect(folder / FILE)) as connection:
        (text,) = connection.execute("SELECT record FROM sealed ORDER BY rowid").fetchone()
    at = text.index('"job_id":"')
    # A figure with its last bit turned round is a figure again.
    return re.match(r'"job_id":"[0-9a-f]*[0-9]', text[at : at + 42])[0].encode()


def test_a_signed_record_that_changed_is_told_and_taken_from_a_backup_at_the_next_start(folder):
    backup.roll(folder / FILE)
    turn_a_bit(folder, in_a_record(folder))
    [words] = told(folder)
    assert "is no longer what was signed: the storage changed it" in words
    assert "taken from a backup" in words
    with Store.open(folder) as store:
        assert "is not what was signed" in store.notices[0]  # why it was rescued
        assert all(check(sealed).intact for sealed in store.sealed_records())
        assert len(list(store.sealed_records())) == 2
    assert told(folder) == ()


def test_one_that_no_backup_has_stays_and_is_told(folder):
    turn_a_bit(folder, in_a_record(folder))
    for _ in range(2):
        notices = told(folder)
        assert any("No backup here has it as it was" in words for words in notices)
    with Store.open(folder) as store:
        assert len(list(store.sealed_records())) == 2


def test_an_entry_that_changed_is_not_what_its_device_signed(folder):
    turn_a_bit(folder, b'"kind":"reading","value":12.6', times=2)
    [words] = told(folder)
    assert words.startswith("An entry of LIB 042 (step answered, ")
    assert "is not what its device signed" in words


def test_a_signed_entry_that_changed_is_taken_from_a_backup_at_the_next_start(folder):
    backup.roll(folder / FILE)
    turn_a_bit(folder, b'"kind":"reading","value":12.6', times=2)
    assert any("the entry is then taken from a backup" in words for words in told(folder))
    with Store.open(folder) as store:
        assert "is not what its device signed" in store.notices[0]  # why it was rescued
        [row] = store.find_vehicles("LIB 042")
        [job] = store.vehicle(row.vehicle_id).jobs
        assert job.answers["house_voltage"].answer.value == 12.6
    assert told(folder) == ()


def test_an_entry_that_changed_since_the_backup_is_told(folder):
    backup.roll(folder / FILE)
    # "12.6" of the answer's own body; the sealed record has it as well.
    turn_a_bit(folder, b'"kind":"reading","value":12.6', times=2)
    words, _ = told(folder)
    assert words.startswith("An entry of LIB 042 (step answered, ")
    assert "reads differently in the backup of" in words


def test_words_and_names_that_changed_are_told(folder):
    turn_a_bit(folder, b'{"vehicle.description": "mobile library v', times=2)
    turn_a_bit(folder, b"Bookmobile trustde", times=2)
    notices = told(folder)
    assert len(notices) == 2
    assert all("no longer has the words that were written down" in words for words in notices)


def test_a_large_store_is_read_part_by_part(folder, monkeypatch):
    monkeypatch.setattr(soundness, "ENTRIES_AT_ONCE", 3)
    monkeypatch.setattr(soundness, "RECORDS_AT_ONCE", 1)
    with Store.open(folder) as store:
        van(store, "BEE 338", description="flatbed of bees")
        store.put_away()
    turn_a_bit(folder, b'{"vehicle.description": "flatbed of b')
    found = [told(folder) for _ in range(8)]
    assert 0 < sum(map(bool, found)) < 8
    words = {word for notices in found for word in notices}
    assert len(words) == 1
    assert words.pop().startswith("An entry of BEE 338 (vehicle described, ")


def test_it_stops_when_the_store_is_closed(folder, monkeypatch):
    monkeypatch.setattr(soundness, "AFTER", 60.0)
    store = Store.open(folder)
    store.close()
    assert not store._reading._timer.is_alive()


def test_an_old_backup_without_texts_apart_is_no_hindrance(folder):
    kept = backup.roll(folder / FILE)
    with closing(sqlite3.connect(kept)) as connection, connection:
        connection.execute("DROP VIEW answer")
        connection.execute("DROP VIEW answer_history")
        for view in ("note", "photo", "conclusion"):
            connection.execute(f"DROP VIEW {view}")
        connection.execute("DROP TABLE event_text")
    assert told(folder) == ()
