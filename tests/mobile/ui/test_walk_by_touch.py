"""The walk, driven by a finger on the glass."""

from datetime import UTC, datetime, timedelta

import pytest
from kivy.clock import Clock
from kivy.metrics import dp

from logic.checklist.answers import ChoiceAnswer, ReadingAnswer, TextAnswer, YesNoAnswer
from logic.vehicle.installation import Installation
from mobile.ui import toolkit
from tests.mobile.driveway import INSTALLATION, open_job
from tests.mobile.ui.legibility import small_targets
from tests.mobile.ui.looks import Look

PLAIN = Look()


@pytest.fixture
def walk(make_phone, tmp_path):
    open_job(tmp_path / "store")
    return Walk(make_phone)


class Walk:
    """A phone at the walk, with the words for what a technician does there."""

    def __init__(self, make_phone, look=PLAIN):
        self.finger = make_phone(look)
        self.work = self.finger.app.work
        row = self.work.store.find_vehicles()[0]
        self.in_hand = self.work.open_walk(row.open_job)
        self.screen = self.finger.app.navigator.show("step")
        self.finger.frames(3)

    def at(self, step_id):
        self.in_hand.go_to(step_id)
        self.screen.refresh()
        self.finger.frames(3)

    def take_out(self, step_id):
        self.in_hand.take_out(step_id)
        self.screen.refresh()
        self.finger.frames(3)

    def key(self, *keys):
        for key in keys:
            self.finger.tap("−" if key == "-" else key)

    def erase(self, times=1):
        for _ in range(times):
            self.finger.tap(self.finger.find("erase"))

    def next(self):
        self.finger.tap(self.screen.ids.next)

    def more(self, words):
        self.finger.tap(self.screen.ids.more)
        self.finger.tap(words)

    @property
    def second(self):
        return self.in_hand.steps[1].id

    @property
    def remark(self):
        return self.screen.panel.widget.ids.remark.text

    def answer(self, step_id):
        entry = self.in_hand.job.answers.get(step_id)
        return entry.answer if entry else None

    def stored(self, step_id):
        job = self.work.store.job(self.in_hand.job.job_id)
        return job.answers[step_id].answer if step_id in job.answers else None

    def swipe(self, left):
        wide, high = self.finger.app.root_window.size
        start, end = (0.85, 0.15) if left else (0.15, 0.85)
        self.finger.swipe((wide * start, high * 0.72), (wide * end, high * 0.7))


# Answers of every kind


def test_yes_is_one_tap_and_leads_on(walk):
    walk.finger.tap("Yes")
    assert walk.stored("job_made_safe") == YesNoAnswer(yes=True)
    assert walk.in_hand.step.id == walk.second


def test_an_answer_that_is_not_in_order_stays_for_a_second_look(walk):
    walk.finger.tap("No")
    assert walk.stored("job_made_safe") == YesNoAnswer(yes=False)
    assert walk.in_hand.step.id == "job_made_safe"
    assert walk.finger.sees("Not in order")


def test_a_reading_is_typed_judged_and_saved_as_the_screen_moves_on(walk):
    walk.at("rest_start_battery_voltage")
    walk.key("1", "2", ".", "7")
    assert walk.remark.startswith("In range")
    assert walk.stored("rest_start_battery_voltage") is None
    walk.next()
    assert walk.stored("rest_start_battery_voltage") == ReadingAnswer(value=12.7, typed="12.7")
    assert walk.in_hand.step.id != "rest_start_battery_voltage"


def test_the_verdict_changes_with_the_key_that_completes_the_number(walk):
    walk.at("idle_vehicle_feed_drop")
    walk.key("0", ".", "1")
    # Right, but its current was not read.
    assert walk.remark.startswith("Proves nothing yet. Read the input current first")
    walk.erase()
    walk.key("9")
    assert walk.remark.startswith("Out of range")
    assert "mΩ" in walk.remark or "V" in walk.remark


