"""The walk: one job's checklist, one step at a time. No Kivy."""

from dataclasses import dataclass
from datetime import datetime

from logic.case import Judgement, Reading, Verdict
from logic.checklist import run
from logic.checklist.answers import Answer
from logic.checklist.form import Library
from logic.checklist.step import AskReading, Caution, Checklist, Stage, Step
from logic.errors import RecordError
from logic.records.review import verdict_of_step
from logic.records.state import Photo, StepEntry
from logic.records.store.store import Store
from logic.words.dates import span
from mobile.jobs.job_in_hand import Clock, JobInHand
from mobile.jobs.typed_reading import ReadingContext

STEP_SCREEN = "step"
WAITS = "waits"
_CUT = "cut"
_JOBS_KEPT = 20


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
    history: tuple[StepEntry, ...]
    explanation: str
    clashes: tuple[StepEntry, ...]

    @property
    def is_exception(self) -> bool:
        """Whether what is on record calls for an explanation."""
        out = self.verdict is not None and self.verdict.verdict is Judgement.OUT_OF_RANGE
        return self.answer is not None and (out or not self.acceptable)


class Walk(JobInHand):
    """A job at one step of its checklist."""

    screen = STEP_SCREEN

    def __init__(
        self, store: Store, library: Library, clock: Clock, job_id: str, step_id: str = ""
    ) -> None:
        super().__init__(store, library, clock, job_id)
        self._waits = Waits(store, job_id, clock)
        self._cautions_read: set[str] = set()
        self._step_id = self._a_step(step_id or self._marked().step_id)

    @classmethod
    def resumed(cls, store: Store, library: Library, clock: Clock) -> "Walk | None":
        """Open the job that the bookmark is in, at its step with what was typed; or None."""
        job_id = store.bookmark().job_id
        return cls(store, library, clock, job_id) if job_id else None

    # Where one is

    @property
    def checklist(self) -> Checklist:
        """The job's checklist; ``RecordError`` where the job has none."""
        checklist = self.work_done.checklist
        if checklist is None:
            raise RecordError("This job has no checklist. Open a commissioning job instead.")
        return checklist

    @property
    def entry_id(self) -> str:
        """The id of the step in hand."""
        return self._step_id

    @property
    def step(self) -> Step:
        """The step in hand."""
        return self.checklist.by_id[self._step_id]

    @property
    def stage(self) -> Stage:
        """The stage of the step in hand."""
        return self.checklist.stage_of[self._step_id]

    def view(self) -> StepView:
        """Gather what the step's screen shows."""
        step, job, stage = self.step, self.job, self.stage
        of_stage = [one.id for one in self.steps_of(stage.id)]
        entry, left_out = job.answers.get(step.id), job.skipped.get(step.id)
        answer = entry.answer if entry else None
        return StepView(
            step=step,
            stage=stage,
            number=of_stage.index(step.id) + 1 if step.id in of_stage else 0,
            count=len(of_stage),
            cautions=run.cautions(self.library, step.cautions, self.facts),
            answer=answer,
            acceptable=answer is None or run.is_acceptable(step, answer),
            verdict=verdict_of_step(self.work_done, step.id),
            skip_reason=left_out.reason if left_out else "",
            notes=job.notes.get(step.id, ()),
            photos=job.photos.get(step.id, ()),
            history=job.history.get(step.id, ()),
            explanation=job.explanations.get(step.id, ""),
            clashes=job.clashes.get(step.id, ()),
        )

    def progress(self) -> tuple[run.StageProgress, ...]:
        """Count how far each stage is."""
        return run.progress(self.checklist, self.facts)

    def cautions_of_stage(self) -> tuple[Caution, ...]:
        """The cautions to show when the stage in hand is entered."""
        return run.cautions(self.library, self.stage.cautions, self.facts)

    def reads_caution(self, caution_id: str) -> bool:
        """Take note that a caution is shown; tell whether it is for the first time."""
        first = caution_id not in self._cautions_read
        self._cautions_read.add(caution_id)
        return first

    # Moving

    def go_to(self, step_id: str) -> None:
        """Take a step in hand, and mark it."""
        self._step_id = self._a_step(step_id)
        self._waits.begin(self.step)
        self.mark()

    def forward(self) -> bool:
        """Go to the next step that applies; False at the end."""
        return self._move(run.next_step(self.checklist, self.facts, self._step_id))

    def backward(self) -> bool:
        """Go to the step before; False at the start."""
        return self._move(run.previous_step(self.checklist, self.facts, self._step_id))

    def go_to_stage(self, stage_id: str) -> None:
        """Go to a stage: to its first open step, or to its first where none is open."""
        of_stage = self.steps_of(stage_id)
        still_open = [step for step in of_stage if self.is_step_open(step)]
        for step in (still_open or of_stage)[:1]:
            self.go_to(step.id)

    def _move(self, step: Step | None) -> bool:
        if step is not None:
            self.go_to(step.id)
        return step is not None

    def _a_step(self, step_id: str) -> str:
        """Return the step asked for if the checklist has it, else the first open one."""
        if step_id in self.checklist.by_id:
            return step_id
        step = run.next_open_step(self.checklist, self.facts)
        return step.id if step else self.steps[-1].id

    # Reading

    @property
    def readings(self) -> tuple[Reading, ...]:
        """What was read on the walk so far."""
        return tuple(run.readings(self.checklist, self.facts))

    def reading_context(self, ask: AskReading) -> ReadingContext:
        """Return what a reading step is judged by, as things stand."""
        given = verdict_of_step(self.work_done, self._step_id)
        return ReadingContext(
            self.installation, ask.point, ask.state, self.readings, self.baseline, given
        )

    # Waiting

    def wait_left(self) -> float:
        """Seconds that the step in hand has still to wait, 0 where it need not."""
        return self._waits.left(self.step)

    def cut_wait(self) -> None:
        """Go on before the wait is over; the record says so."""
        if note := self._waits.cut(self.step):
            self.note(self._step_id, note)


