import pytest

from logic.diagram.geometry import Rect
from logic.diagram.layout import Target
from logic.diagram.picture import partners
from logic.vehicle.points import Part, Point, Post, Run, State
from mobile.jobs import touch_targets
from tests.equipment import plain, with_everything

# Of the points between the same two posts the plain one is meant, and it is declared first.
PLAIN = {frozenset((p.red, p.black)): p for p in reversed(Point) if p.red}
VOLTAGES = [*PLAIN.values()]
EVERYTHING = with_everything()
CLAMPED = [point for point in Point if point.clamp_on]


def at(kind, what, fitted=EVERYTHING, state=State.IDLE):
    return touch_targets.points_at(Target(kind, what, Rect(0, 0, 48, 48)), fitted, state)


@pytest.mark.parametrize("point", VOLTAGES)
def test_the_two_posts_of_a_voltage_mean_it_in_either_order(point):
    assert touch_targets.point_between(point.red, point.black) is point
    assert touch_targets.point_between(point.black, point.red) is point
    assert point.black in partners(point.red)
    assert point.red in partners(point.black)


# Read in a condition that the walk brings about: a clamp alone does not mean them.
IN_A_CONDITION = (Point.INPUT_CURRENT_WITHOUT_SUN, Point.INPUT_CURRENT_IN_SUN)


@pytest.mark.parametrize("point", CLAMPED)
def test_a_clamp_means_its_current(point):
    offered = at("clamp", point.clamp_on, state=point.states[0])
    assert (point in offered) is (point not in IN_A_CONDITION)


def test_a_clamp_offers_only_what_is_fitted_and_read_in_this_state():
    assert at("clamp", Run.VEHICLE_FEED, plain()) == (Point.INPUT_CURRENT,)
    assert Point.REVERSE_CHARGE_CURRENT not in at("clamp", Run.VEHICLE_FEED)
    assert Point.REVERSE_CHARGE_CURRENT in at("clamp", Run.VEHICLE_FEED, state=State.REST)
    assert at("part", Part.SECOND_UNIT, plain()) == ()


def test_every_reading_can_be_reached_by_posts_a_clamp_or_a_part():
    parts = {point for part in Part for point in at("part", part)}
    reached = {*VOLTAGES, *CLAMPED, *parts}
    walked = {p for p in Point if p.red and p not in VOLTAGES}
    assert reached | walked == set(Point)
    assert all(point.same_in_every_state for point in walked), "the walk brings its condition about"


def test_every_post_has_a_partner_and_a_wrong_pair_says_which():
    assert all(partners(post) for post in Post)
    words = touch_targets.no_reading(Post.CHARGER_INPUT, Post.HOUSE_BATTERY_POSITIVE)
    assert "charger output +" in words
    assert touch_targets.point_between(Post.CHARGER_INPUT, Post.HOUSE_BATTERY_POSITIVE) is None