def test_what_the_unit_shows_is_asked_as_yes_or_no_and_kept_as_a_reading(walk):
    walk.at("idle_fault_indicator")
    assert walk.finger.sees("Does the unit show a fault?")
    walk.finger.tap("No")
    assert walk.stored("idle_fault_indicator") == ReadingAnswer(value=0, typed="no")
    assert walk.in_hand.step.id != "idle_fault_indicator"


def test_a_choice_is_one_tap(walk):
    walk.at("ignition_source")
    choices = walk.in_hand.step.ask.choices
    good = next(choice for choice in choices if choice.acceptable)
    walk.finger.tap(good.text)
    assert walk.stored("ignition_source") == ChoiceAnswer(choice=good.id)
    assert walk.in_hand.step.id != "ignition_source"


def test_a_text_is_typed_and_saved_by_next(make_phone, tmp_path):
    open_job(tmp_path / "store", checklist_id="fault_finding")
    walk = Walk(make_phone)
    step = next(step for step in walk.in_hand.steps if step.ask.kind == "text")
    walk.at(step.id)
    walk.finger.tap(walk.screen.panel.widget.ids.field.ids.input)
    walk.finger.type("Link wire to AGM 2")
    walk.next()
    assert walk.stored(step.id) == TextAnswer(text="Link wire to AGM 2")


def test_a_photo_is_brought_in_from_a_file_on_the_desk(walk, tmp_path):
    from PIL import Image

    Image.new("RGB", (2400, 1200), "orange").save(tmp_path / "terminals.png")
    walk.at("photo_of_terminals")
    walk.finger.tap("Take the photo")
    sheet = walk.finger.app.root_window.children[0]
    sheet.folder = str(tmp_path)
    walk.finger.tap("terminals.png")
    answer = walk.finger.until(lambda: walk.answer("photo_of_terminals"))
    with Image.open(walk.work.store.photo_path(answer.sha256)) as kept:
        assert kept.size == (1600, 800)
        assert kept.format == "JPEG"


def test_a_file_without_a_picture_is_refused_in_words(walk, tmp_path):
    (tmp_path / "terminals.jpg").write_text("no picture")
    walk.at("photo_of_terminals")
    walk.finger.tap("Take the photo")
    walk.finger.app.root_window.children[0].folder = str(tmp_path)
    walk.finger.tap("terminals.jpg")
    walk.finger.until(lambda: walk.finger.sees("There is no picture in this file"))
    assert walk.answer("photo_of_terminals") is None


@pytest.fixture
def slow_machine(monkeypatch):
    # The second tap comes within the time of a bounce even where a frame takes long.
    monkeypatch.setattr("mobile.ui.navigation._BOUNCE", 10.0)


def test_a_glove_that_bounces_answers_one_step_only(walk, slow_machine):
    walk.finger.double_tap(walk.finger.find("Yes"))
    assert walk.in_hand.step.id == walk.second
    assert walk.answer(walk.second) is None


def test_a_glove_that_bounces_does_not_skip_the_cautions_of_a_stage(walk, slow_machine):
    of_first = walk.in_hand.progress()[0].total
    walk.at(walk.in_hand.steps[of_first - 1].id)
    walk.finger.double_tap(walk.screen.ids.next)
    assert walk.finger.app.navigator.current == "stage"


def test_two_taps_that_are_meant_answer_two_steps(walk):
    walk.finger.tap("Yes")
    walk.finger.tap("Yes")
    assert walk.stored(walk.second) == YesNoAnswer(yes=True)


# Bad input


@pytest.mark.parametrize("keys", [("-",), ("1", ".", "2", "."), ("1", "4", "0", "0", "0")])
def test_what_is_no_reading_stays_with_a_message_beside_it(walk, keys):
    walk.at("rest_start_battery_voltage")
    walk.key(*keys)
    walk.next()
    assert walk.in_hand.step.id == "rest_start_battery_voltage"
    assert walk.stored("rest_start_battery_voltage") is None
    assert walk.screen.panel.widget.text == "".join(keys)
    assert walk.remark
    assert not walk.remark.startswith("Expected")


