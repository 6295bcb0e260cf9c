from itertools import combinations

import pytest

from logic.diagram.layout import LEAST_HEIGHT, lay_out, touch_height
from logic.diagram.patterns import GRADE_MARKS, lines
from logic.limits.ladder import Grade
from logic.vehicle.points import Run

RUNS = [
    lay_out(360, height, False).runs[Run.VEHICLE_FEED]
    for height in (LEAST_HEIGHT, touch_height(False))
]


@pytest.fixture(params=RUNS, ids=["low", "high"])
def run(request):
    return request.param


def outline(grade, run, share=3.0):
    return tuple((line.points, line.width) for line in lines(grade, share, run))


def test_every_grade_differs_in_shape_and_in_word_so_that_no_colour_is_needed(run):
    assert set(GRADE_MARKS) == set(Grade)
    for one, other in combinations(Grade, 2):
        assert outline(one, run) != outline(other, run)
        assert GRADE_MARKS[one].word != GRADE_MARKS[other].word


def test_only_what_was_not_read_has_no_sign():
    assert [grade for grade, mark in GRADE_MARKS.items() if mark.sign is None] == [Grade.NOT_READ]


def widest(grade, share, run):
    heights = [y for line in lines(grade, share, run) for _, y in line.points]
    return max(heights) - min(heights)


@pytest.mark.parametrize(("less", "more"), [(1.2, 3), (3, 12)])
def test_the_worse_a_run_the_wilder_its_zigzag(less, more, run):
    assert widest(Grade.TOO_MUCH, more, run) > widest(Grade.TOO_MUCH, less, run)


def test_a_break_is_a_gap_between_its_two_stops(run):
    bars = [
        line.points for line in lines(Grade.OPEN, 1, run) if line.points[0][1] == line.points[1][1]
    ]
    (_, left), (right, _) = bars
    assert right[0] - left[0] >= 10
