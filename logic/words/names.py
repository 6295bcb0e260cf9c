"""Names of what a record and a screen speak of: points, states, posts, runs, verdicts, parts.

Each table is complete for this version's ids; :func:`in_words` says an id that it lacks, such
as one of a later version. Names begin small where they stand in a sentence and large where
they are a title; :func:`capitalised` and :func:`uncapitalised` turn one into the other.
"""

from logic.case import Judgement
from logic.vehicle.installation import Chemistry
from logic.vehicle.points import PROBES, Point, Post, Run, State

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

STATES = {
    State.REST: "key off, rested",
    State.IDLE: "engine idling",
    State.FAST_IDLE: "engine at fast idle",
    State.SOLAR: "engine off, panel in daylight",
}
SHORT_STATES = {
    State.REST: "key off",
    State.IDLE: "idle",
    State.FAST_IDLE: "fast idle",
    State.SOLAR: "solar",
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

RUNS = {
    Run.VEHICLE_FEED: "vehicle feed",
    Run.VEHICLE_RETURN: "vehicle return",
    Run.HOUSE_FEED: "house feed",
    Run.HOUSE_RETURN: "house return",
    Run.SOLAR_FEED: "solar lead",
}

CLAMPED = {
    "vehicle_feed": "the vehicle feed",
    "house_feed": "the house feed",
    "house_loads": "the feed to the house loads",
    "solar_feed": "the solar lead",
}
ENDS = {"charger": "the charger", "house_battery": "the house battery", "loads": "the loads"}

VERDICTS = {
    Judgement.IN_RANGE: "in range",
    Judgement.MARGINAL: "marginal",
    Judgement.OUT_OF_RANGE: "out of range",
    Judgement.NO_LIMIT: "no limit",
}

# A run by what it drops: the ids are those of logic.limits.drops.Grade.
GRADES = {
    "not_read": "not read",
    "nothing_flows": "no current",
    "as_expected": "in order",
    "marginal": "at its limit",
    "too_much": "too much",
    "open": "open",
    "wrong_way": "wrong way",
}

# Whose matter a fault is: the ids are those of logic.records.events.Responsibility.
RESPONSIBILITIES = {
    "charger": "the charger (its warranty)",
    "wiring": "the installation's wiring",
    "vehicle": "the vehicle's own charging",
    "battery": "the house battery",
    "use": "use (nothing is broken)",
    "none": "nobody, or not decided",
}

CHEMISTRIES = {
    Chemistry.FLOODED: "flooded",
    Chemistry.AGM: "AGM",
    Chemistry.GEL: "gel",
    Chemistry.LIFEPO4: "lithium (LiFePO4)",
}

# How sure, from these probabilities up. Common practice, no published source.
_SURE = (
    (0.95, "almost certain"),
    (0.8, "very likely"),
    (0.5, "likely"),
    (0.2, "possible"),
    (0.0, "unlikely"),
)


def reading_name(point: Point, state: State) -> str:
    """Name a reading: "Drop in the house feed, engine idling"."""
    return f"{POINTS[point]}, {STATES[state]}"


def short_reading_name(point: Point, state: State) -> str:
    """Name a reading on one line of a small phone: "Drop in the house feed · Idle"."""
    return f"{POINTS[point]} · {capitalised(SHORT_STATES[state])}"


def where(point: Point) -> str:
    """Say where the meter goes: the two posts, or what the clamp is round; "" for neither."""
    probe = PROBES[point]
    if probe.red and probe.black:
        return f"red on {POSTS[probe.red]}, black on {POSTS[probe.black]}"
    return f"clamp on {CLAMPED[probe.clamp_on]}" if probe.clamp_on else ""


def certainty(probability: float) -> str:
    """Say how sure an answer is, in words; the figure stays beside it on the screen."""
    return next(words for least, words in _SURE if probability >= least)


def in_words(identifier: str) -> str:
    """Turn an id into words: ``vehicle_feed_drop`` is "Vehicle feed drop"."""
    return identifier.replace("_", " ").strip().capitalize()


def capitalised(text: str) -> str:
    """Begin a text with a capital and leave the rest as it is."""
    return text[:1].upper() + text[1:]


def uncapitalised(text: str) -> str:
    """Begin a text small and leave the rest as it is."""
    return text[:1].lower() + text[1:]
