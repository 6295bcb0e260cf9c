"""A callback's reading is told as the walk tells it."""

import pytest

from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, ReadingKey, State
from mobile.jobs.how_to_take import how_to_take, start_delay
from tests.mobile.callback_scene import described, library

LIBRARY = library()
FLATBED = Installation.model_validate(described())
LITHIUM = Installation.model_validate(described(lithium=True))


@pytest.mark.parametrize("point", Point)
@pytest.mark.parametrize("state", State)
def test_every_reading_that_is_asked_for_says_where_hands_and_probes_go(point, state):
    if state in point.states:
        told = how_to_take(LIBRARY, FLATBED, ReadingKey(point, state))
        assert told.how
        assert told.why


def test_the_engines_cautions_come_with_every_reading_while_it_runs():
    told = how_to_take(LIBRARY, FLATBED, ReadingKey(Point.CHARGER_OUTPUT_VOLTAGE, State.IDLE))
    ids = [caution.id for caution in told.cautions]
    assert "exhaust_outside" in ids
    assert len(ids) == len(set(ids))


def test_no_caution_is_about_a_chemistry_that_is_not_fitted():
    for state in State:
        for point in Point:
            for caution in how_to_take(LIBRARY, FLATBED, ReadingKey(point, state)).cautions:
                assert not caution.id.startswith("lithium")


def test_the_start_delay_is_the_walks_own():
    assert start_delay(LIBRARY).wait_s == 120
