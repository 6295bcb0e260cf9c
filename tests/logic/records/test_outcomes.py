import pytest

from logic.checklist.answers import (
    ChoiceAnswer,
    PhotoAnswer,
    ReadingAnswer,
    TextAnswer,
    YesNoAnswer,
)
from logic.checklist.step import AskChoice, AskReading, Choice, Step
from logic.records.events import CauseConcluded
from logic.records.outcomes import (
    answer,
    answer_and_standing,
    answer_words,
    counts,
    standing,
    summary,
)
from logic.vehicle.points import Point, State
from tests.logic.records.sample_records import callback, commissioning, judged, reading, step

VOLTS = Step(
    id="volts",
    title="Volts",
    how="Read them.",
    why="To know.",
    ask=AskReading(kind="reading", point=Point.CHARGER_INPUT_VOLTAGE, state=State.IDLE),
)
PLACE = Step(
    id="place",
    title="Place",
    how="Look.",
    why="To know.",
    ask=AskChoice(
        kind="choice",
        question="Where?",
        choices=(Choice(id="in_cabin", text="Under the seat"), Choice(id="tray", text="Tray")),
    ),
)


@pytest.mark.parametrize(
    ("typed", "value", "shown"),
    [
        ("13.90", 13.9, "13.90 V"),
        ("13,9", 13.9, "13.90 V"),
        ("13.904", 13.904, "13.904 V"),
        ("", 13.9, "13.90 V"),
    ],
)
def test_a_reading_is_shown_with_every_digit_that_was_typed(typed, value, shown):
    verdict = judged("charger_input_voltage", "idle", value, (None, None))
    given = ReadingAnswer(value=value, typed=typed)
    assert answer(reading("engine_idle", "Input", verdict, answer=given)) == shown
    assert answer_words(given, VOLTS) == answer_words(given, point=verdict.point) == shown


@pytest.mark.parametrize(
    ("given", "step", "words"),
    [
        (ReadingAnswer(value=-0.5), None, "−0.5"),
        (YesNoAnswer(yes=True), None, "Yes"),
        (YesNoAnswer(yes=False), None, "No"),
        (ChoiceAnswer(choice="in_cabin"), PLACE, "Under the seat"),
        (ChoiceAnswer(choice="in_cabin"), None, "In cabin"),
        (TextAnswer(text="by hand"), None, "by hand"),
        (PhotoAnswer(sha256="ab" * 32), None, "Photo abababab"),
        (None, None, ""),
    ],
)
def test_every_kind_of_answer_is_said_in_words(given, step, words):
    assert answer_words(given, step) == words


OUT = judged("vehicle_return_drop", "idle", 0.92, (None, 0.31), "out_of_range")
IN = judged("vehicle_return_drop", "idle", 0.12, (None, 0.31), "in_range")
STEPS = (
    reading("idle", "Return", OUT),
    reading("idle", "Return", IN),
    step("seen", "seen", "Seen", outcome="done", text="Yes"),
    step("loose", "loose", "Loose", outcome="done", text="No", acceptable=False),
    step("left", "left", "Left", outcome="skipped", skip_reason="glued down"),
    step("rest", "rest", "Rest", outcome="open"),
)


def test_each_step_stands_in_a_word_or_two():
    found = [standing(one) for one in STEPS]
    assert found == [
        "out of range",
        "in range",
        "in order",
        "not in order",
        "left out",
        "left open",
    ]


def test_an_answer_is_told_with_how_it_came_out_where_that_says_more():
    assert [answer_and_standing(one) for one in STEPS] == [
        "0.920 V, out of range",
        "0.120 V, in range",
        "Yes",
        "No, not in order",
        "left out: glued down",
        "left open",
    ]


def test_steps_are_counted_by_how_they_came_out():
    assert counts(STEPS) == "2 in order, 2 not in order, 1 left out, 1 left open"
    assert counts(()) == ""


def test_a_callback_is_summed_up_by_its_fault_and_whose_matter_it_is():
    told = "High resistance in the vehicle return; responsible: the installation's wiring"
    assert summary(callback()) == told


def test_a_record_without_a_step_says_that_nothing_was_checked():
    assert summary(commissioning(steps=())) == "nothing was checked"


@pytest.mark.parametrize(
    ("cause", "told"),
    [
        ("Diode in the feed,\nfitted years ago.", "Diode in the feed, fitted years ago"),
        ("x" * 300, "x" * 199 + "…"),
    ],
)
def test_a_cause_that_no_fault_names_is_told_in_the_technicians_words(cause, told):
    found = CauseConcluded(cause=cause, responsibility="wiring")
    record = callback().model_copy(update={"conclusion": found})
    assert summary(record) == f"{told}; responsible: the installation's wiring"
