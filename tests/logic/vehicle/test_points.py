import copy
import pickle

import pytest

from logic.vehicle.points import (
    CURRENT_THROUGH,
    DROP_ACROSS,
    Part,
    Point,
    Post,
    ReadingKey,
    Run,
    State,
    Unit,
)

EVERY_POINT = pytest.mark.parametrize("point", Point)


@pytest.mark.parametrize("kind", [Unit, State, Post, Run, Part, Point])
def test_a_member_is_found_by_its_id_and_written_as_it(kind):
    for member in kind:
        assert kind(member.value) is member
        assert str(member) == f"{member}" == member.value
        assert copy.deepcopy(member) is pickle.loads(pickle.dumps(member)) is member


@EVERY_POINT
def test_a_point_is_read_with_two_probes_a_clamp_or_neither(point):
    assert (point.red is None) == (point.black is None)
    assert not (point.red and point.clamp_on)
    assert bool(point.towards) == bool(point.clamp_on)
    assert point.clamp_on is None or point.unit is Unit.AMPERE
    assert point.red is None or point.unit is Unit.VOLT


def test_two_points_between_the_same_posts_are_read_in_different_conditions():
    between = {}
    for point in Point:
        if point.red:
            between.setdefault(frozenset((point.red, point.black)), []).append(point)
    for plain, *others in between.values():
        # The plain one may be read at any time; each other one once, in a condition of its own
        # that its name says, and so it can never be taken for the plain one.
        assert not plain.same_in_every_state or not others
        assert all(one.same_in_every_state and one.wire_id is None for one in others)


@pytest.mark.parametrize(
    ("drop", "run", "current"),
    [
        ("vehicle_feed_drop", "vehicle_feed", "input_current"),
        ("vehicle_return_drop", "vehicle_return", "input_current"),
        ("house_feed_drop", "house_feed", "output_current"),
        ("house_return_drop", "house_return", "output_current"),
    ],
)
def test_a_drop_knows_its_run_and_the_current_through_it(drop, run, current):
    point = Point(drop)
    assert point.is_drop
    assert (point.run, point.current) == (Run(run), Point(current))
    assert DROP_ACROSS[Run(run)] is point
    assert CURRENT_THROUGH[Run(run)] is Point(current)
    assert (point.red, point.black) == (Run(run).source, Run(run).sink)


def test_what_is_no_drop_has_neither_run_nor_current():
    others = [point for point in Point if not point.is_drop]
    assert not {*others} & {*DROP_ACROSS.values()}
    assert not any(point.run or point.current for point in others)


@EVERY_POINT
def test_what_is_asked_for_on_solar_alone_needs_a_panel(point):
    assert point.states
    assert point.states != (State.SOLAR,) or point.needs_panel
    assert not point.same_in_every_state or len(point.states) == 1


@EVERY_POINT
def test_a_name_is_a_heading_and_the_short_one_no_longer(point):
    assert point.full_name[0].isupper()
    assert len(point.short_name) <= len(point.full_name)


@pytest.mark.parametrize(
    ("point", "decimals"),
    [
        ("vehicle_feed_drop", 3),
        ("start_battery_voltage", 2),
        ("input_current", 1),
        ("charger_case_temperature", 0),
        ("sunlight_fraction", 1),
        ("fault_indicator", 0),
    ],
)
def test_a_drop_shows_millivolts_and_the_rest_what_their_limits_can_tell(point, decimals):
    assert Point(point).decimals == decimals


def test_a_reading_key_is_a_point_and_a_state():
    key = ReadingKey(Point.INPUT_CURRENT, State.IDLE)
    assert key == (Point.INPUT_CURRENT, State.IDLE)
    assert (key.point, key.state) == tuple(key)
