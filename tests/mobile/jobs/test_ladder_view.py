"""The ladder's scale: one for all posts, from 0, and what is enlarged says so."""

import pytest

from logic.case import Reading
from logic.limits.ladder import ladder
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State
from mobile.jobs.ladder_view import ladder_view
from tests.mobile.callback_scene import described

READ = {
    Point.START_BATTERY_VOLTAGE: 14.0,
    Point.VEHICLE_FEED_DROP: 0.3,
    Point.VEHICLE_RETURN_DROP: 0.1,
    Point.CHARGER_INPUT_VOLTAGE: 13.6,
    Point.INPUT_CURRENT: 30.0,
}


def view(installation: Installation, **more: float):
    taken = READ | {Point(name): value for name, value in more.items()}
    readings = [Reading(point=p, state=State.IDLE, value=v) for p, v in taken.items()]
    return ladder_view(ladder(installation, readings, State.IDLE), None)


def test_all_posts_stand_on_one_scale_from_nothing() -> None:
    shown = view(Installation.model_validate(described()))
    assert shown.part(0.0) == 0.0
    high, low = (rung.now for rung in shown.rungs[:2])
    # 0.3 V of 14.0 V: by hand
    assert shown.part(high) - shown.part(low) == pytest.approx(0.3 / 14 * shown.part(high))
    assert all(0 <= shown.part(rung.now) <= 1 for rung in shown.rungs if rung.now is not None)


@pytest.mark.parametrize(("drop", "least"), [(0.3, 10), (2.5, 5), (9.0, 1)])
def test_drops_are_enlarged_as_far_as_the_largest_fits_and_by_how_much_is_said(
    drop: float, least: int
) -> None:
    shown = view(Installation.model_validate(described()), vehicle_feed_drop=drop)
    [step] = [step for step in shown.steps if step.drop == pytest.approx(drop)]
    assert shown.enlarged >= least
    assert shown.drop_part(drop) == pytest.approx(shown.part(drop) * shown.enlarged)
    assert shown.drop_part(drop) <= 1
    said = "the same scale" if shown.enlarged == 1 else f"{shown.enlarged} times enlarged"
    assert said in shown.scale_words
    assert step.high is not None
