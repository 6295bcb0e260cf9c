from dataclasses import replace

import pytest

from logic.diagram.drawing import draw
from logic.diagram.layout import LEAST_HEIGHT, lay_out, touch_height
from logic.diagram.picture import CircuitPicture
from logic.diagram.primitives import Circle, Ink, Line, Polygon
from logic.diagram.signs import SIGNS, Sign
from logic.diagram.text import Text
from logic.limits.ladder import Grade
from logic.vehicle.installation import RepairedPart
from logic.vehicle.points import Part, Point, Post, Run
from tests.logic.diagram.circuit_pictures import full_picture

HEIGHTS = (LEAST_HEIGHT, touch_height(True))
BARE = CircuitPicture(has_solar=True)


@pytest.fixture(params=HEIGHTS, ids=["low", "high"])
def layout(request):
    return lay_out(360, request.param, True)


def marked(point, layout):
    """Return what is drawn for a reading's marks alone."""
    bare = list(draw(BARE, layout))
    lit = draw(CircuitPicture(has_solar=True, marked=point), layout)
    return [one for one in lit if one not in bare]


def letters(drawn):
    return {one.text for one in drawn if isinstance(one, Text)}


def test_a_red_probes_flag_is_round_a_black_ones_square_and_each_has_its_letter(layout):
    drawn = marked(Point.CHARGER_INPUT_VOLTAGE, layout)
    red = [one for one in drawn if not isinstance(one, Text) and one.ink is Ink.RED_PROBE]
    black = [one for one in drawn if not isinstance(one, Text) and one.ink is Ink.BLACK_PROBE]
    assert {type(one) for one in red} == {Circle}
    assert {type(one) for one in black} == {Line, Polygon}
    assert letters(drawn) == {"R", "B"}
    assert red[0].centre == layout.posts[Post.CHARGER_INPUT]


def test_a_clamp_has_six_corners_its_letter_and_an_arrow_the_way_positive_current_flows(layout):
    drawn = marked(Point.HOUSE_LOAD_CURRENT, layout)
    jaw, arrow = (one for one in drawn if isinstance(one, Polygon))
    assert len(set(jaw.points[:6])) == 6
    tip, *base = arrow.points
    assert all(tip[1] > y for _, y in base), "up, towards the loads"
    assert letters(drawn) == {"C"}


def test_a_temperature_is_marked_with_a_thermometer_in_its_part(layout):
    drawn = marked(Point.HOUSE_BATTERY_TEMPERATURE, layout)
    body = layout.parts[Part.HOUSE_BATTERY]
    bulb = next(one for one in drawn if isinstance(one, Circle))
    assert body.holds(bulb.centre)
    assert any(isinstance(one, Line) and one.ink is Ink.MAIN for one in drawn)


def test_the_run_whose_drop_is_read_is_lit(layout):
    [band] = [one for one in marked(Point.VEHICLE_RETURN_DROP, layout) if one.ink is Ink.LIT]
    assert set(band.points) == {
        layout.posts[Post.CHARGER_NEGATIVE],
        layout.posts[Post.START_BATTERY_NEGATIVE],
    }


def test_a_chosen_post_and_those_that_go_with_it_are_shown(layout):
    bare = list(draw(BARE, layout))
    chosen = CircuitPicture(has_solar=True, chosen=Post.CHARGER_OUTPUT)
    drawn = [one for one in draw(chosen, layout) if one not in bare]
    [filled] = [one for one in drawn if isinstance(one, Circle)]
    assert (filled.centre, filled.ink) == (layout.posts[Post.CHARGER_OUTPUT], Ink.MAIN)
    ticks = [one for one in drawn if isinstance(one, Line)]
    assert len(ticks) == 4 * 2  # charger negative and house battery +


def test_the_positions_are_the_same_whatever_is_lit(layout):
    def wires_and_posts(picture):
        return {
            one
            for one in draw(picture, layout)
            if isinstance(one, Circle) and one.width and one.ink is Ink.INK
        }

    full = full_picture(12.42, Grade.TOO_MUCH, sign=Sign.MARGINAL)
    assert wires_and_posts(full) == wires_and_posts(BARE)


def test_without_room_for_a_word_its_sign_stands_with_the_volts():
    low = lay_out(360, 240, False)
    texts = [t for t in draw(full_picture(0.9, Grade.TOO_MUCH), low) if isinstance(t, Text)]
    volts = [text for text in texts if text.text == "0.900 V"]
    assert volts
    assert all(text.sign is Sign.OUT_OF_RANGE for text in volts)
    assert not any(text.text == "too much" for text in texts)


def test_every_sign_has_an_outline_of_its_own_so_that_no_colour_is_needed():
    outlines = [
        tuple(
            (type(shape), getattr(shape, "points", None), getattr(shape, "width", None))
            for shape in shapes
        )
        for shapes in SIGNS.values()
    ]
    assert len(set(outlines)) == len(SIGNS) == len(Sign)


def lines_lit(drawn):
    return {one.points for one in drawn if isinstance(one, Line) and one.ink is Ink.LIT}


def test_what_a_question_or_a_suspicion_is_about_is_lit_unless_a_drop_is_read(layout):
    about = frozenset({RepairedPart.HOUSE_FEED, RepairedPart.CHARGER})
    way = layout.runs[Run.HOUSE_FEED]
    drawn = list(draw(replace(BARE, lit=about), layout))
    assert lines_lit(drawn) == {(way.start, way.end)}
    [body] = [one for one in drawn if isinstance(one, Polygon) and one.ink is Ink.LIT]
    assert {layout.parts[Part.CHARGER].holds(corner) for corner in body.points} == {True}
    clamped = draw(replace(BARE, lit=about, marked=Point.INPUT_CURRENT), layout)
    assert lines_lit(clamped) == {(way.start, way.end)}
    taken = draw(replace(BARE, lit=about, marked=Point.VEHICLE_FEED_DROP), layout)
    read = layout.runs[Run.VEHICLE_FEED]
    assert lines_lit(taken) == {(read.start, read.end)}


def test_a_clamp_has_one_outline_marked_or_not(layout):
    def corners(drawn):
        shapes = (one for one in drawn if isinstance(one, Line | Polygon))
        return {len(set(one.points)) for one in shapes if one.ink is Ink.CLAMP} - {3}

    assert corners(draw(BARE, layout)) == {6}
    assert corners(marked(Point.INPUT_CURRENT, layout)) == {6}


def test_a_temperature_has_its_verdicts_sign_with_its_part(layout):
    hot = replace(
        BARE,
        temperatures={Part.CHARGER: "71 °C"},
        temperature_signs={Part.CHARGER: Sign.OUT_OF_RANGE},
    )
    [text] = [one for one in draw(hot, layout) if isinstance(one, Text) and "71" in one.text]
    assert text.sign is Sign.OUT_OF_RANGE
