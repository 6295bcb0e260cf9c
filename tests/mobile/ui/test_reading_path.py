"""How much of our code stands between a finger and what it is for: read off the call stack."""

import sys
from pathlib import Path
from types import FrameType

import pytest

from logic.limits import verdict
from tests.mobile.driveway import open_job
from tests.paths import CHECKOUT

OURS = (CHECKOUT / "logic", CHECKOUT / "mobile")


def path_here() -> list[tuple[str, str]]:
    """List file and function of our frames, from the handler of the widget touched to here.

    A handler is a line of a kv file, so it is the outermost of the frames that lie there.
    """
    frame: FrameType | None = sys._getframe(1)
    found = []
    while frame:
        path = Path(frame.f_code.co_filename)
        if any(path.is_relative_to(one) for one in OURS):
            found.append((path.relative_to(CHECKOUT).as_posix(), frame.f_code.co_name))
        frame = frame.f_back
    handlers = [number for number, (name, _) in enumerate(found) if name.endswith(".kv")]
    return found[: handlers[-1] + 1][::-1]


@pytest.fixture
def step_screen(make_phone, tmp_path):
    """The walk at a reading step, on a phone."""
    job_id = open_job(tmp_path / "store")
    phone = make_phone()
    phone.app.work.open_walk(job_id).go_to("rest_start_battery_voltage")
    phone.app.navigator.show("step")
    phone.frames(3)
    return phone


def test_from_a_typed_digit_to_the_verdict_eight_functions_in_five_files_at_most(
    step_screen, monkeypatch
):
    found = []
    decide = verdict.decide

    def noted(*limits):
        found.append([*path_here(), ("logic/limits/verdict.py", "decide")])
        return decide(*limits)

    monkeypatch.setattr(verdict, "decide", noted)
    step_screen.tap("1")
    path, *again = found
    # It is told of once more for its trigger.
    assert all(other == path for other in again)
    assert path[0][0] == "mobile/ui/widgets/keypad.kv"
    assert len(path) <= 8, path
    assert len({file for file, _ in path}) <= 5, path


def test_from_next_to_the_store_six_files_at_most(step_screen):
    for key in "12.6":
        step_screen.tap(key)
    found = []

    def note(statement):
        if statement.startswith("INSERT") and "INTO event " in statement:
            found.append(path_here())

    # SQLite tells of each statement while the call that sent it is still on the stack.
    step_screen.app.work.store._db.conn.set_trace_callback(note)
    step_screen.tap("Save, next")
    path, *again = found
    # It is told of once more for its trigger.
    assert all(other == path for other in again)
    assert path[0][0] == "mobile/ui/screens/step.kv"
    assert path[-1][0].startswith("logic/records/store/")
    assert len({file for file, _ in path}) <= 6, path
