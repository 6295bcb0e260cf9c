"""Cases a technician brings: little known, spoilt, repeated, with and without a past."""

import json

import pytest

import logic
from logic.words.names import certainty
from tests.logic.diagnosis.ute import BAD_RETURN, SOUND, UTE, diagnosed, sheet
from tests.paths import CHECKOUT

BARE = {"charger": {"rated_output_current_a": 25}, "house_battery": {"chemistry": "agm"}}


def test_a_sound_sheet_is_called_sound() -> None:
    found = diagnosed(UTE, sheet(SOUND))
    assert found.findings[0].faults == ("no_fault",)
    assert found.suspect_readings == ()


@pytest.mark.parametrize("nominal", [12, 24])
@pytest.mark.parametrize("chemistry", ["flooded", "agm", "gel", "lifepo4"])
def test_next_to_nothing_known_and_nothing_read_gives_the_priors(
    nominal: int, chemistry: str
) -> None:
    bare = {**BARE, "nominal_voltage_v": nominal, "house_battery": {"chemistry": chemistry}}
    found = diagnosed(bare, [])
    assert found.findings[0].faults == ("no_fault",)
    assert found.findings[0].probability < 0.3
    assert found.next_readings
    assert found.marginals["solar_open"] == 0
    protected = found.marginals["house_battery_protected"]
    assert (protected > 0) is (chemistry == "lifepo4")


def test_a_bad_return_is_found_and_the_evidence_has_its_numbers() -> None:
    found = diagnosed(UTE, sheet(SOUND, **BAD_RETURN))
    assert found.findings[0].faults == ("vehicle_return_resistive",)
    assert found.findings[0].probability > 0.95
    assert any("1.310 V" in line for line in found.findings[0].evidence_in_words)
    assert any(line.startswith("Ruled out") for line in found.findings[0].evidence_in_words)


@pytest.mark.parametrize(
    ("place", "value", "word"),
    [
        ("start_battery_voltage__idle", 141.0, "decimal point"),
        ("vehicle_feed_drop__idle", 335.0, "millivolts"),
        ("output_current__idle", -30.9, "sign"),
        ("charger_output_voltage__idle", 1.32, "decimal point"),
    ],
)
def test_a_spoilt_reading_is_named_and_does_not_turn_the_answer(
    place: str, value: float, word: str
) -> None:
    found = diagnosed(UTE, sheet(SOUND, **{place: value}))
    point, state = place.split("__")
    assert [(s.point, s.state) for s in found.suspect_readings] == [(point, state)]
    assert word in found.suspect_readings[0].reason
    assert "Take it again" in found.suspect_readings[0].reason
    assert found.findings[0].faults == ("no_fault",)


def test_a_later_reading_replaces_an_earlier_one_where_both_say_when() -> None:
    early = {
        "point": "start_battery_voltage",
        "state": "idle",
        "value": 1.41,
        "taken_at": "2026-03-02T09:00:00+10:00",
    }
    late = early | {"value": 14.10, "taken_at": "2026-03-02T09:05:00+10:00"}
    rest = [r for r in sheet(SOUND) if (r["point"], r["state"]) != (early["point"], "idle")]
    both, only = diagnosed(UTE, [*rest, early, late]), diagnosed(UTE, [*rest, late])
    assert both.findings == only.findings
    assert both.suspect_readings == ()


def test_two_readings_at_one_place_without_time_are_both_weighed() -> None:
    again = {"point": "output_current", "state": "idle", "value": 30.8}
    found = diagnosed(UTE, [*sheet(SOUND), again])
    assert found.findings[0].faults == ("no_fault",)


def test_the_commissioning_readings_tell_a_grown_resistance_from_a_long_cable() -> None:
    unknown = UTE | {"runs": {}}
    then = sheet(SOUND)
    now = sheet(SOUND, vehicle_return_drop__idle=0.40, charger_input_voltage__idle=13.37)
    alone = diagnosed(unknown, now).marginals["vehicle_return_resistive"]
    compared = diagnosed(unknown, now, baseline=then).marginals["vehicle_return_resistive"]
    assert compared > 0.9
    assert compared > alone + 0.2