def test_a_lone_minus_is_not_complained_about_before_next(walk):
    walk.at("rest_start_battery_voltage")
    walk.key("-")
    assert walk.remark.startswith("Expected")


def test_millivolts_are_asked_about_and_yes_takes_them(walk):
    walk.at("idle_vehicle_feed_drop")
    walk.key("2", "5", "0")
    assert "250 mV" in walk.remark
    walk.finger.tap("Yes, 250 mV")
    walk.next()
    assert walk.stored("idle_vehicle_feed_drop").value == pytest.approx(0.25)


def test_millivolts_are_asked_about_and_no_lets_type_again(walk):
    walk.at("idle_vehicle_feed_drop")
    walk.key("2", "5", "0")
    walk.finger.tap("No, type again")
    assert walk.screen.panel.widget.text == ""
    walk.key("0", ".", "2")
    walk.next()
    assert walk.stored("idle_vehicle_feed_drop").value == pytest.approx(0.2)


def test_overload_leaves_the_step_out_with_that_reason(walk):
    walk.at("idle_input_current")
    walk.key("OL")
    walk.finger.tap("Leave out: OL")
    assert "OL" in walk.in_hand.job.skipped["idle_input_current"].reason
    assert walk.in_hand.step.id != "idle_input_current"


def test_on_the_desk_a_reading_can_be_typed_on_the_keyboard(walk):
    from kivy.core.window import Window

    walk.at("rest_start_battery_voltage")
    for code, text in [(49, "1"), (50, "2"), (44, ","), (54, "6"), (8, ""), (55, "7"), (13, "")]:
        Window.dispatch("on_key_down", code, 0, text, [])
        walk.finger.frames(1)
    assert walk.stored("rest_start_battery_voltage").value == 12.7


# Moving


def test_next_without_an_answer_leaves_the_step_open(walk):
    walk.next()
    assert walk.in_hand.step.id == walk.second
    assert walk.stored("job_made_safe") is None


def test_a_swipe_goes_on_and_a_swipe_goes_back(walk):
    walk.swipe(left=True)
    assert walk.in_hand.step.id == walk.second
    walk.swipe(left=False)
    assert walk.in_hand.step.id == "job_made_safe"


def test_a_swipe_saves_what_is_typed_as_next_does(walk):
    walk.at("rest_start_battery_voltage")
    walk.key("1", "2", ".", "6")
    walk.swipe(left=True)
    assert walk.stored("rest_start_battery_voltage").value == 12.6


def test_scrolling_does_not_turn_the_page(walk):
    wide, high = walk.finger.app.root_window.size
    walk.finger.swipe((wide * 0.5, high * 0.6), (wide * 0.55, high * 0.9))
    assert walk.in_hand.step.id == "job_made_safe"


def test_half_typed_digits_are_still_there_after_going_back_and_forth(walk):
    walk.at("rest_start_battery_voltage")
    walk.key("1", "2", ".")
    walk.finger.tap(walk.screen.ids.back)
    walk.at("rest_start_battery_voltage")
    assert walk.screen.panel.widget.text == "12."


def test_a_stage_is_entered_through_its_cautions(walk):
    last = [s for s in walk.in_hand.steps if walk.in_hand.checklist.stage_of[s.id].id ==
            "before_power"][-1]  # fmt: skip
    walk.at(last.id)
    walk.next()
    assert walk.finger.app.navigator.current == "stage"
    assert walk.in_hand.stage.id == "key_off"
    walk.finger.tap("Begin")
    assert walk.finger.app.navigator.current == "step"
    assert walk.screen.title == walk.in_hand.step.title


