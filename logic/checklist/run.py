"""A run through a checklist: what applies, what is open, how far, as plain functions.

Nothing is stored here. Everything follows from the checklist and the :class:`Facts`: the
installation, the answers so far and what was skipped with its reason. An answer to a step
that no longer applies is kept by its owner but counts for nothing until it applies again.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from logic.case import Reading
from logic.checklist.answers import Answer, ChoiceAnswer, ReadingAnswer, YesNoAnswer
from logic.checklist.conditions import Facts, applies
from logic.checklist.form import Library
from logic.checklist.step import (
    AskChoice,
    AskReading,
    AskYesNo,
    Caution,
    Checklist,
    Stage,
    Step,
)
from logic.vehicle.installation import RepairedPart

__all__ = [
    "Facts",
    "StageProgress",
    "answer_fits",
    "applicable_steps",
    "cautions",
    "is_acceptable",
    "is_complete",
    "next_open_step",
    "next_step",
    "open_steps",
    "previous_step",
    "progress",
    "readings",
    "steps_to_prove",
]


@dataclass(frozen=True)
class StageProgress:
    """How far one stage is; ``total`` counts the steps that apply."""

    stage: Stage
    done: int
    skipped: int
    total: int

    @property
    def open(self) -> int:
        """Steps neither answered nor skipped."""
        return self.total - self.done - self.skipped


def applicable_steps(checklist: Checklist, facts: Facts) -> tuple[Step, ...]:
    """List the steps that apply, in order; conditions only look back at steps that apply."""
    seen: dict[str, Answer] = {}
    so_far = replace(facts, answers=seen)
    steps = []
    for step in checklist.steps:
        if not applies(step.when, so_far):
            continue
        steps.append(step)
        answer = facts.answers.get(step.id)
        if answer is not None:
            seen[step.id] = answer
    return tuple(steps)


def open_steps(checklist: Checklist, facts: Facts) -> tuple[Step, ...]:
    """List the steps that apply and are neither answered nor skipped."""
    return tuple(step for step in applicable_steps(checklist, facts) if _is_open(step, facts))


def _is_open(step: Step, facts: Facts) -> bool:
    return step.id not in facts.answers and step.id not in facts.skipped


def progress(checklist: Checklist, facts: Facts) -> tuple[StageProgress, ...]:
    """Count done, skipped and all steps of each stage that has any; an answer beats a skip."""
    steps = applicable_steps(checklist, facts)
    counted = (
        _stage_progress(
            stage, [step for step in steps if checklist.stage_of[step.id] is stage], facts
        )
        for stage in checklist.stages
    )
    return tuple(one for one in counted if one.total)


def _stage_progress(stage: Stage, steps: list[Step], facts: Facts) -> StageProgress:
    done = sum(step.id in facts.answers for step in steps)
    still_open = sum(_is_open(step, facts) for step in steps)
    return StageProgress(stage, done, len(steps) - done - still_open, len(steps))


def next_step(checklist: Checklist, facts: Facts, step_id: str) -> Step | None:
    """Return the applicable step after this one, or None at the end."""
    return _neighbour(checklist, facts, step_id, 1)


def previous_step(checklist: Checklist, facts: Facts, step_id: str) -> Step | None:
    """Return the applicable step before this one, or None at the start."""
    return _neighbour(checklist, facts, step_id, -1)


def _neighbour(checklist: Checklist, facts: Facts, step_id: str, way: int) -> Step | None:
    """Step from this step, even where it no longer applies itself."""
    applicable = {step.id for step in applicable_steps(checklist, facts)}
    ids = list(checklist.by_id)
    start = ids.index(step_id)
    line = ids[start + 1 :] if way > 0 else ids[:start][::-1]
    found = next((one for one in line if one in applicable), None)
    return checklist.by_id[found] if found else None


def next_open_step(checklist: Checklist, facts: Facts, after: str = "") -> Step | None:
    """Return the first open step after this one, else the first open one, else None."""
    order = {step_id: index for index, step_id in enumerate(checklist.by_id)}
    still_open = open_steps(checklist, facts)
    later = (step for step in still_open if order[step.id] > order.get(after, -1))
    return next(later, still_open[0] if still_open else None)


def is_complete(checklist: Checklist, facts: Facts) -> bool:
    """Tell whether every required step that applies is answered or skipped with a reason."""
    return not any(step.required for step in open_steps(checklist, facts))


def answer_fits(step: Step, answer: Answer) -> bool:
    """Tell whether an answer is of the kind the step asks for, and a choice one of its own."""
    if isinstance(step.ask, AskChoice) and isinstance(answer, ChoiceAnswer):
        return any(choice.id == answer.choice for choice in step.ask.choices)
    return answer.kind == step.ask.kind


def is_acceptable(step: Step, answer: Answer) -> bool:
    """Tell whether an answer may stand without an explanation.

    A reading, a text and a photo always may: a reading's limits are the diagnosis's business.
    """
    match step.ask, answer:
        case AskYesNo(acceptable=wanted), YesNoAnswer(yes=yes):
            return yes is (wanted == "yes")
        case AskChoice(choices=choices), ChoiceAnswer(choice=chosen):
            return any(one.id == chosen and one.acceptable for one in choices)
    return answer_fits(step, answer)


def readings(checklist: Checklist, facts: Facts) -> tuple[Reading, ...]:
    """Turn the answered reading steps that apply into readings, in the order of the walk."""
    taken = []
    for step in applicable_steps(checklist, facts):
        answer = facts.answers.get(step.id)
        if isinstance(step.ask, AskReading) and isinstance(answer, ReadingAnswer):
            ask = step.ask
            taken.append(Reading(point=ask.point, state=ask.state, value=answer.value))
    return tuple(taken)


def cautions(library: Library, ids: Iterable[str], facts: Facts) -> tuple[Caution, ...]:
    """Look up the cautions of a step or a stage that apply to this installation."""
    found = (library.cautions[caution_id] for caution_id in ids)
    return tuple(caution for caution in found if applies(caution.when, facts))


def steps_to_prove(
    checklist: Checklist, facts: Facts, parts: Collection[RepairedPart]
) -> tuple[Step, ...]:
    """List the applicable steps that prove one of these parts, for a repair has touched them."""
    touched = set(parts)
    return tuple(step for step in applicable_steps(checklist, facts) if touched & set(step.proves))
