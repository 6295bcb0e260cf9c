"""The cost of a walk, counted by hand beside the program's count."""

import pytest

from logic.checklist.budget import LITHIUM_JOB, effort, effort_of, over_budget
from logic.checklist.step import Checklist, Stage, Step


def reading(point: str, state: str, **more: object) -> Step:
    ask = {"kind": "reading", "point": point, "state": state}
    return step(ask, f"{state}_{point}", **more)


def step(ask: dict[str, object], step_id: str, **more: object) -> Step:
    told = {"id": step_id, "title": "Read", "why": "It shows.", "how": "Probe it.", "ask": ask}
    return Step.model_validate(told | more)


LOOK = step({"kind": "yes_no", "question": "Is it so?"}, "look")


# Black stays on the charger's negative; red goes to three terminals: 2 + 1 + 1 moves.
def test_a_probe_that_stays_on_its_post_is_not_moved():
    cost = effort(
        reading(point, "idle")
        for point in (
            "charger_input_voltage",
            "ignition_signal_voltage",
            "charger_output_voltage",
        )
    )
    assert (cost.readings, cost.probe_moves, cost.clamp_placements) == (3, 4, 0)


# The clamp stays on the feed while drops are read, and goes to the house feed once.
def test_a_clamp_is_placed_once_for_readings_that_follow_each_other_on_one_cable():
    cost = effort(
        [
            reading("input_current", "idle"),
            reading("vehicle_feed_drop", "idle"),
            reading("input_current", "fast_idle"),
            reading("output_current", "fast_idle"),
        ]
    )
    assert cost.clamp_placements == 2


def test_the_engine_starts_when_it_runs_after_it_stood_still():
    rest, idle = reading("input_current", "rest"), reading("input_current", "idle")
    fast = reading("input_current", "fast_idle")
    assert effort([rest, idle, fast, rest, fast]).engine_starts == 2
    assert effort([rest]).engine_starts == 0


def test_waits_are_counted_whole_and_every_step_is_a_screen():
    cost = effort([LOOK, reading("input_current", "rest", wait_s=300, wait_for="rest")], stages=1)
    assert cost.waits == 5
    assert cost.screens == 3
    assert cost.minutes > cost.waits


# Two minutes from the look on; one reading takes 8 s to the screen and 25 s to read meanwhile.
def test_of_a_wait_only_what_is_left_of_it_is_counted():
    read = reading("input_current", "rest")
    waiting = reading("output_current", "rest", wait_s=120, wait_for="it", wait_from="look")
    alone = effort([LOOK, waiting])
    meanwhile = effort([LOOK, read, waiting])
    assert alone.waits == pytest.approx((120 - 8) / 60)
    assert meanwhile.waits == pytest.approx((120 - 8 - 25 - 60 - 8) / 60)  # 60 s: the clamp


def test_steps_of_one_look_are_one_screen_and_one_tap():
    first = LOOK.model_copy(update={"look": "both"})
    cost = effort([first, first.model_copy(update={"id": "look_too"})])
    assert (cost.screens, cost.taps) == (1, 1)
    assert cost.minutes > effort([first]).minutes


def test_one_more_step_never_takes_less():
    steps = [LOOK, reading("house_battery_voltage", "rest"), reading("output_current", "idle")]
    costs = [effort(steps[:count]).minutes for count in range(len(steps) + 1)]
    assert costs == sorted(costs)
    assert costs[0] == 0


@pytest.mark.parametrize(("budget", "words"), [(0.2, "over its budget of 0.2 min"), (5, "")])
def test_what_is_over_its_budget_says_what_to_do(budget: float, words: str):
    stage = Stage(id="first", title="First", intro="Look.", steps=(LOOK,))
    checklist = Checklist("short", 1, "A short one", (stage,), budget)
    said = over_budget(checklist)
    assert words in said
    assert bool(said) == bool(words)
    if said:
        assert "raise budget_minutes" in said
        assert f"{effort_of(checklist, LITHIUM_JOB).minutes:.1f} min" in said


def test_a_checklist_without_a_budget_is_never_over_it():
    stage = Stage(id="first", title="First", intro="Look.", steps=(LOOK,) * 500)
    assert over_budget(Checklist("long", 1, "A long one", (stage,))) == ""
