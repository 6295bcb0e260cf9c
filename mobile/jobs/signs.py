"""Words with their drawn signs and colours, for the screens. No Kivy.

A colour is named as in :mod:`mobile.ui.theme`, a sign as in :mod:`mobile.ui.widgets.shapes`; both
always come with a word, so neither has to be seen.
"""

from dataclasses import dataclass

from logic.case import Mark, Verdict
from logic.records.outcomes import standing
from logic.records.record import StepRecord
from logic.vehicle.points import State
from logic.words.names import MARKS, capitalised


@dataclass(frozen=True)
class MarkedWord:
    """A word with its drawn sign and its colour's name."""

    words: str
    shape: str
    colour: str


STATES = {state: MarkedWord(state.full_name, state.value, "ink") for state in State}


def of_verdict(verdict: Verdict) -> MarkedWord:
    """Return the sign of a verdict; grey where it proves nothing yet."""
    mark = verdict.mark
    colour = "no_limit" if mark is Mark.PROVES_NOTHING else mark.value
    return MarkedWord(capitalised(MARKS[mark]), mark.value, colour)


def of_step(step: StepRecord) -> MarkedWord:
    """Return the sign of how a step came out."""
    if step.verdict and step.outcome == "done":
        return of_verdict(step.verdict)
    shape, colour = {
        "skipped": ("skipped", "faint"),
        "open": ("open", "faint"),
        "done": ("done", "ink") if step.acceptable else ("out_of_range", "out_of_range"),
    }[step.outcome]
    return MarkedWord(capitalised(standing(step)), shape, colour)
