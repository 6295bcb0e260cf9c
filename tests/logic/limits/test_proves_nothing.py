"""A value within its limits proves something only where it could have been wrong."""

import pytest

from logic.case import Judgement, Mark, Reading
from logic.limits.reading_order import read_first
from logic.limits.verdict import judge
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, ReadingKey, State
from tests.mobile.callback_scene import described

FLATBED = Installation.model_validate(described())
SOLAR = Installation.model_validate(described(solar=True))
IN, OUT, FEED = Point.INPUT_CURRENT, Point.OUTPUT_CURRENT, Point.VEHICLE_FEED_DROP


def idle(point, value):
    return Reading(point=point, state=State.IDLE, value=value)


def judged(readings, last, installation=FLATBED):
    return judge(installation, (*readings, last), last)


# A rule of the trade (common practice, no published source): no drop without its current.
def test_a_drop_without_its_current_proves_nothing_and_says_what_to_read():
    verdict = judged([], idle(FEED, 0.05))
    assert verdict.mark is Mark.PROVES_NOTHING
    assert "read the input current first" in verdict.proves_nothing
    with_current = judged([idle(IN, 42.0)], idle(FEED, 0.2))
    assert with_current.mark is Mark.IN_RANGE


def test_a_drop_at_hardly_any_current_proves_nothing():
    verdict = judged([idle(IN, 0.2)], idle(FEED, 0.001))
    assert verdict.mark is Mark.PROVES_NOTHING
    assert "why so little flows" in verdict.proves_nothing


def test_a_drop_that_is_too_much_at_any_current_is_out_of_range_without_its_current():
    verdict = judged([], idle(FEED, 5.0))
    assert verdict.mark is Mark.OUT_OF_RANGE


def test_hardly_any_current_into_a_unit_that_gives_nothing_is_no_tick():
    dead = [idle(Point.START_BATTERY_VOLTAGE, 14.1), idle(OUT, 0.1)]
    assert judged(dead, idle(IN, 0.2)).mark is Mark.PROVES_NOTHING
    assert judged(dead, idle(Point.CHARGER_INPUT_VOLTAGE, 14.1)).mark is Mark.PROVES_NOTHING
    working = [idle(Point.START_BATTERY_VOLTAGE, 14.1), idle(OUT, 40.0)]
    assert judged(working, idle(IN, 43.0)).mark is Mark.IN_RANGE


def test_a_full_battery_makes_a_small_current_right_but_proves_no_unit():
    full = [idle(Point.HOUSE_BATTERY_VOLTAGE, 14.4)]
    verdict = judged(full, idle(OUT, 0.6))
    assert verdict.verdict in (Judgement.IN_RANGE, Judgement.MARGINAL)
    assert verdict.mark is Mark.PROVES_NOTHING
    assert "nearly full" in verdict.proves_nothing


def test_a_unit_that_is_off_with_the_key_off_is_proved_so():
    off = Reading(point=IN, state=State.REST, value=0.0)
    assert judge(FLATBED, (off,), off).mark is Mark.IN_RANGE


@pytest.mark.parametrize(
    ("readings", "first"),
    [
        ([], ReadingKey(IN, State.IDLE)),
        ([idle(IN, 40.0)], None),
        ([idle(OUT, 38.0)], None),
    ],
)
def test_the_current_comes_before_the_drop(readings, first):
    assert read_first(FLATBED, readings, ReadingKey(FEED, State.IDLE)) == first


def test_the_panels_part_leaves_the_input_current_to_be_read():
    wanted = read_first(SOLAR, [idle(OUT, 38.0)], ReadingKey(FEED, State.IDLE))
    assert wanted == ReadingKey(IN, State.IDLE)


def test_nothing_is_to_be_read_before_another_point_or_with_the_engine_off():
    assert read_first(FLATBED, [], ReadingKey(IN, State.IDLE)) is None
    assert read_first(FLATBED, [], ReadingKey(FEED, State.REST)) is None
