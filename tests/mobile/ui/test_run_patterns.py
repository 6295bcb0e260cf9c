from itertools import combinations

import pytest

from logic.limits.ladder import Grade
from logic.vehicle.points import Run
from mobile.jobs.circuit_view import GRADE_SIGNS, GRADE_WORDS
from mobile.ui.widgets.loop_plan import lay_out
from mobile.ui.widgets.run_patterns import strokes

RUN = lay_out(360, 376, False).runs[Run.VEHICLE_FEED]


def outline(grade, share=3.0):
    return tuple((stroke.places, stroke.width) for stroke in strokes(grade, share, RUN))


def test_every_grade_differs_in_shape_and_in_word_so_that_no_colour_is_needed():
    for one, other in combinations(Grade, 2):
        assert outline(one) != outline(other)
        assert GRADE_WORDS[one] != GRADE_WORDS[other]
    assert set(GRADE_SIGNS) == set(GRADE_WORDS) == set(Grade)


def widest(grade, share):
    heights = [y for stroke in strokes(grade, share, RUN) for _, y in stroke.places]
    return max(heights) - min(heights)


@pytest.mark.parametrize(("less", "more"), [(1.2, 3), (3, 12)])
def test_the_worse_a_run_the_wilder_its_zigzag(less, more):
    assert widest(Grade.TOO_MUCH, more) > widest(Grade.TOO_MUCH, less)


def test_a_break_is_a_gap_between_its_two_stops():
    bars = [s.places for s in strokes(Grade.OPEN, 1, RUN) if s.places[0][1] == s.places[1][1]]
    (_, left), (right, _) = bars
    assert right[0] - left[0] >= 10
