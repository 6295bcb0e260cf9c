"""The process is killed with SIGKILL, as a phone without power or memory does it."""

import subprocess
import sys

import pytest

from logic.checklist import form
from logic.checklist.answers import ReadingAnswer
from logic.records.store.store import Store
from mobile.jobs.walk import Walk
from mobile.jobs.workplace import system_clock
from tests.mobile.driveway import open_job
from tests.paths import CHECKLISTS, CHECKOUT

STEP = "rest_start_battery_voltage"


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "store"
    job_id = open_job(folder)
    with Store.open(folder) as store:
        Walk(store, form.load(CHECKLISTS), system_clock, job_id).go_to(STEP)
    return folder


def played_and_killed(folder, *keys):
    """Run the app, tap the keys, kill it right after the last; return where it had opened."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.mobile.ui.walk_in_a_process", str(folder), *keys],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        cwd=CHECKOUT,
    )
    try:
        start = process.stdout.readline().strip()
        done = [process.stdout.readline().strip() for _ in keys]
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
    assert done == [f"did {key}" for key in keys]
    return start


def test_a_killed_app_opens_at_the_same_step_with_every_digit_and_answer(folder):
    assert played_and_killed(folder, "1", "2", ".") == f"at step {STEP} ''"
    assert played_and_killed(folder, "6", "next", "1", "3") == f"at step {STEP} '12.'"
    with Store.open(folder) as store:
        place = store.bookmark()
        [row] = store.find_vehicles()
        answers = store.job(row.open_job).answers
    assert answers[STEP].answer == ReadingAnswer(value=12.6, typed="12.6")
    assert played_and_killed(folder) == f"at step {place.step_id} '13'"
    assert place.step_id != STEP
