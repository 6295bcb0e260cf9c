"""The job in hand: the only thing the walk's screens talk to. No Kivy.

Whatever is given here is in the store before the call returns. Where the technician is, and
what is typed but not yet given, is in the store's bookmark at every key, so that an app that
was killed opens again at the same place (:meth:`Session.resumed`).
"""

from collections.abc import Callable
from datetime import datetime

from logic.case import Reading, Verdict
from logic.checklist import run
from logic.checklist.answers import Answer, PhotoAnswer, ReadingAnswer
from logic.checklist.form import Library
from logic.checklist.step import AskReading, Caution, Checklist, Stage, Step
from logic.errors import RecordError
from logic.limits.expected import Expectation
from logic.records import events as happened
from logic.records.events import Event
from logic.records.review import WorkDone
from logic.records.state import JobState, VehicleState, fold
from logic.records.store.bookmark import Bookmark
from logic.records.store.store import Store
from logic.vehicle.points import Point
from mobile.jobs import callback_start, drafts, typed_reading
from mobile.jobs.step_view import StepView
from mobile.jobs.typed_reading import Place, Typed
from mobile.jobs.waits import Waits

Clock = Callable[[], datetime]

STEP_SCREEN = "step"


class Session:
    """One job on one vehicle, at one step."""

    def __init__(
        self, store: Store, library: Library, clock: Clock, job_id: str, step_id: str = ""
    ) -> None:
        self._store = store
        self._library = library
        self._clock = clock
        self._vehicle_id = store.job(job_id).vehicle_id
        self._job_id = job_id
        self._waits = Waits(store, job_id, clock)
        place = store.bookmark()
        marked = place if place.job_id == job_id else Bookmark()
        self._drafts = drafts.read(marked.unfinished)
        self._cautions_read: set[str] = set()
        self.reload()
        self._step_id = self._a_step(step_id or marked.step_id)

    @classmethod
    def resumed(cls, store: Store, library: Library, clock: Clock) -> "Session | None":
        """Open the job that the bookmark is in, at its step with what was typed; or None."""
        place = store.bookmark()
        return cls(store, library, clock, place.job_id) if place.job_id else None

    def reload(self) -> None:
        """Read the vehicle's events again, after something else wrote to the store."""
        self._events = list(self._store.events(self._vehicle_id))
        self._refold()

    def _refold(self) -> None:
        self.vehicle: VehicleState = fold(self._vehicle_id, self._events)
        self.job: JobState = self.vehicle.job(self._job_id)
        baseline: tuple[Reading, ...] = ()
        if self.job.kind == "callback":
            baseline = callback_start.baseline(self._store, self._vehicle_id)
        self.work = WorkDone(self.vehicle, self.job, self._library, baseline)
        self._facts = self.work.facts

    # Where one is

    @property
    def checklist(self) -> Checklist:
        """The job's checklist; ``RecordError`` where the job has none."""
        checklist = self.work.checklist
        if checklist is None:
            raise RecordError("This job has no checklist. Open a commissioning job instead.")
        return checklist

    @property
    def step(self) -> Step:
        """The step in hand."""
        return self.checklist.by_id[self._step_id]

    @property
    def stage(self) -> Stage:
        """The stage of the step in hand."""
        return self.checklist.stage_of[self._step_id]

    @property
    def steps(self) -> tuple[Step, ...]:
        """Every step that applies, in order."""
        return run.applicable_steps(self.checklist, self._facts)

    def view(self) -> StepView:
        """Gather what the step's screen shows."""
        step, job, stage = self.step, self.job, self.stage
        of_stage = [one.id for one in self.steps if self.checklist.stage_of[one.id] == stage]
        entry, left_out = job.answers.get(step.id), job.skipped.get(step.id)
        answer = entry.answer if entry else None
        return StepView(
            step=step,
            stage=stage,
            number=of_stage.index(step.id) + 1 if step.id in of_stage else 0,
            count=len(of_stage),
            cautions=run.cautions(self._library, step.cautions, self._facts),
            answer=answer,
            acceptable=answer is None or run.is_acceptable(step, answer),
            verdict=self._verdict(answer),
            skip_reason=left_out.reason if left_out else "",
            notes=job.notes.get(step.id, ()),
            photos=job.photos.get(step.id, ()),
            history=job.history.get(step.id, ()),
            explanation=job.explanations.get(step.id, ""),
            clashes=job.clashes.get(step.id, ()),
        )

    def progress(self) -> tuple[run.StageProgress, ...]:
        """Count how far each stage is."""
        return run.progress(self.checklist, self._facts)

    def cautions_of_stage(self) -> tuple[Caution, ...]:
        """The cautions to show when the stage in hand is entered."""
        return run.cautions(self._library, self.stage.cautions, self._facts)

    def reads_caution(self, caution_id: str) -> bool:
        """Take note that a caution is shown; tell whether it is for the first time."""
        first = caution_id not in self._cautions_read
        self._cautions_read.add(caution_id)
        return first

    # Moving

    def go_to(self, step_id: str) -> None:
        """Take a step in hand, and mark the place."""
        self._step_id = self._a_step(step_id)
        self._waits.begin(self.step)
        self.mark()

    def forward(self) -> bool:
        """Go to the next step that applies; False at the end."""
        return self._move(run.next_step(self.checklist, self._facts, self._step_id))

    def backward(self) -> bool:
        """Go to the step before; False at the start."""
        return self._move(run.previous_step(self.checklist, self._facts, self._step_id))

    def go_to_stage(self, stage_id: str) -> None:
        """Go to a stage: to its first open step, or to its first where none is open."""
        of_stage = [step for step in self.steps if self.checklist.stage_of[step.id].id == stage_id]
        still_open = [
            step
            for step in of_stage
            if step.id not in self._facts.answers and step.id not in self._facts.skipped
        ]
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
        step = run.next_open_step(self.checklist, self._facts)
        return step.id if step else self.steps[-1].id

    # Reading

    def place(self) -> Place | None:
        """Where the step in hand reads, None where it reads nothing."""
        ask = self.step.ask
        if not isinstance(ask, AskReading):
            return None
        taken = run.readings(self.checklist, self._facts)
        installation, baseline = self.work.installation, self.work.baseline
        return Place(installation, ask.point, ask.state, taken, baseline)

    def expectation(self) -> Expectation | None:
        """What this vehicle should show at the step in hand; None where it reads nothing."""
        place = self.place()
        if place is None:
            return None
        from logic.limits.expectation import expectation  # not on the start path

        return expectation(
            place.installation, place.readings, place.point, place.state, place.baseline
        )

    def typed(self, text: str) -> Typed:
        """Say what a text amounts to as the reading of the step in hand."""
        place = self.place()
        if place is None:
            raise ValueError(f"step {self._step_id} takes no reading")
        return typed_reading.typed(text, place)

    def _verdict(self, answer: Answer | None) -> Verdict | None:
        place = self.place()
        if place is None or not isinstance(answer, ReadingAnswer):
            return None
        return typed_reading.verdict(answer.value, place)

    # Giving

    def answer(self, answer: Answer) -> None:
        """Answer the step in hand; an earlier answer stays in its history."""
        self._append(happened.StepAnswered(step_id=self._step_id, answer=answer))
        self._drafts.pop(self._step_id, None)
        self.mark()

    def skip(self, reason: str) -> None:
        """Leave the step in hand out, for a reason."""
        self._append(happened.StepSkipped(step_id=self._step_id, reason=reason))
        self._drafts.pop(self._step_id, None)
        self.mark()

    def note(self, text: str) -> None:
        """Put a note on the step in hand."""
        self._append(happened.StepNoted(step_id=self._step_id, text=text))
        self.keep("note", "")

    def photo(self, data: bytes, *, step_id: str = "", answers: bool = False) -> str:
        """Put a photo on a step, the one in hand if none is named; returns its digest.

        ``answers`` makes it the step's answer too.
        """
        step_id = step_id or self._step_id
        sha256 = self._store.add_photo(data)
        self._append(happened.PhotoTaken(step_id=step_id, sha256=sha256))
        if answers:
            answer = PhotoAnswer(sha256=sha256)
            self._append(happened.StepAnswered(step_id=step_id, answer=answer))
        return sha256

    def explain(self, text: str) -> None:
        """Say why what is not in order at the step in hand is accepted as it is."""
        self._append(happened.ExceptionExplained(step_id=self._step_id, explanation=text))
        self.keep("explanation", "")

    def _append(self, body: happened.Body) -> None:
        event = Event(vehicle_id=self._vehicle_id, job_id=self._job_id, at=self._clock(), body=body)
        self._events.append(self._store.append(event))
        self._refold()

    # What is not given yet

    def draft(self, kind: str) -> str:
        """Return what was typed and not yet given at the step in hand, by kind."""
        return self._drafts.get(self._step_id, {}).get(kind, "")

    def keep(self, kind: str, text: str) -> None:
        """Keep what is typed and not yet given."""
        self._drafts.setdefault(self._step_id, {})[kind] = text
        self.mark()

    def mark(self) -> None:
        """Mark the place in the store, with everything not yet given."""
        self._store.set_bookmark(
            Bookmark(
                vehicle_id=self._vehicle_id,
                job_id=self._job_id,
                screen=STEP_SCREEN,
                step_id=self._step_id,
                unfinished=drafts.write(self._drafts, self._step_id),
            )
        )

    # Waiting

    def wait_left(self) -> float:
        """Seconds that the step in hand has still to wait, 0 where it need not."""
        return self._waits.left(self.step)

    def cut_wait(self) -> None:
        """Go on before the wait is over; the record says so."""
        if note := self._waits.cut(self.step):
            self.note(note)

    @property
    def point(self) -> Point | None:
        """The point that the step in hand reads."""
        return self.step.point

    @property
    def has_solar(self) -> bool:
        """Whether a panel is fitted."""
        return self.work.installation.solar is not None