class Waits:
    """Countdowns of one job's steps that must wait.

    The time at which each began is in the store, so it runs on while the phone is off. A wait
    that was cut short is said in a note, which the record carries.
    """

    def __init__(self, store: Store, job_id: str, clock: Clock) -> None:
        self._store = store
        self._job_id = job_id
        self._clock = clock
        self._begun: dict[str, str] = store.setting(WAITS, {}).get(job_id, {})

    def begin(self, step: Step) -> None:
        """Start a step's wait when it is first shown."""
        if step.wait_s and not self._begun.get(step.id):
            self._keep(step.id, self._clock().isoformat())

    def forget(self, step: Step) -> None:
        """Let a step's wait begin anew: what it waited for has stopped."""
        if step.id in self._begun:
            self._keep(step.id, "")

    def left(self, step: Step) -> float:
        """Return the seconds still to wait."""
        begun = self._begun.get(step.id, "")
        if not step.wait_s or begun == _CUT:
            return 0.0
        return max(0.0, step.wait_s - self._passed(begun))

    def cut(self, step: Step) -> str:
        """End a wait early; return the note that says so, "" where there was nothing to cut."""
        left = self.left(step)
        if not left:
            return ""
        waited = span(step.wait_s - left)
        self._keep(step.id, _CUT)
        return f"Wait cut short: {waited} of {span(step.wait_s)}."

    def _passed(self, begun: str) -> float:
        # A clock set back must not make the wait longer than it is.
        passed = (self._clock() - datetime.fromisoformat(begun)).total_seconds() if begun else 0.0
        return max(0.0, passed)

    def _keep(self, step_id: str, begun: str) -> None:
        self._begun[step_id] = begun
        kept = self._store.setting(WAITS, {})
        kept.pop(self._job_id, None)
        latest = list(kept.items())[-_JOBS_KEPT:]
        self._store.set_setting(WAITS, dict(latest) | {self._job_id: self._begun})
