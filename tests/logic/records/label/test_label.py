import os
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logic.case import Case, Reading
from logic.errors import LabelError
from logic.records.baseline import readings_of
from logic.records.label import wire
from logic.records.label.encoding import MOST_CHARACTERS, PREFIX, Label, decode, encode
from logic.records.qr import symbol
from logic.vehicle.identity import Customer, Vehicle
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State
from tests.logic.records.label.label_samples import (
    body_of,
    fitted_out,
    full_walk,
    sealed_with,
    with_checksum,
)
from tests.logic.records.record_strategies import READINGS, RECORDS
from tests.logic.records.sample_records import callback, commissioning, seal, signed

# HYPOTHESIS_FUZZ=10000 runs as many inputs as the figures ask for.
FUZZ = settings(
    max_examples=int(os.environ.get("HYPOTHESIS_FUZZ", "300")),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)


def test_it_says_what_the_record_says():
    sealed = seal(commissioning())
    label = decode(encode(sealed))
    record = sealed.record
    assert label.vehicle_id == record.vehicle_id
    assert label.registration == "LIB 042"
    assert label.signed_at == record.signed_at
    assert label.signed_at.utcoffset() == timedelta(hours=10)
    assert label.record_sha256 == sealed.sha256
    known = {"length_m": 4.5, "area_mm2": 13.3, "joints": 4, "fuse_a": 60.0, "stated": None}
    assert label.installation.runs.vehicle_feed.model_dump() == known
    assert label.installation.charger.ingress_protection == "IP67"
    assert label.left_out == 0


def test_its_readings_are_the_baseline_of_a_case():
    sealed = seal(commissioning())
    label = decode(encode(sealed))
    case = Case(installation=label.installation, baseline=label.readings)
    values = {(reading.point, reading.state): reading.value for reading in case.baseline}
    assert values[Point.VEHICLE_RETURN_DROP, State.IDLE] == 0.92
    assert values[Point.HOUSE_BATTERY_VOLTAGE, State.REST] == 12.31


def test_after_a_repair_it_holds_the_readings_after():
    values = {one.point: one.value for one in decode(encode(seal(callback()))).readings}
    assert values[Point.VEHICLE_RETURN_DROP] == 0.118


def test_the_customer_is_never_on_it():
    written = encode(seal(commissioning()))
    assert not set(Customer.model_fields) & set(Label.model_fields)
    assert b"Shire" not in body_of(written)
    assert b"Quill" not in body_of(written)


def test_a_whole_walk_fits_a_code_of_version_15_at_level_m():
    text = encode(full_walk())
    assert decode(text).left_out == 0
    assert symbol(text).version <= 15


def test_what_does_not_fit_is_left_out_least_important_first_and_counted():
    readings = [
        Reading(point=point, state=state, value=999.123) for point in Point for state in State
    ]
    vehicle = Vehicle(registration="Ω" * 20)
    sealed = seal(commissioning(steps=(), readings=tuple(readings), vehicle=vehicle))
    text = encode(sealed)
    label = decode(text)
    assert len(text) <= MOST_CHARACTERS
    assert label.left_out == len(readings) - len(label.readings) > 0
    kept = {reading.point for reading in label.readings}
    assert {Point.VEHICLE_FEED_DROP, Point.OUTPUT_CURRENT} <= kept
    assert Point.FAULT_INDICATOR not in kept


@pytest.mark.parametrize(
    "change", [str.lower, lambda t: t[:90] + "\r\n  " + t[90:], "  {} ".format]
)
def test_pasting_does_it_no_harm(change):
    text = encode(seal(commissioning()))
    assert decode(change(text)) == decode(text)


@pytest.mark.parametrize("text", ["", "hello", "https://example.org/x", "WIFI:T:WPA;;", "VOLT"])
def test_a_foreign_code_is_named_as_such(text):
    with pytest.raises(LabelError, match="not a commissioning label"):
        decode(text)


@pytest.mark.parametrize("damage", [lambda t: t[:-1], lambda t: t[:60], lambda t: t + "AAAAAAAA"])
def test_half_a_code_is_named_as_damaged(damage):
    with pytest.raises(LabelError, match="damaged or incomplete"):
        decode(damage(encode(seal(commissioning()))))


def test_any_one_wrong_letter_is_noticed():
    text = encode(seal(commissioning()))
    # Every fifth place: CRC-32 finds any burst of up to 32 bits, so places are alike.
    for place in range(len(PREFIX), len(text) - 1, 5):
        wrong = "A" if text[place] != "A" else "B"
        with pytest.raises(LabelError):
            decode(text[:place] + wrong + text[place + 1 :])


def test_a_newer_format_asks_for_an_update():
    body = body_of(encode(seal(commissioning())))
    with pytest.raises(LabelError, match=r"newer version .* Update"):
        decode(with_checksum(b"\x04" + body[1:]))


