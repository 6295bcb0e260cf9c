from datetime import UTC, datetime, timedelta

import pytest

from logic.case import Judgement, Mark
from logic.checklist import form, run
from logic.checklist.answers import ChoiceAnswer, ReadingAnswer, YesNoAnswer
from logic.checklist.depth import Depth
from logic.records.store.store import Store
from logic.vehicle.installation import Installation
from mobile.jobs import look_view
from mobile.jobs.walk import Walk
from tests.mobile.driveway import INSTALLATION, open_job
from tests.paths import CHECKLISTS

LIBRARY = form.load(CHECKLISTS)


class Watch:
    def __init__(self):
        # The job is opened by the real clock, and no event is dated before it.
        self.now = datetime.now(UTC) + timedelta(hours=1)

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
def walk(folder, watch):
    job_id = open_job(folder)
    with Store.open(folder) as store:
        yield Walk(store, LIBRARY, watch, job_id)


def opened_again(folder, watch):
    return Walk.resumed(Store.open(folder), LIBRARY, watch)


def test_a_new_job_begins_at_the_first_step(walk):
    assert walk.step.id == "job_made_safe"
    assert not walk.backward()


def test_an_answer_is_in_the_store_when_the_call_returns(walk, folder):
    walk.answer(walk.step.id, YesNoAnswer(yes=True))
    with Store.open(folder) as other:
        job = other.job(walk.job.job_id)
    assert job.answers["job_made_safe"].answer == YesNoAnswer(yes=True)


def test_what_is_in_hand_is_what_the_store_says_after_everything_that_can_be_given(walk, folder):
    walk.answer("job_made_safe", YesNoAnswer(yes=False))
    walk.answer("job_made_safe", YesNoAnswer(yes=True))
    walk.skip("rest_start_battery_voltage", "Cannot be reached")
    walk.note("job_made_safe", "Post is corroded")
    walk.explain("job_made_safe", "New lug is ordered")
    walk.photo("photo_of_terminals", b"\xff\xd8\xff picture", answers=True)
    with Store.open(folder) as other:
        assert walk.vehicle == other.vehicle(walk.vehicle_id)
        assert walk.job == other.job(walk.job_id)


def test_an_app_that_was_killed_opens_at_the_same_step_with_half_typed_digits(walk, folder, watch):
    walk.answer(walk.step.id, YesNoAnswer(yes=True))
    walk.go_to("rest_start_battery_voltage")
    walk.keep(walk.step.id, "value", "12.")
    again = opened_again(folder, watch)
    assert again.step.id == "rest_start_battery_voltage"
    assert again.draft(again.step.id, "value") == "12."
    assert again.job.answers.keys() == {"job_made_safe"}


def test_what_is_half_typed_at_one_step_outlives_a_jump_to_another(walk, folder, watch):
    walk.go_to("rest_start_battery_voltage")
    walk.keep(walk.step.id, "value", "12.")
    walk.go_to_stage("solar")
    again = opened_again(folder, watch)
    assert again.step.id != "rest_start_battery_voltage"
    again.go_to("rest_start_battery_voltage")
    assert again.draft(again.step.id, "value") == "12."


def test_a_given_answer_leaves_no_draft_behind(walk):
    walk.go_to("rest_start_battery_voltage")
    walk.keep(walk.step.id, "value", "12.6")
    walk.answer(walk.step.id, ReadingAnswer(value=12.6, typed="12.6"))
    assert walk.draft(walk.step.id, "value") == ""


def test_a_correction_keeps_the_earlier_value_in_the_history(walk):
    walk.go_to("rest_start_battery_voltage")
    walk.answer(walk.step.id, ReadingAnswer(value=1.26, typed="1.26"))
    walk.answer(walk.step.id, ReadingAnswer(value=12.6, typed="12.6"))
    view = walk.view()
    assert view.answer == ReadingAnswer(value=12.6, typed="12.6")
    assert [entry.answer.value for entry in view.history] == [1.26]


