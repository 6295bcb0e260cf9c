"""What the circuit cannot show: asked about, and no other reading's base."""

import pytest

from logic.case import Reading
from logic.limits.impossible import why_impossible
from logic.limits.verdict import expectation
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, ReadingKey, State
from mobile.jobs.typed_reading import ReadingContext
from tests.mobile.callback_scene import described

FLATBED = Installation.model_validate(described())
START, FEED = Point.START_BATTERY_VOLTAGE, Point.VEHICLE_FEED_DROP
IDLE, REST = State.IDLE, State.REST


@pytest.mark.parametrize(
    ("point", "state", "value", "impossible"),
    [
        (START, IDLE, 4.65, True),
        (START, IDLE, 19.0, True),
        (START, IDLE, 10.9, False),  # an alternator that does not charge, lamps on
        (START, REST, 4.65, False),  # a flat battery
        (FEED, IDLE, 15.9, True),
        (FEED, IDLE, 14.1, False),  # an open fuse
        (Point.CHARGER_INPUT_VOLTAGE, IDLE, 0.02, False),
    ],
)
def test_what_no_running_vehicle_shows(point, state, value, impossible):
    read = {ReadingKey(START, IDLE): 14.1}
    assert bool(why_impossible(ReadingKey(point, state), value, read, 1.0)) is impossible


def test_everything_doubles_at_24_volts():
    key = ReadingKey(START, IDLE)
    assert why_impossible(key, 14.1, {}, 2.0)
    assert not why_impossible(key, 28.2, {}, 2.0)


def test_it_is_no_other_readings_base():
    wrong = Reading(point=START, state=IDLE, value=4.65)
    for point in (Point.CHARGER_INPUT_VOLTAGE, Point.OUTPUT_CURRENT, FEED):
        with_it = expectation(FLATBED, [wrong], point, IDLE)
        assert with_it == expectation(FLATBED, [], point, IDLE)
        assert "4.65" not in with_it.why


def test_it_is_asked_about_and_taken_once_confirmed():
    context = ReadingContext(FLATBED, START, IDLE)
    asked = context.typed("4.65")
    assert asked.value is None
    assert asked.verdict is None
    assert "no engine runs" in asked.doubt
    confirmed = context.typed("4.65", confirmed=True)
    assert confirmed.value == 4.65
    assert not confirmed.doubt
