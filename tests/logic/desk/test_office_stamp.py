"""``stamp`` against an authority of this machine, made with ``openssl ts``."""

import re
import time
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rfc3161_client import decode_timestamp_response

from logic.desk import timestamps
from logic.desk.verify import INTACT
from logic.errors import RecordError
from logic.records.events import Event, JobReopened
from logic.records.store.store import Store
from tests.logic.desk.authority import make_authority, openssl, served
from tests.logic.records import scenes

pytestmark = pytest.mark.outside


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    """An authority's folder; ``ca.pem`` is its certificate."""
    return make_authority(tmp_path_factory.mktemp("authority") / "tsa")


@pytest.fixture(scope="module")
def address(authority):
    with served(authority) as found:
        yield found


@pytest.fixture
def stamped(run, folder, authority, address):
    """A store whose chains were stamped and whose authority's certificate was taken in."""
    run("stamp", "--authority", address, "--ca", str(authority / "ca.pem"))
    return folder / "stamps"


def record_file(folder, tmp_path):
    with Store.open(folder) as store:
        sealed = next(store.sealed_records())
    path = tmp_path / "record.json"
    path.write_text(sealed.model_dump_json(), encoding="utf-8")
    return str(path)


def test_text_and_answer_are_kept_so_that_openssl_verifies_them(stamped, authority):
    (answer,) = stamped.glob("*.tsr")
    text = answer.with_suffix(".txt")
    done = openssl(
        *("ts", "-verify", "-data", text, "-in", answer, "-CAfile", authority / "ca.pem")
    )
    assert b"Verification: OK" in done.stdout


def test_the_text_names_each_devices_last_event(stamped, folder):
    (text,) = stamped.glob("*.txt")
    with Store.open(folder) as store:
        ((key, (number, sha256)),) = store.chain_heads().items()
    assert text.read_text("ascii") == f"voltwalk-heads-1\n{key} {number} {sha256}\n"


def test_a_record_sealed_before_it_is_covered(run, stamped, folder, tmp_path):
    said = run("verify", record_file(folder, tmp_path), status=INTACT).output
    assert re.search(r"Time-stamped: it existed at 20\d\d-\d\d-\d\d \d\d:\d\d:\d\d UTC", said)


def test_a_record_sealed_after_it_is_not_covered(run, stamped, folder, tmp_path):
    with Store.open(folder) as store:
        _, job_id = scenes.signed_van(store, "SAW 051")
        later = store.sealed(job_id)[0]
    path = tmp_path / "later.json"
    path.write_text(later.model_dump_json(), encoding="utf-8")
    assert "No time-stamp that is kept here covers it." in run("verify", str(path)).output


def test_the_oldest_of_several_stamps_is_named(run, stamped, folder, address, tmp_path):
    file = record_file(folder, tmp_path)
    with Store.open(folder) as store:
        scenes.signed_van(store, "SAW 051")
    time.sleep(1.1)  # the authority tells whole seconds
    run("stamp", "--authority", address)
    first = min(path.stem for path in stamped.glob("*.tsr"))
    assert first in run("verify", file).output


def test_a_proved_stamp_is_named_before_an_older_one_that_is_not(stamped, folder):
    with Store.open(folder) as store:
        sealed = next(store.sealed_records())
        key = sealed.signature.key
        (proved,) = timestamps.kept(folder)
        older = replace(proved, name="older", is_proved=False)
        found = timestamps.covering([older, proved], key, sealed.sha256, store.chain_of)
    assert found == proved


def test_a_chain_with_a_gap_behind_the_record_is_not_covered(stamped, folder):
    with Store.open(folder) as store:
        sealed = next(store.sealed_records())
        key = sealed.signature.key
        events = list(store.chain_of(key))
    stamps = timestamps.kept(folder)
    found = timestamps.covering(stamps, key, sealed.sha256, lambda _: events)
    assert found == stamps[0]
    signing = next(
        place
        for place, event in enumerate(events)
        if event["body"].get("record_sha256") == sealed.sha256
    )
    for gone in range(signing, len(events)):
        left = events[:gone] + events[gone + 1 :]
        assert timestamps.covering(stamps, key, sealed.sha256, lambda _, left=left: left) is None
    changed = [{**event, "at": "2020-01-01T00:00:00Z"} for event in events]
    assert timestamps.covering(stamps, key, sealed.sha256, lambda _: changed) is None