def test_a_skipped_step_carries_its_reason_and_can_be_answered_later(walk):
    walk.go_to("rest_start_battery_voltage")
    walk.skip(walk.step.id, "Cannot be reached")
    assert walk.view().skip_reason == "Cannot be reached"
    walk.answer(walk.step.id, ReadingAnswer(value=12.6))
    view = walk.view()
    assert view.skip_reason == ""
    assert [entry.reason for entry in view.history] == ["Cannot be reached"]


def test_notes_and_explanations_go_with_the_step(walk):
    walk.note(walk.step.id, "Post is corroded")
    walk.note(walk.step.id, "Cleaned it")
    walk.explain(walk.step.id, "Accepted until the new lug is here")
    view = walk.view()
    assert view.notes == ("Post is corroded", "Cleaned it")
    assert view.explanation == "Accepted until the new lug is here"


def test_a_photo_can_be_the_answer_of_a_step_that_is_no_longer_in_hand(walk, folder):
    walk.go_to("photo_of_terminals")
    walk.forward()
    sha256 = walk.photo("photo_of_terminals", b"\xff\xd8\xff picture", answers=True)
    walk.go_to("photo_of_terminals")
    view = walk.view()
    assert view.answer.sha256 == sha256
    assert [photo.sha256 for photo in view.photos] == [sha256]
    with Store.open(folder) as other:
        assert other.photo_path(sha256).read_bytes() == b"\xff\xd8\xff picture"


def test_going_to_a_stage_takes_its_first_open_step(walk):
    walk.go_to_stage("key_off")
    first = walk.step.id
    walk.skip(walk.step.id, "Not now")
    walk.go_to_stage("before_power")
    walk.go_to_stage("key_off")
    assert walk.stage.id == "key_off"
    assert walk.step.id != first


def test_progress_counts_answers_and_skips_by_stage(walk):
    walk.answer(walk.step.id, YesNoAnswer(yes=True))
    walk.forward()
    walk.skip(walk.step.id, "Not fitted")
    before_power = walk.progress()[0]
    assert (before_power.done, before_power.skipped) == (1, 1)
    assert before_power.open == before_power.total - 2


def screens(walk):
    return run.screens(walk.checklist, walk.facts)


def test_every_screen_can_be_walked_forward_and_back_again(walk):
    walked = [walk.step.id]
    while walk.forward():
        walked.append(walk.step.id)
    assert walked == [shown.steps[0].id for shown in screens(walk)]
    back = [walk.step.id]
    while walk.backward():
        back.append(walk.step.id)
    assert back == walked[::-1]


def test_a_caution_is_read_in_full_the_first_time_only(walk):
    assert walk.reads_caution("rings_off")
    assert not walk.reads_caution("rings_off")


def test_the_verdict_follows_every_key(walk):
    walk.go_to("idle_vehicle_feed_drop")
    assert walk.reading_context(walk.step.ask).typed("").premature
    assert walk.reading_context(walk.step.ask).typed("0.1").verdict.verdict is Judgement.IN_RANGE
    # 2 V lost in a feed of 16 mm² over 5 m is far beyond copper at 60 A (0.0172 Ω mm²/m,
    # IEC 60228: 0.3 V), whatever the joints.
    assert walk.reading_context(walk.step.ask).typed("2").verdict.verdict is Judgement.OUT_OF_RANGE


def test_the_meter_showing_overload_is_told_apart_from_a_number(walk):
    walk.go_to("idle_vehicle_feed_drop")
    typed = walk.reading_context(walk.step.ask).typed("OL")
    assert typed.overload
    assert typed.value is None


def test_a_wait_runs_on_while_the_app_is_closed(walk, folder, watch):
    walk.go_to("idle_start_battery_voltage")
    wait = walk.step.wait_s
    assert walk.wait_left() == wait
    watch.pass_by(50)
    assert opened_again(folder, watch).wait_left() == wait - 50
    watch.pass_by(wait)
    assert opened_again(folder, watch).wait_left() == 0


