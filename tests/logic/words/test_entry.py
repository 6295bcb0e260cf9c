import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.errors import InputError
from logic.vehicle.points import Point
from logic.words.entry import parse_number, parse_quantity, parse_reading

V = Point.START_BATTERY_VOLTAGE
DROPS = [p for p in Point if p.value.endswith("_drop")]


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("12.6", 12.6),
        ("12,6", 12.6),
        (" 12.6 ", 12.6),
        ("+12.6", 12.6),
        (".5", 0.5),
        ("5.", 5.0),
        ("0", 0.0),
        ("007", 7.0),
        ("-0", 0.0),
    ],
)
def test_what_a_person_may_type_for_a_number_is_understood(typed, value):
    assert parse_reading(typed, V, 12).value == value


def test_a_typographic_minus_is_a_minus():
    assert parse_reading("−0.02", Point.VEHICLE_FEED_DROP, 12).value == -0.02


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("", "Nothing typed yet. Type the number on the meter, or leave the step out."),
        ("   ", "Nothing typed yet"),
        ("-", "no digits. Type the number in full"),
        (".", "no digits"),
        (",", "no digits"),
        ("-.", "no digits"),
        ("1.2.3", "two points. Keep one"),
        ("1,234.5", "two points"),
        ("1e9", "exponent. Type the number in full"),
        ("1E-9", "exponent"),
        ("1o.2", "If 10.2 is meant, type the digits"),
        ("l2.6", "If 12.6 is meant"),
        ("abc", "Type digits only"),
        ("12.6V", "the unit is given. If 12.6 is meant"),
        ("250 mV", "If 0.25 is meant, type that"),
        ("80%", "If 0.8 is meant"),
        ("24.5a", "If 24.5 is meant"),
        ("41 °C", "If 41 is meant"),
        ("1 2.6", "has a gap in it"),
        ("12 6", "has a gap in it"),
        ("OL", "over its range, or connected to nothing"),
        ("0.L", "over its range"),
        ("12.66666", "more digits than any meter"),
        ("999999999999", "999999999999 V is more than"),
        ("nan", "letter"),
        ("inf", "letter"),
        ("12-6", "a minus only in front"),
        ("--5", "a minus only in front"),
        ("12/6", "is no number"),
        ("²", "Type digits only"),
        ("1_2", "is no number"),
        ("1" * 20, "more digits than any meter"),
    ],
)
def test_what_is_no_number_is_told_with_what_to_do(typed, words):
    with pytest.raises(InputError, match=words) as caught:
        parse_reading(typed, V, 12)
    assert caught.value.field == "start_battery_voltage"


@pytest.mark.parametrize(
    ("typed", "point", "nominal", "words"),
    [
        ("140", V, 12, "140 V is more than a 12 V vehicle can show.*If 14 V is meant"),
        ("126", V, 12, "If 12.6 V is meant, type the point"),
        ("1260", V, 12, "If 12.6 V is meant|1260 mV"),
        ("276", V, 24, "more than a 24 V vehicle can show.*If 27.6 V is meant"),
        ("28.1", V, 12, "If this is a 24 V vehicle, correct that in the set-up"),
        ("55", V, 12, "Look at the meter's range"),
        ("-140", V, 12, "more than a 12 V vehicle"),
        ("999", Point.SOLAR_OPEN_CIRCUIT_VOLTAGE, 12, "more than a panel can show"),
        ("2450", Point.INPUT_CURRENT, 12, "can carry. If 24.5 A is meant, type the point"),
        ("999999", Point.INPUT_CURRENT, 12, "can carry. Look at the clamp's range"),
        ("yes", Point.FAULT_INDICATOR, 12, "Type 1 if the lamp is lit"),
        ("8", Point.SUNLIGHT_FRACTION, 12, "If 0.8 is meant, type the point"),
        ("500", Point.CHARGER_CASE_TEMPERATURE, 12, "type from −60 to 150 °C"),
        ("-14.4", Point.PROFILE_SETTING_VOLTAGE, 12, "Type the volts without a minus"),
        ("3", Point.CHARGING_INDICATOR, 12, "Type 1 if the lamp is lit, 0 if it is not"),
        ("-0.5", Point.SUNLIGHT_FRACTION, 12, "1 clear noon, 0.5 hazy or low sun, 0.1 dull"),
        ("250", Point.SUNLIGHT_FRACTION, 12, "1 clear noon"),
    ],
)
def test_what_no_such_circuit_can_show_is_told_with_what_to_do(typed, point, nominal, words):
    with pytest.raises(InputError, match=words) as caught:
        parse_reading(typed, point, nominal)
    assert caught.value.field == point.value


@pytest.mark.parametrize("point", DROPS)
def test_a_drop_of_250_is_asked_whether_millivolts_are_meant(point):
    entry = parse_reading("250", point, 12)
    assert entry.meant == "250 mV"
    assert entry.proposed == pytest.approx(0.25)
    assert entry.value == 250


@pytest.mark.parametrize(
    ("typed", "point", "question", "proposed"),
    [
        ("13940", V, "13940 mV", 13.94),
        ("27800", V, "", None),
        ("50", Point.SUNLIGHT_FRACTION, "50 %", 0.5),
        ("-120", Point.VEHICLE_RETURN_DROP, "−120 mV", -0.12),
    ],
)
def test_a_likely_slip_is_asked_with_the_value_it_would_become(typed, point, question, proposed):
    if not question:
        with pytest.raises(InputError):
            parse_reading(typed, point, 12)
        return
    entry = parse_reading(typed, point, 12)
    assert (entry.meant, entry.proposed) == (question, pytest.approx(proposed))


