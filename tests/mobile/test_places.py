import pytest

from logic.points import PROBES, Point, Post
from mobile import places

VOLTAGES = [point for point, probe in PROBES.items() if probe.red and probe.black]
CLAMPED = [point for point, probe in PROBES.items() if probe.clamp_on]


@pytest.mark.parametrize("point", VOLTAGES)
def test_the_two_posts_of_a_voltage_mean_it_in_either_order(point):
    probe = PROBES[point]
    assert places.point_between(probe.red, probe.black) is point
    assert places.point_between(probe.black, probe.red) is point
    assert probe.black in places.partners(probe.red)
    assert probe.red in places.partners(probe.black)


@pytest.mark.parametrize("point", CLAMPED)
def test_a_clamp_place_means_its_current(point):
    assert places.points_at("clamp", PROBES[point].clamp_on) == (point,)


def test_every_reading_can_be_reached_by_posts_a_clamp_or_a_part():
    parts = {
        point
        for part in ("start_battery", "charger", "house_battery", "house_loads", "solar_panel")
        for point in places.points_at("part", part)
    }
    assert {*VOLTAGES, *CLAMPED, *parts} == set(Point)


def test_every_post_has_a_partner_and_a_wrong_pair_says_which():
    assert all(places.partners(post) for post in Post)
    words = places.no_reading(Post.CHARGER_INPUT, Post.HOUSE_BATTERY_POSITIVE)
    assert "charger output" in words
    assert places.point_between(Post.CHARGER_INPUT, Post.HOUSE_BATTERY_POSITIVE) is None