def test_an_unchanged_vehicle_is_not_blamed_for_what_it_always_had() -> None:
    high = sheet(SOUND, vehicle_return_drop__idle=0.30, charger_input_voltage__idle=13.46)
    alone = diagnosed(UTE, high).marginals["vehicle_return_resistive"]
    compared = diagnosed(UTE, high, baseline=high).marginals["vehicle_return_resistive"]
    assert compared < alone


def test_two_faults_are_named_together() -> None:
    both = sheet(SOUND, profile_setting_voltage__rest=13.8, **BAD_RETURN)
    found = diagnosed(UTE, both)
    assert set(found.findings[0].faults) == {"profile_too_low", "vehicle_return_resistive"}


def test_lamps_are_weighed_but_softly() -> None:
    dark = {"point": "charging_indicator", "state": "idle", "value": 0}
    found = diagnosed(UTE, [*sheet(SOUND), dark])
    assert found.findings[0].faults == ("no_fault",)


def test_a_proved_fault_needs_no_more_readings() -> None:
    found = diagnosed(
        UTE,
        sheet(
            SOUND,
            vehicle_feed_drop__idle=13.9,
            charger_input_voltage__idle=0.02,
            vehicle_return_drop__idle=0.0,
            input_current__idle=0.0,
            output_current__idle=0.0,
            charger_output_voltage__idle=12.3,
            house_feed_drop__idle=0.0,
            house_return_drop__idle=0.0,
            house_battery_voltage__idle=12.3,
        ),
    )
    assert found.findings[0].faults == ("vehicle_fuse_open",)
    assert found.next_readings == ()


def test_the_answer_travels_as_json() -> None:
    found = diagnosed(UTE, sheet(SOUND))
    text = found.model_dump_json()
    assert logic.Diagnosis.model_validate_json(text) == found
    assert json.loads(text)["marginals"]["no_fault"] > 0.5


def test_absurd_numbers_still_get_an_answer() -> None:
    absurd = [
        {"point": p, "state": s, "value": v}
        for p, s, v in [
            ("start_battery_voltage", "idle", -999),
            ("input_current", "idle", 1000),
            ("house_battery_voltage", "rest", 0),
            ("vehicle_feed_drop", "idle", 1000),
        ]
    ]
    found = diagnosed(UTE, absurd)
    assert sum(f.probability for f in found.findings) <= 1
    assert {s.point for s in found.suspect_readings} >= {"start_battery_voltage"}


def test_importing_the_package_does_not_import_numpy() -> None:
    import subprocess
    import sys

    code = "import sys, logic, logic.case; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=CHECKOUT, check=False).returncode == 0


def test_the_evidence_of_a_callback_names_the_commissioning_reading() -> None:
    found = diagnosed(UTE, sheet(SOUND, **BAD_RETURN), baseline=sheet(SOUND))
    lines = found.findings[0].evidence_in_words
    told = [line for line in lines if "Drop in the vehicle return" in line]
    assert told
    assert "At commissioning it read 0.134 V" in told[0]


def test_a_broken_loop_is_named_in_the_reason() -> None:
    # 14.10 = 0.335 + 11.63 + 0.134 would want 2 V more.
    found = diagnosed(UTE, sheet(SOUND, charger_input_voltage__idle=11.63))
    reasons = {s.point: s.reason for s in found.suspect_readings}
    assert "miss by 2" in reasons["charger_input_voltage"]


@pytest.mark.parametrize(
    ("probability", "words"),
    [(0.99, "almost certain"), (0.85, "very likely"), (0.6, "likely"), (0.3, "possible")],
)
def test_how_sure_is_said_in_words(probability: float, words: str) -> None:
    assert certainty(probability) == words
    assert certainty(0.01) == "unlikely"


def test_one_answer_leaves_nothing_to_ask() -> None:
    # Guided to the end, the engine falls silent by itself.
    asleep = {"point": "input_current", "state": "rest", "value": 0.03}
    found = diagnosed(UTE, [*sheet(SOUND), asleep])
    assert found.next_readings == ()