# An open fuse shows the whole supply across itself, so that must not be refused.
@pytest.mark.parametrize(("typed", "nominal"), [("13.9", 12), ("27.8", 24)])
def test_a_whole_supply_across_a_run_is_taken(typed, nominal):
    entry = parse_reading(typed, Point.VEHICLE_FEED_DROP, nominal)
    assert (entry.value, entry.meant, entry.note) == (float(typed), "", "")


def test_a_minus_on_a_battery_suggests_swapped_probes_and_keeps_the_value():
    entry = parse_reading("-12.6", V, 12)
    assert entry.value == -12.6
    assert "probes look swapped" in entry.note
    assert "red on start battery +, black on start battery −" in entry.note


def test_a_panel_below_zero_is_kept_and_warned_of():
    entry = parse_reading("-21.4", Point.SOLAR_OPEN_CIRCUIT_VOLTAGE, 12)
    assert entry.value == -21.4
    assert "leave it unplugged" in entry.note


def test_a_clamp_the_wrong_way_round_is_kept_and_told():
    entry = parse_reading("-24.5", Point.INPUT_CURRENT, 12)
    assert entry.value == -24.5
    assert "arrow points to the charger" in entry.note


@pytest.mark.parametrize(
    ("typed", "point"),
    [("-0.02", V), ("-0.01", Point.HOUSE_FEED_DROP), ("-0.3", Point.INPUT_CURRENT)],
)
def test_a_meters_own_zero_is_not_worth_a_note(typed, point):
    assert parse_reading(typed, point, 12).note == ""


# What can be right and may as well be a slip of the thumb is kept, and told.
@pytest.mark.parametrize(
    ("typed", "point", "nominal", "words"),
    [
        ("1.26", V, 12, "If 12.6 V is meant, move the point"),
        ("14", Point.HOUSE_FEED_DROP, 12, "If 14 mV is meant, type 0.014"),
        ("25", Point.VEHICLE_FEED_DROP, 24, "If 25 mV is meant, type 0.025"),
        ("245", Point.INPUT_CURRENT, 12, "If 24.5 A is meant, type the point"),
        ("12.7", V, 24, "one of two batteries in series"),
        ("104", Point.CHARGER_CASE_TEMPERATURE, 12, "If the thermometer shows °F, that is 40 °C"),
        ("77", Point.HOUSE_BATTERY_TEMPERATURE, 12, "that is 25 °C"),
    ],
)
def test_a_likely_slip_that_can_be_right_is_kept_and_told(typed, point, nominal, words):
    entry = parse_reading(typed, point, nominal)
    assert (entry.value, entry.meant) == (float(typed), "")
    assert words in entry.note
    assert entry.note.endswith("kept as typed.")


@pytest.mark.parametrize(
    ("typed", "point", "nominal"),
    [
        ("0.92", Point.VEHICLE_RETURN_DROP, 12),
        ("12.6", V, 12),
        ("25.4", V, 24),
        ("0", V, 12),
        ("41.2", Point.OUTPUT_CURRENT, 12),
        ("62", Point.CHARGER_CASE_TEMPERATURE, 12),
        ("0.02", Point.IGNITION_SIGNAL_VOLTAGE, 12),
        ("1.2", Point.SOLAR_INPUT_VOLTAGE, 12),
    ],
)
def test_a_plain_value_has_neither_note_nor_question(typed, point, nominal):
    entry = parse_reading(typed, point, nominal)
    assert (entry.value, entry.meant, entry.note) == (float(typed), "", "")


@pytest.mark.parametrize("dash", "−–‒—﹣－")
def test_every_dash_of_a_keyboard_is_a_minus(dash):
    assert parse_number(f"{dash}0.5", "x") == -0.5


@pytest.mark.parametrize("lit", ["0", "1"])
def test_a_lamp_is_lit_or_not(lit):
    assert parse_reading(lit, Point.FAULT_INDICATOR, 12).value == float(lit)


@pytest.mark.parametrize(
    ("typed", "low", "high", "words"),
    [
        ("0", 0.1, 50, "0 m cannot be: type from 0.1 to 50 m"),
        ("51", 0.1, 50, "type from 0.1 to 50 m"),
        ("-1", 0, None, "type at least 0 m"),
        ("60", None, 50, "type at most 50 m"),
        ("x", 0, 1, "letter"),
    ],
)
def test_a_quantity_outside_its_limits_says_them(typed, low, high, words):
    with pytest.raises(InputError, match=words) as caught:
        parse_quantity(typed, "m", low, high, "runs.vehicle_feed.length_m")
    assert caught.value.field == "runs.vehicle_feed.length_m"


def test_a_quantity_inside_its_limits_is_taken_limits_included():
    assert parse_quantity("4,5", "m", 0.1, 50, "x") == 4.5
    assert parse_quantity("50", "m", 0.1, 50, "x") == 50
    assert parse_quantity("-10", "°C", None, None, "x") == -10


@given(st.text(max_size=20), st.sampled_from(list(Point)), st.sampled_from([12, 24]))
def test_any_key_presses_are_read_or_refused_in_words(text, point, nominal):
    entry, refused = None, None
    try:
        entry = parse_reading(text, point, nominal)
    except InputError as error:
        refused = error
    if refused is not None:
        assert refused.field == point.value
        assert re.fullmatch(r".{20,}\.", str(refused), re.DOTALL)
    else:
        assert abs(entry.value) < 1e12
        assert (entry.proposed is None) == (entry.meant == "")


@given(st.floats(-60, 60).map(lambda v: round(v, 3)))
def test_what_a_meter_shows_is_read_back_exactly(value):
    assert parse_number(f"{value:.3f}", "x") == value
    assert parse_number(f"{value:.3f}".replace(".", ","), "x") == value


def test_every_point_takes_a_plain_value():
    for point in Point:
        assert parse_reading("1", point, 12).value == 1
