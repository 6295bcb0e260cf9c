"""The one formatter, against rules from outside.

SI Brochure, 9th edition, 5.4.3: a space between number and unit; 5.4.7: and before the per cent
sign. JCGM 100:2008, 7.2.6: an uncertainty to at most two figures. The decimals of meters are
common practice, no published source.
"""

import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.vehicle.points import Point, Unit
from logic.words import figures
from logic.words.entry import parse_reading

VOLTS, DROP, AMPS = Point.START_BATTERY_VOLTAGE, Point.HOUSE_FEED_DROP, Point.INPUT_CURRENT
CASE, SUN, LAMP = Point.CHARGER_CASE_TEMPERATURE, Point.SUNLIGHT_FRACTION, Point.FAULT_INDICATOR
METERED = [point for point in Point if point.unit is not Unit.LIT]


@pytest.mark.parametrize(
    ("point", "value", "text"),
    [
        (VOLTS, 12.6, "12.60 V"),
        (VOLTS, 26.525, "26.525 V"),
        (VOLTS, 0.0, "0.00 V"),
        (VOLTS, -0.0, "0.00 V"),
        (DROP, 0.083, "0.083 V"),
        (DROP, 0.92, "0.920 V"),
        (DROP, -0.186, "−0.186 V"),
        (DROP, 0.0834, "0.0834 V"),
        (AMPS, 23.46, "23.46 A"),
        (AMPS, 31, "31.0 A"),
        (AMPS, -0.02, "−0.02 A"),
        (CASE, 41, "41 °C"),
        (CASE, 41.6, "41.6 °C"),
        (SUN, 1, "1.0 of full sun"),
        (SUN, 0.75, "0.75 of full sun"),
        (LAMP, 1, "lit"),
        (LAMP, 0, "not lit"),
    ],
)
def test_a_reading_keeps_what_was_typed_and_has_the_points_decimals_at_least(point, value, text):
    assert figures.as_read(point, value) == text


@pytest.mark.parametrize(
    ("point", "value", "text"),
    [
        (VOLTS, 13.2884549, "13.29 V"),
        (DROP, 0.31049, "0.310 V"),
        (DROP, -0.0002, "0.000 V"),
        (AMPS, 28.75, "28.8 A"),
        (AMPS, 25, "25.0 A"),
        (CASE, 41.6, "42 °C"),
        (SUN, 0.5, "0.5 of full sun"),
        (LAMP, 1, "lit"),
    ],
)
def test_what_was_worked_out_is_rounded_to_the_points_decimals(point, value, text):
    assert figures.worked_out(point, value) == text


@pytest.mark.parametrize(
    ("point", "value", "text"),
    [
        (VOLTS, 13.94, "13.94 V"),
        (VOLTS, 26.525, "26.52 V"),
        (VOLTS, 102.4, "102.4 V"),
        (DROP, 0.083, "0.083 V"),
        (DROP, 0.0834, "0.083 V"),
        (DROP, 12.345, "12.35 V"),
        (AMPS, 23.46, "23.46 A"),
        (AMPS, 123.46, "123.5 A"),
        (AMPS, -123.4, "−123.4 A"),
        (CASE, 104, "104 °C"),
    ],
)
def test_the_short_form_has_at_most_four_digits_of_the_reading(point, value, text):
    assert figures.short(point, value) == text


@pytest.mark.parametrize(
    ("ohm", "text"), [(0.03, "30 mΩ"), (0.0062, "6.2 mΩ"), (0.0014, "1.4 mΩ"), (0.00996, "10 mΩ")]
)
def test_resistance_is_told_in_milliohms_to_two_figures(ohm, text):
    assert figures.milliohms(ohm) == text


@pytest.mark.parametrize(
    ("value", "text"), [(25.0, "25 A"), (12.5, "12.5 A"), (None, "not known"), (1e-05, "0.00001 A")]
)
def test_a_stated_figure_stays_as_it_was_entered(value, text):
    assert figures.as_stated(value, "A") == text


