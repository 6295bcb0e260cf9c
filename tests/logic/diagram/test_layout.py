from itertools import combinations

import pytest

from logic.diagram.geometry import Rect
from logic.diagram.layout import (
    ARROW,
    FUSE,
    LEAST_HEIGHT,
    LEAST_SLOT,
    LEAST_WIDTH,
    SOURCES,
    TOUCH,
    Layout,
    lay_out,
    touch_height,
)
from logic.vehicle.installation import Extra
from logic.vehicle.points import Lead, Part, Point, Post, Run, Unit

# From a step of the walk on a small phone to a tablet and, wide, the printed page.
WIDTHS = (320.0, 336.0, 360.0, 412.0, 600.0, 900.0)
LOW = (150.0, 190.0, 240.0, 300.0)
HIGH = (376.0, 432.0, 560.0, 700.0)
SIZES = [
    (width, height, has_solar, has_second_unit)
    for width in WIDTHS
    for height in (*LOW, *HIGH)
    for has_solar in (False, True)
    for has_second_unit in (False, True)
]
TOUCHABLE = [size for size in SIZES if size[1] >= touch_height(*size[2:])]
BOTH_FEEDS = (Run.VEHICLE_FEED, Run.HOUSE_FEED)
# Read once, in a condition of its own, or off a display: the value stands in the reading's step.
OFF_THE_PICTURE = {
    point for point in Point if point.wire_id is None or point is Point.MONITOR_CURRENT
}
MARKED = [point for point in Point if point.red or point.clamp_on]


@pytest.fixture(params=SIZES, ids=str)
def layout(request: pytest.FixtureRequest) -> Layout:
    return lay_out(*request.param, BOTH_FEEDS)


@pytest.fixture(params=TOUCHABLE, ids=str)
def touchable(request: pytest.FixtureRequest) -> Layout:
    return lay_out(*request.param, BOTH_FEEDS)


def posts(layout: Layout) -> dict[str, Rect]:
    side = 2 * layout.post
    return {f"post {post}": Rect.around(xy, side, side) for post, xy in layout.posts.items()}


def clamps(layout: Layout) -> dict[str, Rect]:
    side = 2 * layout.clamp
    return {
        f"clamp {lead}": Rect.around(clamp.xy, side, side) for lead, clamp in layout.clamps.items()
    }


def arrows(layout: Layout) -> dict[str, Rect]:
    found = {}
    for lead, clamp in layout.clamps.items():
        (x, y), (dx, dy) = clamp.tip, clamp.towards
        middle = (x - dx * ARROW / 2, y - dy * ARROW / 2)
        found[f"arrow {lead}"] = Rect.around(middle, ARROW, ARROW)
    return found


def flags(layout: Layout) -> dict[str, Rect]:
    return {f"flag {post}": flag for post, flag in layout.flags.items()}


def parts(layout: Layout) -> dict[str, Rect]:
    return {f"part {part}": body for part, body in layout.parts.items()}


def meeting(some: dict[str, Rect], others: dict[str, Rect]) -> list[tuple[str, str]]:
    return [(a, b) for a, one in some.items() for b, other in others.items() if one.meets(other)]


def test_nothing_that_can_be_tapped_is_under_48_dp_or_over_another(touchable):
    targets = list(touchable.targets())
    assert len(targets) >= 15
    assert all(t.rect.width >= TOUCH and t.rect.height >= TOUCH for t in targets)
    over = [(a.what, b.what) for a, b in combinations(targets, 2) if a.rect.meets(b.rect)]
    assert over == []


def test_what_is_too_low_to_be_touched_offers_nothing_to_touch():
    for has_solar in (False, True):
        for has_second in (False, True):
            low = lay_out(360, touch_height(has_solar, has_second) - 1, has_solar, has_second)
            assert not low.is_touchable
            assert list(low.targets()) == []
            assert low.target_at(low.posts[Post.CHARGER_INPUT]) is None


def test_a_touch_on_the_middle_of_a_target_means_that_target(touchable):
    for target in touchable.targets():
        assert touchable.target_at(target.rect.centre) == target


def test_every_text_has_a_slot_of_its_own_clear_of_the_posts(layout):
    slots = list(layout.slots())
    assert not any(a.meets(b) for a, b in combinations(slots, 2))
    assert not any(slot.meets(post) for slot in slots for post in posts(layout).values())
    assert min(slot.height for slot in slots) >= LEAST_SLOT[1] >= 18
    assert min(slot.width for slot in slots) >= LEAST_SLOT[0] >= 44


