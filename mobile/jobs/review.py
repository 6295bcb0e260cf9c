"""The review of a job: its steps by stage, and what stands in the way of signing. No Kivy."""

from collections.abc import Iterable
from dataclasses import dataclass

from logic.records.outcomes import counts
from logic.records.record import StepRecord
from logic.records.sign_off import Blocker


@dataclass(frozen=True)
class StageLine:
    """One stage of the review: how its steps stand, in words, and the steps."""

    stage_id: str
    counts: str
    steps: tuple[StepRecord, ...]


def stage_lines(steps: Iterable[StepRecord]) -> tuple[StageLine, ...]:
    """Gather the steps by stage, in the order of the walk."""
    stages: dict[str, list[StepRecord]] = {}
    for step in steps:
        stages.setdefault(step.stage_id, []).append(step)
    return tuple(StageLine(name, counts(found), tuple(found)) for name, found in stages.items())


def needs_count(blockers: tuple[Blocker, ...]) -> str:
    """Say how many things stand in the way of signing."""
    if not blockers:
        return ""
    if len(blockers) == 1:
        return "One thing stands in the way of signing."
    return f"{len(blockers)} things stand in the way of signing."
