"""The walk: one job's checklist, one screen at a time. No Kivy."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import takewhile
from types import MappingProxyType

from logic.case import Judgement, Reading, Verdict
from logic.checklist import run
from logic.checklist.answers import Answer, YesNoAnswer
from logic.checklist.form import Library
from logic.checklist.step import AskReading, AskYesNo, Caution, Checklist, Stage, Step
from logic.errors import RecordError
from logic.limits.followed import all_followed
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
    follows: tuple[str, ...] = ()

    @property
    def is_exception(self) -> bool:
        """Whether what is on record calls for an explanation."""
        out = self.verdict is not None and self.verdict.verdict is Judgement.OUT_OF_RANGE
        return self.answer is not None and (out or not self.acceptable)


class Walk(JobInHand):
    """A job at one step of its checklist.

    Steps of a look are shown together, until one of them is taken out by itself.
    """

    screen = STEP_SCREEN

    def __init__(
        self, store: Store, library: Library, clock: Clock, job_id: str, step_id: str = ""
    ) -> None:
        super().__init__(store, library, clock, job_id)
        self._waits = Waits(store, job_id, clock)
        self._cautions_read: set[str] = set()
        self._is_alone = False
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
        number, count = self.place_in_stage()
        entry, left_out = job.answers.get(step.id), job.skipped.get(step.id)
        answer = entry.answer if entry else None
        return StepView(
            step=step,
            stage=stage,
            number=number,
            count=count,
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
            follows=self._follows(step),
        )

    def _follows(self, step: Step) -> tuple[str, ...]:
        """Say which voltages of a reading step's state follow from what was read."""
        if step.state is None:
            return ()
        return tuple(one.words for one in all_followed(self.readings, step.state))

    def place_in_stage(self) -> tuple[int, int]:
        """Count the screen in hand and all screens of its stage; the screen is 0 if it is none."""
        of_stage = run.screens_of(self.checklist, self.steps_of(self.stage.id))
        numbers = [i for i, shown in enumerate(of_stage, 1) if self.step in shown.steps]
        return (numbers[0] if numbers else 0), len(of_stage)

    # Looking at several things at once

    @property
    def look(self) -> run.Screen | None:
        """The look in hand with its steps, None where one step is shown by itself."""
        return None if self._is_alone else self._look_of_step()

    def _look_of_step(self) -> run.Screen | None:
        of_stage = run.screens_of(self.checklist, self.steps_of(self.stage.id))
        shown = (one for one in of_stage if self.step in one.steps and one.look is not None)
        return next(shown, None)

    @property
    def is_taken_out(self) -> bool:
        """Whether one step of a look is shown by itself."""
        return self._is_alone

    def cautions_of_look(self, look: run.Screen) -> tuple[Caution, ...]:
        """The cautions of every step of a look, each once."""
        ids = dict.fromkeys(caution for step in look.steps for caution in step.cautions)
        return run.cautions(self.library, ids, self.facts)

    def take_out(self, step_id: str) -> None:
        """Show one step of a look by itself."""
        self.go_to(step_id)
        self._is_alone = self._look_of_step() is not None

    def put_back(self) -> bool:
        """Show the look again that the step in hand was taken out of; False where there is none."""
        was_alone, self._is_alone = self._is_alone, False
        return was_alone

    def put_in_order(self, steps: Sequence[Step]) -> None:
        """Answer each of these that is open as it should be: one event for each."""
        for step in steps:
            if isinstance(step.ask, AskYesNo) and self.is_step_open(step):
                self.answer(step.id, YesNoAnswer(yes=step.ask.acceptable == "yes"))

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
        self._is_alone = False
        self._waits.begin(self.step)
        self.mark()

    def forward(self) -> bool:
        """Go to the next screen; False at the end."""
        return self._move(self._neighbour(run.next_step))

    def backward(self) -> bool:
        """Go to the screen before; False at the start."""
        found = self._neighbour(run.previous_step)
        return self._move(found and self._first_of_its_screen(found))

    def _neighbour(self, way: Callable[[Checklist, run.Facts, str], Step | None]) -> Step | None:
        """Return the next step this way that is not on the screen in hand."""
        facts, shown = self.facts, self._look_of_step()
        here = shown.steps if shown else (self.step,)
        found = way(self.checklist, facts, self._step_id)
        while found in here:
            found = way(self.checklist, facts, found.id)
        return found

    def _first_of_its_screen(self, step: Step) -> Step:
        of_stage = self.steps_of(self.checklist.stage_of[step.id].id)
        shown = run.screens_of(self.checklist, of_stage)
        return next((one.steps[0] for one in shown if step in one.steps), step)

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
        return self._waits.left(self.step, self.job.entries)

    def wait_words(self) -> str:
        """Say what the wait of the step in hand runs from, "" where being shown began it."""
        begun_by = self.step.wait_from
        if begun_by is None or self._waits.begun_at(self.step, self.job.entries) is None:
            return ""
        return f"Runs since: {self.checklist.by_id[begun_by].title}"

    def cut_wait(self) -> None:
        """Go on before the wait is over; the record says so."""
        if note := self._waits.cut(self.step, self.job.entries):
            self.note(self._step_id, note)

    def say_waited(self) -> None:
        """Take the technician's word that the wait was kept before; the record says whose it is."""
        if note := self._waits.kept_before(self.step, self.job.entries):
            self.note(self._step_id, note)


