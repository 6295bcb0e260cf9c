from itertools import combinations

import pytest

from logic.diagram.drawing import draw
from logic.diagram.geometry import Rect
from logic.diagram.layout import LEAST_HEIGHT, lay_out, least_height, touch_height
from logic.diagram.text import LEAST, LEFT_OUT, Text, set_text
from logic.limits.ladder import Grade
from tests.logic.diagram.circuit_pictures import VALUES, Type, full_picture

SLOT = Rect(10, 20, 60, 20)


def texts_of(picture, layout):
    return [one for one in draw(picture, layout) if isinstance(one, Text)]


def overlapping(placed):
    return [
        (a.text, b.text)
        for (a, one), (b, other) in combinations(placed, 2)
        for line in one.lines
        for another in other.lines
        if line.rect.meets(another.rect)
    ]


@pytest.mark.parametrize("has_second_unit", [False, True])
@pytest.mark.parametrize("font_scale", [1.0, 1.3])
@pytest.mark.parametrize("height", [LEAST_HEIGHT, 240.0, 300.0, touch_height(True)])
@pytest.mark.parametrize(
    ("where", "width"), [("screen", 320), ("screen", 412), ("paper", 440), ("paper", 900)]
)
def test_no_text_overlaps_another_or_is_cut_off_at_any_value(
    where, width, height, font_scale, has_second_unit
):
    measure = Type(where)
    higher = least_height(has_second_unit) if height == LEAST_HEIGHT else height
    if has_second_unit and height > LEAST_HEIGHT:
        higher = height + touch_height(True, True) - touch_height(True)
    layout = lay_out(width, higher, True, has_second_unit)
    for value in VALUES:
        for grade in Grade:
            found = texts_of(full_picture(value, grade), layout)
            placed = [(text, set_text(text, measure, font_scale)) for text in found]
            assert overlapping(placed) == []
            for text, as_set in placed:
                words = " ".join(line.text for line in as_set.lines)
                assert words == text.text, (text.text, value)
                assert as_set.size >= LEAST == 9, text.text
                for line in as_set.lines:
                    assert line.rect.x >= text.slot.x - 0.01, text.text
                    assert line.rect.right <= text.slot.right + 0.01, text.text
                    assert line.rect.y >= text.slot.y - 0.01, text.text
                    assert line.rect.top <= text.slot.top + 0.01, text.text
                if as_set.sign:
                    assert not any(as_set.sign.meets(line.rect) for line in as_set.lines)
                    assert as_set.sign.x >= text.slot.x - 0.01


def test_a_high_picture_says_more_than_thirty_things():
    layout = lay_out(360, touch_height(True), True)
    assert len(texts_of(full_picture(12.42, Grade.TOO_MUCH), layout)) > 30


def test_a_text_with_room_stands_in_the_middle_at_its_own_size():
    text = Text("12 V", Rect(0, 0, 100, 40), 10)
    found = set_text(text, Type("screen"))
    assert found.size == 10
    assert found.lines[0].rect.centre == pytest.approx((50, 20))


def test_a_text_too_long_for_the_smallest_type_says_that_something_is_left_out():
    text = Text("a very long remark that nobody could read here", SLOT)
    [line] = set_text(text, Type("screen")).lines
    assert line.text == LEFT_OUT
    assert line.rect.right <= SLOT.right


def test_a_name_takes_two_lines_where_that_lets_it_be_larger():
    slot = Rect(0, 0, 60, 40)
    one = set_text(Text("House battery", slot, 14), Type("screen"))
    two = set_text(Text("House battery", slot, 14, wraps=True), Type("screen"))
    assert [line.text for line in two.lines] == ["House", "battery"]
    assert two.size > one.size


def test_only_what_is_sized_by_the_reader_follows_the_font_scale():
    slot = Rect(0, 0, 200, 60)
    sizes = [
        set_text(Text("in", slot, 10, is_sized_by_reader=follows), Type("screen"), 1.5).size
        for follows in (True, False)
    ]
    assert sizes == [15, 10]
