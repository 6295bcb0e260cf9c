from itertools import combinations

import pytest

from logic.vehicle.points import Point, Post
from mobile.ui.widgets.circuit_plan import plan

WIDTH, HEIGHT = 336, 134  # dp, on the small phone
FLAG = 12  # dp, half its side
BOTH = [plan(solar=False), plan(solar=True)]
POINTS = [point for point in Point if point.red or point.clamp_on]


def px(place):
    return place[0] * WIDTH, place[1] * HEIGHT


def square(place, half):
    x, y = px(place)
    return x - half, y - half, x + half, y + half


def overlap(one, other):
    return min(one[2], other[2]) > max(one[0], other[0]) and min(one[3], other[3]) > max(
        one[1], other[1]
    )


@pytest.mark.parametrize("point", POINTS)
def test_every_reading_can_be_marked(point):
    drawn = plan(solar=True)
    if point.red:
        assert point.red in drawn.posts
        assert point.black in drawn.posts
    else:
        assert point.clamp_on in drawn.clamps


@pytest.mark.parametrize("drawn", BOTH)
def test_everything_lies_on_the_picture(drawn):
    places = [place for wire in drawn.wires for place in wire.places]
    places += [post.at for post in drawn.posts.values()]
    places += [post.flag for post in drawn.posts.values()]
    places += [clamp.at for clamp in drawn.clamps.values()]
    assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in places)


@pytest.mark.parametrize("drawn", BOTH)
def test_no_flag_hides_a_post_or_a_part(drawn):
    boxes = [(*px((b.x, b.y)), *px((b.x + b.width, b.y + b.height))) for b in drawn.boxes]
    for post, placed in drawn.posts.items():
        flag = square(placed.flag, FLAG)
        assert not any(overlap(flag, square(other.at, 3)) for other in drawn.posts.values()), post
        assert not any(overlap(flag, box) for box in boxes), post


@pytest.mark.parametrize("drawn", BOTH)
def test_no_clamp_hides_a_post_or_a_part(drawn):
    boxes = [(*px((b.x, b.y)), *px((b.x + b.width, b.y + b.height))) for b in drawn.boxes]
    for run, place in drawn.clamps.items():
        x, y = px(place.at)
        jaw = x - FLAG, y - 0.87 * FLAG, x + FLAG, y + 0.87 * FLAG
        assert not any(overlap(jaw, square(post.at, 3)) for post in drawn.posts.values()), run
        assert not any(overlap(jaw, box) for box in boxes), run


@pytest.mark.parametrize("point", [point for point in POINTS if point.red])
def test_the_two_flags_of_a_reading_stand_apart(point):
    drawn = plan(solar=True)
    red, black = (square(drawn.posts[post].flag, FLAG) for post in (point.red, point.black))
    assert not overlap(red, black)


def test_no_two_parts_overlap():
    boxes = [(b.x, b.y, b.x + b.width, b.y + b.height) for b in plan(solar=True).boxes]
    assert not any(overlap(one, other) for one, other in combinations(boxes, 2))


def test_without_a_panel_nothing_else_moves():
    without, with_panel = BOTH
    assert without.posts.items() <= with_panel.posts.items()
    assert Post.SOLAR_TERMINAL not in without.posts


def test_every_point_with_probes_is_a_voltage_or_a_clamped_current():
    assert {point.unit for point in POINTS} == {"V", "A"}
    assert Point.PROFILE_SETTING_VOLTAGE not in POINTS