def test_a_caution_in_full_ends_its_title_as_a_sentence(walk):
    walk.at("job_made_safe")
    orange = next(one for one in walk.in_hand.view().cautions if ":" in one.title)
    walk.finger.tap(f"{orange.title}. Tap to read.")
    assert walk.finger.sees(f"{orange.title}. {orange.text}")


def test_a_stage_can_be_swiped_into_and_out_of(walk):
    walk.at("fuses_fitted")
    last = walk.in_hand.steps[walk.in_hand.steps.index(walk.in_hand.step)]
    walk.swipe(left=True)
    assert walk.finger.app.navigator.current == "stage"
    walk.swipe(left=False)
    assert walk.finger.app.navigator.current == "step"
    assert walk.in_hand.step == last
    walk.swipe(left=True)
    walk.swipe(left=True)
    assert walk.finger.app.navigator.current == "step"
    assert walk.in_hand.stage.id == "key_off"


def test_every_stage_can_be_jumped_to(walk):
    walk.more("Jump to a stage")
    [row] = [w for w in walk.finger.shown() if getattr(w, "text", "").endswith("Solar")][-1:]
    walk.finger.tap(row)
    assert walk.in_hand.stage.id == "solar"


def test_the_last_step_leads_to_the_review(walk):
    walk.at(walk.in_hand.steps[-1].id)
    walk.next()
    assert walk.finger.app.navigator.current == "review"


def test_the_back_key_leaves_the_walk_and_keeps_the_place(walk):
    walk.at("rest_start_battery_voltage")
    walk.finger.press_back()
    assert walk.finger.app.navigator.current != "step"
    assert walk.work.store.bookmark().step_id == "rest_start_battery_voltage"


# Skip, note, explanation, correction


def test_a_step_is_left_out_with_a_ready_reason_in_one_tap(walk):
    walk.more("Leave out")
    walk.finger.tap("Not fitted")
    assert walk.in_hand.job.skipped["job_made_safe"].reason == "Not fitted"
    assert walk.in_hand.step.id == walk.second


def test_a_step_is_not_left_out_without_a_reason(walk):
    walk.more("Leave out")
    walk.finger.tap("Leave it out")
    assert walk.finger.sees("only be left out with a reason")
    assert "job_made_safe" not in walk.in_hand.job.skipped


def test_a_reason_can_be_written(walk):
    walk.more("Leave out")
    sheet = walk.finger.app.root_window.children[0]
    walk.finger.tap(sheet.ids.field.ids.input)
    walk.finger.type("Bonnet latch is broken")
    walk.finger.tap("Leave it out")
    assert walk.in_hand.job.skipped["job_made_safe"].reason == "Bonnet latch is broken"


def test_a_note_is_kept_even_when_its_sheet_is_closed_unsaved(walk):
    walk.more("Note")
    sheet = walk.finger.app.root_window.children[0]
    walk.finger.tap(sheet.ids.field.ids.input)
    walk.finger.type("Post is green")
    walk.finger.tap("Close")
    assert walk.in_hand.job.notes == {}
    walk.more("Note")
    walk.finger.tap("Save the note")
    assert walk.in_hand.job.notes == {"job_made_safe": ("Post is green",)}
    assert walk.finger.sees("Post is green")


def test_what_is_out_of_range_can_be_explained_on_the_spot(walk):
    walk.at("idle_vehicle_feed_drop")
    walk.key("0", ".", "9")
    walk.next()
    walk.at("idle_vehicle_feed_drop")
    walk.more("Say why it may stand")
    sheet = walk.finger.app.root_window.children[0]
    walk.finger.tap(sheet.ids.field.ids.input)
    walk.finger.type("New cable is ordered")
    walk.finger.tap("Save the explanation")
    assert walk.in_hand.job.explanations == {"idle_vehicle_feed_drop": "New cable is ordered"}


def test_what_is_in_order_needs_no_explanation(walk):
    walk.finger.tap(walk.screen.ids.more)
    assert walk.finger.find("Say why it may stand").disabled


