from datetime import UTC, datetime, timedelta

import pytest
from driveway import CHECKLISTS, open_job

from logic.case import Judgement
from logic.checklist import form
from logic.checklist.answers import ReadingAnswer, YesNoAnswer
from logic.records.store.store import Store
from mobile.jobs.walk import Session

LIBRARY = form.load(CHECKLISTS)


class Watch:
    def __init__(self):
        self.now = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

    def __call__(self):
        return self.now

    def pass_by(self, seconds):
        self.now += timedelta(seconds=seconds)


@pytest.fixture
def watch():
    return Watch()


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "store"


@pytest.fixture
def session(folder, watch):
    job_id = open_job(folder)
    with Store.open(folder) as store:
        yield Session(store, LIBRARY, watch, job_id)


def opened_again(folder, watch):
    return Session.resumed(Store.open(folder), LIBRARY, watch)


def test_a_new_job_begins_at_the_first_step(session):
    assert session.step.id == "job_made_safe"
    assert not session.backward()


def test_an_answer_is_in_the_store_when_the_call_returns(session, folder):
    session.answer(YesNoAnswer(yes=True))
    with Store.open(folder) as other:
        job = other.job(session.job.job_id)
    assert job.answers["job_made_safe"].answer == YesNoAnswer(yes=True)


def test_an_app_that_was_killed_opens_at_the_same_step_with_half_typed_digits(
    session, folder, watch
):
    session.answer(YesNoAnswer(yes=True))
    session.go_to("rest_start_battery_voltage")
    session.keep("value", "12.")
    again = opened_again(folder, watch)
    assert again.step.id == "rest_start_battery_voltage"
    assert again.draft("value") == "12."
    assert again.job.answers.keys() == {"job_made_safe"}


def test_what_is_half_typed_at_one_step_outlives_a_jump_to_another(session, folder, watch):
    session.go_to("rest_start_battery_voltage")
    session.keep("value", "12.")
    session.go_to_stage("solar")
    again = opened_again(folder, watch)
    assert again.step.id != "rest_start_battery_voltage"
    again.go_to("rest_start_battery_voltage")
    assert again.draft("value") == "12."


def test_a_given_answer_leaves_no_draft_behind(session):
    session.go_to("rest_start_battery_voltage")
    session.keep("value", "12.6")
    session.answer(ReadingAnswer(value=12.6, typed="12.6"))
    assert session.draft("value") == ""


def test_a_correction_keeps_the_earlier_value_in_the_history(session):
    session.go_to("rest_start_battery_voltage")
    session.answer(ReadingAnswer(value=1.26, typed="1.26"))
    session.answer(ReadingAnswer(value=12.6, typed="12.6"))
    view = session.view()
    assert view.answer == ReadingAnswer(value=12.6, typed="12.6")
    assert [entry.answer.value for entry in view.history] == [1.26]


def test_a_skipped_step_carries_its_reason_and_can_be_answered_later(session):
    session.go_to("rest_start_battery_voltage")
    session.skip("Cannot be reached")
    assert session.view().skip_reason == "Cannot be reached"
    session.answer(ReadingAnswer(value=12.6))
    view = session.view()
    assert view.skip_reason == ""
    assert [entry.reason for entry in view.history] == ["Cannot be reached"]


def test_notes_and_explanations_go_with_the_step(session):
    session.note("Post is corroded")
    session.note("Cleaned it")
    session.explain("Accepted until the new lug is here")
    view = session.view()
    assert view.notes == ("Post is corroded", "Cleaned it")
    assert view.explanation == "Accepted until the new lug is here"


def test_a_photo_can_be_the_answer_of_a_step_that_is_no_longer_in_hand(session, folder):
    session.go_to("photo_of_terminals")
    session.forward()
    sha256 = session.photo(b"\xff\xd8\xff picture", step_id="photo_of_terminals", answers=True)
    session.go_to("photo_of_terminals")
    view = session.view()
    assert view.answer.sha256 == sha256
    assert [photo.sha256 for photo in view.photos] == [sha256]
    with Store.open(folder) as other:
        assert other.photo_path(sha256).read_bytes() == b"\xff\xd8\xff picture"


def test_going_to_a_stage_takes_its_first_open_step(session):
    session.go_to_stage("key_off")
    first = session.step.id
    session.skip("Not now")
    session.go_to_stage("before_power")
    session.go_to_stage("key_off")
    assert session.stage.id == "key_off"
    assert session.step.id != first


def test_progress_counts_answers_and_skips_by_stage(session):
    session.answer(YesNoAnswer(yes=True))
    session.forward()
    session.skip("Not fitted")
    before_power = session.progress()[0]
    assert (before_power.done, before_power.skipped) == (1, 1)
    assert before_power.open == before_power.total - 2


def test_every_step_can_be_walked_forward_and_back_again(session):
    walked = [session.step.id]
    while session.forward():
        walked.append(session.step.id)
    assert walked == [step.id for step in session.steps]
    back = [session.step.id]
    while session.backward():
        back.append(session.step.id)
    assert back == walked[::-1]


def test_a_caution_is_read_in_full_the_first_time_only(session):
    assert session.reads_caution("rings_off")
    assert not session.reads_caution("rings_off")


def test_the_verdict_follows_every_key(session):
    session.go_to("idle_vehicle_feed_drop")
    assert session.typed("").premature
    assert session.typed("0.1").verdict.verdict is Judgement.IN_RANGE
    # 2 V lost in a feed of 16 mm² over 5 m is far beyond copper at 60 A (0.0172 Ω mm²/m,
    # IEC 60228: 0.3 V), whatever the joints.
    assert session.typed("2").verdict.verdict is Judgement.OUT_OF_RANGE


def test_the_meter_showing_overload_is_told_apart_from_a_number(session):
    session.go_to("idle_vehicle_feed_drop")
    typed = session.typed("OL")
    assert typed.overload
    assert typed.value is None


def test_a_wait_runs_on_while_the_app_is_closed(session, folder, watch):
    session.go_to("idle_charging_indicator")
    wait = session.step.wait_s
    assert session.wait_left() == wait
    watch.pass_by(50)
    assert opened_again(folder, watch).wait_left() == wait - 50
    watch.pass_by(wait)
    assert opened_again(folder, watch).wait_left() == 0


def test_looking_at_another_step_does_not_start_the_wait_anew(session, watch):
    session.go_to("idle_charging_indicator")
    watch.pass_by(50)
    session.forward()
    session.backward()
    assert session.wait_left() == session.step.wait_s - 50


def test_each_job_has_its_own_waits(session, folder, watch):
    session.go_to("idle_charging_indicator")
    other = Session(session._store, LIBRARY, watch, open_job(folder))
    other.go_to("fast_idle_start_battery_voltage")
    watch.pass_by(10)
    wait = session.step.wait_s
    assert (
        Session(session._store, LIBRARY, watch, session.job.job_id)._waits.left(session.step)
        == wait - 10
    )


def test_a_clock_that_was_set_back_makes_no_wait_longer(session, watch):
    session.go_to("idle_charging_indicator")
    watch.pass_by(-3600)
    assert session.wait_left() == session.step.wait_s


def test_a_wait_that_is_cut_short_is_said_in_the_record(session, watch):
    session.go_to("idle_charging_indicator")
    watch.pass_by(75)
    session.cut_wait()
    assert session.wait_left() == 0
    assert session.view().notes == ("Wait cut short: 1 min 15 s of 2 min.",)


def test_a_job_without_a_bookmark_is_not_resumed(tmp_path, watch):
    assert opened_again(tmp_path / "fresh", watch) is None
