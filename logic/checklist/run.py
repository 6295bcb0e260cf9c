"""A run through a checklist: what applies, what is open, how far, as plain functions.

Nothing is stored here. Everything follows from the checklist and the :class:`Facts`: the
installation, the answers so far and what was skipped with its reason. An answer to a step
that no longer applies is kept by its owner but counts for nothing until it applies again.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby

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
    Look,
    Stage,
    Step,
)
from logic.vehicle.installation import RepairedPart
from logic.vehicle.points import ReadingKey, State

__all__ = [
    "Facts",
    "Screen",
    "StageProgress",
    "answer_fits",
    "applicable_steps",
    "cautions",
    "is_acceptable",
    "is_complete",
    "left_out_by_depth",
    "next_open_step",
    "next_step",
    "open_steps",
    "previous_step",
    "progress",
    "readings",
    "screens",
    "screens_of",
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
    return tuple(step for step, is_asked in _fitting(checklist, facts) if is_asked)


def left_out_by_depth(checklist: Checklist, facts: Facts) -> tuple[Step, ...]:
    """List the steps that fit this vehicle and are not asked for at the job's depth."""
    return tuple(step for step, is_asked in _fitting(checklist, facts) if not is_asked)


def _fitting(checklist: Checklist, facts: Facts) -> Iterator[tuple[Step, bool]]:
    """Yield the steps that fit this vehicle, and whether each is asked for."""
    seen: dict[str, Answer] = {}
    so_far = replace(facts, answers=seen)
    for step in checklist.steps:
        if not applies(step.when, so_far) or not _can_be_read(step, facts):
            continue
        is_asked = _is_asked(step, facts, so_far)
        yield step, is_asked
        answer = facts.answers.get(step.id)
        if is_asked and answer is not None:
            seen[step.id] = answer


def _can_be_read(step: Step, facts: Facts) -> bool:
    """Tell whether the vehicle has the state that a reading is asked for in: not each one has."""
    return (
        step.state is None
        or facts.installation is None
        or step.state is not State.FAST_IDLE
        or step.state.exists_on(facts.installation)
    )


def _is_asked(step: Step, facts: Facts, so_far: Facts) -> bool:
    """Tell whether the job asks for a step: by its depth, by what was read, or it was given."""
    if facts.depth.rank >= step.depth.rank or not _is_open(step, facts):
        return True
    return step.brought_in_by is not None and step.brought_in_by.holds(so_far) is True


@dataclass(frozen=True)
class Screen:
    """What is shown at once: one step, or the steps of a look."""

    steps: tuple[Step, ...]
    look: Look | None = None


def screens(checklist: Checklist, facts: Facts) -> tuple[Screen, ...]:
    """Gather the steps that apply by screens; a look of one step is that step's own screen."""
    return screens_of(checklist, applicable_steps(checklist, facts))


def screens_of(checklist: Checklist, steps: Iterable[Step]) -> tuple[Screen, ...]:
    """Gather steps by screens, in their order."""

    def together(step: Step) -> tuple[str, str]:
        return checklist.stage_of[step.id].id, step.look or f"step {step.id}"

    found = []
    for (stage_id, look_id), group in groupby(steps, key=together):
        of_look = tuple(group)
        looks = {look.id: look for look in checklist.stages_by_id[stage_id].looks}
        found.append(Screen(of_look, looks.get(look_id) if len(of_look) > 1 else None))
    return tuple(found)


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
    """Turn the answered reading steps that apply into readings, in the order of the walk.

    What was read again counts as it was read last.
    """
    taken: dict[ReadingKey, Reading] = {}
    for step in applicable_steps(checklist, facts):
        answer = facts.answers.get(step.id)
        if isinstance(step.ask, AskReading) and isinstance(answer, ReadingAnswer):
            ask = step.ask
            reading = Reading(point=ask.point, state=ask.state, value=answer.value)
            taken[reading.key] = reading
    return tuple(taken.values())


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
