"""Names of what a record and a screen mention, for what does not carry its own.

Points, states, posts, runs and parts do (:mod:`logic.vehicle.points`), faults in their catalogue.
Names here begin small, as within a sentence; :func:`capitalised` makes a title of one.
"""

from logic.case import Judgement, Mark
from logic.vehicle.installation import Chemistry, Installation, Warranty
from logic.vehicle.points import Lead, Part, Point, Run, State
from logic.words.figures import whole_percent

VERDICTS = {
    Judgement.IN_RANGE: "in range",
    Judgement.MARGINAL: "marginal",
    Judgement.OUT_OF_RANGE: "out of range",
    Judgement.NO_LIMIT: "no limit",
}
PROVES_NOTHING = "proves nothing yet"
MARKS = {
    **{Mark(judgement.value): words for judgement, words in VERDICTS.items()},
    Mark.PROVES_NOTHING: PROVES_NOTHING,
}
"""What stands beside a reading's mark."""

# Whose matter a fault is: the ids are those of logic.case.Responsibility.
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
    Chemistry.EFB: "EFB",
    Chemistry.CALCIUM: "calcium",
    Chemistry.AGM: "AGM",
    Chemistry.GEL: "gel",
    Chemistry.LIFEPO4: "lithium (LiFePO4)",
}

WARRANTIES = {
    Warranty.UNIT_AND_WORK: "unit (its maker) and work (the workshop)",
    Warranty.UNIT: "unit only (its maker)",
    Warranty.WORK: "work only (the workshop)",
    Warranty.NONE: "none",
}

# What stands among the findings for whatever the fault catalogue does not list.
NONE_LISTED = "None of the listed faults"
NONE_LISTED_MEANS = "Something that is not on the list, or equipment that was entered wrong."

# How sure, from these probabilities up. Common practice, no published source.
_SURE = (
    (0.95, "almost certain"),
    (0.8, "very likely"),
    (0.5, "likely"),
    (0.2, "possible"),
    (0.0, "unlikely"),
)


def reading_name(point: Point, state: State, fitted: Installation | None = None) -> str:
    """Name a reading: "Drop in the house feed, engine idling"; "vehicle ready" on a converter."""
    return f"{point.full_name}, {uncapitalised(state.full_name_on(fitted))}"


def short_reading_name(point: Point, state: State, fitted: Installation | None = None) -> str:
    """Name a reading on one line of a small phone: "House feed drop · Idle"."""
    return f"{point.short_name} · {state.short_name_on(fitted)}"


def other_sources(installation: Installation) -> tuple[str, ...]:
    """Name what else than the units may charge the house battery."""
    fitted = installation.fitted
    named = (
        ("the separate regulator", fitted.solar_regulator),
        ("the mains charger", fitted.mains_charger),
    )
    return tuple(name for name, is_there in named if is_there)


def probe_lines(point: Point) -> tuple[tuple[str, str], ...]:
    """Say where the meter goes: ("R", post), ("B", post) or ("C", run and arrow)."""
    if point.red and point.black:
        return (("R", f"Red: {point.red.full_name}"), ("B", f"Black: {point.black.full_name}"))
    if point.clamp_on:
        return (("C", f"Clamp: {_clamped(point.clamp_on)}, arrow to the {point.towards}"),)
    return ()


def where(point: Point) -> str:
    """Say where the meter goes: the two posts, or what the clamp is round; "" for neither."""
    if point.red and point.black:
        return f"red on {point.red.full_name}, black on {point.black.full_name}"
    return f"clamp on {_clamped(point.clamp_on)}" if point.clamp_on else ""


def _clamped(conductor: Run | Part | Lead) -> str:
    lead = "the feed to the" if isinstance(conductor, Part) else "the"
    return f"{lead} {conductor.full_name}"


def certainty(probability: float) -> str:
    """Say how sure an answer is, in words that fit the figure beside it."""
    shown = whole_percent(probability) / 100
    return next(words for least, words in _SURE if shown >= least)


def counted(count: int, one: str, more: str = "") -> str:
    """Say a number with its noun."""
    return f"{count} {one if count == 1 else more or f'{one}s'}"


def in_words(identifier: str) -> str:
    """Turn an id into words: ``vehicle_feed_drop`` is "Vehicle feed drop"."""
    return identifier.replace("_", " ").strip().capitalize()


def capitalised(text: str) -> str:
    """Begin a text with a capital and leave the rest as it is."""
    return text[:1].upper() + text[1:]


def uncapitalised(text: str) -> str:
    """Begin a text small and leave the rest as it is."""
    return text[:1].lower() + text[1:]
