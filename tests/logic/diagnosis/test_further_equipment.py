"""What a technician would say of vehicles with more on them than one charger between two batteries.

Worked by hand, with Ohm's law and the power that goes in and out (common practice, no published
source, unless a line says otherwise); no number here comes from the program.
"""

from typing import Any

import pytest

import logic

PLAIN: dict[str, Any] = {
    "nominal_voltage_v": 12,
    "alternator": {"control": "fixed", "rated_current_a": 120},
    "start_battery": {"chemistry": "flooded", "capacity_ah": 80},
    "charger": {
        "rated_output_current_a": 30,
        "efficiency": 0.92,
        "start_voltage_v": 13.2,
        "stop_voltage_v": 12.7,
        "absorption_voltage_v": 14.4,
        "float_voltage_v": 13.6,
    },
    "house_battery": {"chemistry": "agm", "capacity_ah": 120},
    "runs": {
        run: {"length_m": length, "area_mm2": 16, "joints": 3}
        for run, length in (
            ("vehicle_feed", 4.0),
            ("vehicle_return", 3.0),
            ("house_feed", 1.5),
            ("house_return", 1.5),
        )
    },
    "ambient_c": 20,
}
# 30 A at 13.35 V out take 435 W in: 31.9 A at 13.65 V. 4 m of 16 mm2 copper with its joints and
# fuse are about 6.6 milliohms, 1.5 m with theirs 2.5.
WORKING = {
    ("start_battery_voltage", "rest"): 12.6,
    ("house_battery_voltage", "rest"): 12.35,
    ("start_battery_voltage", "idle"): 14.05,
    ("vehicle_feed_drop", "idle"): 0.21,
    ("vehicle_return_drop", "idle"): 0.15,
    ("charger_input_voltage", "idle"): 13.69,
    ("charger_output_voltage", "idle"): 13.38,
    ("house_feed_drop", "idle"): 0.08,
    ("house_return_drop", "idle"): 0.07,
    ("house_battery_voltage", "idle"): 13.23,
    ("input_current", "idle"): 31.9,
    ("output_current", "idle"): 30.2,
    ("house_load_current", "idle"): 2.0,
    ("profile_setting_voltage", "rest"): 14.4,
    ("charger_case_temperature", "idle"): 42.0,
}


def diagnosed(readings: dict[tuple[str, str], float], **changed: Any) -> logic.Diagnosis:
    """Diagnose the plain vehicle with some of its description changed."""
    rows = [
        {"point": point, "state": state, "value": value}
        for (point, state), value in readings.items()
    ]
    case = {"installation": PLAIN | changed, "readings": rows}
    return logic.diagnose(logic.Case.model_validate(case))


def first(found: logic.Diagnosis) -> str:
    """Name the first answer."""
    return "+".join(found.findings[0].faults)


def test_the_plain_vehicle_is_as_it_should_be() -> None:
    assert first(diagnosed(WORKING)) == "no_fault"


AT_REST_ONLY = WORKING | {
    # Nobody brought it to ready: the start battery alone, 12.5 V, and a unit that waits.
    ("start_battery_voltage", "idle"): 12.5,
    ("charger_input_voltage", "idle"): 12.5,
    ("vehicle_feed_drop", "idle"): 0.0,
    ("vehicle_return_drop", "idle"): 0.0,
    ("house_feed_drop", "idle"): 0.0,
    ("house_return_drop", "idle"): 0.0,
    ("charger_output_voltage", "idle"): 12.33,
    ("house_battery_voltage", "idle"): 12.33,
    ("input_current", "idle"): 0.0,
    ("output_current", "idle"): 0.0,
    ("charger_case_temperature", "idle"): 21.0,
}


def test_a_converter_that_nobody_switched_on() -> None:
    found = diagnosed(AT_REST_ONLY, alternator={"control": "converter", "rated_current_a": 150})
    assert first(found) == "supply_not_enabled"
    assert diagnosed(AT_REST_ONLY).marginals["supply_not_enabled"] == 0.0


def test_a_limit_set_under_what_the_job_needs() -> None:
    charger = PLAIN["charger"] | {"input_current_limit_a": 40}
    # Held at 15 A: 15 x 13.87 x 0.92 = 191 W, 14.5 A at 13.0 V.
    held = WORKING | {
        ("vehicle_feed_drop", "idle"): 0.10,
        ("vehicle_return_drop", "idle"): 0.07,
        ("charger_input_voltage", "idle"): 13.88,
        ("charger_output_voltage", "idle"): 13.02,
        ("house_feed_drop", "idle"): 0.04,
        ("house_return_drop", "idle"): 0.035,
        ("house_battery_voltage", "idle"): 12.94,
        ("input_current", "idle"): 15.0,
        ("output_current", "idle"): 14.4,
    }
    told = held | {("input_limit_setting", "rest"): 15.0}
    assert first(diagnosed(told, charger=charger)) == "input_limit_low"
    untold = diagnosed(held, charger=charger)
    limited = ("input_limit_low", "charger_output_limited", "rating_differs")
    assert sum(untold.marginals[one] for one in limited) > 0.8
    assert any(one.point == "input_limit_setting" for one in untold.next_readings)


