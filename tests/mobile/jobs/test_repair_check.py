"""The check of a repair in words: what was hidden, and what cannot be reached, is told apart."""

from datetime import UTC, datetime

import pytest

from logic.records.store.store import Store
from logic.vehicle.points import ReadingKey
from mobile.jobs import job_start, repair_check
from mobile.jobs.callback import Callback
from tests.diagnoses import HOUSE_DROP, OUTPUT, hiding
from tests.logic.records.sample_records import judged
from tests.mobile.callback_scene import describe, described, library

LIBRARY = library()
NOW = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)


@pytest.fixture
def callback(tmp_path):
    vehicle_id = describe(tmp_path / "store", described())
    with Store.open(tmp_path / "store") as store:
        job_id = job_start.begin_callback(store, LIBRARY, vehicle_id, NOW)
        made = Callback(
            store, LIBRARY, lambda: NOW, job_id, diagnose=lambda case: hiding("vehicle_fuse_open")
        )
        made.ask()
        made.conclude(("vehicle_fuse_open",), "Fuse", "Renewed", "wiring")
        yield made


def take(callback, value, key):
    callback.enter(*key)
    callback.take(value, str(value))


def line(callback, key):
    return next(row for row in repair_check.lines(callback) if row.key == key)


def test_what_was_hidden_is_among_the_checks(callback):
    row = line(callback, HOUSE_DROP)
    assert row.is_check
    assert row.was_hidden
    assert not any(one.was_hidden for one in repair_check.lines(callback) if one.key != HOUSE_DROP)


def test_what_was_hidden_and_is_out_of_range_is_not_said_to_be_so_still(callback):
    take(callback, 1.9, HOUSE_DROP)
    words, sign = repair_check.standing((line(callback, HOUSE_DROP),))
    assert sign == "out_of_range"
    assert "Drop in the house feed, engine idling was hidden and is out of range" in words
    assert "still" not in words


def test_a_check_that_cannot_be_reached_says_so_on_its_line(callback):
    callback.cannot_reach(*HOUSE_DROP)
    assert "cannot be reached" in line(callback, HOUSE_DROP).words


def test_what_cannot_be_reached_is_not_waited_for_and_not_called_proved():
    taken = judged("vehicle_feed_drop", "idle", 0.1, (None, 0.3))
    done = repair_check.CheckLine(taken.key, True, "now 0.100 V", taken)
    beyond = repair_check.CheckLine(ReadingKey(*HOUSE_DROP), True, "", is_beyond_reach=True)
    waiting = repair_check.CheckLine(ReadingKey(*OUTPUT), True, "")
    words, sign = repair_check.standing((done, beyond, waiting))
    assert words == "Not proved yet: 1 of 3 still to be taken."
    words, sign = repair_check.standing((done, beyond))
    assert (words, sign) == ("Not all proved: 1 of 2 cannot be reached.", "question")
    assert repair_check.standing((done,))[1] == "in_range"


def test_taken_all_the_same_it_counts_as_any_other_check(callback):
    callback.cannot_reach(*HOUSE_DROP)
    take(callback, 0.02, HOUSE_DROP)
    row = line(callback, HOUSE_DROP)
    assert not row.is_beyond_reach
    assert row.verdict is not None
