"""What is taken in, what is held back and when it is let go, entry by entry."""

import json
import sqlite3
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from logic.errors import BundleError
from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle, look_at_bundle
from logic.records.chain import SIGNED, event_digest, linked
from logic.records.events import CustomerErased, Event, JobReopened, new_id
from logic.records.keys import DeviceKey
from logic.records.store import held_back, text_table
from logic.records.store.exchange import Agreed
from logic.records.store.private_tables import customer_digest
from logic.records.store.store import Store
from logic.records.store.text_table import LEFT_OUT
from logic.records.trusted_keys import stated
from logic.vehicle.identity import Customer
from tests.logic.records.bundle.forger import CUSTOMERS, EVENTS, SEALED, packed, parts_of
from tests.logic.records.scenes import answer, befriend, customer, open_job, signed_van, van


@pytest.fixture
def phones(tmp_path):
    with (
        Store.open(tmp_path / "a", "phone-a") as here,
        Store.open(tmp_path / "b", "phone-b") as there,
    ):
        yield here, there


@pytest.fixture
def two(phones):
    befriend(*phones)
    return phones


def file_of(store, tmp_path, name="a.zip"):
    export_bundle(store, tmp_path / name)
    return tmp_path / name


def held(store):
    return [one.why for one in held_back.every(store._db)]


def rows(store):
    return {row["event_id"]: row for row in store._db["event"].rows}


def test_each_events_link_names_the_one_before_it(two):
    here, _ = two
    signed_van(here)
    chain = list(here.chain_of(here.own_key))
    assert [event["number"] for event in chain] == list(range(1, len(chain) + 1))
    assert chain[0]["before"] is None
    for before, after in pairwise(chain):
        assert after["before"] == event_digest(before)
    assert here.chain_heads() == {here.own_key: (len(chain), event_digest(chain[-1]))}
    [sealed] = here.sealed_records()
    signed = next(event for event in chain if event["body"]["kind"] == "job_signed")
    assert sealed.record.chain.number == signed["number"] - 1
    assert sealed.record.chain.sha256 == signed["before"]
    assert sealed.signature.key == sealed.record.chain.key == here.own_key


def test_a_file_relayed_by_a_stranger_brings_what_the_workshops_phones_signed(two, tmp_path):
    """Who hands a file over is nobody's matter: each entry speaks for itself."""
    here, there = two
    signed_van(here)
    with Store.open(tmp_path / "stranger", "stranger") as stranger:
        parts = parts_of(file_of(here, tmp_path))
        path = packed(tmp_path / "relayed.zip", parts, stranger._signing_key())
        came = import_bundle(there, path)
    assert came.events == len(parts[EVENTS])
    assert came.sealed == 1
    assert not came.sender.is_ours


def test_entries_of_an_unknown_phone_wait_until_its_key_is_vouched_for(two, tmp_path):
    here, there = two
    with Store.open(tmp_path / "c", "phone-c") as third:
        here.say_of_key(third.own_key, "phone-c", "trusted")
        vehicle_id, _ = signed_van(third)
        customer(third, vehicle_id, "Orchard bees", "by the gate")
        path = file_of(third, tmp_path, "c.zip")
        import_bundle(here, path)
        # The first phone's statement is taken out: the second never heard of the third.
        parts = parts_of(file_of(here, tmp_path))
        parts["keys.jsonl"] = []
        came = import_bundle(there, packed(tmp_path / "x.zip", parts, here._signing_key()))
        assert came.events == 0
        assert set(came.held) == {"key", "waits"}
        assert there.count_vehicles() == 0
        there.say_of_key(third.own_key, "phone-c", "trusted")
        assert there.count_vehicles() == 0  # it comes with the next file, which is looked at
        assert look_at_bundle(there, tmp_path / "x.zip").new_vehicles == (vehicle_id,)
        import_bundle(there, tmp_path / "x.zip")
    assert held(there) == []
    assert there.vehicle(vehicle_id).customer == Customer(
        name="Orchard bees", contact="by the gate"
    )
    [sealed] = there.sealed_records()
    assert sealed.private is not None  # it came with the file again: held back it had no names


