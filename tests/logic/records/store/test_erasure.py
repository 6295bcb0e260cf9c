import re
import sqlite3
import zipfile
import zlib
from contextlib import closing, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.checklist.answers import TextAnswer
from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle
from logic.records.events import (
    CauseConcluded,
    CustomerDescribed,
    CustomerErased,
    Event,
    ExceptionExplained,
    InstallationDescribed,
    JobOpened,
    JobReopened,
    PhotoTaken,
    StepAnswered,
    StepNoted,
    StepSkipped,
    VehicleDescribed,
    new_id,
)
from logic.records.paper.report import write_pdf
from logic.records.record import StepRecord
from logic.records.store import backup, event_table, private_tables, rescue, text_table
from logic.records.store.bookmark import Bookmark
from logic.records.store.database import transaction
from logic.records.store.exchange import Agreed
from logic.records.store.store import FILE, Store
from logic.records.store.text_table import LEFT_OUT
from logic.records.verify import check
from logic.vehicle.identity import Customer, Vehicle
from tests.logic.records.scenes import (
    INSTALLATION,
    befriend,
    customer,
    open_job,
    private,
    record_of,
    signed_van,
    van,
)

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
        assert "are erased here and in 1 backup" in erased.summary
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
    broken = backup.roll(tmp_path / FILE)
    broken.write_bytes(b"broken" * 1000)
    with Store.open(tmp_path) as store:
        erased = store.erase_customer(vehicle_id)
    assert [one.path for one in erased.remaining] == [broken]
    assert f"{broken}, which cannot be cleared. Delete it." in erased.text
    assert "1 thing remains to be looked at" in erased.summary


def test_a_log_that_another_program_is_reading_is_named(tmp_path, monkeypatch):
    monkeypatch.setattr("logic.records.store.database.BUSY_SECONDS", 0.05)
    with Store.open(tmp_path) as store, closing(sqlite3.connect(tmp_path / FILE)) as other:
        vehicle_id, _ = signed_van(store)
        other.execute("BEGIN")
        other.execute("SELECT * FROM customer").fetchall()
        erased = store.erase_customer(vehicle_id)
    assert [one.path for one in erased.remaining] == [tmp_path / f"{FILE}-wal"]


# Everything that can be written, with the name in it.


def words_of(name, contact):
    """Texts as a technician writes them, each naming the customer in another way."""
    first, *_, last = name.split()
    return (
        f"{name} was told on the spot",
        f"told {name.upper()}, who agreed",
        f"{last}, {first} rang about it",
        f"Key hangs at {contact}.",
        f"for {name.replace(' ', chr(10))}",
    )


def everything(store, name, contact):
    """A vehicle with the customer's name in every free text of every kind of event."""
    vehicle_id, said = new_id(), iter(words_of(name, contact) * 5)
    described = Vehicle(registration="NEW 117", description=f"ute of {name}")
    of_unit = ("profile_note", "fitted_by", "model", "serial_number")
    charger = INSTALLATION.charger.model_copy(update={one: next(said) for one in of_unit})
    fitted = INSTALLATION.model_copy(update={"charger": charger})
    for body in (
        VehicleDescribed(vehicle=described),
        CustomerDescribed(customer=Customer(name=name, contact=contact)),
        InstallationDescribed(installation=fitted),
    ):
        store.append(Event(vehicle_id=vehicle_id, body=body))
    signed, job_id = (open_job(store, vehicle_id) for _ in range(2))
    store.seal(record_of(vehicle_id, signed), private(name, contact))
    sha256 = store.add_photo(b"\xff\xd8\xff")
    for job, body in (
        (signed, JobReopened(reason=next(said))),
        (new_id(), JobOpened(job_kind="callback", complaint=next(said))),
        (job_id, StepAnswered(step_id="remarks", answer=TextAnswer(text=next(said)))),
        (job_id, StepSkipped(step_id="grommets", reason=next(said))),
        (job_id, StepNoted(step_id="lugs", text=next(said))),
        (job_id, PhotoTaken(step_id="lugs", sha256=sha256, caption=next(said))),
        (job_id, ExceptionExplained(step_id="lugs", explanation=next(said))),
        (job_id, CauseConcluded(cause=next(said), repair=next(said))),
    ):
        store.append(Event(vehicle_id=vehicle_id, job_id=job, body=body))
    store.set_setting("signing", {"job_id": job_id, "place": contact, "customer_name": name})
    store.set_setting("drafts", {vehicle_id: {"customer.name": name, "vehicle.registration": "A"}})
    store.set_setting("complaints", {vehicle_id: {"complaint": f"{name} says it is flat"}})
    store.set_setting("quotes", [{"title": "40 A", "typed": {"load/0/name": f"{name}'s fridge"}}])
    store.set_setting("unforeseen", [{"deep": {"down": name}}])
    unfinished = f'{{"drafts": {{"lugs": {{"note": "{name} sa"}}}}}}'
    store.set_bookmark(Bookmark(vehicle_id=vehicle_id, job_id=job_id, unfinished=unfinished))
    return vehicle_id, job_id


