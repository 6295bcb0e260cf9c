import pytest

from logic.diagram.geometry import Rect
from logic.diagram.layout import Target
from logic.diagram.picture import partners
from logic.vehicle.points import Part, Point, Post
from mobile.jobs import touch_targets

VOLTAGES = [point for point in Point if point.red and point.black]
CLAMPED = [point for point in Point if point.clamp_on]


def at(kind, what):
    return touch_targets.points_at(Target(kind, what, Rect(0, 0, 48, 48)))


@pytest.mark.parametrize("point", VOLTAGES)
def test_the_two_posts_of_a_voltage_mean_it_in_either_order(point):
    assert touch_targets.point_between(point.red, point.black) is point
    assert touch_targets.point_between(point.black, point.red) is point
    assert point.black in partners(point.red)
    assert point.red in partners(point.black)


@pytest.mark.parametrize("point", CLAMPED)
def test_a_clamp_means_its_current(point):
    assert at("clamp", point.clamp_on) == (point,)


def test_every_reading_can_be_reached_by_posts_a_clamp_or_a_part():
    parts = {point for part in Part for point in at("part", part)}
    assert {*VOLTAGES, *CLAMPED, *parts} == set(Point)


def test_every_post_has_a_partner_and_a_wrong_pair_says_which():
    assert all(partners(post) for post in Post)
    words = touch_targets.no_reading(Post.CHARGER_INPUT, Post.HOUSE_BATTERY_POSITIVE)
    assert "charger output +" in words
    assert touch_targets.point_between(Post.CHARGER_INPUT, Post.HOUSE_BATTERY_POSITIVE) is None
