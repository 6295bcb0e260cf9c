"""Everything a step's screen shows, as plain data. No Kivy."""

from dataclasses import dataclass

from logic.case import Judgement, Verdict
from logic.checklist.answers import Answer
from logic.checklist.step import Caution, Stage, Step
from logic.records.state import Entry, Photo


@dataclass(frozen=True)
class StepView:
    """Everything a step's screen shows, as it stands."""

    step: Step
    stage: Stage
    number: int
    count: int
    cautions: tuple[Caution, ...]
    answer: Answer | None
    acceptable: bool
    verdict: Verdict | None
    skip_reason: str
    notes: tuple[str, ...]
    photos: tuple[Photo, ...]
    history: tuple[Entry, ...]
    explanation: str
    clashes: tuple[Entry, ...]

    @property
    def is_exception(self) -> bool:
        """Whether what is on record calls for an explanation."""
        out = self.verdict is not None and self.verdict.verdict is Judgement.OUT_OF_RANGE
        return self.answer is not None and (out or not self.acceptable)