SENSOR = {"temperature_sensor": True}


def test_a_sensor_that_reads_nonsense() -> None:
    found = diagnosed(
        WORKING
        | {("house_battery_temperature", "idle"): 21.0, ("sensor_temperature", "idle"): 76.0},
        fitted=SENSOR,
    )
    assert first(found) == "temperature_sensor_wrong"
    # Within five degrees: common practice, no published source.
    found = diagnosed(
        WORKING
        | {("house_battery_temperature", "idle"): 21.0, ("sensor_temperature", "idle"): 23.0},
        fitted=SENSOR,
    )
    assert first(found) == "no_fault"


TWO = {"second_charger_rated_output_current_a": 30}


@pytest.mark.parametrize(
    ("given_a", "input_v", "answer"),
    [(29.0, 13.7, "no_fault"), (0.0, 14.0, "second_unit_dead"), (0.0, 0.0, "second_unit_dead")],
)
def test_one_of_two_units_gives_nothing(given_a: float, input_v: float, answer: str) -> None:
    readings = WORKING | {
        ("second_unit_output_current", "idle"): given_a,
        ("second_unit_input_voltage", "idle"): input_v,
    }
    if given_a:
        # Twice the current lifts the battery by what its own resistance takes more.
        readings |= {
            ("house_battery_voltage", "idle"): 13.5,
            ("charger_output_voltage", "idle"): 13.65,
        }
    assert first(diagnosed(readings, fitted=TWO)) == answer


REVERSE = {"reverse_charge": True}


@pytest.mark.parametrize(
    ("amperes", "volts", "answer"),
    [(9.0, 13.1, "no_fault"), (0.0, 12.6, "reverse_charge_blocked")],
)
def test_a_start_battery_that_gets_nothing_on_request(
    amperes: float, volts: float, answer: str
) -> None:
    readings = WORKING | {
        ("reverse_charge_current", "rest"): amperes,
        ("reverse_charge_voltage", "rest"): volts,
    }
    assert first(diagnosed(readings, fitted=REVERSE)) == answer


@pytest.mark.parametrize(
    ("shown_a", "answer"),
    [
        (22.2, "no_fault"),  # 30.2 A from the unit less 8 A to the loads
        (30.1, "monitor_misses_current"),  # the loads' lead sits on the battery's own post
        (-8.0, "monitor_misses_current"),  # the charger's does
        (9.0, "monitor_misses_current"),  # part of it goes another way
    ],
)
def test_a_lead_that_goes_round_the_shunt(shown_a: float, answer: str) -> None:
    readings = WORKING | {
        ("house_load_current", "idle"): 8.0,
        ("monitor_current", "idle"): shown_a,
    }
    assert first(diagnosed(readings, fitted={"battery_monitor": True})) == answer


@pytest.mark.parametrize(
    ("share", "answer"),
    [(0.5, "no_fault"), (0.12, "house_batteries_unequal"), (0.86, "house_batteries_unequal")],
)
def test_two_batteries_that_share_unequally(share: float, answer: str) -> None:
    battery = PLAIN["house_battery"] | {"capacity_ah": 240, "in_parallel": 2}
    readings = WORKING | {("first_parallel_current", "idle"): round(28.2 * share, 1)}
    assert first(diagnosed(readings, house_battery=battery)) == answer


def test_a_sound_unit_from_24_to_12_volts() -> None:
    charger = PLAIN["charger"] | {"start_voltage_v": 26.4, "stop_voltage_v": 25.4}
    # 30.2 A at 13.38 V out take 439 W in: 16.0 A at 27.5 V.
    readings = WORKING | {
        ("start_battery_voltage", "rest"): 25.2,
        ("start_battery_voltage", "idle"): 27.7,
        ("vehicle_feed_drop", "idle"): 0.105,
        ("vehicle_return_drop", "idle"): 0.075,
        ("charger_input_voltage", "idle"): 27.52,
        ("input_current", "idle"): 16.0,
    }
    found = diagnosed(
        readings,
        nominal_voltage_v=24,
        output_nominal_voltage_v=12,
        charger=charger,
        start_battery={"chemistry": "flooded", "capacity_ah": 140},
    )
    assert first(found) == "no_fault"
    assert not found.suspect_readings
