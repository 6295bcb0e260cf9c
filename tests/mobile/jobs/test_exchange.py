"""Sending and receiving without a window; the file itself is tested with the records."""

import io
import json
from datetime import timedelta
from zipfile import ZipFile

import pytest

from logic.checklist.answers import ReadingAnswer
from logic.errors import BundleError
from logic.records.bundle.importing import Imported
from logic.records.events import Event, PhotoTaken, VehicleDescribed
from logic.records.store.exchange import Agreed
from logic.records.store.store import Store
from logic.vehicle.identity import Vehicle
from mobile.jobs import exchange, exchange_words, shared_file, workshop_keys
from mobile.jobs.erasure import erase
from mobile.jobs.exchange import Progress
from mobile.jobs.workplace import system_clock
from tests.logic.records import scenes
from tests.mobile.driveway import open_job
from tests.mobile.two_phones import STEP, answer, befriend, begun_on_one, carry, file_of
from tests.paths import RELEASES


@pytest.fixture
def folder(tmp_path):
    open_job(tmp_path / "store")
    return tmp_path / "store"


def vehicle_id_of(folder):
    with Store.open(folder) as store:
        [row] = store.find_vehicles()
        return row.vehicle_id


def send(folder, with_customer=False, progress=None):
    vehicle_id = vehicle_id_of(folder)
    return exchange.send(folder, vehicle_id, with_customer, system_clock(), progress or Progress())


def received(folder, new, with_customer=False):
    """Send all of a store to another one and return what came."""
    return exchange.receive(new, send(folder, with_customer).path, Agreed(), Progress())


def text_of(path):
    with ZipFile(path) as archive:
        return b"".join(archive.read(name) for name in archive.namelist()).decode()


def everything(folder):
    with Store.open(folder) as store:
        return [event.event_id for event in store.events()]


@pytest.mark.parametrize("with_customer", [True, False])
def test_a_file_holds_the_customer_only_where_that_was_wanted(folder, with_customer):
    sent = send(folder, with_customer)
    assert ("Thistlewick Apiary" in text_of(sent.path)) == with_customer
    assert ("without customer" in sent.path.name) != with_customer
    assert sent.path.name.startswith("BEE-338 ")
    assert sent.words.startswith("1 vehicle, 0 signed records, 0 photos; ")


def test_a_file_made_anew_takes_the_place_of_the_one_before_and_of_half_a_one(folder):
    first = send(folder, with_customer=True).path
    (first.parent / "all-vehicles 2026.voltwalk.unfinished").write_bytes(b"half")
    second = send(folder).path
    assert list(second.parent.iterdir()) == [second]


def test_the_progress_ends_at_the_whole(folder):
    progress = Progress()
    assert progress.part == 0
    send(folder, progress=progress)
    assert progress.part == 1


def test_an_erased_customer_lives_on_in_no_file_that_lies_ready(folder):
    path = send(folder, with_customer=True).path
    shared = shared_file.put(folder, path)
    erase(folder, vehicle_id_of(folder), ())
    assert not path.exists()
    assert not shared.exists()


def test_a_photo_that_is_gone_from_this_phone_is_told_of(folder):
    with Store.open(folder) as store:
        [row] = store.find_vehicles()
        body = PhotoTaken(step_id=STEP, sha256="7" * 64)
        store.append(Event(vehicle_id=row.vehicle_id, job_id=row.open_job, body=body))
    assert send(folder).missing == "1 photo not in it: no longer on this phone."


def test_what_came_is_told_the_first_time_and_nothing_the_second(folder, tmp_path):
    path = send(folder, with_customer=True).path
    befriend(folder, tmp_path / "new")
    first = exchange.receive(tmp_path / "new", path, Agreed(), Progress())
    assert exchange_words.came_words(first) == "Taken in: 1 new vehicle, 4 new entries."
    again = exchange.receive(tmp_path / "new", path, Agreed(), Progress())
    told = "Nothing new came: everything in this file is here already."
    assert exchange_words.came_words(again) == told
    assert (again.new_vehicles, again.grown_vehicles, again.known_events) == ((), (), 4)