def test_every_value_has_its_slot_where_everything_can_be_touched(touchable):
    fitting = {
        point
        for point in Point
        if point.unit in (Unit.VOLT, Unit.AMPERE)
        and not point.is_drop
        and point not in OFF_THE_PICTURE
        and (touchable.has_solar or not point.needs_panel)
        and (touchable.has_second_unit or point.needs is not Extra.SECOND_CHARGER)
    }
    assert set(touchable.values) == fitting
    assert all(run.volts and run.word for run in touchable.runs.values())


def test_a_higher_picture_never_shows_less(layout):
    fitted = layout.has_solar, layout.has_second_unit
    higher = lay_out(layout.width, layout.height + 40, *fitted, BOTH_FEEDS)
    assert set(layout.switches) <= set(higher.switches)
    assert set(layout.values) <= set(higher.values)
    assert len(list(layout.slots())) <= len(list(higher.slots()))


def test_all_of_it_lies_inside_the_picture(layout):
    inside = [*layout.slots(), *(target.rect for target in layout.targets())]
    for marks in (posts, clamps, flags, arrows, parts):
        inside += marks(layout).values()
    for rect in inside:
        assert rect.x >= -0.01
        assert rect.y >= -0.01
        assert rect.right <= layout.width + 0.01
        assert rect.top <= layout.height + 0.01
    wires = [xy for line in layout.lines for xy in line]
    assert all(0 <= x <= layout.width and 0 <= y <= layout.height for x, y in wires)


@pytest.mark.parametrize("height", [LEAST_HEIGHT, touch_height(True, True)])
@pytest.mark.parametrize("point", MARKED)
def test_every_reading_can_be_marked(point, height):
    layout = lay_out(360, height, True, True)
    if point.red:
        assert point.red in layout.posts
        assert point.black in layout.posts
    elif point.clamp_on is Lead.FIRST_IN_PARALLEL:
        assert point.part in layout.parts, "its own lead is not drawn: the battery is marked"
    else:
        assert point.clamp_on in layout.clamps


def test_every_voltage_and_clamp_of_the_circuit_can_be_reached_with_a_panel():
    layout = lay_out(360, touch_height(True, True), True, True)
    assert set(layout.posts) == set(Post)
    clamped = {point.clamp_on for point in Point if point.clamp_on}
    assert set(layout.clamps) == clamped - {Lead.FIRST_IN_PARALLEL}


def test_no_flag_hides_a_post_a_part_or_a_text(layout):
    texts = {str(slot): slot for slot in layout.slots()}
    over = meeting(flags(layout), {**posts(layout), **clamps(layout), **parts(layout), **texts})
    own = [(f"flag {post}", f"post {post}") for post in layout.posts]
    assert set(over) <= set(own)
    # What stands in the post's middle stays in sight.
    for post, xy in layout.posts.items():
        assert not layout.flags[post].meets(Rect.around(xy, 8, 8)), post


def test_no_clamp_and_no_arrow_hides_a_post_a_part_or_a_text(layout):
    texts = {str(slot): slot for slot in layout.slots()}
    rest = {**posts(layout), **parts(layout), **texts}
    assert meeting(clamps(layout), rest) == []
    assert meeting(arrows(layout), {**rest, **clamps(layout)}) == []


@pytest.mark.parametrize("point", [point for point in MARKED if point.red])
def test_the_two_flags_of_a_reading_stand_apart(point):
    for width, height, *fitted in SIZES:
        layout = lay_out(width, height, *fitted)
        if point.red in layout.flags and point.black in layout.flags:
            assert not layout.flags[point.red].meets(layout.flags[point.black]), (width, height)


def test_no_two_parts_posts_or_clamps_overlap(layout):
    solid = {**posts(layout), **clamps(layout), **parts(layout)}
    assert [(a, b) for a, b in combinations(solid, 2) if solid[a].meets(solid[b])] == []


@pytest.mark.parametrize("height", [*LOW, *HIGH])
def test_without_a_panel_nothing_else_moves(height):
    without, with_panel = (lay_out(360, height, has_solar) for has_solar in (False, True))
    assert without.posts.items() <= with_panel.posts.items()
    assert without.clamps.items() <= with_panel.clamps.items()
    assert without.parts.items() <= with_panel.parts.items()
    assert Post.SOLAR_TERMINAL not in without.posts