def test_without_the_authoritys_certificate_it_is_kept_and_not_proved(
    run, folder, authority, address, tmp_path
):
    said = run("stamp", "--authority", address).output
    assert "kept but not proved: give the authority's certificate with --ca" in said
    assert "is not proved here" in run("verify", record_file(folder, tmp_path)).output
    assert ": proved, " in run("stamp", "--check", "--ca", str(authority / "ca.pem")).output


def test_an_authority_that_sends_its_certificates_in_any_order_is_understood(
    run, folder, authority, address
):
    certificate = str(authority / "ca.pem")
    said = run("stamp", "--authority", f"{address}/with-chain", "--ca", certificate).output
    assert ": proved, " in said
    (answer,) = (folder / "stamps").glob("*.tsr")
    kept = answer.read_bytes()
    with pytest.raises(ValueError, match="InvalidSetOrdering"):
        decode_timestamp_response(kept)  # it is kept as it came, and in the order that it came
    text = answer.with_suffix(".txt")
    openssl("ts", "-verify", "-data", text, "-in", answer, "-CAfile", certificate)


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=60) | st.binary(max_size=60).map(b"\x30\x20\x30\x03\x02\x01\x00".__add__))
def test_any_bytes_are_put_in_order_or_come_back(content):
    assert sorted(timestamps._in_order(content)) == sorted(content)


def test_check_lists_the_stamps(run, stamped):
    said = run("stamp", "--check").output
    assert ": proved, 20" in said
    assert re.search(r"key [0-9a-f]{16}: up to its event \d+", said)


def test_no_stamp_is_said(run):
    assert "There is no stamp here yet." in run("stamp", "--check", status=1).output


def test_the_certificate_of_another_authority_proves_nothing(
    run, folder, address, stamped, tmp_path
):
    other = make_authority(tmp_path / "other")
    said = run("stamp", "--authority", address, "--ca", str(other / "ca.pem"))
    assert ": proved" in said.output  # by the one that was taken in before
    (stamped / timestamps.AUTHORITIES).write_bytes((other / "ca.pem").read_bytes())
    said = run("stamp", "--check", status=1).output
    assert "NOT VALID: No authority whose certificate is known here signed it" in said
    before = sorted(stamped.iterdir())
    assert "was not kept" in run("stamp", "--authority", address, status=1).stderr
    assert sorted(stamped.iterdir()) == before


def test_an_erasure_leaves_the_stamps_as_they_were(run, stamped, folder, tmp_path):
    file = record_file(folder, tmp_path)
    with Store.open(folder) as store:
        for vehicle_id in store.all_vehicle_ids():
            store.erase_customer(vehicle_id)
    assert "Time-stamped: it existed at" in run("verify", file).output
    assert ": proved, " in run("stamp", "--check").output


def test_without_the_package_that_is_said(run, stamped, folder, monkeypatch, tmp_path):
    monkeypatch.setattr(timestamps, "find_spec", lambda _: None)
    for arguments in (["--check"], ["--authority", "http://x/"]):
        assert "rfc3161-client, which is not installed" in run("stamp", *arguments, status=1).stderr
    said = run("verify", record_file(folder, tmp_path), status=INTACT).output
    assert "Whether a time-stamp covers it could not be checked." in said


def test_a_certificate_file_that_cannot_be_read_is_told(run, stamped, folder, tmp_path):
    (stamped / timestamps.AUTHORITIES).write_text("spoilt", encoding="ascii")
    assert "holds no certificate" in run("stamp", "--check", status=1).stderr
    assert "could not be checked" in run("verify", record_file(folder, tmp_path)).output


# Stamps that were changed.


def test_another_text_beside_a_stamp_is_told(run, stamped, folder, tmp_path):
    (text,) = stamped.glob("*.txt")
    (answer,) = stamped.glob("*.tsr")
    text.write_text(f"voltwalk-heads-1\n{'a' * 64} 3 {'b' * 64}\n", encoding="ascii")
    said = run("stamp", "--check", status=1).output
    assert f"{answer.stem}: NOT VALID: It stamps another text" in said
    assert "No time-stamp" in run("verify", record_file(folder, tmp_path)).output


