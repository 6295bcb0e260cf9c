from itertools import combinations

import pytest

from logic.limits.ladder import Grade
from logic.vehicle.points import Point, Post, Run, State
from mobile.jobs.circuit_view import GRADE_SIGNS, GRADE_WORDS, LoopView, RunShown, short
from tests.mobile.ui.looks import LOOKS, Look, take_on

DROPS = {
    Run.VEHICLE_FEED: Point.VEHICLE_FEED_DROP,
    Run.VEHICLE_RETURN: Point.VEHICLE_RETURN_DROP,
    Run.HOUSE_FEED: Point.HOUSE_FEED_DROP,
    Run.HOUSE_RETURN: Point.HOUSE_RETURN_DROP,
}
READ = [p for p in Point if p.unit in ("V", "A") and p not in DROPS.values()]
VALUES = (0.0, 0.004, -0.004, 0.118, -0.123, 1.312, 12.42, -13.94, 28.94, 99.96, -123.4, 200.0)


def view_of(value, grade, sign="out_of_range", solar=True):
    from mobile.jobs.circuit_view import Shown

    return LoopView(
        state=State.IDLE,
        solar=solar,
        values={
            point: Shown(short(point, value), sign)
            for point in READ
            if point is not Point.PROFILE_SETTING_VOLTAGE
        },
        runs={
            run: RunShown(
                grade, abs(value), short(point, value), GRADE_WORDS[grade], GRADE_SIGNS[grade]
            )
            for run, point in DROPS.items()
        },
        temperatures={"charger": "−40 °C", "house_battery": "104 °C"},
        red=Post.CHARGER_INPUT,
        black=Post.CHARGER_NEGATIVE,
    )


@pytest.fixture
def shown(request):
    from kivy.app import App
    from kivy.core.window import Window

    from mobile.demo.finger import holding
    from mobile.ui.theme import theme
    from mobile.ui.widgets.loop import LoopPicture

    class Frame(App):
        def build(self):
            Window.clearcolor = theme.ground
            return LoopPicture(size_hint=(1, 1))

    take_on(getattr(request, "param", Look()))
    with holding(Frame()) as hand:
        yield hand


def rects(picture):
    from mobile.ui.widgets.loop import LoopText

    return [(w.text, w.x, w.y, w.right, w.top) for w in picture.children if isinstance(w, LoopText)]


def overlapping(found):
    hair = 0.6  # pixels
    return [
        (a[0], b[0])
        for a, b in combinations(found, 2)
        if a[1] < b[3] - hair and b[1] < a[3] - hair and a[2] < b[4] - hair and b[2] < a[4] - hair
    ]


@pytest.mark.parametrize("shown", LOOKS, indirect=True, ids=str)
def test_no_text_overlaps_another_or_is_cut_off_at_any_value(shown):
    picture = shown.app.root
    for value in VALUES:
        for grade in Grade:
            picture.view = view_of(value, grade)
            shown.frames(2)
            found = rects(picture)
            assert len(found) > 30
            assert overlapping(found) == []
            for label in picture.children:
                assert label.texture_size[0] <= label.width + 1, (label.text, value)
                assert label.texture_size[1] <= label.height + 1, (label.text, value)
                assert label.font_size >= 9
