"""Another notation of finished texts: °F, a decimal comma, gauges first."""

import re

import pytest

from logic.case import Reading
from logic.circuit.conductors import area_of_awg
from logic.circuit.standard_sizes import smallest_cable
from logic.errors import InputError
from logic.limits.verdict import judge
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State
from logic.words.entry import parse_reading
from logic.words.notation import Notation, celsius, celsius_text, fahrenheit_text

FAHRENHEIT, COMMA = Notation(fahrenheit=True), Notation(decimal_comma=True)
CASE = Point.CHARGER_CASE_TEMPERATURE


# NIST SP 811 (2008), B.8; ice, body heat and steam, and where the scales meet: values from memory.
@pytest.mark.parametrize(
    ("fahrenheit", "in_celsius"),
    [(32, 0), (212, 100), (-40, -40), (98.6, 37), (104, 40), (0, -17.78)],
)
def test_fixed_points_of_both_scales(fahrenheit: float, in_celsius: float) -> None:
    assert celsius(fahrenheit) == in_celsius
    kept = celsius_text(f"{fahrenheit:g}")
    assert float(kept) == in_celsius
    assert fahrenheit_text(kept) == f"{fahrenheit:g}"


def test_every_tenth_that_is_typed_comes_back_as_it_was_typed() -> None:
    typed = [f"{tenths / 10:g}" for tenths in range(-400, 3000)]
    assert [fahrenheit_text(celsius_text(one)) for one in typed] == typed


@pytest.mark.parametrize("typed", ["", "-", ".", "OL", "1.2.3"])
def test_what_is_no_number_yet_stays_as_it_is(typed: str) -> None:
    assert celsius_text(typed) == fahrenheit_text(typed) == typed


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("At most 60 °C here.", "At most 140 °F here."),
        ("−10 to 45 °C", "14 to 113 °F"),
        ("65 °C burns within a second, 55 °C within ten", "149 °F burns within a second, 131 °F within ten"),  # noqa: E501
        ("40.56 °C", "105 °F"),
        ("within 5 °C (9 °F) of it", "within 5 °C (9 °F) of it"),
        ("the meter may be out by 3.5 °C", "the meter may be out by 6.3 °F"),
        ("within 5 °C of the thermometer at 20 °C", "within 9 °F of the thermometer at 68 °F"),
        ("more than 5 °C off", "more than 9 °F off"),
        ("12.60 V at 40 A", "12.60 V at 40 A"),
    ],
)  # fmt: skip
def test_temperatures_in_a_text_are_turned_and_nothing_else(written: str, shown: str) -> None:
    assert FAHRENHEIT.shown(written) == shown
    assert Notation().shown(written) == written


def test_how_far_a_thermometer_may_be_out_is_turned_as_a_difference() -> None:
    # NIST SP 811 (2008), B.8: an interval of 1 °C is one of 1.8 °F.
    state = {"nominal_voltage_v": 12, "charger": {"rated_output_current_a": 40}}
    fitted = Installation.model_validate(state | {"house_battery": {"chemistry": "agm"}})
    readings = [Reading(point=CASE, state=State.REST, value=value) for value in range(20, 80)]
    reasons = [judge(fitted, [], reading, []).reason for reading in readings]
    reason = next(one for one in reasons if "out by" in one)
    apart = float(re.search(r"out by ([\d.]+) °C", reason)[1])
    turned = float(re.search(r"out by ([\d.]+) °F", FAHRENHEIT.shown(reason))[1])
    assert turned == pytest.approx(1.8 * apart, abs=0.051)


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("12.60 V, at most 0.310 V.", "12,60 V, at most 0,310 V."),
        ("−0.05 V", "−0,05 V"),
        ("release 0.1.0", "release 0.1.0"),
        ("clause 5.4.3.", "clause 5.4.3."),
        ("2026-11-27", "2026-11-27"),
        ("12.", "12,"),
        ("Read it. 3 times", "Read it. 3 times"),
        (".5", ",5"),
    ],
)
def test_a_comma_stands_in_numbers_only(written: str, shown: str) -> None:
    assert COMMA.shown(written) == shown


def test_a_comma_that_is_shown_is_also_read() -> None:
    assert parse_reading("12,6", Point.START_BATTERY_VOLTAGE, 12).value == 12.6


def test_a_cable_is_named_by_its_gauge_first() -> None:
    words = smallest_cable(lambda area: area >= area_of_awg("6")).words
    assert words == "16 mm² or 6 AWG"
    assert Notation(gauge_first=True).shown(f"Take {words}.") == "Take 6 AWG or 16 mm²."


def test_a_thermometer_in_fahrenheit_is_read_as_what_it_is() -> None:
    assert parse_reading("104 °F", CASE, 12).value == 40
    assert parse_reading("104 °F", CASE, 12).note == ""
    assert "very hot" in parse_reading("230 °F", CASE, 12).note
    assert "If the thermometer shows °F" in parse_reading("104", CASE, 12).note
    assert parse_reading("-4,5 °F", CASE, 12).value == -20.28


@pytest.mark.parametrize(
    ("typed", "says"), [("400 °F", "302 °F"), ("1..2 °F", "two points"), (" °F", "Nothing typed")]
)
def test_what_no_thermometer_shows_is_refused_in_its_own_unit(typed: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        parse_reading(typed, CASE, 12)