@pytest.mark.parametrize("has_solar", [False, True])
@pytest.mark.parametrize("height", [*LOW, *HIGH])
def test_a_second_unit_lifts_the_rest_and_moves_nothing_of_it_against_the_rest(height, has_solar):
    alone = lay_out(360, height, has_solar)
    band = 112 * min(1, height / 210)
    beside = lay_out(360, height + band, has_solar, True)
    for post, (x, y) in alone.posts.items():
        assert beside.posts[post] == pytest.approx((x, y + band))
    assert Post.SECOND_UNIT_INPUT not in alone.posts
    assert alone.scale == pytest.approx(beside.scale)


def test_isolators_are_drawn_on_the_wires_of_their_batteries_clear_of_all_else(layout):
    if layout.is_touchable:
        assert set(layout.switches) == {*BOTH_FEEDS}
    texts = {str(slot): slot for slot in layout.slots()}
    switches = {f"switch {run}": slot for run, slot in layout.switches.items()}
    assert meeting(switches, {**posts(layout), **clamps(layout), **parts(layout), **texts}) == []
    bare = lay_out(layout.width, layout.height, layout.has_solar, layout.has_second_unit)
    assert bare.switches == {}


@pytest.mark.parametrize("run", BOTH_FEEDS)
@pytest.mark.parametrize("size", SIZES, ids=str)
def test_a_plug_and_other_chargers_are_drawn_clear_of_all_else(size, run):
    layout = lay_out(*size, BOTH_FEEDS, run, SOURCES)
    if layout.is_touchable:
        assert set(layout.sources) == {*SOURCES}
    assert layout.plug.width >= 7
    way = layout.runs[run]
    fuse = {"fuse": Rect.around(way.fuse, *FUSE)}
    switches = {f"switch {run}": slot for run, slot in layout.switches.items()}
    texts = {str(slot): slot for slot in layout.slots()}
    signs = {"plug": layout.plug} | {f"source {one}": at for one, at in layout.sources.items()}
    solid = {**posts(layout), **clamps(layout), **parts(layout), **texts}
    rest = {**solid, **arrows(layout), **flags(layout), **switches, **fuse}
    assert meeting(signs, rest) == []
    assert [(a, b) for a, b in combinations(signs, 2) if signs[a].meets(signs[b])] == []
    # The second unit's wire goes round the outside.
    assert all(at.right < layout.width - 2 for at in layout.sources.values())


def test_what_is_not_fitted_is_not_drawn(layout):
    assert layout.plug is None
    assert layout.sources == {}


def test_every_size_keeps_the_same_proportions():
    small, large = (lay_out(360, height, True) for height in (LEAST_HEIGHT, 700.0))
    for post, (x, y) in small.posts.items():
        assert x == pytest.approx(large.posts[post][0])
        assert y / small.height == pytest.approx(large.posts[post][1] / large.height)


def test_less_room_than_the_least_is_laid_out_as_the_least():
    assert lay_out(100, 50, False) == lay_out(LEAST_WIDTH, LEAST_HEIGHT, False)


@pytest.mark.parametrize("point", [point for point in Point if point.red or point.clamp_on])
def test_the_marks_of_a_reading_hold_its_flags_and_its_clamp(point):
    layout = lay_out(360, LEAST_HEIGHT, True, True)
    marks = layout.marks_of(point)
    for post in (point.red, point.black):
        if post:
            assert marks.holds(layout.posts[post])
    if point.clamp_on is Lead.FIRST_IN_PARALLEL:
        assert marks == layout.parts[Part.HOUSE_BATTERY]
    elif point.clamp_on:
        assert marks.holds(layout.clamps[point.clamp_on].xy)


def test_a_reading_without_probes_is_marked_at_its_part():
    layout = lay_out(360, LEAST_HEIGHT, False)
    assert (
        layout.marks_of(Point.CHARGER_CASE_TEMPERATURE)
        == layout.parts[Point.CHARGER_CASE_TEMPERATURE.part]
    )
    assert layout.marks_of(Point.SUNLIGHT_FRACTION) is None


def test_every_point_with_probes_is_a_voltage_or_a_clamped_current():
    assert {point.unit for point in MARKED} == {Unit.VOLT, Unit.AMPERE}
    assert Point.PROFILE_SETTING_VOLTAGE not in MARKED