Entries = Mapping[str, Sequence[StepEntry]]
_NOTHING_GIVEN: Entries = MappingProxyType({})


class Waits:
    """Countdowns of one job's steps that must wait.

    A wait runs from what begins it: the answer to the step that it names, which is an event like
    any other, so it runs on whatever else is shown or done, and while the phone is off. Only where
    that step was not answered does it run from when its own step was first shown. A wait that was
    cut short is said in a note, which the record carries.
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

    def begun_at(self, step: Step, entries: Entries = _NOTHING_GIVEN) -> datetime | None:
        """Return when the event came that the wait runs from, None where it did not.

        Giving the same answer once more is no new event.
        """
        given = entries.get(step.wait_from or "", ())
        if not given or given[-1].answer is None:
            return None
        same = takewhile(lambda entry: entry.answer == given[-1].answer, reversed(given))
        return min(entry.at for entry in same)

    def left(self, step: Step, entries: Entries = _NOTHING_GIVEN) -> float:
        """Return the seconds still to wait."""
        if not step.wait_s:
            return 0.0
        begun, event = self._begun.get(step.id, ""), self.begun_at(step, entries)
        if begun.startswith(_CUT) and not _is_later(event, begun):
            return 0.0
        if event is None:
            event = datetime.fromisoformat(begun) if begun and _CUT not in begun else None
        return max(0.0, step.wait_s - self._passed(event))

    def cut(self, step: Step, entries: Entries = _NOTHING_GIVEN) -> str:
        """End a wait early; return the note that says so, "" where there was nothing to cut."""
        left = self.left(step, entries)
        if not left:
            return ""
        self._end(step)
        return f"Wait cut short: {span(step.wait_s - left)} of {span(step.wait_s)}."

    def kept_before(self, step: Step, entries: Entries = _NOTHING_GIVEN) -> str:
        """End a wait that was kept before; return the note that says so, as :meth:`cut`."""
        if not self.left(step, entries):
            return ""
        self._end(step)
        return f"Waited before, as the technician says: {span(step.wait_s)} or more."

    def _end(self, step: Step) -> None:
        self._keep(step.id, f"{_CUT} {self._clock().isoformat()}")

    def _passed(self, begun: datetime | None) -> float:
        # A clock set back must not make the wait longer than it is.
        return max(0.0, (self._clock() - begun).total_seconds()) if begun else 0.0

    def _keep(self, step_id: str, begun: str) -> None:
        self._begun[step_id] = begun
        kept = self._store.setting(WAITS, {})
        kept.pop(self._job_id, None)
        latest = list(kept.items())[-_JOBS_KEPT:]
        self._store.set_setting(WAITS, dict(latest) | {self._job_id: self._begun})


def _is_later(event: datetime | None, cut: str) -> bool:
    """Whether an event came after a wait was cut short: then the next wait is another one.

    Release 0.1.0 kept no time with a cut.
    """
    at = cut.removeprefix(_CUT).strip()
    return event is not None and bool(at) and event > datetime.fromisoformat(at)
