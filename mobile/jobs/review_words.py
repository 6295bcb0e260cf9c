"""The review and the record in words and signs. No Kivy."""

from collections.abc import Iterable
from dataclasses import dataclass

from logic.case import Judgement
from logic.records.record import StepRecord
from logic.records.sign_off import Blocker
from logic.records.words import excepted
from mobile.jobs.wording import VERDICTS, Sign

EXPLANATIONS = (
    "Customer was told and declined the repair",
    "Part is on order, will be put right at the next visit",
    "Read again with a second meter, it is so",
    "The vehicle is built that way",
)
ABSENCES = (
    "Vehicle is collected after hours",
    "Customer was told by phone and agreed",
    "Workshop's own vehicle",
)
REOPENINGS = (
    "A reading was taken again",
    "Something was put right",
    "Something was forgotten",
)

_DONE = Sign("Done", "done", "ink")
_SKIPPED = Sign("Skipped", "skipped", "faint")
_OPEN = Sign("Open", "open", "faint")
_NOT_RIGHT = Sign("Not as it should be", "out_of_range", "out_of_range")


@dataclass(frozen=True)
class StageLine:
    """One stage of the review: how its steps stand, in words, and the steps."""

    stage_id: str
    counts: str
    steps: tuple[StepRecord, ...]


def standing_of(step: StepRecord) -> Sign:
    """Say how a step stands: a word with its sign."""
    if step.outcome != "done":
        return _SKIPPED if step.outcome == "skipped" else _OPEN
    if step.verdict:
        return VERDICTS[step.verdict.verdict]
    return _DONE if step.acceptable else _NOT_RIGHT


def outcome(step: StepRecord) -> str:
    """Say a step's answer and how it stands, or why it was skipped."""
    word = standing_of(step).words.lower()
    if step.outcome == "skipped":
        return f"skipped: {step.skip_reason}"
    if step.outcome == "open":
        return word
    return f"{step.text}, {word}" if step.verdict or excepted(step) else step.text


def why_out(step: StepRecord) -> str:
    """Say a step's outcome with the verdict's own reason."""
    reason = step.verdict.reason if step.verdict else ""
    return f"{step.title}: {outcome(step)}. {reason}".strip()


def stage_lines(steps: Iterable[StepRecord]) -> tuple[StageLine, ...]:
    """Gather the steps by stage, in the order of the walk."""
    stages: dict[str, list[StepRecord]] = {}
    for step in steps:
        stages.setdefault(step.stage_id, []).append(step)
    return tuple(StageLine(name, _counts(found), tuple(found)) for name, found in stages.items())


def _counts(steps: list[StepRecord]) -> str:
    tally = {
        "done": sum(step.outcome == "done" and not excepted(step) for step in steps),
        "of them marginal": sum(_is_marginal(step) for step in steps),
        "out of order": sum(excepted(step) for step in steps),
        "skipped": sum(step.outcome == "skipped" for step in steps),
        "open": sum(step.outcome == "open" for step in steps),
    }
    return ", ".join(f"{count} {name}" for name, count in tally.items() if count)


def _is_marginal(step: StepRecord) -> bool:
    return step.verdict is not None and step.verdict.verdict is Judgement.MARGINAL


def needs_count(blockers: tuple[Blocker, ...]) -> str:
    """Say how many things stand in the way of signing."""
    if not blockers:
        return ""
    if len(blockers) == 1:
        return "One thing stands in the way of signing."
    return f"{len(blockers)} things stand in the way of signing."