def test_a_figure_no_installation_has_is_refused():
    body = bytearray(body_of(encode(sealed_with())))
    plate = body.index(b"LIB 042")
    body[plate - 1] = 0  # a plate of no letters; what follows is then read out of step
    with pytest.raises(LabelError, match="cannot be right"):
        decode(with_checksum(bytes(body)))


@FUZZ
@given(st.text(max_size=400) | st.from_regex(r"VOLTWALK:[A-Z2-7]{0,400}", fullmatch=True))
def test_any_text_is_a_label_or_a_clear_error(text):
    answer_or_error(text)


@FUZZ
@given(st.binary(max_size=300))
def test_any_bytes_with_a_right_checksum_are_a_label_or_a_clear_error(body):
    answer_or_error(with_checksum(b"\x01" + body))


GOOD_BODY = body_of(encode(seal(commissioning())))


@FUZZ
@given(st.lists(st.tuples(st.integers(0, len(GOOD_BODY) - 1), st.integers(0, 255)), max_size=4))
def test_a_changed_body_with_a_right_checksum_is_a_label_or_a_clear_error(changes):
    body = bytearray(GOOD_BODY)
    for place, value in changes:
        body[place] = value
    answer_or_error(with_checksum(bytes(body)))


def answer_or_error(text):
    try:
        answer = decode(text)
    except LabelError as error:
        answer = str(error)
    assert isinstance(answer, Label) or answer.endswith(".")


@settings(max_examples=60, deadline=None)
@given(RECORDS)
def test_any_record_makes_a_label_that_reads_back(record):
    sealed = seal(record)
    label = decode(encode(sealed))
    assert label.registration == record.vehicle.registration
    assert label.record_sha256 == sealed.sha256
    assert abs(label.signed_at - record.signed_at) < timedelta(minutes=1)
    assert len(label.readings) + label.left_out == len(readings_of(record))


@settings(max_examples=60, deadline=None)
@given(st.lists(READINGS, max_size=20, unique_by=lambda r: (r.point, r.state)))
def test_readings_come_back_to_the_nearest_thousandth(readings):
    label = decode(encode(sealed_with(*readings)))
    back = {(one.point, one.state): one.value for one in label.readings}
    on_labels = [one for one in readings if one.point.wire_id is not None]
    assert label.left_out == len(readings) - len(back)
    for one in on_labels:
        if len(back) == len(on_labels):
            assert back[one.point, one.state] == pytest.approx(one.value, abs=0.000501)


FIGURES = st.sampled_from([None, 0.004, 0.5, 1.0, 12.34, 13.302])
RUN = st.fixed_dictionaries(
    {"length_m": FIGURES, "area_mm2": FIGURES, "joints": st.none() | st.integers(0, 40)}
)
INSTALLATIONS = st.fixed_dictionaries(
    {
        "nominal_voltage_v": st.sampled_from([12, 24]),
        "alternator": st.fixed_dictionaries(
            {
                "control": st.sampled_from(["fixed", "variable", "unknown"]),
                "rated_current_a": FIGURES,
            }
        ),
        "start_battery": st.none()
        | st.fixed_dictionaries(
            {"chemistry": st.sampled_from(["flooded", "agm", "gel"]), "capacity_ah": FIGURES}
        ),
        "charger": st.fixed_dictionaries(
            {
                "rated_output_current_a": st.sampled_from([20.0, 25.0, 40.0]),
                "efficiency": st.sampled_from([None, 0.9, 0.0001, 1.0]),
                "max_ambient_c": st.sampled_from([None, -40.0, 0.0, 70.5]),
            }
        ),
        "house_battery": st.fixed_dictionaries(
            {"chemistry": st.sampled_from(["flooded", "agm", "gel", "lifepo4"])}
        ),
        "runs": st.fixed_dictionaries({"vehicle_feed": RUN, "solar_feed": st.none() | RUN}),
        "location": st.sampled_from([None, "engine_bay", "cabin", "tray", "trailer"]),
        "solar": st.none() | st.fixed_dictionaries({"rated_power_w": st.sampled_from([None, 200])}),
        "meter": st.none()
        | st.fixed_dictionaries({"voltage_resolution_v": st.sampled_from([None, 0.001, 0.00001])}),
    }
).map(Installation.model_validate)


@settings(max_examples=100, deadline=None)
@given(INSTALLATIONS)
def test_an_installation_comes_back_to_its_rounding(installation):
    record = commissioning(installation=installation, steps=())
    back = decode(encode(seal(record))).installation
    for path, parts in wire.FIELDS:
        was = wire._get(installation.model_dump(), path)
        now = wire._get(back.model_dump(), path)
        # A figure above nothing never becomes nothing: it becomes one part.
        assert (now is None) == (was is None), path
        if was is not None:
            assert abs(now - was) <= max(0.5, 1 - was * parts) / parts + 1e-9, path
    for path, _ in wire.CHOICES:
        was = wire._get(installation.model_dump(), path)
        now = wire._get(back.model_dump(), path)
        assert (now is None) == (was is None) if path in wire._GROUPS else now == was


