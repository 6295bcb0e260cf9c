"""Every screen of the walk at both phone sizes and two font scales, looked over for its text."""

import pytest
from kivy.metrics import dp

from logic.checklist import run
from logic.checklist.answers import ReadingAnswer, YesNoAnswer
from tests.mobile.driveway import open_job
from tests.mobile.ui.legibility import complaints
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture

# Step, keys typed at it; together they show every kind of answer and every state of a reading.
STEPS = [
    ("job_made_safe", ""),
    ("ignition_source", ""),
    ("photo_of_terminals", ""),
    ("profile_chosen", ""),
    ("rest_start_battery_voltage", ""),
    ("rest_start_battery_voltage", "12.7"),
    ("idle_vehicle_feed_drop", "0.9"),
    ("idle_vehicle_return_drop", "250"),
    ("idle_input_current", "O"),
    ("idle_output_current", "-12.5"),
    ("idle_house_battery_voltage", "1.2.3"),
    ("idle_fault_indicator", ""),
    ("idle_charging_indicator", ""),
    ("idle_house_load_current", "3"),
    ("solar_sunlight_fraction", ""),
]


@pytest.fixture(params=LOOKS, ids=str)
def walk(request, make_phone, tmp_path):
    open_job(tmp_path / "store")
    finger = make_phone(request.param)
    work = finger.app.work
    work.open_walk(work.store.find_vehicles()[0].open_job)
    finger.look = request.param
    return finger


def look_over(finger, name):
    keep_picture(finger, f"{name}-{finger.look}")
    assert complaints() == [], name


def test_no_text_of_a_step_is_cut_off_or_covered(walk):
    screen = walk.app.navigator.show("step")
    known = {step.id for step in walk.app.work.walk.steps}
    for number, (step_id, keys) in enumerate(STEPS):
        if step_id not in known:
            continue
        walk.app.work.walk.go_to(step_id)
        screen.refresh()
        for key in keys:
            screen.panel.widget.press("OL" if key == "O" else key)
        look_over(walk, f"step-{number:02d}-{step_id}")
        title, body = screen.ids.title, screen.ids.body
        assert title.to_window(title.x, title.top)[1] <= screen.height
        assert body.height >= dp(24), "no room left to scroll to the how and why"
        screen.ids.body.scroll_y = 0
        look_over(walk, f"step-{number:02d}-{step_id}-below")


def test_no_text_of_a_look_is_cut_off_or_covered(walk):
    in_hand = walk.app.work.walk
    screen = walk.app.navigator.show("step")
    for shown in run.screens(in_hand.checklist, in_hand.facts):
        if shown.look is None:
            continue
        in_hand.go_to(shown.steps[0].id)
        in_hand.answer(shown.steps[-1].id, YesNoAnswer(yes=False))
        screen.refresh()
        look_over(walk, f"look-{shown.look.id}")
        screen.ids.body.scroll_y = 0
        look_over(walk, f"look-{shown.look.id}-below")


def test_no_text_of_a_wait_or_of_what_follows_is_cut_off_or_covered(walk):
    in_hand = walk.app.work.walk
    screen = walk.app.navigator.show("step")
    in_hand.answer("job_made_safe", YesNoAnswer(yes=True))
    in_hand.go_to("rest_charger_input_voltage")
    screen.refresh()
    look_over(walk, "wait")
    for step_id, value in (
        ("idle_charger_output_voltage", 13.9),
        ("idle_house_feed_drop", 0.21),
        ("idle_house_return_drop", 0.12),
    ):
        in_hand.answer(step_id, ReadingAnswer(value=value))
    in_hand.go_to("idle_input_current")
    screen.refresh()
    look_over(walk, "follows")
    in_hand.go_to("fast_idle_start_battery_voltage")
    in_hand.say_waited()
    screen.refresh()
    screen.ids.body.scroll_y = 0
    look_over(walk, "second-person")


def test_no_text_at_the_start_of_a_stage_is_cut_off_or_covered(walk):
    in_hand = walk.app.work.walk
    for progress in in_hand.progress():
        in_hand.go_to_stage(progress.stage.id)
        screen = walk.app.navigator.show("stage")
        look_over(walk, f"stage-{progress.stage.id}")
        screen.ids.body.scroll_y = 0
        look_over(walk, f"stage-{progress.stage.id}-below")


def test_no_text_of_a_sheet_is_cut_off_or_covered(walk):
    screen = walk.app.navigator.show("step")
    walk.frames(3)
    sheets = ("Note", "Leave out", "Jump to a stage")
    walk.tap(screen.ids.more)
    look_over(walk, "more")
    walk.tap("Close")
    # Twice at one place so soon after the screen turned would be taken for a bouncing glove.
    walk.rest(0.35)
    for words in sheets:
        walk.tap(screen.ids.more)
        walk.tap(words)
        look_over(walk, f"sheet-{words.replace(' ', '-').lower()}")
        walk.app.root_window.children[0].dismiss(animation=False)


@pytest.mark.trouble
def test_no_text_of_the_trouble_screen_is_cut_off_or_covered(walk):
    walk.app.caught(ZeroDivisionError("one by nought"))
    look_over(walk, "trouble")


def test_held_sideways_everything_is_still_there(make_phone, tmp_path):
    from mobile.ui.toolkit import Screen

    open_job(tmp_path / "store")
    finger = make_phone(Look(Screen(640, 360)))
    finger.look = "sideways"
    walk = finger.app.work.open_walk(finger.app.work.store.find_vehicles()[0].open_job)
    screen = finger.app.navigator.show("step")
    walk.go_to("rest_start_battery_voltage")
    screen.refresh()
    finger.frames(3)
    for key in ("1", "2", ".", "6"):
        finger.tap(key)
    look_over(finger, "step")
    finger.tap(screen.ids.next)
    answers = finger.app.work.store.job(walk.job.job_id).answers
    assert answers["rest_start_battery_voltage"].answer.value == 12.6


def test_a_sign_keeps_its_colour_when_the_look_changes(phone):
    from mobile.ui.theme import theme
    from mobile.ui.widgets.reading_panel import Remark

    remark = Remark(shape="out_of_range", colour="out_of_range", text="Out of range.")
    phone.app.root.add_widget(remark)
    try:
        for dark in (True, False):
            theme.dark = dark
            phone.frames(2)
            [mark] = [w for w in remark.walk() if type(w).__name__ == "Mark"]
            assert mark.color == theme.out_of_range
    finally:
        theme.dark = False