@pytest.mark.parametrize(
    ("said", "text"),
    [
        (figures.volts(13.2884), "13.29 V"),
        (figures.volts(13.904), "13.90 V"),
        (figures.volts(13.904, read=True), "13.904 V"),
        (figures.amperes(23.46), "23.5 A"),
        (figures.amperes(23.46, read=True), "23.46 A"),
        (figures.drop_volts(0.0832), "0.083 V"),
        (figures.whole_amperes(51.2), "51 A"),
        (figures.degrees(-0.3), "0 °C"),
        (figures.watts(159.6), "160 W"),
        (figures.minutes(0.2), "1 min"),
        (figures.minutes(12.4), "12 min"),
        (figures.percent(0.9), "90 %"),
        (figures.square_millimetres(13.302), "13.3 mm²"),
        (figures.square_millimetres(120), "120 mm²"),
        (figures.volt_range(13.5, 14.5), "13.50 to 14.50 V"),
        (figures.ampere_range(-1, 28.75), "−1.0 to 28.8 A"),
    ],
)
def test_every_quantity_is_told_with_its_unit(said, text):
    assert said == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "1 %"), (0.004, "1 %"), (0.5, "50 %"), (0.994, "99 %"), (1.0, "99 %")],
)
def test_a_probability_is_never_a_false_certainty(value, text):
    assert figures.probability(value) == text


@pytest.mark.parametrize(
    ("point", "low", "high", "text"),
    [
        (VOLTS, 12.2, 15.0, "12.20 to 15.00 V"),
        (VOLTS, 12.2, None, "at least 12.20 V"),
        (DROP, None, 0.31, "at most 0.310 V"),
        (DROP, -0.005, 0.31, "at most 0.310 V"),
        (DROP, 0.012, 0.31, "0.012 to 0.310 V"),
        (AMPS, -1, 1, "−1.0 to 1.0 A"),
        (CASE, 0, None, "at least 0 °C"),
        (CASE, 0, 50, "0 to 50 °C"),
        (CASE, -3, 50, "−3 to 50 °C"),
        (AMPS, 0, 44, "0.0 to 44.0 A"),
        (SUN, None, None, "no limit"),
        (LAMP, 0, 0, "not lit"),
        (LAMP, 1, 1, "lit"),
    ],
)
def test_limits_are_told_as_a_range_or_by_the_one_end_that_counts(point, low, high, text):
    assert figures.limits(point, low, high) == text


def test_the_limit_that_a_value_is_beyond_is_named_however_little_it_is():
    assert figures.limits(DROP, -0.005, 0.31, 0.1) == "at most 0.310 V"
    assert figures.limits(DROP, -0.005, 0.31, -0.08) == "−0.005 to 0.310 V"


@pytest.mark.parametrize(
    ("expanded", "text"),
    [(0.0999, "0.10 V"), (0.1, "0.10 V"), (1.234, "1.2 V"), (12.7, "13 V"), (0.01234, "0.012 V")],
)
def test_an_uncertainty_keeps_two_figures(expanded, text):
    assert figures.uncertainty(VOLTS, expanded) == text


def test_a_lamp_has_no_uncertainty():
    assert figures.uncertainty(LAMP, 0.4) == figures.uncertainty(VOLTS, 0.0) == ""


VALUES = st.floats(-200, 200, allow_subnormal=False)


def parsed(text):
    found = re.match(r"−?\d+(\.\d+)?", text)
    return float(found[0].replace("−", "-")), len((found[1] or ".")[1:])


@given(st.sampled_from(METERED), VALUES)
def test_every_text_says_the_value_within_its_rounding(point, value):
    for say in (figures.as_read, figures.worked_out, figures.short):
        said, decimals = parsed(say(point, value))
        assert abs(said - value) <= 0.5 * 10**-decimals + 1e-9


@given(st.sampled_from(METERED), VALUES)
def test_number_and_unit_stand_apart_and_a_minus_is_a_real_one(point, value):
    text = figures.as_read(point, value)
    assert "-" not in text
    assert all(unicodedata.name(sign) == "MINUS SIGN" for sign in re.findall(r"^[^\d]", text))
    assert re.fullmatch(r"−?\d+(\.\d+)?\s\D+", text)


@given(
    st.sampled_from([VOLTS, DROP, AMPS, CASE]),
    st.decimals(0, 19, places=4, allow_nan=False, allow_infinity=False),
)
def test_no_digit_that_was_typed_is_lost(point, typed):
    text = f"{typed.normalize():f}"
    value = parse_reading(text, point, 24).value
    said = re.match(r"\d+(\.\d+)?", figures.as_read(point, value))[0]
    assert float(said) == float(text)
    assert said.startswith(text)
