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
from logic.limits.expected import Expectation
from logic.records.words import limits, measure, number
from logic.vehicle.points import PROBES, Point, Post, State

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

STATES = {
    State.REST: Sign("Key off, rested", "rest", "ink"),
    State.IDLE: Sign("Engine idling", "idle", "ink"),
    State.FAST_IDLE: Sign("Engine at fast idle", "fast_idle", "ink"),
    State.SOLAR: Sign("Engine off, panel in daylight", "solar", "ink"),
}

POSTS = {
    Post.START_BATTERY_POSITIVE: "start battery +",
    Post.START_BATTERY_NEGATIVE: "start battery −",
    Post.CHARGER_INPUT: "charger input",
    Post.CHARGER_NEGATIVE: "charger negative",
    Post.CHARGER_OUTPUT: "charger output",
    Post.IGNITION_TERMINAL: "ignition terminal",
    Post.SOLAR_TERMINAL: "solar terminal",
    Post.PANEL_LEAD_POSITIVE: "panel lead +",
    Post.PANEL_LEAD_NEGATIVE: "panel lead −",
    Post.HOUSE_BATTERY_POSITIVE: "house battery +",
    Post.HOUSE_BATTERY_NEGATIVE: "house battery −",
}

POINTS = {
    Point.START_BATTERY_VOLTAGE: "Start battery voltage",
    Point.VEHICLE_FEED_DROP: "Drop in the vehicle feed",
    Point.VEHICLE_RETURN_DROP: "Drop in the vehicle return",
    Point.CHARGER_INPUT_VOLTAGE: "Charger input voltage",
    Point.IGNITION_SIGNAL_VOLTAGE: "Ignition terminal voltage",
    Point.CHARGER_OUTPUT_VOLTAGE: "Charger output voltage",
    Point.HOUSE_FEED_DROP: "Drop in the house feed",
    Point.HOUSE_RETURN_DROP: "Drop in the house return",
    Point.HOUSE_BATTERY_VOLTAGE: "House battery voltage",
    Point.SOLAR_OPEN_CIRCUIT_VOLTAGE: "Panel open-circuit voltage",
    Point.SOLAR_INPUT_VOLTAGE: "Solar input voltage",
    Point.INPUT_CURRENT: "Input current",
    Point.OUTPUT_CURRENT: "Output current",
    Point.HOUSE_LOAD_CURRENT: "House load current",
    Point.SOLAR_CURRENT: "Solar current",
    Point.CHARGER_CASE_TEMPERATURE: "Charger case temperature",
    Point.HOUSE_BATTERY_TEMPERATURE: "House battery temperature",
    Point.PROFILE_SETTING_VOLTAGE: "Absorption voltage of the profile set",
    Point.SUNLIGHT_FRACTION: "Sunlight, judged by eye",
    Point.CHARGING_INDICATOR: "Charging indicator",
    Point.FAULT_INDICATOR: "Fault indicator",
}

CLAMPED = {
    "vehicle_feed": "the vehicle feed",
    "house_feed": "the house feed",
    "house_loads": "the feed to the house loads",
    "solar_feed": "the solar lead",
}
_TOWARDS = {"charger": "the charger", "house_battery": "the house battery", "loads": "the loads"}

SUNLIGHT = (("1", "Clear, high sun"), ("0.5", "Hazy or low sun"), ("0.1", "Dull"))
INDICATOR = (("1", "Lit"), ("0", "Not lit"))

SKIP_REASONS = (
    "Not fitted",
    "Cannot be reached",
    "No sun now",
    "Customer does not want it",
    "Meter cannot read it",
)


def unit_of(point: Point) -> str:
    """Say the unit that a reading is typed in, "" where it is chosen instead."""
    unit = PROBES[point].unit
    return unit if unit in ("V", "A", "°C") else ""


def probe_lines(point: Point) -> tuple[tuple[str, str], ...]:
    """Say where the meter goes: ("R", post), ("B", post) or ("C", run and arrow)."""
    probe = PROBES[point]
    if probe.red and probe.black:
        return (("R", f"Red: {POSTS[probe.red]}"), ("B", f"Black: {POSTS[probe.black]}"))
    if probe.clamp_on:
        text = f"Clamp: {CLAMPED[probe.clamp_on]}, arrow to {_TOWARDS[probe.towards]}"
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
