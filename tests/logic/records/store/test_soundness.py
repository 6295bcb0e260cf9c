"""A bit turned round in a text: SQLite's check passes it, the reading behind the app does not."""

import hashlib
import json
import re
import sqlite3
from contextlib import closing
from datetime import UTC, datetime

import pytest
import rfc8785

from logic.records.chain import SIGNED, linked
from logic.records.keys import DeviceKey, ask_for_new_key
from logic.records.seal import canonical
from logic.records.store import backup, soundness
from logic.records.store.database import complaint_of, open_for_reading
from logic.records.store.store import FILE, Store
from logic.records.trusted_keys import stated
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


# What another program did to the file, and put the triggers back after it.

UNSIGNED = "key = NULL, number = NULL, before = NULL, signature = NULL"


def changed(folder, *statements):
    """Change a store's file as somebody who knows how it is built."""
    with closing(sqlite3.connect(folder / FILE)) as connection, connection:
        triggers = connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        for statement, *values in statements:
            assert connection.execute(statement, values).rowcount > 0
        for _, definition in triggers:
            connection.execute(definition)


def value_in(folder, query):
    with closing(sqlite3.connect(folder / FILE)) as connection:
        return connection.execute(query).fetchone()[0]


def test_a_statement_that_nobody_signed_is_told_and_not_believed(folder):
    own = json.loads(value_in(folder, "SELECT value FROM setting WHERE name = 'own_keys'"))[-1]
    forger = DeviceKey.fresh()
    statement = stated(forger, forger.public, "Desk", "trusted", datetime.now(UTC))
    forged = statement.model_copy(update={"by": own})
    row = (
        forged.sha256,
        forger.public,
        own,
        "2026-01-01",
        canonical(forged.model_dump(mode="json")),
    )
    changed(folder, ("INSERT INTO key_statement VALUES (?, ?, ?, ?, ?)", *row[:4], row[4].decode()))
    [words] = told(folder)
    assert "was not signed by the device that it names. It is not believed" in words
    with Store.open(folder) as store:
        assert forger.public not in store.workshop_keys()


def test_an_entry_taken_out_of_the_middle_is_told_at_each_start(folder):
    changed(folder, ("DELETE FROM event WHERE number = 5",))
    for _ in range(2):
        [words] = told(folder)
        assert words.startswith("1 entry that this device signed is no longer in its file")
        assert "number 5 of 14" in words


def test_what_a_key_out_of_use_lacks_is_told_once(folder):
    changed(folder, ("DELETE FROM event WHERE number IN (5, 6, 9)",))
    ask_for_new_key(folder)
    [words] = told(folder)
    assert words.startswith("3 entries that this device signed are no longer in its file")
    assert told(folder) == ()
    with Store.open(folder) as store:
        van(store)
    assert told(folder) == ()


@pytest.mark.parametrize("which", ["kind = 'step_answered'", "1"])
def test_entries_that_lost_their_signature_are_told(folder, which):
    changed(
        folder,
        (f"UPDATE event SET body = replace(body, '12.6', '11.9'), {UNSIGNED} WHERE {which}",),
    )
    notices = told(folder)
    # The very first was begun before this device had a key.
    count = "2 entries of this device have" if which != "1" else "13 entries of this device have"
    assert any(words.startswith(f"{count} no signature, though") for words in notices)


def test_entries_of_release_0_1_0_on_this_device_are_as_they_were(tmp_path):
    with Store.open(tmp_path) as store:
        signed_van(store)
    changed(
        tmp_path,
        (f"UPDATE event SET {UNSIGNED}, at = replace(at, '2026-', '2025-')",),
        ("UPDATE sealed SET signature = NULL, record = replace(record, '\"chain\":', '\"c\":')",),
        ("DELETE FROM setting WHERE name = 'own_keys'",),
        ("DELETE FROM key_statement",),
    )
    record = value_in(tmp_path, "SELECT record FROM sealed")
    digest = hashlib.sha256(record.encode()).hexdigest()
    changed(tmp_path, ("UPDATE sealed SET sha256 = ?", digest))
    with Store.open(tmp_path) as store:
        van(store)
    assert told(tmp_path) == ()


@pytest.mark.parametrize("without", ["the signature", "the chain"])
def test_a_record_sealed_anew_by_another_program_is_told(folder, without):
    old = value_in(folder, "SELECT sha256 FROM sealed ORDER BY rowid")
    record = json.loads(value_in(folder, "SELECT record FROM sealed ORDER BY rowid"))
    record["place"] = "elsewhere"
    if without == "the chain":
        del record["chain"]
    text = rfc8785.dumps(record)
    new = hashlib.sha256(text).hexdigest()
    changed(
        folder,
        (
            "UPDATE sealed SET sha256 = ?, record = ?, signature = NULL, parts = '{}'"
            " WHERE sha256 = ?",
            new,
            text.decode(),
            old,
        ),
        (
            f"UPDATE event SET body = replace(body, ?, ?), {UNSIGNED} WHERE body LIKE ?",
            old,
            new,
            f"%{old}%",
        ),
    )
    notices = told(folder)
    words = {
        "the signature": "no longer has the signature of the device that sealed it",
        "the chain": "stands outside the chain of its device",
    }
    assert any(words[without] in one for one in notices)


def test_entries_that_do_not_follow_each_other_are_told(folder):
    # The third entry once more under the device's own key, with other words in it.
    with Store.open(folder) as store:
        key = store._key
        third = list(store.chain_of(key.public))[2]
    body = {**third["body"], "installation": {**third["body"]["installation"], "alternator": None}}
    other = {**third, "body": body}
    event = {name: value for name, value in other.items() if name not in SIGNED}
    link = linked(event, key, 3, third["before"])
    changed(
        folder,
        (
            "UPDATE event SET body = ?, signature = ? WHERE event_id = ?",
            json.dumps(body),
            link.signature,
            third["event_id"],
        ),
    )
    found = [one.words for one in soundness.read_whole(folder / FILE)]
    assert any("does not follow the one that this device signed" in words for words in found)


def test_the_whole_of_a_store_can_be_read_at_once(folder, monkeypatch):
    monkeypatch.setattr(soundness, "ENTRIES_AT_ONCE", 3)
    monkeypatch.setattr(soundness, "SIGNATURES_AT_ONCE", 3)
    changed(folder, ("UPDATE event SET body = replace(body, '12.6', '11.9') WHERE number = 12",))
    found = [one.words for one in soundness.read_whole(folder / FILE)]
    assert len(found) == 1
    assert "is not what its device signed" in found[0]