def test_a_customer_who_comes_later_is_something_new(folder, tmp_path):
    befriend(folder, tmp_path / "new")
    received(folder, tmp_path / "new")
    came = exchange.receive(
        tmp_path / "new", send(folder, with_customer=True).path, Agreed(), Progress()
    )
    told = "The customer's name and contact came; everything else was here already."
    assert exchange_words.came_words(came) == told
    with Store.open(tmp_path / "new") as store:
        assert store.find_vehicles("Thistlewick")
        store.erase_customer(vehicle_id_of(folder))
    again = exchange.receive(
        tmp_path / "new", send(folder, with_customer=True).path, Agreed(), Progress()
    )
    assert again.brought_nothing


def test_new_entries_on_a_known_vehicle_are_told_apart_from_a_new_one(tmp_path):
    one, other, job_id = begun_on_one(tmp_path)
    answer(one, job_id, ReadingAnswer(value=12.6, typed="12.6"))
    came = exchange.receive(other, file_of(one, tmp_path / "a.voltwalk"), Agreed(), Progress())
    assert exchange_words.came_words(came) == "Taken in: 1 new entry. 4 entries were here already."
    with Store.open(other) as store:
        [line], more = exchange_words.vehicle_lines(store, came)
    assert (line.plate, line.second, more) == ("BEE 338", "flatbed · new entries came", "")


def test_more_vehicles_than_can_be_named_are_counted(folder):
    with Store.open(folder) as store:
        [row] = store.find_vehicles()
        came = Imported(25, 25, 0, 0, (), new_vehicles=(row.vehicle_id,) * 25)
        lines, more = exchange_words.vehicle_lines(store, came)
    assert len(lines) == 20
    assert more.startswith("and 5 more")


def test_a_stream_without_end_is_refused_and_nothing_stays(folder):
    before = everything(folder)
    stream = io.BytesIO(bytes(3_000_000))
    with pytest.raises(BundleError, match="larger than 1 MB"):
        exchange.look_at_stream(folder, stream, Progress(), largest=1_000_000)
    assert everything(folder) == before
    assert list((folder / exchange.FOLDER).iterdir()) == []


def test_a_stream_that_breaks_off_says_what_to_do(folder):
    class Broken(io.RawIOBase):
        def read(self, size=-1):
            raise OSError(5, "Input/output error")

    with pytest.raises(BundleError, match="Save it on this phone, then choose it again"):
        exchange.look_at_stream(folder, Broken(), Progress())


def test_a_stream_brings_what_its_file_holds(folder, tmp_path):
    befriend(folder, tmp_path / "new")
    stream = send(folder).path.open("rb")
    incoming = exchange.look_at_stream(tmp_path / "new", stream, Progress())
    assert stream.closed
    assert everything(tmp_path / "new") == []
    assert len(incoming.would.new_vehicles) == 1
    came = exchange.receive(tmp_path / "new", incoming.path, Agreed(), Progress())
    assert everything(tmp_path / "new") == everything(folder)
    assert len(came.new_vehicles) == 1
    assert not incoming.path.exists()


def test_a_strangers_file_is_named_by_digits_and_taken_in_once_they_were_compared(folder, tmp_path):
    new, path = tmp_path / "new", send(folder).path
    would = exchange.look(new, path, Progress()).would
    said = exchange_words.sender_words(would)
    with Store.open(folder) as store:
        assert said.compare == workshop_keys.own_key(store).compare
    assert not said.is_ours
    assert exchange_words.asked_for(would) == ()
    with pytest.raises(BundleError, match="a key that is not known here"):
        exchange.receive(new, path, Agreed(), Progress())
    exchange.trust(new, would.sender.public, would.device)
    would = exchange.look(new, path, Progress()).would
    assert exchange_words.sender_words(would).is_ours
    assert exchange_words.would_do(would)[0] == "It brings 1 new vehicle, 4 new entries."
    assert exchange.receive(new, path, Agreed(), Progress()).events == 4