def test_an_erasure_takes_names_out_of_what_waits(two, tmp_path):
    here, there = two
    with Store.open(tmp_path / "c", "phone-c") as third:
        vehicle_id = van(third)
        customer(third, vehicle_id, "Orchard bees")
        parts = parts_of(file_of(third, tmp_path, "c.zip"))
    parts["keys.jsonl"] = []
    import_bundle(there, packed(tmp_path / "x.zip", parts, here._signing_key()))
    assert "waits" in held(there)
    there.append(Event(vehicle_id=vehicle_id, body=CustomerErased()))
    assert "waits" not in held(there)


def of_a_stranger(vehicle_id, body, at, job_id=None):
    """Return an entry as release 0.1.0 wrote it, its words in it."""
    event = {"event_id": new_id(), "vehicle_id": vehicle_id, "job_id": job_id, "at": at}
    return {**event, "device": "phone-x", "body": body}


def named_in(store, *words):
    lines = [line for (line,) in store._connection.execute("SELECT line FROM held_back")]
    texts = [one for (one,) in store._connection.execute("SELECT texts FROM event_text")]
    bodies = [one for (one,) in store._connection.execute("SELECT body FROM event")]
    return [one for one in (*lines, *texts, *bodies) if any(word in one for word in words)]


@pytest.fixture
def waiting(two, tmp_path):
    """A van on the second phone, and entries of a stranger for it that wait, and their file."""
    _, there = two
    vehicle_id = van(there)
    customer(there, vehicle_id, "Ida Quarrow", "0491 570 006")
    stranger, job_id = DeviceKey.fresh(), new_id()
    opened = {"kind": "job_opened", "job_kind": "callback", "checklist_version": 1}
    parts = parts_of(file_of(there, tmp_path))
    parts[EVENTS] = [
        parts[EVENTS][0],  # a file with nothing known in it is refused
        *(
            of_a_stranger(
                vehicle_id, {**opened, "complaint": text}, f"2026-01-0{day}T00:00:00Z", job
            )
            for day, text, job in (
                (1, "Ida Quarrow says it is dead", new_id()),
                (2, "ring Quarrow", new_id()),
                (3, "the fridge is warm", job_id),
            )
        ),
    ]
    parts[CUSTOMERS] = []
    path = packed(tmp_path / "stranger.zip", parts, stranger)
    assert import_bundle(there, path).held == {"key": 3}
    return there, vehicle_id, job_id, stranger, path


def test_an_erasure_takes_what_waits_and_names_the_customer_and_lists_what_may(waiting):
    there, vehicle_id, *_ = waiting
    erased = there.erase_customer(vehicle_id)
    assert "an entry kept aside from another device, 1 January 2026" in erased.texts
    [left] = erased.possible
    assert left.where == "an entry kept aside from another device, 2 January 2026"
    assert named_in(there, "Ida", "0491") == []
    assert len(held(there)) == 2
    there.erase_customer(vehicle_id)
    assert len(named_in(there, "Quarrow")) == 1


def test_what_may_name_the_customer_goes_from_what_waits_when_it_is_chosen(waiting):
    there, vehicle_id, *_ = waiting
    [offered] = there.customer_traces(vehicle_id).possible
    erased = there.erase_customer(vehicle_id, also=[offered.event_id])
    assert erased.possible == ()
    assert named_in(there, "Quarrow") == []
    assert held(there) == ["key"]


def test_what_is_let_go_after_an_erasure_comes_without_its_words(waiting, tmp_path):
    there, vehicle_id, job_id, stranger, path = waiting
    there.erase_customer(vehicle_id)
    import_bundle(there, path)  # once more, when the name is known to nobody
    assert named_in(there, "Quarrow") == []
    there.say_of_key(stranger.public, "phone-x", "trusted")
    import_bundle(there, file_of(there, tmp_path, "any.zip"))
    assert held(there) == []
    assert named_in(there, "Quarrow", "fridge") == []
    assert {job.complaint for job in there.vehicle(vehicle_id).jobs} == {LEFT_OUT}
    assert there.vehicle(vehicle_id).job(job_id).kind == "callback"


