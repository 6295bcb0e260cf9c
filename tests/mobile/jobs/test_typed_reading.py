import pytest

from logic.case import Judgement
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State
from logic.words.figures import begins_at_nothing
from mobile.jobs.typed_reading import ReadingContext, expected_words
from tests.mobile.callback_scene import described
from tests.mobile.driveway import INSTALLATION


def at(point):
    return ReadingContext(INSTALLATION, point, State.IDLE)


@pytest.mark.parametrize("text", ["", "-", ".", "-."])
def test_a_beginning_is_not_complained_about_too_early(text):
    found = at(Point.VEHICLE_FEED_DROP).typed(text)
    assert found.premature
    assert found.complaint
    assert found.value is None


@pytest.mark.parametrize("text", ["12.6.1", "1o.2", "1e9", "140"])
def test_what_can_be_no_reading_is_kept_and_complained_about(text):
    found = at(Point.START_BATTERY_VOLTAGE).typed(text)
    assert found.text == text
    assert found.complaint
    assert not found.premature
    assert found.value is None
    assert found.verdict is None


def test_millivolts_typed_as_volts_are_asked_about_and_not_judged():
    found = at(Point.VEHICLE_FEED_DROP).typed("250")
    assert found.meant == "250 mV"
    assert found.proposed == pytest.approx(0.25)
    assert found.value is None
    assert found.verdict is None


def test_a_comma_is_a_point():
    assert at(Point.START_BATTERY_VOLTAGE).typed("12,6").value == 12.6


def test_a_number_comes_with_its_verdict():
    found = at(Point.START_BATTERY_VOLTAGE).typed("14.2")
    assert found.value == 14.2
    assert found.verdict.reason


@pytest.mark.parametrize("text", ["-5", "20", "55"])
def test_sentence_band_and_verdict_name_the_same_limits(text):
    fitted = described(lithium=True)  # never charged under 0 °C
    point = Point.HOUSE_BATTERY_TEMPERATURE
    context = ReadingContext(Installation.model_validate(fitted), point, State.IDLE)
    expected, verdict = context.expectation(), context.typed(text).verdict
    assert (verdict.expected_low, verdict.expected_high) == (expected.low, expected.high)
    assert expected.low == 0
    assert f"Expected 0 to {expected.high:.0f} °C" in expected_words(point, expected)
    assert not begins_at_nothing(point, expected.low, expected.high, float(text))
    is_inside = expected.low < float(text) < expected.high
    assert (verdict.verdict is Judgement.IN_RANGE) is is_inside


def on(point, **changes):
    fitted = INSTALLATION.model_copy(update=changes)
    return ReadingContext(fitted, point, State.IDLE)


# A 24 V lead battery is charged at 28.8 V, a 12 V one at 14.4 V (battery handbook: 2.40 V a cell).
def test_a_reading_is_no_slip_where_its_own_side_has_that_voltage():
    stepping_up = {"nominal_voltage_v": 12, "output_nominal_voltage_v": 24}
    found = on(Point.HOUSE_BATTERY_VOLTAGE, **stepping_up).typed("24.6")
    assert found.value == 24.6
    assert not found.note
    stepping_down = {"nominal_voltage_v": 24, "output_nominal_voltage_v": 12}
    found = on(Point.HOUSE_BATTERY_VOLTAGE, **stepping_down).typed("12.8")
    assert found.value == 12.8
    assert not found.note


def test_a_voltage_of_the_other_side_is_told_by_the_side_that_it_is_read_on():
    stepping_down = {"nominal_voltage_v": 24, "output_nominal_voltage_v": 12}
    house = on(Point.HOUSE_BATTERY_VOLTAGE, **stepping_down).typed("25.6")
    assert "12 V house side" in house.complaint
    assert "If the house side is 24 V, correct that in the set-up" in house.complaint
    vehicle = on(Point.START_BATTERY_VOLTAGE, **stepping_down).typed("12.8")
    assert "under 16.00 V" in vehicle.doubt


def test_one_of_two_in_series_is_read_by_itself():
    two = INSTALLATION.start_battery.model_copy(update={"second": "series"})
    truck = {"nominal_voltage_v": 24, "start_battery": two}
    assert on(Point.FIRST_SERIES_VOLTAGE, **truck).typed("12.7").note == ""
    across_both = on(Point.FIRST_SERIES_VOLTAGE, **truck).typed("25.4")
    assert "Read across this one alone" in across_both.complaint
