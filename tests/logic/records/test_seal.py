import json
import os
import struct
import tracemalloc
from contextlib import suppress
from datetime import datetime, timedelta, timezone
from hashlib import sha256

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.case import Reading
from logic.errors import BrokenSealError
from logic.records.record import SealedRecord
from logic.records.seal import canonical, digest, seal
from logic.records.verify import chain_complaints, check, differences
from logic.vehicle.points import Point, State
from tests.logic.records.scenes import private, record_of

V, J = "a" * 32, "b" * 32
# The full run: HYPOTHESIS_FUZZ=10000 pytest tests/logic/records/test_seal.py
FUZZ = settings(max_examples=int(os.environ.get("HYPOTHESIS_FUZZ", "100")), deadline=None)

# Input and SHA-256 of the output: github.com/cyberphone/json-canonicalization, testdata/,
# the author's own vectors of RFC 8785.
VECTORS = {
    "arrays": (
        '[56,{"d":true,"10":null,"1":[ ]}]',
        "099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42",
    ),
    "french": (
        '{"peach":"This sorting order","péché":"is wrong according to French",'
        '"pêche":"but canonicalization MUST","sin":"ignore locale"}',
        "d99d0ebdcb0033cb858cfa830ae46bc0fb3309413b271f1da828c89901a27ed5",
    ),
    "structures": (
        '{"1":{"f":{"f":"hi","F":5},"\\n":56.0},"10":{},"":"empty","a":{},"111":[{"e":"yes","E":"no"}],"A":{}}',
        "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5",
    ),
    "unicode": (
        '{"Unnormalized Unicode":"A\\u030a"}',
        "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3",
    ),
    "values": (
        '{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],'
        '"string":"\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/",'
        '"literals":[null,true,false]}',
        "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb",
    ),
    "weird": (
        '{"\\u20ac":"Euro Sign","\\r":"Carriage Return","\\u000a":"Newline","1":"One",'
        '"\\u0080":"Control\\u007f","\\ud83d\\ude02":"Smiley",'
        '"\\u00f6":"Latin Small Letter O With Diaeresis",'
        '"\\ufb33":"Hebrew Letter Dalet With Dagesh","</script>":"Browser Challenge"}',
        "6af595a9aa80110b964b4de3f82a05fa6ae7423005019bacfa2620dddc4e94d1",
    ),
}
# RFC 8785 appendix B, IEEE 754 bits and text.
NUMBERS = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "44b52d02c7e14af6": "1e+23",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "41b3de4355555555": "333333333.3333333",
}


def sealed(**more):
    return seal(record_of(V, J, **more), private(), None)


def file_of(done):
    return json.loads(done.model_dump_json())


@pytest.mark.outside
@pytest.mark.parametrize("name", VECTORS)
def test_canonical_text_is_that_of_the_standards_author(name):
    source, expected = VECTORS[name]
    assert sha256(canonical(json.loads(source))).hexdigest() == expected


@pytest.mark.outside
@pytest.mark.parametrize(("bits", "text"), NUMBERS.items())
def test_a_number_is_written_as_in_the_standards_appendix(bits, text):
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical(number).decode() == text


def test_a_fresh_record_is_intact():
    answer = check(sealed().model_dump_json().encode())
    assert answer.intact, answer.complaints
    assert answer.remarks == ()


def test_layout_and_order_of_names_do_not_matter():
    data = file_of(sealed())
    shuffled = dict(reversed(data.items())) | {"record": dict(reversed(data["record"].items()))}
    assert check(json.dumps(shuffled, indent=3, ensure_ascii=True).encode()).intact


def test_any_changed_value_is_named():
    data = file_of(sealed())
    data["record"]["steps"][0]["text"] = "12.9 V"
    data["record"]["technician"]["licence"] = "FA-0099"
    complaints = check(json.dumps(data).encode()).complaints
    assert complaints == (
        'technician.licence was changed after signing; it now says "FA-0099".',
        'Step house_voltage was changed after signing; it now says "12.9 V".',
    )


def test_a_step_taken_out_or_put_in_is_named():
    data = file_of(sealed())
    data["record"]["steps"][0]["step_id"] = "other"
    complaints = check(json.dumps(data).encode()).complaints
    assert "Step house_voltage was taken out after signing." in complaints
    assert "Step other was put in after signing." in complaints


def test_a_resealed_forgery_is_caught_by_the_hash_on_the_label():
    done = sealed()
    data = file_of(done)
    data["record"]["place"] = "elsewhere"
    data["sha256"] = digest(data["record"])
    del data["parts"]
    forged = json.dumps(data).encode()
    assert check(forged).intact
    assert "was expected" in check(forged, known_sha256=done.sha256).complaints[0]
    assert 'place was "" and is "elsewhere".' in check(forged, original=done).complaints


def test_a_changed_signature_is_caught_and_an_erased_one_is_only_remarked():
    data = file_of(sealed())
    other = {**data["private"], "salt": "0" * 32}
    assert not check(json.dumps(data | {"private": other}).encode()).intact
    erased = check(json.dumps(data | {"private": None}).encode())
    assert erased.intact
    assert "left out or erased" in erased.remarks[0]


def test_without_parts_the_answer_still_says_that_it_was_changed():
    data = file_of(sealed())
    data["record"]["place"] = "elsewhere"
    del data["parts"]
    assert "compare it with another copy" in check(json.dumps(data).encode()).complaints[0]