def test_looking_at_another_step_does_not_start_the_wait_anew(walk, watch):
    walk.go_to("idle_start_battery_voltage")
    watch.pass_by(50)
    walk.forward()
    walk.backward()
    assert walk.wait_left() == walk.step.wait_s - 50


def test_each_job_has_its_own_waits(walk, folder, watch):
    walk.go_to("idle_start_battery_voltage")
    other = Walk(walk._store, LIBRARY, watch, open_job(folder))
    other.go_to("unit_stops_with_engine")
    watch.pass_by(10)
    wait = walk.step.wait_s
    again = Walk(walk._store, LIBRARY, watch, walk.job.job_id)
    again.go_to(walk.step.id)
    assert again.wait_left() == wait - 10


def test_a_clock_that_was_set_back_makes_no_wait_longer(walk, watch):
    walk.go_to("idle_start_battery_voltage")
    watch.pass_by(-3600)
    assert walk.wait_left() == walk.step.wait_s


def test_a_wait_that_is_cut_short_is_said_in_the_record(walk, watch):
    walk.go_to("idle_start_battery_voltage")
    watch.pass_by(75)
    walk.cut_wait()
    assert walk.wait_left() == 0
    assert walk.view().notes == ("Wait cut short: 1 min 15 s of 2 min.",)


def test_a_wait_runs_from_the_event_that_begins_it_and_not_from_its_screen(walk, folder, watch):
    walk.answer("engine_started", YesNoAnswer(yes=True))
    watch.pass_by(45)
    walk.go_to("idle_ignition_signal_voltage")
    watch.pass_by(45)
    walk.go_to("idle_start_battery_voltage")
    assert walk.wait_left() == 120 - 90
    assert walk.wait_words() == "Runs since: Start the engine"
    # A fresh phone with the same records: nothing but the event is needed.
    walk._store.set_setting("waits", {})
    assert opened_again(folder, watch).wait_left() == 120 - 90


def test_a_wait_that_was_kept_with_other_work_is_never_said_to_be_cut(walk, watch):
    walk.answer("job_made_safe", YesNoAnswer(yes=True))
    watch.pass_by(720)
    walk.go_to("rest_charger_input_voltage")
    assert walk.wait_left() == 0
    walk.cut_wait()
    walk.say_waited()
    assert walk.view().notes == ()


def test_a_wait_kept_before_the_job_is_said_as_the_technicians_word(walk):
    walk.answer("job_made_safe", YesNoAnswer(yes=True))
    walk.go_to("rest_charger_input_voltage")
    walk.say_waited()
    assert walk.wait_left() == 0
    assert walk.view().notes == ("Waited before, as the technician says: 5 min or more.",)


def test_saying_yes_once_more_begins_no_wait_anew_but_starting_again_does(walk, watch):
    walk.answer("engine_started", YesNoAnswer(yes=True))
    watch.pass_by(100)
    walk.answer("engine_started", YesNoAnswer(yes=True))
    walk.go_to("idle_start_battery_voltage")
    assert walk.wait_left() == 20
    walk.cut_wait()
    watch.pass_by(100)
    walk.answer("engine_started", YesNoAnswer(yes=False))
    walk.answer("engine_started", YesNoAnswer(yes=True))
    assert walk.wait_left() == 120


# Looking at several things at once


def test_one_tap_answers_all_that_is_looked_at_each_with_an_answer_of_its_own(walk):
    walk.go_to("cables_held_and_lined")
    look = walk.look
    assert [step.id for step in look.steps] == [
        "cables_held_and_lined",
        "clear_of_heat_fuel_movement",
    ]
    shown = look_view.lines(walk, look)
    walk.put_in_order(look_view.to_put_in_order(walk, shown))
    for step in look.steps:
        assert walk.job.answers[step.id].answer == YesNoAnswer(yes=True)
    assert look_view.still_open(walk, shown) == ()