def test_a_correction_starts_with_its_first_key_and_keeps_the_earlier_value(walk):
    walk.at("rest_start_battery_voltage")
    walk.key("1", ".", "2", "6")
    walk.next()
    walk.at("rest_start_battery_voltage")
    walk.key("1", "2", ".", "6")
    assert walk.screen.panel.widget.text == "12.6"
    walk.next()
    walk.at("rest_start_battery_voltage")
    assert walk.answer("rest_start_battery_voltage").value == 12.6
    assert walk.finger.sees("1.26 V")


# Waiting


def test_a_step_that_must_wait_counts_down_and_can_be_cut_short(make_phone, tmp_path):
    begun = datetime(2026, 3, 2, tzinfo=UTC)
    open_job(tmp_path / "store")
    walk = Walk(lambda look: make_phone(look, clock=lambda: begun + timedelta(0, Clock.time())))
    walk.at("idle_start_battery_voltage")
    walk.finger.until(lambda: walk.screen.panel.widget.left == "1:59", timeout=4)
    walk.finger.tap("Go on now (the record will say so)")
    walk.key("1", "3", ".", "4")
    walk.next()
    assert walk.stored("idle_start_battery_voltage").value == 13.4
    [note] = walk.in_hand.job.notes["idle_start_battery_voltage"]
    assert note.startswith("Wait cut short")


def test_a_wait_that_is_over_gives_way_to_the_answer(make_phone, tmp_path):
    now = [datetime(2026, 3, 2, tzinfo=UTC)]
    open_job(tmp_path / "store")
    walk = Walk(lambda look: make_phone(look, clock=lambda: now[0]))
    walk.at("idle_start_battery_voltage")
    assert walk.finger.sees("the unit's start delay")
    now[0] += timedelta(seconds=walk.in_hand.step.wait_s)
    walk.finger.until(lambda: walk.screen.panel.widget.__class__.__name__ == "ReadingPanel")


# Hands and eyes


@pytest.mark.parametrize("screen", [toolkit.SMALL_PHONE, toolkit.LARGE_PHONE])
@pytest.mark.parametrize(
    "step_id",
    ["job_made_safe", "ignition_source", "rest_start_battery_voltage", "photo_of_terminals"],
)
def test_everything_to_tap_in_the_walk_is_large_enough_for_a_glove(
    make_phone, tmp_path, screen, step_id
):
    open_job(tmp_path / "store")
    walk = Walk(make_phone, Look(screen))
    walk.at(step_id)
    assert small_targets(dp(56)) == []
    walk.finger.tap(walk.screen.ids.more)
    assert small_targets(dp(56)) == []


def test_what_is_done_next_is_in_the_lower_half(walk):
    walk.at("rest_start_battery_voltage")
    half = walk.finger.app.root_window.height / 2
    keys = [w for w in walk.finger.shown() if type(w).__name__ == "Key"]
    for widget in (*keys, walk.screen.ids.next, walk.screen.ids.more, walk.screen.ids.back):
        assert widget.to_window(*widget.center)[1] < half


# What a question is about


def test_a_question_that_compares_shows_the_set_ups_figures_and_their_checks(walk):
    walk.take_out("unit_suits_battery_and_alternator")
    fitted = walk.in_hand.installation
    for head in (
        "Charger, as set up",
        "House battery, as set up",
        "Alternator or DC-DC supply, as set up",
    ):
        assert walk.finger.sees(head)
    assert walk.finger.sees(f"{fitted.charger.rated_output_current_a:g} A")
    assert walk.finger.sees("Current the alternator can spare: ")


def test_a_question_about_a_part_shows_the_circuit_with_that_part_lit(walk):
    walk.take_out("terminations_pulled")
    [circuit] = [w for w in walk.finger.shown() if type(w).__name__ == "CircuitView"]
    assert circuit.picture.lit == frozenset(walk.in_hand.step.proves)
    assert "vehicle_feed" in circuit.picture.lit


