"""Names and numbers in the technician's words, for evidence and reasons."""

from logic.vehicle.points import Point, State
from logic.words.figures import amperes, volts

_STATE = {
    State.REST: "at rest",
    State.IDLE: "at idle",
    State.FAST_IDLE: "at fast idle",
    State.SOLAR: "on solar",
}


def place_name(point: Point, state: State) -> str:
    """Return a reading's name: ``House battery voltage at idle``."""
    words = point.value.replace("_", " ").capitalize()
    return f"{words} {_STATE[state]}"


def shown_value(value: float, unit: str) -> str:
    """Return a value with its unit, as a meter's user would say it."""
    if unit == "V":
        return volts(value)
    if unit == "A":
        return amperes(value)
    if unit == "°C":
        return f"{value:.0f} °C"
    return f"{value:.1f}" if unit == "1" else ("lit" if value >= 0.5 else "not lit")


def foretold(value: float, unit: str) -> str:
    """Return a worked-out value with its unit, to no more digits than it deserves."""
    return shown_value(round(value, 2 if abs(value) >= 1 else 3), unit)


def certainty(probability: float) -> str:
    """Return how sure an answer is, in words; the figure stays beside it on the screen."""
    steps = ((0.95, "almost certain"), (0.8, "very likely"), (0.5, "likely"), (0.2, "possible"))
    return next((words for least, words in steps if probability >= least), "unlikely")
