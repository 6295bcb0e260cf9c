"""How a callback's reading is taken: what the walk says of the same reading. No Kivy."""

from dataclasses import dataclass

from logic.checklist import run
from logic.checklist.form import Library
from logic.checklist.step import Caution, Checklist, Step
from logic.vehicle.installation import Installation
from logic.vehicle.points import ReadingKey

_CHECKLIST = "commissioning"


@dataclass(frozen=True)
class HowToTake:
    """Where hands and probes go, why, and the cautions for this installation."""

    how: str = ""
    why: str = ""
    cautions: tuple[Caution, ...] = ()


def how_to_take(library: Library, installation: Installation, key: ReadingKey) -> HowToTake:
    """Say how a reading is taken; of one that the walk does not take, only the cautions."""
    checklist = library.checklists.get(_CHECKLIST)
    if checklist is None:
        return HowToTake()
    checklist = checklist.in_words_for(installation)
    step = _step_of(checklist, key)
    ids = dict.fromkeys((*_of_state(checklist, key), *(step.cautions if step else ())))
    facts = run.Facts(installation=installation, answers={}, skipped={})
    cautions = run.cautions(library, ids, facts)
    return HowToTake(step.how if step else "", step.why if step else "", cautions)


def start_delay(library: Library) -> Step | None:
    """Return the walk's step that waits for the unit's start delay."""
    checklist = library.checklists.get(_CHECKLIST)
    steps = checklist.steps if checklist else ()
    waiting = (step for step in steps if step.wait_s and step.state and step.state.engine_runs)
    return next(waiting, None)


def _step_of(checklist: Checklist, key: ReadingKey) -> Step | None:
    """Return the step that takes the reading, else one at the same point in another state."""
    at_point = [step for step in checklist.steps if step.point is key.point]
    exact = (step for step in at_point if step.state is key.state)
    return next(exact, at_point[0] if at_point else None)


def _of_state(checklist: Checklist, key: ReadingKey) -> tuple[str, ...]:
    """Name the cautions of the stage that is walked in a reading's state."""
    for stage in checklist.stages:
        if any(step.state is key.state for step in stage.steps):
            return stage.cautions
    return ()
