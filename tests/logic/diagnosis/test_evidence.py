"""Evidence, exclusions and doubts as typed values, each with its words."""

import json

import pytest

import logic
from logic.case import Exclusion, Finding, ReadingEvidence
from logic.diagnosis import wording
from logic.diagnosis.catalogue import faults
from logic.diagnosis.evidence import reading_order, ruled_out, within_the_loop
from logic.vehicle.points import Point, State
from tests.logic.diagnosis.ute import BAD_RETURN, SOUND, UTE, diagnosed, sheet


@pytest.fixture(scope="module")
def bad_return() -> logic.Diagnosis:
    return diagnosed(UTE, sheet(SOUND, **BAD_RETURN), baseline=sheet(SOUND))


def test_evidence_has_its_point_its_numbers_and_its_rival(bad_return: logic.Diagnosis) -> None:
    evidence = bad_return.findings[0].evidence
    [drop] = [one for one in evidence if getattr(one, "point", "") is Point.VEHICLE_RETURN_DROP]
    assert (drop.kind, drop.state, drop.value) == ("supports", State.IDLE, 1.31)
    assert drop.expected == pytest.approx(1.31, abs=0.05)
    assert drop.at_commissioning == 0.134
    assert drop.expected_under_rival is None or drop.expected_under_rival < 0.5
    assert set(drop.rival) <= set(faults())
    assert "vehicle_return_resistive" not in drop.rival


def test_the_first_finding_lists_the_faults_that_are_ruled_out(bad_return: logic.Diagnosis) -> None:
    [excluded] = [one for one in bad_return.findings[0].evidence if isinstance(one, Exclusion)]
    assert all(bad_return.marginals[one] < 1e-3 for one in excluded.faults)
    chances = [bad_return.marginals[one] for one in excluded.faults]
    assert chances == sorted(chances, reverse=True)
    assert excluded.text.startswith("Ruled out: ")


def test_every_text_is_the_wording_of_its_value(bad_return: logic.Diagnosis) -> None:
    for finding in bad_return.findings:
        for one in finding.evidence:
            words = (
                wording.evidence_in_words(one)
                if isinstance(one, ReadingEvidence)
                else wording.exclusion_in_words(one)
            )
            assert one.text == words


def test_evidence_travels_as_json_with_its_kind_and_its_text(bad_return: logic.Diagnosis) -> None:
    text = bad_return.model_dump_json()
    assert logic.Diagnosis.model_validate_json(text) == bad_return
    kinds = {one["kind"] for one in json.loads(text)["findings"][0]["evidence"]}
    assert {"supports", "excludes"} <= kinds
    assert all(one["text"] for one in json.loads(text)["findings"][0]["evidence"])


def test_text_alone_as_release_0_1_0_had_it_stays_text() -> None:
    written = '{"faults":["no_fault"],"probability":0.5,"evidence":["Ruled out: worn battery."]}'
    finding = Finding.model_validate_json(written)
    assert finding.model_dump_json() == written
    assert finding.evidence_in_words == ("Ruled out: worn battery.",)


EVIDENCE = ReadingEvidence(
    kind="supports",
    point=Point.VEHICLE_RETURN_DROP,
    state=State.IDLE,
    value=1.31,
    expected=1.302,
    rival=("vehicle_feed_resistive",),
    expected_under_rival=0.147,
)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        (
            {},
            "1.310 V fits this answer (about 1.302 V); with “High resistance in the vehicle feed”",
        ),
        ({}, "it would be about 0.147 V."),
        (
            {"expected_under_rival": None},
            "“High resistance in the vehicle feed” hardly explains it.",
        ),
        ({"at_commissioning": 0.134}, "At commissioning it read 0.134 V."),
        (
            {"kind": "against"},
            "Against: Drop in the vehicle return, engine idling: 1.310 V instead",
        ),
        ({"kind": "against"}, "suits “High resistance in the vehicle feed” better."),
        ({"kind": "against", "expected": None}, "1.310 V suits “High resistance"),
        ({"rival": ("solar_open", "no_fault")}, "“Nothing arrives from the panel and all as it"),
        ({"rival": ("third_unit_dead",)}, "“Third unit dead”"),
    ],
)
def test_evidence_in_words(changed: dict, words: str) -> None:
    assert words in wording.evidence_in_words(EVIDENCE.model_copy(update=changed))


def test_the_words_name_six_of_the_faults_ruled_out_and_count_the_others() -> None:
    possible = list(faults())[:9]
    [excluded] = ruled_out(dict.fromkeys(possible, 0.0), possible)
    assert excluded.faults == tuple(possible)
    assert excluded.text.endswith("; and 3 more.")
    assert excluded.text.count(";") == 6
    assert ruled_out(dict.fromkeys(possible, 0.1), possible) == ()


@pytest.mark.parametrize(
    ("place", "value", "slip"),
    [
        ("start_battery_voltage__idle", 141.0, "point_right"),
        ("charger_output_voltage__idle", 1.32, "point_left"),
        ("vehicle_feed_drop__idle", 335.0, "thousandths_as_whole"),
        ("output_current__idle", -30.9, "sign"),
        ("charger_input_voltage__idle", 11.63, "wrong_post"),
    ],
)
def test_a_doubt_names_the_slip_and_what_the_other_readings_say(
    place: str, value: float, slip: str
) -> None:
    found = diagnosed(UTE, sheet(SOUND, **{place: value}))
    sound = SOUND[tuple(place.split("__"))]
    [doubt] = found.suspect_readings
    assert (doubt.slip, doubt.value) == (slip, value)
    assert doubt.expected == pytest.approx(sound, rel=0.05)
    assert doubt.reason == wording.doubt_in_words(doubt)


def test_the_loop_of_a_doubtful_reading_misses_by_what_was_misread() -> None:
    # By hand: 14.10 - (0.335 + 11.63 + 0.134) = 2.001 V.
    found = diagnosed(UTE, sheet(SOUND, charger_input_voltage__idle=11.63))
    [doubt] = found.suspect_readings
    assert doubt.loop_gap_v == pytest.approx(2.001)


def test_no_circuit_shows_more_than_the_start_battery_on_the_vehicle_side() -> None:
    case = logic.Case.model_validate(
        {"installation": UTE, "readings": sheet({("charger_input_voltage", "idle"): 13.63})}
    )
    [reading] = case.readings
    supply = {State.IDLE: 14.1}
    assert within_the_loop(reading, 13.2, supply) == 13.2
    assert within_the_loop(reading, 14.15, supply) == 14.1
    assert within_the_loop(reading, 15.0, supply) is None
    assert within_the_loop(reading, -0.5, supply) is None
    assert within_the_loop(reading, 15.0, {}) == 15.0


def test_what_is_given_comes_before_what_follows_from_it() -> None:
    readings = logic.Case.model_validate({"installation": UTE, "readings": sheet(SOUND)}).readings
    order = [readings[index] for index in reading_order(readings)]
    idle = [one.point for one in order if one.state is State.IDLE]
    assert order[0].state is State.REST
    assert idle.index(Point.START_BATTERY_VOLTAGE) < idle.index(Point.OUTPUT_CURRENT)
    assert idle.index(Point.OUTPUT_CURRENT) < idle.index(Point.VEHICLE_FEED_DROP)