def files_around(folder, vehicle_id, name):
    """Every file that the program can have written beside the store."""
    with Store.open(folder) as store:  # which takes a backup of its own
        (folder / "bundles").mkdir(exist_ok=True)
        export_bundle(store, folder / "bundles" / "NEW 117.voltwalk")
        (folder / "records").mkdir(exist_ok=True)
        for sealed in store.sealed_records():
            path = folder / "records" / f"NEW-117 2026 record 1 {sealed.sha256[:8]}.pdf"
            write_pdf(sealed, store.photo_path, path)
    (folder / "quotes").mkdir(exist_ok=True)
    (folder / "quotes" / "quote 40-A.pdf").write_text(f"{name}'s fridge", encoding="utf-8")
    (folder / "trouble-20261124-101500.txt").write_text(f"KeyError: {name!r}", encoding="utf-8")
    for why in ("replaced", "damaged"):
        aside = folder / why / "20261124"
        aside.mkdir(parents=True)
        data = bytearray((folder / FILE).read_bytes())
        if why == "damaged":
            data[4096:12288] = bytes(8192)
        (aside / FILE).write_bytes(data)


def seen_in(folder):
    """Everything that stands under a folder: files, their zip members, their PDF streams."""
    for path in folder.rglob("*"):
        if not path.is_file():
            continue
        data = path.read_bytes()
        yield path, data
        if zipfile.is_zipfile(path):
            with zipfile.ZipFile(path) as archive:
                yield from ((path, archive.read(part)) for part in archive.namelist())
        for stream in re.findall(rb"stream\r?\n(.*?)endstream", data, re.DOTALL):
            with suppress(zlib.error):
                yield path, zlib.decompress(stream)


def squeezed(data):
    text = re.sub(
        r"\\u([0-9a-f]{4})", lambda one: chr(int(one[1], 16)), data.decode(errors="replace")
    )
    return re.sub(r"[\W_]+", "", text.replace("\\n", "").lower())


def holding(folder, *wanted):
    """Return the files in which any of the texts stands, whatever case and signs are in it."""
    found = {squeezed(text.encode()) for text in wanted}
    return {path for path, data in seen_in(folder) for text in found if text in squeezed(data)}


RARE = [
    ("Quennevel Zbornak", "0491 570 006"),
    ("O'Drisceoil-Mbeki Thandeka", "thandeka@example.org, 0491 570 156"),
    ("Žďárská Ōyama", "17 Wattlebird Close, Fernhollow"),
    ("Pimmelwick & Ossory Apiaries", "+61 491 570 157"),
]
"""Invented; the numbers are those kept free for fiction by the Australian regulator (ACMA)."""