def _extra_values(path, kind):
    """Values that an extra may have; those of a group are its parts'."""
    if isinstance(kind, int):
        return (
            st.integers(2, 8)
            if path == "house_battery.in_parallel"
            else st.sampled_from([1, 4, 13])
        )
    return st.sampled_from(kind)


EXTRA_VALUES = st.fixed_dictionaries(
    {},
    optional={
        path: _extra_values(path, kind)
        for path, kind in wire.EXTRAS
        if path not in wire._EXTRA_GROUPS
    },
)


@settings(max_examples=150, deadline=None)
@given(EXTRA_VALUES, st.booleans())
def test_whatever_is_fitted_comes_back(said, is_signed):
    record = commissioning(installation=fitted_out(said), steps=())
    label = decode(encode((signed if is_signed else seal)(record)))
    back = label.installation.model_dump()
    assert {path: wire._get(back, path) for path in said} == said
    assert label.version == (3 if said else 2 if is_signed else 1)
    assert (label.signature is not None) is is_signed
    empty = {path for path, _ in wire.EXTRAS if path not in said} - {
        "alternator.control",
        "start_battery.chemistry",
        *wire._EXTRA_GROUPS,
    }
    assert not any(wire._get(back, path) for path in empty)


def test_a_plain_job_costs_nothing_and_an_older_version_reads_it():
    assert body_of(encode(seal(commissioning())))[0] == 1
    assert body_of(encode(signed(commissioning())))[0] == 2


def test_an_empty_trailer_and_a_second_unit_of_unknown_runs_come_back():
    installation = fitted_out({"trailer": {}, "second_unit_runs": {}})
    back = decode(encode(seal(commissioning(installation=installation)))).installation
    assert back.trailer == installation.trailer
    assert back.second_unit_runs == installation.second_unit_runs


def _with_last_extra(place, said):
    """A label's text whose only extra is another one."""
    body = body_of(encode(seal(commissioning(installation=fitted_out({"trailer": {}}), steps=()))))
    assert body[-3:] == bytes([1, 9, 0])
    return with_checksum(body[:-2] + bytes([place, said]))


def test_an_extra_or_a_choice_of_it_that_is_newer_asks_for_an_update():
    assert decode(_with_last_extra(2, 2)).installation.output_nominal_voltage_v == 24
    with pytest.raises(LabelError, match=r"newer version.* part of the equipment .*Update"):
        decode(_with_last_extra(len(wire.EXTRAS), 0))
    with pytest.raises(LabelError, match=r"newer version.* choice of equipment .*Update"):
        decode(_with_last_extra(0, 2))
    with pytest.raises(LabelError, match="cannot be right"):
        decode(_with_last_extra(0, 1))


def test_a_kind_of_label_that_is_newer_asks_for_an_update():
    body = body_of(encode(seal(commissioning(installation=fitted_out({"trailer": {}})))))
    with pytest.raises(LabelError, match=r"newer version.* kind of label .*Update"):
        decode(with_checksum(body[:1] + b"\x02" + body[2:]))


@FUZZ
@given(st.binary(max_size=300))
def test_any_bytes_of_version_3_are_a_label_or_a_clear_error(body):
    answer_or_error(with_checksum(b"\x03" + body))


FULL_BODY = body_of(
    encode(
        seal(
            commissioning(
                installation=fitted_out(
                    {"start_battery.second": "series", "trailer": {"plug_rated_current_a": 40}}
                )
            )
        )
    )
)


@FUZZ
@given(st.lists(st.tuples(st.integers(0, len(FULL_BODY) - 1), st.integers(0, 255)), max_size=4))
def test_a_changed_body_with_extras_is_a_label_or_a_clear_error(changes):
    body = bytearray(FULL_BODY)
    for place, value in changes:
        body[place] = value
    answer_or_error(with_checksum(bytes(body)))


def test_everything_fitted_and_a_whole_walk_keep_to_a_code_of_version_15():
    said = {
        path: 1000 if path.startswith("trailer") else 9
        for path, kind in wire.EXTRAS
        if path.startswith("second_unit_runs.") and isinstance(kind, int)
    }
    said |= {"start_battery.second": "series", "trailer": {"plug_rated_current_a": 55.5}}
    walk = full_walk(lambda record: record)
    label_text = encode(signed(walk.model_copy(update={"installation": fitted_out(said)})))
    assert symbol(label_text).version <= 15
    label = decode(label_text)
    assert label.readings[0].point.is_drop
    assert len(label.readings) >= 8