def test_a_chain_with_a_gap_or_a_stranger_is_told():
    first = sealed()
    second = seal(record_of(V, J, revision=2), private(), first.sha256)
    stranger = seal(record_of(V, J, revision=2), private(), "c" * 64)
    assert chain_complaints((first, second)) == ()
    again = seal(record_of(V, J, revision=2, place="yard"), private(), first.sha256)
    assert chain_complaints((first, stranger)) == ("Revision 2 does not name the one before it.",)
    assert chain_complaints((second,)) == ("Revision 1 is missing.",)
    assert "Revision 2 was signed on two devices" in chain_complaints((first, second, again))[0]


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"{",
        b"[]",
        b"\xff\xfe",
        b'{"record": 1}',
        b'{"record": {"kind": "x"}, "sha256": ""}',
        b'{"record": {"kind": "voltwalk-record"}, "sha256": 4}',
        b'{"record": {"kind": "voltwalk-record", "a": 1, "a": 2}, "sha256": "0"}',
        b'{"record": {"kind": "voltwalk-record", "a": NaN}, "sha256": "0"}',
        b'{"record": {"kind": "voltwalk-record", "a": 1e999}, "sha256": "0"}',
        b'{"record": {"kind": "voltwalk-record", "a": 99999999999999999999}, "sha256": "0"}',
        b'{"record": {"kind": "voltwalk-record", "a": "\\ud800"}, "sha256": "0"}',
        b"[" * 200_000,
        b" " * 64_000_001,
    ],
)
def test_what_is_no_record_is_refused_in_words(text):
    with pytest.raises(BrokenSealError, match="not a signed record"):
        check(text)


@given(
    value=st.floats(min_value=-1000, max_value=1000),
    offset=st.integers(-23 * 60, 23 * 60),
    moment=st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1)),
    place=st.text(st.characters(exclude_categories=["Cs"]), max_size=40),
)
def test_what_is_sealed_reads_back_the_same_and_verifies(value, offset, moment, place):
    signed_at = moment.replace(tzinfo=timezone(timedelta(minutes=offset)))
    reading = Reading(point=Point.OUTPUT_CURRENT, state=State.IDLE, value=value)
    done = sealed(readings=(reading,), signed_at=signed_at, place=place)
    again = SealedRecord.model_validate_json(done.model_dump_json())
    assert again == done
    assert check(again).intact
    # Canonical text is JSON as well, and reads as the same record.
    assert digest(json.loads(canonical(file_of(done)["record"]))) == done.sha256


def test_a_reading_of_minus_zero_is_sealed_as_zero():
    reading = Reading(point=Point.OUTPUT_CURRENT, state=State.REST, value=-0.0)
    assert check(sealed(readings=(reading,))).intact


@FUZZ
@given(st.binary(max_size=300))
def test_no_bytes_bring_the_reader_down(data):
    with pytest.raises(BrokenSealError):
        check(data)


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner),
)
PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.text(max_size=4),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=2), inner),
)


@FUZZ
@given(part=JSON, where=st.sampled_from(["record", "private", "sha256", "parts", "steps"]))
def test_any_json_in_any_part_gets_an_answer_or_a_clear_error(part, where):
    data = file_of(sealed())
    (data["record"] if where == "steps" else data)[where] = part
    with suppress(BrokenSealError):
        assert check(json.dumps(data).encode()).sha256


@given(PLAIN, PLAIN)
def test_differences_are_none_just_where_the_canonical_texts_are_the_same(one, other):
    assert (differences(one, other) == []) == (canonical(one) == canonical(other))


# What stands beside the record in a file, which no hash covers.


def test_what_stands_beside_the_record_is_told():
    said = check(json.dumps(file_of(sealed()) | {"note": "%PDF-1.7"}).encode()).complaints
    assert said == ('It has a part named "note", which no signed record has.',)


@pytest.mark.parametrize("put_in", [{"a": "<html>"}, "%PDF-1.7", ["x"], 1])
def test_digests_of_parts_that_are_not_those_of_the_record_are_told(put_in):
    data = file_of(sealed())
    stated = data["parts"] | put_in if isinstance(put_in, dict) else put_in
    [said] = check(json.dumps(data | {"parts": stated}).encode()).complaints
    assert "digests of its parts were changed" in said


def test_a_record_without_digests_of_its_parts_is_intact():
    data = file_of(sealed())
    assert check(json.dumps(data | {"parts": {}}).encode()).intact
    del data["parts"]
    assert check(json.dumps(data).encode()).intact


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_a_record_is_in_utf_8_alone(encoding):
    """RFC 8259, 8.1."""
    with pytest.raises(BrokenSealError, match="not a signed record"):
        check(sealed().model_dump_json().encode(encoding))


def test_a_mark_of_utf_8_before_a_record_does_no_harm():
    assert check(b"\xef\xbb\xbf" + sealed().model_dump_json().encode()).intact


@pytest.mark.parametrize("value", [b"[],", b"{},", b"0,", b'{"":[]},'])
def test_far_too_many_values_are_refused_before_they_are_read(value):
    many = b'{"record":{"kind":"voltwalk-record","x":[' + value * 200_000 + b'0]},"sha256":"0"}'
    tracemalloc.start()
    with pytest.raises(BrokenSealError, match="too many values"):
        check(many)
    assert tracemalloc.get_traced_memory()[1] < 1_000_000
    tracemalloc.stop()


@pytest.mark.parametrize("name", ["verdicts", "steps", "readings", "design", "not_asked"])
def test_of_many_broken_things_in_a_record_the_first_is_told(name):
    data = file_of(sealed())
    data["record"][name] = [{}] * 40_000
    text = json.dumps(data).encode()
    tracemalloc.start()
    [unread] = check(text).remarks
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert f"record.{name}.0" in unread
    assert peak < 50_000_000