@pytest.mark.parametrize(("name", "contact"), RARE)
def test_of_everything_that_can_be_written_nothing_keeps_the_name(tmp_path, name, contact):
    with Store.open(tmp_path) as store:
        vehicle_id, job_id = everything(store, name, contact)
    files_around(tmp_path, vehicle_id, name)
    assert {path.suffix for path in holding(tmp_path, name)} >= {".db", ".pdf", ".voltwalk", ".txt"}
    with Store.open(tmp_path) as store:
        erased = store.erase_customer(vehicle_id)
        left = holding(tmp_path, name, contact, name.split()[-1] + name.split()[0])
        state = store.vehicle(vehicle_id)
    assert left == set()
    assert erased.backups == 1
    assert len(erased.texts) == 10
    assert [one.path for one in erased.remaining] == [tmp_path / "damaged" / "20261124" / FILE]
    assert state.job(job_id).notes["lugs"] == (LEFT_OUT,)
    assert state.vehicle.registration == "NEW 117"
    assert not any(word in erased.text for word in name.split())


@given(
    st.lists(st.text("bcdfghjklmnpqrstvwxzäöéčž", min_size=4, max_size=9), min_size=2, max_size=3)
)
@settings(max_examples=8, deadline=None)
def test_whatever_the_name_is_it_is_found(words):
    name = " ".join(words).title()
    with TemporaryDirectory() as folder, Store.open(Path(folder)) as store:
        vehicle_id, _ = everything(store, name, "0491 570 110")
        store.erase_customer(vehicle_id)
        assert holding(Path(folder), name) == set()


