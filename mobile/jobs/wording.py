"""Ids to words, signs and colours: the one place where the app's screens get them from.

No Kivy here. A colour is named as in :mod:`mobile.ui.theme`, a sign as in
:mod:`mobile.ui.widgets.shapes`; both always come with a word, so neither has to be seen.
"""

from dataclasses import dataclass

from logic.case import Judgement, Verdict
from logic.checklist.answers import (
    Answer,
    ChoiceAnswer,
    ReadingAnswer,
    TextAnswer,
    YesNoAnswer,
)
from logic.checklist.step import AskChoice, Step
from logic.limits.expectation import Expectation
from logic.records.words import limits, measure, number
from logic.vehicle.points import Point, Run, State, Unit

__all__ = ["limits", "measure", "number"]


@dataclass(frozen=True)
class Sign:
    """A word with its drawn sign and its colour's name."""

    words: str
    shape: str
    colour: str


VERDICTS = {
    Judgement.IN_RANGE: Sign("In range", "in_range", "in_range"),
    Judgement.MARGINAL: Sign("Marginal", "marginal", "marginal"),
    Judgement.OUT_OF_RANGE: Sign("Out of range", "out_of_range", "out_of_range"),
    Judgement.NO_LIMIT: Sign("No limit", "no_limit", "no_limit"),
}

STATES = {state: Sign(state.full_name, state.value, "ink") for state in State}

SUNLIGHT = (("1", "Clear, high sun"), ("0.5", "Hazy or low sun"), ("0.1", "Dull"))
INDICATOR = (("1", "Lit"), ("0", "Not lit"))
CHOICES = {Unit.SHARE: SUNLIGHT, Unit.LIT: INDICATOR}
"""What is offered instead of the keys, by unit: what is typed for it, and its words."""

SKIP_REASONS = (
    "Not fitted",
    "Cannot be reached",
    "No sun now",
    "Customer does not want it",
    "Meter cannot read it",
)


def probe_lines(point: Point) -> tuple[tuple[str, str], ...]:
    """Say where the meter goes: ("R", post), ("B", post) or ("C", run and arrow)."""
    if point.red and point.black:
        return (("R", f"Red: {point.red.full_name}"), ("B", f"Black: {point.black.full_name}"))
    if point.clamp_on:
        clamped = point.clamp_on
        lead = "the " if isinstance(clamped, Run) else "the feed to the "
        text = f"Clamp: {lead}{clamped.full_name}, arrow to the {point.towards}"
        return (("C", text),)
    return ()


def expected_words(point: Point, expectation: Expectation) -> str:
    """Say the band a reading should lie in, and why."""
    low, high = expectation.low, expectation.high
    why = expectation.why[:1].upper() + expectation.why[1:]
    if low is None and high is None:
        return f"No limit for this one. {why}."
    band = Verdict(
        point=point,
        state=State.REST,
        value=0,
        expected_low=low,
        expected_high=high,
        uncertainty=0,
        verdict=Judgement.NO_LIMIT,
        reason="",
    )
    return f"Expected {limits(band)}. {why}."


def answer_words(step: Step | None, answer: Answer | None) -> str:
    """Say an answer in words; ``step`` is ``None`` where the checklist no longer has it."""
    match answer:
        case ReadingAnswer(value=value):
            return measure(step.point, value) if step and step.point else number(value)
        case YesNoAnswer(yes=yes):
            return "Yes" if yes else "No"
        case ChoiceAnswer(choice=choice):
            known = step.ask.choices if step and isinstance(step.ask, AskChoice) else ()
            return next((one.text for one in known if one.id == choice), choice)
        case TextAnswer(text=text):
            return text
    return "a photo"


def clock(seconds: float) -> str:
    """Write a waiting time as minutes and seconds."""
    whole = max(0, round(seconds))
    return f"{whole // 60}:{whole % 60:02d}"


def span(seconds: float) -> str:
    """Say a time span in words, to the second."""
    minutes, rest = divmod(max(0, round(seconds)), 60)
    parts = [f"{minutes} min"] if minutes else []
    return " ".join([*parts, f"{rest} s"] if rest or not parts else parts)