def test_what_waits_for_its_entry_is_no_longer_taken_in_after_an_erasure(two, tmp_path):
    here, there = two
    with Store.open(tmp_path / "c", "phone-c") as third:
        vehicle_id = van(third, description="van of Ida Quarrow")
        customer(third, vehicle_id, "Ida Quarrow")
        parts = parts_of(file_of(third, tmp_path, "c.zip"))
        key = third.own_key
    parts["keys.jsonl"] = []
    there.append(Event(vehicle_id=vehicle_id, body=CustomerErased()))
    import_bundle(there, packed(tmp_path / "x.zip", parts, here._signing_key()))
    there.say_of_key(key, "phone-c", "trusted")
    import_bundle(there, file_of(there, tmp_path, "any.zip"))
    state = there.vehicle(vehicle_id)
    assert (state.vehicle.description, state.customer) == (LEFT_OUT, Customer())
    assert named_in(there, "Quarrow") == []


def test_an_entry_that_waits_takes_no_words_of_the_entry_whose_id_it_bears(two, tmp_path):
    here, there = two
    vehicle_id = van(there, description="mobile library van")
    customer(there, vehicle_id, "Ida Quarrow")
    [(event_id, *_)] = text_table.rows_of(there._db, vehicle_id)
    body = {
        "kind": "vehicle_described",
        "vehicle": {"registration": "X 1", "description": "of Ida Quarrow"},
    }
    parts = parts_of(file_of(there, tmp_path))
    forged = of_a_stranger(vehicle_id, body, "2026-01-01T00:00:00Z") | {"event_id": event_id}
    parts[EVENTS], parts[CUSTOMERS] = [forged], []
    import_bundle(there, packed(tmp_path / "x.zip", parts, here._signing_key()))
    assert len(named_in(there, "Quarrow")) == 1
    there.erase_customer(vehicle_id)
    assert named_in(there, "Quarrow") == []
    assert there.vehicle(vehicle_id).vehicle.description == "mobile library van"


def test_dates_ahead_hold_back_their_own_entries_only_and_are_let_go_when_they_come(two, tmp_path):
    here, there = two
    fast, other = van(here, "LIB 042"), van(here, "VET 117")
    ahead = datetime.now(UTC) + timedelta(days=365)
    here.append(Event(vehicle_id=fast, at=ahead, body=CustomerErased()))
    path = file_of(here, tmp_path)
    came = import_bundle(there, path, agreed=Agreed(erasures=True))
    assert (came.events, came.held) == (2, {"date": 1})
    answer(there, other, open_job(there, other), "house_voltage", 12.6)  # nobody is locked out
    assert look_at_bundle(there, path).needs_asking == ("date",)
    taken = import_bundle(there, path, agreed=Agreed(erasures=True, ahead=True))
    assert taken.events == 1
    assert held(there) == []


def test_an_erasure_and_a_reopening_are_told_before_they_are_taken_in(two, tmp_path):
    here, there = two
    vehicle_id, job_id = signed_van(here)
    import_bundle(there, file_of(here, tmp_path))
    here.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=JobReopened()))
    here.append(Event(vehicle_id=vehicle_id, body=CustomerErased()))
    path = file_of(here, tmp_path)
    before = rows(there)
    would = look_at_bundle(there, path)
    assert would.reopened == (job_id,)
    assert (would.erased, would.held, would.needs_asking) == ((), {"erasure": 1}, ("erasure",))
    assert look_at_bundle(there, path, Agreed(erasures=True)).erased == (vehicle_id,)
    assert rows(there) == before
    assert held(there) == []
    import_bundle(there, path)
    assert there.vehicle(vehicle_id).customer.name
    assert import_bundle(there, path, agreed=Agreed(erasures=True)).erased == (vehicle_id,)
    assert not there.vehicle(vehicle_id).customer.name