def test_an_exception_is_answered_by_itself_and_the_tap_for_the_others_leaves_it(walk):
    walk.go_to("cables_held_and_lined")
    walk.take_out("clear_of_heat_fuel_movement")
    assert walk.look is None
    walk.answer("clear_of_heat_fuel_movement", YesNoAnswer(yes=False))
    assert walk.put_back()
    shown = look_view.lines(walk, walk.look)
    walk.put_in_order(look_view.to_put_in_order(walk, shown))
    assert walk.job.answers["clear_of_heat_fuel_movement"].answer == YesNoAnswer(yes=False)
    assert walk.job.answers["cables_held_and_lined"].answer == YesNoAnswer(yes=True)


# A 20 A fuse for 40 A out fails by any rule of sizing.
def test_what_fails_by_design_comes_first_and_is_never_answered_with_the_others(folder, watch):
    thin = INSTALLATION.model_dump(mode="json")
    thin["runs"]["vehicle_feed"]["fuse_a"] = 20
    job_id = open_job(folder, Installation.model_validate(thin))
    with Store.open(folder) as store:
        walk = Walk(store, LIBRARY, watch, job_id)
        walk.go_to("cable_sizes_checked")
        shown = look_view.lines(walk, walk.look)
        assert shown[0].step.id == "fuses_sized_and_placed"
        assert "20 A" in shown[0].second
        walk.put_in_order(look_view.to_put_in_order(walk, shown))
        assert [step.id for step in look_view.still_open(walk, shown)] == ["fuses_sized_and_placed"]


# How much is asked for


def standard_walk(folder, watch):
    job_id = open_job(folder, depth=Depth.STANDARD)
    return Walk(Store.open(folder), LIBRARY, watch, job_id)


def ids(walk):
    return {step.id for step in walk.steps}


def test_a_job_of_an_earlier_release_still_asks_for_everything(walk):
    assert walk.job.depth is Depth.FULL
    assert {"fast_idle_output_current", "vehicle_asleep"} <= ids(walk)


def test_a_drop_out_of_range_brings_in_what_narrows_it_down_there_and_then(tmp_path, watch):
    walk = standard_walk(tmp_path / "standard", watch)
    narrowing = {"idle_charger_input_voltage", "joints_stay_cool"}
    assert not narrowing & ids(walk)
    typed(walk, watch, "idle_input_current", 40.0)
    # 2 V lost in 5 m of 16 mm2 at 40 A: copper alone loses 0.2 V (IEC 60228).
    typed(walk, watch, "idle_vehicle_feed_drop", 2.0)
    assert narrowing <= ids(walk)
    walk.go_to("idle_vehicle_feed_drop")
    assert walk.forward()
    assert walk.step.id == "idle_charger_input_voltage"
    # Put right, it is asked for no more; but what was read of it stays in the record.
    typed(walk, watch, "idle_charger_input_voltage", 12.0)
    typed(walk, watch, "idle_vehicle_feed_drop", 0.2)
    assert "joints_stay_cool" not in ids(walk)
    assert "idle_charger_input_voltage" in ids(walk)


def test_fast_idle_is_asked_for_only_where_the_unit_gives_too_little(tmp_path, watch):
    walk = standard_walk(tmp_path / "standard", watch)
    fast = "fast_idle_output_current"
    typed(walk, watch, "idle_charger_output_voltage", 13.6)
    typed(walk, watch, "idle_output_current", 40.0)
    assert not {fast, "house_battery_loaded"} & ids(walk)
    typed(walk, watch, "idle_output_current", 12.0)
    assert {fast, "house_battery_loaded"} <= ids(walk)
    # A sound unit answers the load: then there is nothing to look for at speed.
    walk.answer("house_battery_loaded", ChoiceAnswer(choice="rises_by_load"))
    assert fast not in ids(walk)
    walk.answer("house_battery_loaded", ChoiceAnswer(choice="stays_low"))
    assert fast in ids(walk)
    walk.go_to("house_battery_loaded")
    assert walk.view().is_exception


