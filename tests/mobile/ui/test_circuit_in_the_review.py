"""The circuit before signing: what was read in each state, at its posts."""

import pytest

from logic.checklist.answers import ReadingAnswer
from logic.checklist.step import AskReading
from logic.vehicle.points import Point, State
from mobile.ui.theme import theme
from mobile.ui.widgets.circuit import CircuitView
from tests.mobile.driveway import open_job
from tests.mobile.ui.legibility import complaints, small_targets
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture

# By hand: 40 A out, 44 A in; 9 mΩ of feed, 3 mΩ of return, a house return gone bad.
READ = {
    (Point.START_BATTERY_VOLTAGE, State.REST): 12.71,
    (Point.HOUSE_BATTERY_VOLTAGE, State.REST): 13.18,
    (Point.START_BATTERY_VOLTAGE, State.IDLE): 14.05,
    (Point.CHARGER_INPUT_VOLTAGE, State.IDLE): 13.52,
    (Point.IGNITION_SIGNAL_VOLTAGE, State.IDLE): 12.9,
    (Point.VEHICLE_FEED_DROP, State.IDLE): 0.396,
    (Point.VEHICLE_RETURN_DROP, State.IDLE): 0.132,
    (Point.INPUT_CURRENT, State.IDLE): 44.2,
    (Point.CHARGER_OUTPUT_VOLTAGE, State.IDLE): 14.21,
    (Point.HOUSE_FEED_DROP, State.IDLE): 0.121,
    (Point.HOUSE_RETURN_DROP, State.IDLE): 0.602,
    (Point.HOUSE_BATTERY_VOLTAGE, State.IDLE): 13.49,
    (Point.OUTPUT_CURRENT, State.IDLE): 40.1,
    (Point.HOUSE_LOAD_CURRENT, State.IDLE): 3.2,
    (Point.CHARGER_CASE_TEMPERATURE, State.IDLE): 44.0,
}


@pytest.fixture
def make_review(make_phone, tmp_path):
    def make(look: Look = LOOKS[0], read=READ):
        job_id = open_job(tmp_path / "store")
        finger = make_phone(look)
        walk = finger.app.work.open_walk(job_id)
        steps = {
            (step.ask.point, step.ask.state): step.id
            for step in walk.checklist.by_id.values()
            if isinstance(step.ask, AskReading)
        }
        for key, value in read.items():
            walk.answer(steps[key], ReadingAnswer(value=value, typed=f"{value}"))
        finger.app.navigator.show("review", job_id=job_id)
        finger.frames(4)
        return finger

    return make


def circuit(finger) -> CircuitView:
    [found] = [one for one in finger.shown() if isinstance(one, CircuitView)]
    return found


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_its_texts_can_be_read_and_its_states_touched(make_review, look, dark):
    finger = make_review(look)
    theme.dark = dark
    try:
        finger.frames(3)
        keep_picture(finger, f"review-{look}-{'dark' if dark else 'light'}")
        assert complaints() == []
        assert small_targets(48) == []
    finally:
        theme.dark = False


def test_the_best_covered_state_is_shown_first_and_another_by_a_tap(make_review):
    finger = make_review()
    picture = circuit(finger).picture
    assert picture.values[Point.OUTPUT_CURRENT].text == "40.1 A"
    assert picture.marked is None
    finger.tap(State.REST.short_name)
    assert {point: shown.text for point, shown in circuit(finger).picture.values.items()} == {
        Point.START_BATTERY_VOLTAGE: "12.71 V",
        Point.HOUSE_BATTERY_VOLTAGE: "13.18 V",
    }


def test_before_anything_is_read_there_is_no_circuit(make_review):
    finger = make_review(read={})
    assert not any(isinstance(one, CircuitView) for one in finger.shown())