def test_a_word_like_the_name_is_offered_and_not_taken(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        notes = ("Quarrow says it is loud", "carried by Ida", "a sound lug", "service is due")
        for text in notes:
            note(store, vehicle_id, job_id, text)
        customer(store, vehicle_id, "Ida Quarrow Service", "")
        found = store.customer_traces(vehicle_id)
        assert [trace.text for trace in found.possible] == list(notes[:2])
        erased = store.erase_customer(vehicle_id, also=[found.possible[0].event_id])
        left = store.vehicle(vehicle_id).job(job_id).notes["lugs"]
    assert left == (LEFT_OUT, *notes[1:])
    assert [trace.text for trace in erased.possible] == ["carried by Ida"]
    assert "A note at “Lugs”" in erased.text


@pytest.mark.parametrize(
    "written", ["0491570006", "+61 491 570 006", "(04) 9157-0006", "0491 570 006."]
)
def test_a_telephone_number_is_found_however_it_is_written(tmp_path, written):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        note(store, vehicle_id, job_id, f"ring {written} first")
        note(store, vehicle_id, job_id, "reads 13.570 V at 491 m")
        customer(store, vehicle_id, "", "0491 570 006")
        store.erase_customer(vehicle_id)
        kept = store.vehicle(vehicle_id).job(job_id).notes["lugs"]
    assert kept == (LEFT_OUT, "reads 13.570 V at 491 m")


def test_what_release_0_1_0_wrote_down_is_listed_where_it_cannot_go(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        old = Event(
            vehicle_id=vehicle_id,
            job_id=job_id,
            body=StepNoted(step_id="lugs", text="Ida Quarrow was told"),
        )
        with transaction(store._db) as db:
            event_table.write_row(db, event_table.row_of(old))
        step = StepRecord(
            step_id="lugs", stage_id="x", title="Lugs", outcome="open", notes=("for Ida Quarrow",)
        )
        record = record_of(vehicle_id, job_id, steps=(step,), place="17 Wattlebird Close")
        store.seal(record, private("Ida Quarrow", ""))
        erased = store.erase_customer(vehicle_id)
    [event, signed] = erased.remaining
    assert event.what.startswith("a note at “Lugs”")
    assert "revision 1" in signed.what
    assert "the place of signing, a note at “Lugs”" in signed.what
    assert "Quarrow" not in erased.text
    assert "Wattlebird" not in erased.text
    assert holding(tmp_path, "Ida Quarrow") <= {tmp_path / FILE, tmp_path / f"{FILE}-wal"}


def test_photos_are_left_for_a_person_to_look_at(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, _ = signed_van(store)
        erased = store.erase_customer(vehicle_id)
    assert "1 photo of this vehicle: look whether one shows the customer" in erased.text


# On another phone.

AGREED = Agreed(erasures=True)


def befriended(tmp_path, one):
    """Have the other phone take this one's key for the workshop's, and this one the other's."""
    with Store.open(tmp_path / "other", "other") as other:
        befriend(one, other)


def two_phones(tmp_path, name, contact):
    with Store.open(tmp_path / "one", "one") as one:
        vehicle_id, job_id = everything(one, name, contact)
        export_bundle(one, tmp_path / "first.voltwalk")
        befriended(tmp_path, one)
    with Store.open(tmp_path / "other", "other") as other:
        import_bundle(other, tmp_path / "first.voltwalk")
    files_around(tmp_path / "other", vehicle_id, name)
    return vehicle_id, job_id


def test_an_erasure_that_comes_clears_the_other_phones_tables_backups_and_files(tmp_path):
    name, contact = RARE[0]
    vehicle_id, _ = two_phones(tmp_path, name, contact)
    assert holding(tmp_path / "other", name)
    with Store.open(tmp_path / "one", "one") as one:
        one.erase_customer(vehicle_id)
        export_bundle(one, tmp_path / "second.voltwalk")
    with Store.open(tmp_path / "other", "other") as other:
        import_bundle(other, tmp_path / "second.voltwalk", agreed=AGREED)
        assert holding(tmp_path / "other", name, contact) == set()
        assert any("another device erased the customer's data" in told for told in other.notices)


def test_an_old_bundle_brings_no_text_back_that_named_the_customer(tmp_path):
    name, contact = RARE[0]
    vehicle_id, job_id = two_phones(tmp_path, name, contact)
    with Store.open(tmp_path / "other", "other") as other:
        other.erase_customer(vehicle_id)
        import_bundle(other, tmp_path / "first.voltwalk")
        assert other.vehicle(vehicle_id).job(job_id).notes["lugs"] == (LEFT_OUT,)
    assert holding(tmp_path / "other", name, contact) == set()


def test_a_text_erased_by_choice_goes_on_the_other_phone_too_and_does_not_come_back(tmp_path):
    with Store.open(tmp_path / "one", "one") as one:
        vehicle_id = van(one)
        job_id = open_job(one, vehicle_id)
        note(one, vehicle_id, job_id, "Quarrow says it is loud")
        customer(one, vehicle_id, "Ida Quarrow", "")
        befriended(tmp_path, one)
        export_bundle(one, tmp_path / "first.voltwalk")
        with Store.open(tmp_path / "other", "other") as other:
            import_bundle(other, tmp_path / "first.voltwalk")
        [offered] = one.customer_traces(vehicle_id).possible
        one.erase_customer(vehicle_id, also=[offered.event_id])
        export_bundle(one, tmp_path / "second.voltwalk")
    with Store.open(tmp_path / "other", "other") as other:
        import_bundle(other, tmp_path / "second.voltwalk", agreed=AGREED)
        import_bundle(other, tmp_path / "first.voltwalk")
        assert other.vehicle(vehicle_id).job(job_id).notes["lugs"] == (LEFT_OUT,)


def test_an_erasure_of_one_vehicle_takes_no_words_of_another(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, other_id = van(store), van(store, "VET 117", description="vet's ute")
        [(event_id, *_)] = text_table.rows_of(store._db, other_id)
        body = CustomerErased(texts=(event_id,))
        store.append(Event(vehicle_id=vehicle_id, body=body))
        assert store.vehicle(other_id).vehicle.description == "vet's ute"
        store.append(Event(vehicle_id=other_id, body=body))
        assert store.vehicle(other_id).vehicle.description == LEFT_OUT


def test_words_names_and_signatures_say_whether_they_are_new(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id, _ = signed_van(store)
        [sealed] = store.sealed_records()
        with transaction(store._db) as db:
            words = text_table.rows_of(db, vehicle_id)[0]
            [named] = db.conn.execute("SELECT * FROM customer").fetchall()
            for table in ("event_text", "customer", "sealed_private"):
                db.conn.execute(f"DELETE FROM {table}")
            for is_new in (True, False):
                assert text_table.write(db, words) is is_new
                assert private_tables.write_customer(db, named) is is_new
                assert private_tables.write_private(db, sealed) is is_new
        nameless = sealed.model_copy(update={"private": None})
        assert private_tables.write_private(store._db, nameless) is False


def test_a_text_that_the_erasing_phone_never_saw_goes_too_and_is_named_to_all(tmp_path):
    name, contact = RARE[0]
    vehicle_id, job_id = two_phones(tmp_path, name, contact)
    with Store.open(tmp_path / "other", "other") as other:
        note(other, vehicle_id, job_id, f"{name} was told here")
        note(other, vehicle_id, job_id, "New lug on the feed")
        export_bundle(other, tmp_path / "late.voltwalk")
    with Store.open(tmp_path / "one", "one") as one:
        one.erase_customer(vehicle_id)
        export_bundle(one, tmp_path / "second.voltwalk")
    for place, file in (("other", "second"), ("one", "late")):
        with Store.open(tmp_path / place, place) as store:
            import_bundle(store, tmp_path / f"{file}.voltwalk", agreed=AGREED)
            assert store.follow_erasures() == 1
            assert holding(tmp_path / place, name, contact) == set()
            notes = store.vehicle(vehicle_id).job(job_id).notes["lugs"]
            assert sorted(notes) == sorted((LEFT_OUT, LEFT_OUT, "New lug on the feed"))
            assert store.follow_erasures() == 0


def test_a_bundle_without_the_customer_leaves_out_what_may_name_them_and_nothing_else(tmp_path):
    with Store.open(tmp_path / "one", "one") as one:
        vehicle_id = van(one, description="flatbed")
        job_id = open_job(one, vehicle_id)
        for text in ("Ida Quarrow agreed", "Quarrow is away", "New lug on the feed"):
            note(one, vehicle_id, job_id, text)
        customer(one, vehicle_id, "Ida Quarrow", "")
        befriended(tmp_path, one)
        export_bundle(one, tmp_path / "b.voltwalk", with_customers=False)
    with Store.open(tmp_path / "other", "other") as other:
        import_bundle(other, tmp_path / "b.voltwalk")
        state = other.vehicle(vehicle_id)
    assert state.vehicle.description == "flatbed"
    assert state.job(job_id).notes["lugs"] == (LEFT_OUT, LEFT_OUT, "New lug on the feed")
    assert holding(tmp_path / "other", "Quarrow") == set()


def test_a_rescue_keeps_the_texts_and_none_that_does_not_fit_its_event(tmp_path):
    with Store.open(tmp_path) as store:
        vehicle_id = van(store)
        job_id = open_job(store, vehicle_id)
        note(store, vehicle_id, job_id, "New lug on the feed")
        note(store, vehicle_id, job_id, "Holder turned")
        with transaction(store._db) as db:
            db.conn.execute("UPDATE event_text SET texts = replace(texts, 'Holder', 'Folder')")
    rescue.rescue(tmp_path / FILE)
    with Store.open(tmp_path) as store:
        kept = store.vehicle(vehicle_id).job(job_id).notes["lugs"]
    assert kept == ("New lug on the feed", LEFT_OUT)


def note(store, vehicle_id, job_id, text):
    body = StepNoted(step_id="lugs", text=text)
    store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))