@pytest.mark.parametrize(
    "content", [b"", b"hello", b"voltwalk-heads-1\nx 1 y\n", b"\xff\xfe", b"voltwalk-heads-2\n"]
)
def test_a_text_that_names_no_heads_is_told(run, stamped, content):
    (text,) = stamped.glob("*.txt")
    text.write_bytes(content)
    assert "does not name the heads of chains" in run("stamp", "--check", status=1).output


def test_a_changed_answer_is_told(run, stamped):
    (answer,) = stamped.glob("*.tsr")
    content = answer.read_bytes()
    for place in range(0, len(content), 37):
        changed = bytearray(content)
        changed[place] ^= 0x01
        answer.write_bytes(bytes(changed))
        result = timestamps.kept(stamped.parent)[0]
        assert result.complaint.endswith(".") or result.at is not None
        if not result.complaint:  # only what the signature does not cover can be left
            openssl_says = openssl(
                *("ts", "-verify", "-data", answer.with_suffix(".txt"), "-in", answer),
                *("-CAfile", stamped / timestamps.AUTHORITIES),
            )
            assert b"OK" in openssl_says.stdout


def test_a_missing_text_is_told(run, stamped):
    (text,) = stamped.glob("*.txt")
    text.unlink()
    assert "cannot be read" in run("stamp", "--check", status=1).output


# Authorities that answer badly.


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("broken", "refused: it answered 503"),
        ("page", "cannot be read as a time-stamp"),
        ("empty", "cannot be read as a time-stamp"),
        ("endless", "far too large"),
        ("refuses", "refuses to stamp (status 2: Message digest algorithm is not supported.)"),
        ("another", "to another question than was asked"),
        ("other-hash", "It stamps another text"),
    ],
)
def test_a_bad_answer_is_told_and_nothing_is_kept(run, folder, address, path, said):
    assert said in run("stamp", "--authority", f"{address}/{path}", status=1).stderr
    assert not (folder / "stamps").exists()


def test_an_authority_that_does_not_answer_in_time_is_told(run, address):
    result = run("stamp", "--authority", f"{address}/slow", "--patience", "0.3", status=1)
    assert "no answer within 0.3 seconds" in result.stderr


@pytest.mark.parametrize("url", ["http://127.0.0.1:9/", "http://stamps.invalid/"])
def test_an_authority_that_cannot_be_reached_is_told(run, url):
    said = run("stamp", "--authority", url, "--patience", "5", status=1).stderr
    assert "cannot be reached" in said


@pytest.mark.parametrize("url", ["ftp://x/", "file:///etc/hostname", "stamps", "https:///", ""])
def test_what_is_no_address_is_told(run, url):
    said = run("stamp", "--authority", url, status=1).stderr
    assert "is no address" in said or "Say which authority" in said


def test_what_is_no_certificate_is_told(run, address, tmp_path):
    path = tmp_path / "ca.pem"
    path.write_text("hello", encoding="ascii")
    said = run("stamp", "--authority", address, "--ca", str(path), status=1).stderr
    assert "holds no certificate" in said


def test_a_store_that_has_signed_nothing_has_nothing_to_stamp(run, tmp_path):
    with Store.open(tmp_path / "new"):
        pass
    said = run("--store", str(tmp_path / "new"), "stamp", "--authority", "http://x/", status=1)
    assert "nothing to stamp" in said.stderr


def test_the_command_says_what_it_needs(run):
    assert "Say which authority to ask" in run("stamp", status=1).stderr


def test_the_text_of_heads_reads_back():
    heads = {"a" * 64: (1, "b" * 64), "0" * 64: (2**53, "c" * 64)}
    assert timestamps.heads_in(timestamps.text_of(heads)) == heads
    with pytest.raises(RecordError):
        timestamps.heads_in(timestamps.text_of(heads) + b"more\n")


def test_a_reopened_and_signed_again_job_is_covered_revision_by_revision(run, folder, address):
    with Store.open(folder) as store:
        vehicle_id, job_id = scenes.signed_van(store, "SAW 051")
    run("stamp", "--authority", address)
    with Store.open(folder) as store:
        body = JobReopened(reason="fuse changed")
        store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))
        store.seal(scenes.record_of(vehicle_id, job_id), scenes.private())
        first, second = store.sealed(job_id)
        stamps = timestamps.kept(folder)
        key = first.signature.key
        assert timestamps.covering(stamps, key, first.sha256, store.chain_of) == stamps[0]
        assert timestamps.covering(stamps, key, second.sha256, store.chain_of) is None