def test_what_a_newer_version_wrote_is_carried_on_and_not_shown(two, tmp_path):
    here, there = two
    vehicle_id = van(here)
    parts = parts_of(file_of(here, tmp_path))
    key = here._signing_key()
    event = {name: value for name, value in parts[EVENTS][0].items() if name not in SIGNED}
    event |= {"event_id": "e" * 32, "body": {"kind": "cable_weighed", "kilograms": 3.5}}
    event |= linked(event, key, 99, None).model_dump()
    parts[EVENTS].append(event)
    came = import_bundle(there, packed(tmp_path / "x.zip", parts, key))
    assert (came.events, came.held) == (1, {"kind": 1})
    assert there.vehicle(vehicle_id).vehicle.registration == "BKS 207"
    carried = parts_of(file_of(there, tmp_path, "b.zip"))[EVENTS]
    assert event in carried


def test_an_altered_copy_of_an_old_entry_gives_way_to_the_signed_one(two, tmp_path):
    """A stripped and altered copy that was let in by hand cannot shut the genuine one out."""
    here, there = two
    vehicle_id = van(here, "LIB 042")
    parts = parts_of(file_of(here, tmp_path))
    genuine = parts[EVENTS][0]
    altered = {name: value for name, value in genuine.items() if name not in SIGNED}
    altered["body"] = json.loads(json.dumps(genuine["body"]).replace("LIB 042", "LIB 043"))
    forged = {**parts, EVENTS: [altered]}
    path = packed(tmp_path / "old.zip", forged, None)
    with pytest.raises(BundleError, match="carries no signature"):
        import_bundle(there, path)
    import_bundle(there, path, agreed=Agreed(unsigned=True))
    assert there.vehicle(vehicle_id).vehicle.registration == "LIB 043"
    import_bundle(there, tmp_path / "a.zip")
    assert there.vehicle(vehicle_id).vehicle.registration == "LIB 042"
    assert there._db["held_back"].count_where("why = 'displaced'") == 1
    # And it does not come back.
    import_bundle(there, path, agreed=Agreed(unsigned=True))
    assert there.vehicle(vehicle_id).vehicle.registration == "LIB 042"


def test_a_signed_entry_is_never_deleted_and_an_unsigned_one_only_when_it_was_displaced(two):
    here, _ = two
    van(here)
    with pytest.raises(sqlite3.IntegrityError, match="never deleted"):
        here._db.conn.execute("DELETE FROM event")


def test_a_record_that_no_entry_names_waits_and_one_of_another_job_is_refused(two, tmp_path):
    here, there = two
    signed_van(here)
    parts = parts_of(file_of(here, tmp_path))
    unnamed = {**parts, EVENTS: [e for e in parts[EVENTS] if e["body"]["kind"] != "job_signed"]}
    came = import_bundle(there, packed(tmp_path / "x.zip", unnamed, here._signing_key()))
    assert (came.sealed, came.held) == (0, {"waits": 1})
    import_bundle(there, tmp_path / "a.zip")
    assert len(list(there.sealed_records())) == 1
    assert held(there) == []


@pytest.mark.parametrize("part", [EVENTS, CUSTOMERS, SEALED])
def test_one_line_that_cannot_be_read_does_not_refuse_the_others(two, tmp_path, part):
    here, there = two
    signed_van(here)
    van(here, "VET 117")
    parts = parts_of(file_of(here, tmp_path))
    parts[part].insert(0, {"event_id": 7, "nonsense": True})
    came = import_bundle(there, packed(tmp_path / "x.zip", parts, here._signing_key()))
    assert came.count_refused == 1
    assert there.count_vehicles() == 2
    assert "Refused, 1 line" in came.summary