def test_at_the_absorption_voltage_a_small_current_needs_no_load(tmp_path, watch):
    walk = standard_walk(tmp_path / "standard", watch)
    typed(walk, watch, "idle_charger_output_voltage", 14.4)
    typed(walk, watch, "idle_output_current", 6.0)
    assert not {"house_battery_loaded", "fast_idle_output_current"} & ids(walk)


def test_the_load_current_is_asked_for_only_when_loads_are_on(tmp_path, watch):
    walk = standard_walk(tmp_path / "standard", watch)
    assert "idle_house_load_current" not in ids(walk)
    walk.answer("house_loads", ChoiceAnswer(choice="nothing_on"))
    assert "idle_house_load_current" not in ids(walk)
    walk.answer("house_loads", ChoiceAnswer(choice="something_on"))
    assert "idle_house_load_current" in ids(walk)


# Kirchhoff's voltage law: 13.90 - 0.21 - 0.12 = 13.57.
def test_a_voltage_that_follows_is_shown_and_is_no_reading(tmp_path, watch):
    walk = standard_walk(tmp_path / "standard", watch)
    for step_id, value in (
        ("idle_start_battery_voltage", 13.90),
        ("idle_vehicle_feed_drop", 0.21),
        ("idle_vehicle_return_drop", 0.12),
    ):
        typed(walk, watch, step_id, value)
    walk.go_to("idle_vehicle_feed_drop")
    assert [words.split(": ")[1] for words in walk.view().follows] == ["13.57 V"]
    assert len(walk.readings) == 3
    walk.go_to("idle_charger_input_voltage")
    typed(walk, watch, "idle_charger_input_voltage", 13.55)
    assert walk.view().follows == ()


def test_a_job_without_a_bookmark_is_not_resumed(tmp_path, watch):
    assert opened_again(tmp_path / "fresh", watch) is None


def typed(walk, watch, step_id, value):
    watch.pass_by(30)
    walk.answer(step_id, ReadingAnswer(value=value, typed=str(value)))


def shown(walk, step_id):
    walk.go_to(step_id)
    return walk.view().verdict


def test_a_value_keeps_the_limits_that_were_shown_when_it_was_typed(walk, watch):
    typed(walk, watch, "idle_start_battery_voltage", 14.1)
    typed(walk, watch, "idle_output_current", 12.0)
    before = shown(walk, "idle_output_current")
    # At the profile's voltage a smaller current would be right: that was not known then.
    typed(walk, watch, "idle_house_battery_voltage", 14.4)
    assert shown(walk, "idle_output_current") == before
    assert walk.reading_context(walk.step.ask).typed("12").verdict == before
    # Typed anew, it is held against what is known by then.
    typed(walk, watch, "idle_output_current", 12.1)
    assert shown(walk, "idle_output_current").expected_low != before.expected_low


def test_a_drop_that_proved_nothing_is_judged_once_its_current_is_read(walk, watch):
    typed(walk, watch, "idle_vehicle_feed_drop", 0.12)
    assert shown(walk, "idle_vehicle_feed_drop").mark is Mark.PROVES_NOTHING
    typed(walk, watch, "idle_input_current", 40.0)
    assert shown(walk, "idle_vehicle_feed_drop").mark is Mark.IN_RANGE


def test_a_corrected_reading_counts_as_corrected_for_those_after_it(walk, watch):
    typed(walk, watch, "idle_input_current", 4.0)
    typed(walk, watch, "idle_vehicle_feed_drop", 0.12)
    assert shown(walk, "idle_vehicle_feed_drop").mark is Mark.OUT_OF_RANGE
    typed(walk, watch, "idle_input_current", 40.0)
    assert shown(walk, "idle_vehicle_feed_drop").mark is Mark.IN_RANGE