def test_a_remark_that_comes_moves_no_answer(walk):
    walk.take_out("terminations_pulled")
    before = walk.finger.find("Yes").to_window(0, 0)
    walk.finger.tap("No")
    walk.finger.frames(3)
    assert walk.finger.sees("Not in order")
    assert walk.finger.find("Yes").to_window(0, 0) == before


# Looking at several things at once


def test_one_tap_says_that_all_is_in_order_and_leads_on(walk):
    walk.at("cables_held_and_lined")
    assert walk.finger.sees("Where the cables run")
    walk.finger.tap("All in order")
    for step_id in ("cables_held_and_lined", "clear_of_heat_fuel_movement"):
        assert walk.stored(step_id) == YesNoAnswer(yes=True)
    assert walk.in_hand.step.id == "mounted_with_air"


def test_a_line_leads_to_its_own_page_and_back_to_the_list(walk):
    walk.at("cables_held_and_lined")
    question = walk.in_hand.checklist.by_id["clear_of_heat_fuel_movement"].ask.question
    walk.finger.tap(question)
    assert walk.finger.sees("Insulation softens near an exhaust")
    walk.finger.tap("No")
    assert walk.finger.sees("Not in order")
    walk.next()
    assert walk.finger.sees("Where the cables run")
    walk.finger.tap("The others are in order")
    assert walk.stored("clear_of_heat_fuel_movement") == YesNoAnswer(yes=False)
    assert walk.stored("cables_held_and_lined") == YesNoAnswer(yes=True)
    assert walk.in_hand.step.id == "mounted_with_air"


def test_a_whole_look_is_left_out_for_one_reason(walk):
    walk.at("cables_held_and_lined")
    walk.more("Leave out")
    walk.finger.tap("Cannot be reached")
    for step_id in ("cables_held_and_lined", "clear_of_heat_fuel_movement"):
        assert walk.in_hand.job.skipped[step_id].reason == "Cannot be reached"


def test_what_fails_by_design_stands_first_and_is_left_to_a_tap_of_its_own(make_phone, tmp_path):
    thin = INSTALLATION.model_dump(mode="json")
    thin["runs"]["vehicle_feed"]["fuse_a"] = 20
    open_job(tmp_path / "store", Installation.model_validate(thin))
    walk = Walk(make_phone)
    walk.at("cable_sizes_checked")
    walk.finger.tap("The others are in order")
    assert walk.stored("cable_sizes_checked") == YesNoAnswer(yes=True)
    assert walk.stored("fuses_sized_and_placed") is None
    assert walk.finger.sees("What fails its design check is answered by itself: tap it.")


def test_a_wait_says_since_when_it_runs_and_takes_the_word_that_it_was_kept(walk):
    walk.in_hand.answer("engine_started", YesNoAnswer(yes=True))
    walk.at("idle_start_battery_voltage")
    assert walk.finger.sees("Runs since: Start the engine")
    walk.finger.tap("It has waited that long already")
    [note] = walk.in_hand.job.notes["idle_start_battery_voltage"]
    assert note == "Waited before, as the technician says: 2 min or more."


def test_a_voltage_that_follows_is_shown_where_the_next_one_is_read(walk):
    for step_id, value in (
        ("idle_charger_output_voltage", 13.90),
        ("idle_house_feed_drop", 0.21),
        ("idle_house_return_drop", 0.12),
    ):
        walk.in_hand.answer(step_id, ReadingAnswer(value=value))
    walk.at("idle_input_current")
    assert walk.finger.sees("House battery voltage follows: 13.57 V")


def test_fast_idle_says_what_the_second_person_does(walk):
    walk.at("fast_idle_start_battery_voltage")
    assert walk.screen.doing == "Fast idle, second person"
    walk.in_hand.say_waited()
    walk.screen.refresh()
    walk.finger.frames(2)
    assert walk.finger.sees("A second person")