def test_a_file_of_0_1_0_an_erasure_and_a_wrong_clock_are_each_asked_for(folder, tmp_path):
    def asked(path):
        would = exchange.look(tmp_path / "new", path, Progress()).would
        return [one.why for one in exchange_words.asked_for(would)]

    befriend(folder, tmp_path / "new")
    assert asked(RELEASES / "0.1.0.voltwalk") == ["key"]
    exchange.receive(tmp_path / "new", send(folder).path, Agreed(), Progress())
    with Store.open(folder) as store:
        store.erase_customer(vehicle_id_of(folder))
    assert asked(send(folder).path) == ["erasure"]
    with Store.open(folder) as store:
        ahead = system_clock() + timedelta(days=365)
        described = VehicleDescribed(vehicle=Vehicle(registration="BEE 339"))
        store.append(Event(vehicle_id=vehicle_id_of(folder), at=ahead, body=described))
    assert sorted(asked(send(folder).path)) == ["date", "erasure"]


def test_a_phone_is_named_listed_withdrawn_and_believed_again(folder, tmp_path):
    befriend(folder, tmp_path / "new")
    with Store.open(folder) as store:
        workshop_keys.rename(store, "  Van   phone ")
        assert workshop_keys.own_key(store).name == "Van phone"
        [line] = workshop_keys.other_keys(store)
        assert line.second.startswith("believed since ")
        store.say_of_key(line.public, "", "withdrawn")
        [line] = workshop_keys.other_keys(store)
        assert line.withdrawn
        store.say_of_key(line.public, "", "trusted")
        assert not workshop_keys.other_keys(store)[0].withdrawn


def test_a_changed_file_is_refused_and_nothing_changed(folder, tmp_path):
    path = send(folder).path
    changed = tmp_path / "changed.voltwalk"
    with ZipFile(path) as old, ZipFile(changed, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b"flatbed", b"tipper!"))
    with pytest.raises(BundleError, match=r"its hash differs|not what was written down"):
        exchange.receive(tmp_path / "new", changed, Agreed(), Progress())
    assert everything(tmp_path / "new") == []


def test_a_clash_is_remembered_until_it_is_settled_on_either_phone(tmp_path):
    one, other, job_id = begun_on_one(tmp_path)
    answer(one, job_id, ReadingAnswer(value=12.6, typed="12.6"))
    answer(other, job_id, ReadingAnswer(value=12.4, typed="12.4"))
    exchange.receive(other, file_of(one, tmp_path / "a.voltwalk"), Agreed(), Progress())
    with Store.open(other) as store:
        [clash] = exchange.to_settle(store)
        kept = store.setting("clashes_that_came")
    assert (clash.job_id, clash.step_id) == (job_id, STEP)
    assert json.loads(json.dumps(kept)) == kept
    carry(other, one, tmp_path / "b.voltwalk")
    answer(one, job_id, ReadingAnswer(value=12.5, typed="12.5"))
    exchange.receive(other, file_of(one, tmp_path / "c.voltwalk"), Agreed(), Progress())
    with Store.open(other) as store:
        assert exchange.to_settle(store) == ()
        assert store.setting("clashes_that_came") == []


def test_a_record_says_whose_key_it_was_signed_with(tmp_path):
    with Store.open(tmp_path / "a", "phone-a") as here, Store.open(tmp_path / "b") as there:
        _, job_id = scenes.signed_van(here)
        [sealed] = here.sealed(job_id)
        assert workshop_keys.signer_words(here, sealed) == (
            "Signed with the workshop's key of phone-a."
        )
        assert "does not know" in workshop_keys.signer_words(there, sealed)
        there.say_of_key(here.own_key, "Van phone", "trusted")
        there.say_of_key(here.own_key, "", "withdrawn")
        assert "withdrawn since (Van phone)" in workshop_keys.signer_words(there, sealed)
        old = sealed.model_copy(update={"signature": None})
        assert workshop_keys.signer_words(here, old) == "Sealed, not signed: made before 0.2."
