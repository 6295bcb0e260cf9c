import sqlite3
from contextlib import closing
from pathlib import Path

from logic.records.store import backup
from logic.records.store.bookmark import Bookmark
from logic.records.store.store import FILE, Store
from logic.records.verify import check
from logic.vehicle.identity import Customer
from tests.logic.records.scenes import customer, signed_van

NAME, CONTACT = "Bookmobile trust", "desk 4"


def bytes_under(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in folder.rglob("*") if path.is_file())


def test_an_erased_customer_is_gone_from_every_byte_of_store_and_backups(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, _ = signed_van(store)
        store.set_bookmark(Bookmark(vehicle_id=vehicle_id, unfinished=NAME))
    backup.roll(tmp_path / FILE)
    assert NAME.encode() in bytes_under(tmp_path)
    with Store.open(tmp_path) as store:
        erased = store.erase_customer(vehicle_id)
        assert (erased.backups, erased.remaining) == (1, ())
        held = bytes_under(tmp_path)
    assert NAME.encode() not in held
    assert b"bookmobiletrust" not in held
    assert CONTACT.encode() not in held


def test_the_technical_record_stays_and_still_verifies(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, job_id = signed_van(store)
        before = store.sealed(job_id)[0]
        store.erase_customer(vehicle_id)
        after = store.sealed(job_id)[0]
        state = store.vehicle(vehicle_id)
    assert after.private is None
    assert after.record == before.record
    answer = check(after, known_sha256=before.sha256)
    assert answer.intact
    assert "erased" in answer.remarks[0]
    assert state.customer == Customer()
    assert state.customer_erased
    assert state.job(job_id).answers["house_voltage"].answer.value == 12.6


def test_another_customers_data_stays(tmp_path):
    with Store.open(tmp_path) as store:
        first, _ = signed_van(store, "FHA 1")
        second, job_id = signed_van(store, "FHA 2")
        store.erase_customer(first)
        assert store.vehicle(second).customer.name == NAME
        assert store.sealed(job_id)[0].private is not None
        assert [row.vehicle_id for row in store.find_vehicles("bookmobile")] == [second]


def test_a_new_owner_described_after_an_erasure_is_kept(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, _ = signed_van(store)
        store.erase_customer(vehicle_id)
        customer(store, vehicle_id, "Orchard bees")
        assert store.vehicle(vehicle_id).customer.name == "Orchard bees"


def test_a_backup_that_cannot_be_searched_is_named(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, _ = signed_van(store)
    backup.roll(tmp_path / FILE).write_bytes(b"broken" * 1000)
    with Store.open(tmp_path) as store:
        erased = store.erase_customer(vehicle_id)
    assert len(erased.remaining) == 1
    assert str(erased.remaining[0]) in erased.summary


def test_a_log_that_another_program_is_reading_is_named(tmp_path, monkeypatch):
    monkeypatch.setattr("logic.records.store.database.BUSY_SECONDS", 0.05)
    with Store.open(tmp_path) as store, closing(sqlite3.connect(tmp_path / FILE)) as other:
        vehicle_id, _ = signed_van(store)
        other.execute("BEGIN")
        other.execute("SELECT * FROM customer").fetchall()
        erased = store.erase_customer(vehicle_id)
    assert erased.remaining == (tmp_path / f"{FILE}-wal",)
