"""The label of a signed record carries its signature, and so is a witness outside the workshop."""

import json
from datetime import timedelta

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logic.case import Reading
from logic.errors import LabelError, RecordError
from logic.records.baseline import readings_of
from logic.records.label.comparison import against_record
from logic.records.label.encoding import MOST_CHARACTERS, Label, decode, encode
from logic.records.paper.reader import check_pdf
from logic.records.qr import symbol
from logic.records.record import SealSignature
from logic.vehicle.identity import Vehicle
from logic.vehicle.points import Point, State
from tests.logic.records.label.label_samples import body_of, full_walk, with_checksum
from tests.logic.records.record_strategies import RECORDS
from tests.logic.records.sample_records import (
    KEY_ID,
    PUBLIC,
    commissioning,
    judged,
    seal,
    signed,
    step,
)
from tests.paths import RELEASES

SIGNED = signed(commissioning())
LABEL = decode(encode(SIGNED))


def test_its_signature_is_good_by_the_standard_alone():
    text = f"voltwalk-seal-1\n{LABEL.record_sha256}\n".encode()
    key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(PUBLIC))
    key.verify(bytes.fromhex(LABEL.signature), text)  # raises if it is not
    assert LABEL.key_id == KEY_ID
    assert LABEL.version == 2


def test_it_says_all_that_a_label_without_one_says():
    plain = decode(encode(seal(commissioning())))
    told = {"version", "key_id", "signature", "record_sha256"}
    assert LABEL.model_dump(exclude=told) == plain.model_dump(exclude=told)


def test_a_record_that_is_not_signed_has_the_label_of_release_0_1_0():
    assert decode(encode(seal(commissioning()))).version == 1


def test_the_signature_takes_116_characters():
    # 72 bytes in Base32 (RFC 4648): 8 characters for 5 bytes.
    assert len(encode(SIGNED)) - len(encode(seal(commissioning()))) in (115, 116)


def test_a_signed_whole_walk_fits_a_code_of_version_15_and_keeps_what_is_compared_first():
    text = encode(full_walk(signed))
    label = decode(text)
    assert len(text) <= MOST_CHARACTERS
    assert symbol(text).version <= 15
    kept = {(one.point, one.state) for one in label.readings}
    assert label.left_out == len(readings_of(full_walk().record)) - len(kept)
    loaded = (State.IDLE, State.FAST_IDLE)
    assert {(Point.VEHICLE_FEED_DROP, state) for state in loaded} <= kept
    assert {(Point.OUTPUT_CURRENT, state) for state in loaded} <= kept


@settings(max_examples=60, deadline=None)
@given(RECORDS)
def test_any_signed_record_makes_a_label_that_reads_back_and_fits_it(record):
    sealed = signed(record)
    label = decode(encode(sealed))
    assert label.record_sha256 == sealed.sha256
    assert label.signature == sealed.signature.signature
    assert abs(label.signed_at - record.signed_at) < timedelta(minutes=1)
    assert against_record(label, sealed) == ()


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.binary(max_size=300))
def test_any_bytes_of_version_2_are_a_label_or_a_clear_error(body):
    try:
        answer = decode(with_checksum(b"\x02" + body))
    except LabelError as error:
        answer = str(error)
    assert isinstance(answer, Label) or answer.endswith(".")


def test_half_a_signature_is_no_label():
    body = body_of(encode(SIGNED))
    with pytest.raises(LabelError):
        decode(with_checksum(body[:80]))


# Held against the record.


def test_its_own_label_fits():
    assert against_record(LABEL, SIGNED) == ()


def test_the_label_of_an_unsigned_record_fits_it():
    sealed = seal(commissioning())
    assert against_record(decode(encode(sealed)), sealed) == ()


def test_a_label_of_release_0_1_0_fits_the_record_that_it_was_made_of():
    label = json.loads((RELEASES / "0.1.0.labels.json").read_text("utf-8"))[0]["text"]
    printed = check_pdf(RELEASES / "0.1.0.pdf").sealed
    assert against_record(decode(label), printed) == ()


def other_signature():
    digits = SIGNED.signature.signature
    return ("0" if digits[0] != "0" else "1") + digits[1:]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"record_sha256": "0" * 64}, "names the record with the SHA-256 0000"),
        ({"key_id": "0" * 16}, "names the key 0000000000000000; the record is signed with"),
        ({"signature": other_signature()}, "signature is not one of the record's key"),
        ({"key_id": None, "signature": None}, "the label carries no signature"),
        ({"registration": "LIB 043"}, "something else than the record as registration"),
        ({"revision": 2}, "something else than the record as revision"),
        (
            {"readings": (Reading(point="output_current", state="idle", value=40.1),)},
            "Output current, engine idling: the label says 40.1, the record 38.4",
        ),
        (
            {"readings": (Reading(point="solar_current", state="solar", value=4.0),)},
            "the label says 4, the record nothing",
        ),
    ],
)
def test_what_does_not_fit_is_named(change, said):
    complaints = against_record(LABEL.model_copy(update=change), SIGNED)
    assert len([one for one in complaints if said in one]) == 1


def test_a_record_whose_signature_was_taken_out_does_not_fit_its_label():
    bare = SIGNED.model_copy(update={"signature": None})
    (said,) = against_record(LABEL, bare)
    assert "it was taken out" in said


def test_a_record_made_anew_with_another_key_does_not_fit_the_label():
    stranger = SealSignature(key="3b" + PUBLIC[2:], signature=SIGNED.signature.signature)
    complaints = against_record(LABEL, SIGNED.model_copy(update={"signature": stranger}))
    assert f"The label names the key {KEY_ID}" in complaints[0]


def test_an_older_label_of_the_vehicle_is_told_from_a_strangers():
    older = decode(encode(signed(commissioning(place="yard"))))
    assert "a label of the same vehicle" in against_record(older, SIGNED)[1]
    strange = commissioning(vehicle_id="f" * 32, vehicle=Vehicle(registration="HUT 001"))
    assert len(against_record(decode(encode(signed(strange))), SIGNED)) == 1


@pytest.mark.parametrize("value", [1e308, -1e308, 1000.1, 2.0**53])
def test_of_a_record_with_a_figure_that_no_meter_shows_there_is_no_label(value):
    read = judged("house_battery_voltage", "rest", value, (None, None))
    taken = step("key_off", "any", "House battery voltage", outcome="done", verdict=read)
    odd = seal(commissioning(steps=(taken,)))
    with pytest.raises(RecordError, match="which no meter shows"):
        encode(odd)
    label = decode(encode(seal(commissioning()))).model_copy(update={"record_sha256": odd.sha256})
    [said] = against_record(label, odd)
    assert "No label can be made of this record" in said
