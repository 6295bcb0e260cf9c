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