def test_two_entries_with_one_number_are_told(two, tmp_path):
    """A phone set back to an older copy of its store goes on numbering from there."""
    here, there = two
    vehicle_id = van(here)
    key = here._signing_key()
    parts = parts_of(file_of(here, tmp_path))
    bare = {name: value for name, value in parts[EVENTS][0].items() if name not in SIGNED}
    twin = bare | {"event_id": "f" * 32}
    twin |= linked(twin, key, parts[EVENTS][0]["number"], None).model_dump()
    parts[EVENTS].append(twin)
    came = import_bundle(there, packed(tmp_path / "x.zip", parts, key))
    assert came.repeated_numbers == 1
    assert "numbered two entries alike" in came.summary
    assert there.vehicle(vehicle_id)


def test_a_key_that_was_lost_with_its_file_is_replaced_and_vouched_for_by_another(two, tmp_path):
    here, there = two
    old = here.own_key
    van(here, "LIB 042")
    import_bundle(there, file_of(here, tmp_path))
    (here.folder / "device.key").write_text("spoilt")
    with Store.open(here.folder, "phone-a") as again:
        vehicle_id = van(again, "VET 117")
        assert "have another phone of the workshop" in again.notices[-1]
        assert again.own_key != old
        keys = again.workshop_keys()
        assert keys[old].is_own
        assert keys[old].is_trusted
        came = import_bundle(there, file_of(again, tmp_path))
        assert (came.events, came.held) == (0, {"key": 1})
        there.say_of_key(again.own_key, "phone-a", "trusted")
        import_bundle(there, tmp_path / "a.zip")
    assert there.vehicle(vehicle_id)


# What an attacker tried.


def stripped(event):
    return {name: value for name, value in event.items() if name not in SIGNED}


def test_nobodys_statements_about_keys_are_kept(two, tmp_path):
    here, there = two
    signed_van(here)
    parts = parts_of(file_of(here, tmp_path))
    stranger = DeviceKey.fresh()
    now = datetime.now(UTC)
    for number in range(50):
        said = stated(stranger, DeviceKey.fresh().public, f"phone {number}", "trusted", now)
        parts["keys.jsonl"].append(json.loads(said.model_dump_json()))
    before = there._db["key_statement"].count
    import_bundle(there, packed(tmp_path / "x.zip", parts, stranger), agreed=Agreed(keys=True))
    assert there._db["key_statement"].count == before
    assert there.vehicle(there.all_vehicle_ids()[0])


def test_a_lost_phone_changes_whom_another_believes_only_when_that_is_agreed_to(two, tmp_path):
    here, there = two
    with Store.open(tmp_path / "lost", "lost phone") as lost:
        there.say_of_key(lost.own_key, "lost phone", "trusted")
        lost.say_of_key(here.own_key, "FRED", "withdrawn")
        path = file_of(lost, tmp_path, "lost.zip")
    would = look_at_bundle(there, path)
    assert would.needs_asking == ("withdrawals",)
    assert [(offer.name, offer.by) for offer in would.open_offers] == [("phone-a", "lost phone")]
    import_bundle(there, path)
    assert there.workshop_keys()[here.own_key].is_trusted
    import_bundle(there, path, agreed=Agreed(withdrawals=True))
    assert not there.workshop_keys()[here.own_key].is_trusted


def test_a_forged_entrys_words_go_with_it_when_the_signed_one_comes(two, tmp_path):
    here, there = two
    vehicle_id, job_id = signed_van(here)
    parts = parts_of(file_of(here, tmp_path))
    forged = [stripped(event) for event in parts[EVENTS]]
    customers = []
    for event in forged:
        body = event["body"]
        if body["kind"] == "customer_described":
            salt = "0" * 32
            body["sha256"] = customer_digest(salt, Customer(name="Somebody Else", contact=""))
            customers.append(
                {
                    "event_id": event["event_id"],
                    "salt": salt,
                    "name": "Somebody Else",
                    "contact": "",
                }
            )
    altered = {**parts, EVENTS: forged, CUSTOMERS: customers, SEALED: []}
    path = packed(tmp_path / "old.zip", altered, None)
    import_bundle(there, path, agreed=Agreed(unsigned=True))
    assert there.vehicle(vehicle_id).customer.name == "Somebody Else"
    import_bundle(there, tmp_path / "a.zip")
    assert there.vehicle(vehicle_id) == here.vehicle(vehicle_id)
    assert len(there.sealed(job_id)) == 1


