"""What a look shows: each thing to look at, how it stands, what the set-up says. No Kivy."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from logic.checklist import run
from logic.checklist.step import AskYesNo, Step
from logic.records.outcomes import answer_words
from logic.vehicle.installation import Installation
from mobile.jobs import compared_figures
from mobile.jobs.signs import MarkedWord

if TYPE_CHECKING:
    from mobile.jobs.walk import Walk

_OPEN = MarkedWord("", "open", "faint")
_FAILS = MarkedWord("", "out_of_range", "out_of_range")


@dataclass(frozen=True)
class LookLine:
    """One thing to look at.

    ``fails_by_design`` is what a design check says against it: it is answered by itself, never
    with the others.
    """

    step: Step
    question: str
    sign: MarkedWord
    standing: str
    figures: tuple[str, ...]
    fails_by_design: tuple[str, ...]

    @property
    def second(self) -> str:
        """What stands under the question: how it was answered, what fails, and the set-up."""
        return "\n".join((*filter(None, (self.standing,)), *self.fails_by_design, *self.figures))


def lines(walk: "Walk", screen: run.Screen) -> tuple[LookLine, ...]:
    """List what a look shows, what fails by design first."""
    found = [_line(walk, step, walk.installation) for step in screen.steps]
    return tuple(sorted(found, key=lambda line: not line.fails_by_design))


def to_put_in_order(walk: "Walk", shown: tuple[LookLine, ...]) -> tuple[Step, ...]:
    """List what one tap answers: all that is open and fails no design check."""
    return tuple(
        line.step for line in shown if walk.is_step_open(line.step) and not line.fails_by_design
    )


def still_open(walk: "Walk", shown: tuple[LookLine, ...]) -> tuple[Step, ...]:
    """List what is neither answered nor left out."""
    return tuple(line.step for line in shown if walk.is_step_open(line.step))


def _line(walk: "Walk", step: Step, fitted: Installation) -> LookLine:
    checks = compared_figures.checks(step, fitted)
    failing = tuple(one.text for one in checks if one.sign == _FAILS.shape)
    sign, standing = _standing(walk, step)
    return LookLine(
        step=step,
        question=step.ask.question if isinstance(step.ask, AskYesNo) else step.title,
        sign=_FAILS if failing and sign is _OPEN else sign,
        standing=standing,
        figures=tuple(f"{one.head}: {one.text}" for one in compared_figures.figures(step, fitted)),
        fails_by_design=failing,
    )


def _standing(walk: "Walk", step: Step) -> tuple[MarkedWord, str]:
    """Return the sign of how a thing was answered, and the same in words; "" while it is open."""
    if left_out := walk.job.skipped.get(step.id):
        return MarkedWord("Left out", "skipped", "faint"), f"Left out: {left_out.reason}"
    entry = walk.job.answers.get(step.id)
    if entry is None or entry.answer is None:
        return _OPEN, ""
    words = answer_words(entry.answer, step)
    if run.is_acceptable(step, entry.answer):
        return MarkedWord("In order", "done", "in_range"), f"{words}, in order"
    explained = walk.job.explanations.get(step.id, "")
    why = f": {explained}" if explained else ". Put it right, or say why it may stand"
    return MarkedWord("Not in order", "out_of_range", "out_of_range"), f"{words}, not in order{why}"
