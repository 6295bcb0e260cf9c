"""How a record and its steps came out, in words: the same on screens, on paper and at the desk."""

from collections.abc import Sequence

from logic.case import Mark
from logic.checklist.answers import Answer, ChoiceAnswer, PhotoAnswer, ReadingAnswer, TextAnswer
from logic.checklist.step import AskChoice, Step
from logic.records.record import Record, StepRecord
from logic.vehicle.points import Point
from logic.words.figures import as_read, number
from logic.words.names import MARKS, PROVES_NOTHING, RESPONSIBILITIES, in_words

# In the order in which they are counted up.
_COUNTED = (
    *("in order", "marginal", "not in order", PROVES_NOTHING),
    *("without a limit", "left out", "left open"),
)
# Of a cause in the technician's own words, in characters: the sum is one sentence (assumed).
_LONGEST_CAUSE = 200
_CLASSES = {
    Mark.IN_RANGE: "in order",
    Mark.MARGINAL: "marginal",
    Mark.OUT_OF_RANGE: "not in order",
    Mark.NO_LIMIT: "without a limit",
    Mark.PROVES_NOTHING: PROVES_NOTHING,
}


def answer_words(given: Answer | None, step: Step | None = None, point: Point | None = None) -> str:
    """Say an answer to a step; ``step`` is None where its checklist no longer has it.

    ``point`` is where a reading was taken, for a step that is not at hand.
    """
    match given:
        case ReadingAnswer(value=value):
            at = point or (step.point if step else None)
            return as_read(at, value) if at else number(value)
        case ChoiceAnswer(choice=choice):
            known = step.ask.choices if step and isinstance(step.ask, AskChoice) else ()
            texts = (one.text for one in known if one.id == choice)
            return next(texts, in_words(choice))
        case TextAnswer(text=text):
            return text
        case PhotoAnswer(sha256=sha256):
            return f"Photo {sha256[:8]}"
        case None:
            return ""
    return "Yes" if given.yes else "No"


def answer(step: StepRecord) -> str:
    """Say a recorded step's answer; but for a reading, in the words that were signed."""
    if step.outcome != "done":
        return standing(step)
    if step.verdict:
        return as_read(step.verdict.point, step.verdict.value)
    return step.text or "done"


def standing(step: StepRecord) -> str:
    """Say how a step came out, in one to three words."""
    if step.outcome != "done":
        return "left out" if step.outcome == "skipped" else "left open"
    if step.verdict:
        return MARKS[step.verdict.mark]
    return "in order" if step.acceptable else "not in order"


def answer_and_standing(step: StepRecord) -> str:
    """Say a step's answer and how it came out, or why it was left out."""
    if step.outcome == "skipped":
        return f"left out: {step.skip_reason}"
    says_more = step.verdict is not None or step.is_exception
    return f"{answer(step)}, {standing(step)}" if says_more else answer(step)


def counts(steps: Sequence[StepRecord]) -> str:
    """Count steps by how they came out: "5 in order, 1 marginal", "" for none."""
    classes = [_class_of(step) for step in steps]
    counted = ((classes.count(name), name) for name in _COUNTED)
    return ", ".join(f"{count} {name}" for count, name in counted if count)


def summary(record: Record) -> str:
    """Sum a record up in one sentence: what a callback found, or counts of the steps."""
    from logic.diagnosis import catalogue  # not on the start path

    found = record.conclusion
    if found and found.faults:
        responsible = RESPONSIBILITIES[found.responsibility]
        return f"{catalogue.titles(found.faults)}; responsible: {responsible}"
    if found and found.cause:
        cause = " ".join(found.cause.split())
        cause = cause if len(cause) <= _LONGEST_CAUSE else f"{cause[: _LONGEST_CAUSE - 1]}…"
        return f"{cause.rstrip('.')}; responsible: {RESPONSIBILITIES[found.responsibility]}"
    return counts(record.steps) or "nothing was checked"


def _class_of(step: StepRecord) -> str:
    if step.outcome != "done" or step.is_exception:
        return "not in order" if step.is_exception else standing(step)
    return _CLASSES[step.verdict.mark] if step.verdict else "in order"