def test_a_stolen_job_id_does_not_keep_the_jobs_own_entries_out(two, tmp_path):
    here, there = two
    _, job_id = signed_van(here)
    parts = parts_of(file_of(here, tmp_path))
    opened = next(one for one in parts[EVENTS] if one["body"]["kind"] == "job_opened")
    stolen = stripped(opened) | {"event_id": "d" * 32, "vehicle_id": "c" * 32}
    path = packed(
        tmp_path / "old.zip", {**parts, EVENTS: [stolen], CUSTOMERS: [], SEALED: []}, None
    )
    import_bundle(there, path, agreed=Agreed(unsigned=True))
    import_bundle(there, tmp_path / "a.zip")
    assert there.job(job_id) == here.job(job_id)
    assert len(there.sealed(job_id)) == 1


def test_an_unsigned_entry_that_names_a_record_first_does_not_keep_it_out(two, tmp_path):
    here, there = two
    _, job_id = signed_van(here)
    parts = parts_of(file_of(here, tmp_path))
    signed = next(one for one in parts[EVENTS] if one["body"]["kind"] == "job_signed")
    first = stripped(signed) | {"event_id": "d" * 32, "job_id": "c" * 32}
    path = packed(tmp_path / "old.zip", {**parts, EVENTS: [first], CUSTOMERS: [], SEALED: []}, None)
    import_bundle(there, path, agreed=Agreed(unsigned=True))
    assert import_bundle(there, tmp_path / "a.zip").sealed == 1
    assert there.sealed(job_id) == here.sealed(job_id)


@pytest.mark.parametrize(
    "at", ["9999-12-31T23:59:59-14:00", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59.999999Z"]
)
def test_dates_that_no_calendar_has_are_refused_line_by_line(two, tmp_path, at):
    here, there = two
    signed_van(here)
    parts = parts_of(file_of(here, tmp_path))
    parts[EVENTS].append(stripped(parts[EVENTS][0]) | {"event_id": "d" * 32, "at": at})
    parts[SEALED].append(json.loads(json.dumps(parts[SEALED][0])))
    parts[SEALED][-1]["record"]["signed_at"] = at
    parts["keys.jsonl"].append(parts["keys.jsonl"][0] | {"at": at})
    path = packed(tmp_path / "x.zip", parts, here._signing_key())
    came = import_bundle(there, path, agreed=Agreed(unsigned=True, ahead=True))
    assert came.count_refused == 3
    assert there.count_vehicles() == 1


def test_a_file_of_nothing_but_broken_lines_is_given_up(two, tmp_path):
    here, there = two
    parts = parts_of(file_of(here, tmp_path))
    parts[EVENTS] = [{}] * 5000
    with pytest.raises(BundleError, match="More than 1000 lines"):
        import_bundle(there, packed(tmp_path / "x.zip", parts, here._signing_key()))


def test_another_file_in_the_place_of_the_one_that_was_looked_at_is_refused(two, tmp_path):
    here, there = two
    van(here, "LIB 042")
    path = file_of(here, tmp_path)
    looked_at = look_at_bundle(there, path).manifest
    van(here, "VET 117")
    file_of(here, tmp_path)
    with pytest.raises(BundleError, match="no longer the file that was looked at"):
        import_bundle(there, path, looked_at=looked_at)


def test_names_and_words_that_come_later_are_said_to_be_new(two, tmp_path):
    here, there = two
    vehicle_id = van(here, description="mobile library van")
    customer(here, vehicle_id, "Orchard bees")
    export_bundle(here, tmp_path / "without.zip", with_customers=False)
    import_bundle(there, tmp_path / "without.zip")
    would = look_at_bundle(there, file_of(here, tmp_path))
    assert (would.events, would.brought_nothing) == (0, False)
