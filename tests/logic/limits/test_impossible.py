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


def running(**more):
    read = {
        Point.CHARGER_INPUT_VOLTAGE: 13.4,
        Point.INPUT_CURRENT: 20.0,
        Point.CHARGER_OUTPUT_VOLTAGE: 14.2,
    }
    read |= {Point(name): value for name, value in more.items()}
    return [Reading(point=point, state=IDLE, value=value) for point, value in read.items()]


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("17.2", False),  # 244 W of 268 W: 91 %
        ("19.5", False),  # 277 W: the clamp's error and what moves between two readings
        ("38.2", True),  # 542 W: the clamp sits on another lead, or was read before the last change
    ],
)
def test_more_out_than_in_is_asked_about_where_the_meter_cannot_explain_it(typed, asked):
    # Energy is conserved: what a unit without a panel gives comes out of the vehicle.
    context = ReadingContext(FLATBED, Point.OUTPUT_CURRENT, IDLE, running())
    said = context.typed(typed)
    assert bool(said.doubt) is asked
    assert not asked or "542 W out against 268 W in" in said.doubt


def test_it_is_asked_whichever_of_the_four_is_typed_last_and_of_no_other():
    gives = running(output_current=38.2)
    for point, typed in ((Point.INPUT_CURRENT, "20"), (Point.CHARGER_OUTPUT_VOLTAGE, "14.2")):
        assert ReadingContext(FLATBED, point, IDLE, gives).typed(typed).doubt
    assert not ReadingContext(FLATBED, Point.INPUT_CURRENT, IDLE, gives).typed("44").doubt
    assert not ReadingContext(FLATBED, Point.IGNITION_SIGNAL_VOLTAGE, IDLE, gives).typed("13").doubt
    assert not ReadingContext(FLATBED, Point.OUTPUT_CURRENT, REST, gives).typed("38.2").doubt


def test_the_batteries_bound_what_was_not_read_at_the_unit():
    read = [
        Reading(point=START, state=IDLE, value=14.1),
        Reading(point=Point.INPUT_CURRENT, state=IDLE, value=20.0),
        Reading(point=Point.HOUSE_BATTERY_VOLTAGE, state=IDLE, value=13.9),
    ]
    assert ReadingContext(FLATBED, Point.OUTPUT_CURRENT, IDLE, read).typed("38.2").doubt


def test_with_a_panel_more_may_come_out_than_the_vehicle_gives():
    with_panel = Installation.model_validate(described(solar=True))
    context = ReadingContext(with_panel, Point.OUTPUT_CURRENT, IDLE, running())
    assert not context.typed("38.2").doubt


def test_it_is_asked_about_and_taken_once_confirmed():
    context = ReadingContext(FLATBED, START, IDLE)
    asked = context.typed("4.65")
    assert asked.value is None
    assert asked.verdict is None
    assert "no vehicle runs" in asked.doubt
    confirmed = context.typed("4.65", confirmed=True)
    assert confirmed.value == 4.65
    assert not confirmed.doubt
