"""A callback from complaint to signature: what is read, what it says, what to read next. No Kivy.

Whatever is given here is in the store before the call returns, and what is typed and not yet
given is in the store's bookmark, so an app that was killed opens again at the same place. The
diagnosis runs where ``background`` runs it; an answer older than the newest reading is dropped.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from logic.case import Case, Diagnosis, FaultId, Reading
from logic.checklist import run
from logic.checklist.answers import Answer
from logic.checklist.form import Library
from logic.checklist.step import Stage, Step
from logic.points import Point, State
from logic.records import events as happened
from logic.records.bookmark import Bookmark
from logic.records.events import CauseConcluded, Event, Responsibility
from logic.records.review import WorkDone
from logic.records.state import JobState, VehicleState, fold
from logic.records.store import Store
from logic.vehicle import Vehicle
from mobile import arrival, drafts, reading
from mobile.reading import Typed

Background = Callable[
    [Callable[[], Any], Callable[[Any], None], Callable[[BaseException], None]], None
]
Diagnose = Callable[[Case], Diagnosis]
Phase = Literal["before", "after"]
PointState = tuple[Point, State]

SCREEN = "loop"
_TYPED = "typed"
_FIRST_BY_SYMPTOM = 2
PANEL_POINTS = frozenset(
    {
        Point.SOLAR_OPEN_CIRCUIT_VOLTAGE,
        Point.SOLAR_INPUT_VOLTAGE,
        Point.SOLAR_CURRENT,
        Point.SUNLIGHT_FRACTION,
    }
)


def at_once(
    work: Callable[[], Any], done: Callable[[Any], None], failed: Callable[[BaseException], None]
) -> None:
    """Do the work here and now: the background of tests and of the desk."""
    done(work())


def diagnose_case(case: Case) -> Diagnosis:
    """Ask the engine; its import is slow and waits until now."""
    import logic

    found: Diagnosis = logic.diagnose(case)
    return found


@dataclass(frozen=True)
class Suggestion:
    """The reading worth taking next; ``of`` says who asks for it."""

    point: Point
    state: State
    of: Literal["symptom", "diagnosis", "proof", "again"]
    minutes: float | None = None


class Visit:
    """One callback; ``changed`` is called when the diagnosis has something new to say."""

    def __init__(
        self,
        store: Store,
        library: Library,
        clock: Callable[[], datetime],
        job_id: str,
        background: Background = at_once,
        diagnose: Diagnose = diagnose_case,
    ) -> None:
        self._store, self._library, self._clock = store, library, clock
        self._background, self._diagnose = background, diagnose
        self._job_id = job_id
        self._vehicle_id = store.job(job_id).vehicle_id
        self.changed: Callable[[], None] = lambda: None
        self.diagnosis: Diagnosis | None = None
        self.answered_case: Case | None = None
        self._busy = False
        self._drafts: drafts.Drafts = {}
        self.baseline = arrival.baseline(store, self._vehicle_id)
        self.reload()
        self.state = self._first_state()
        self.entering: Point | None = None
        self._take_up(store.bookmark())

    def reload(self) -> None:
        """Read the vehicle's events again, after something else wrote to the store."""
        self.vehicle: VehicleState = fold(self._vehicle_id, self._store.events(self._vehicle_id))
        self.job: JobState = self.vehicle.job(self._job_id)
        self.work = WorkDone(self.vehicle, self.job, self._library, self.baseline)
        self.installation = self.work.installation

    def _take_up(self, place: Bookmark) -> None:
        if place.job_id != self._job_id or place.screen != SCREEN:
            return
        point, _, state = place.step_id.partition("@")
        self.state = State(state) if state in State else self.state
        self.entering = Point(point) if point in Point else None
        self._drafts = drafts.read(place.unfinished)

    # What is known

    @property
    def job_id(self) -> str:
        """The job in hand."""
        return self._job_id

    @property
    def phase(self) -> Phase:
        """Before the repair, or after it: the conclusion stands between them."""
        return "before" if self.job.conclusion is None else "after"

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings of the phase in hand."""
        return self.job.readings if self.phase == "before" else self.job.readings_after

    @property
    def case(self) -> Case:
        """What the diagnosis is asked: after the repair, only what was read after it."""
        return Case(installation=self.installation, readings=self.readings, baseline=self.baseline)

    @property
    def states(self) -> tuple[State, ...]:
        """The states this vehicle can be read in."""
        return tuple(s for s in State if s is not State.SOLAR or self.has_solar)

    @property
    def has_solar(self) -> bool:
        """Whether a panel is fitted."""
        return self.installation.solar is not None

    @property
    def plate(self) -> str:
        """What the vehicle goes by."""
        return self.vehicle.vehicle.registration if self.vehicle.vehicle else ""

    def value(self, point: Point, state: State | None = None) -> float | None:
        """Return what was read at a point in a state, the state in hand if none is given."""
        wanted = (point, state or self.state)
        return next((r.value for r in self.readings if (r.point, r.state) == wanted), None)

    # Reading

    def choose_state(self, state: State) -> None:
        """Say what the vehicle is doing now."""
        self.state = state
        self.entering = None
        self.mark()

    def enter(self, point: Point, state: State | None = None) -> str:
        """Begin to enter a reading; return the digits that were typed there before."""
        self.state, self.entering = state or self.state, point
        self.mark()
        return self._drafts.get(self._place, {}).get(_TYPED, "")

    def leave(self) -> None:
        """Put the reading being entered away; its digits stay for later."""
        self.entering = None
        self.mark()

    def keep(self, text: str) -> None:
        """Keep the digits typed so far."""
        self._drafts[self._place] = {_TYPED: text}
        self.mark()

    def typed(self, text: str) -> Typed:
        """Say what a text amounts to at the place being entered."""
        place = reading.Place(
            self.installation, self._entering, self.state, self.readings, self.baseline
        )
        return reading.typed(text, place)

    def take(self, value: float, typed: str) -> None:
        """Write the reading down and ask the diagnosis."""
        taken = Reading(point=self._entering, state=self.state, value=value, taken_at=self._clock())
        self._append(happened.ReadingTaken(reading=taken, when=self.phase, typed=typed[:32]))
        self._drafts.pop(self._place, None)
        self.leave()
        self.ask()

    def withdraw(self, point: Point, state: State) -> None:
        """Take the latest reading at a place back."""
        value = self.value(point, state)
        if value is None:
            return
        taken = Reading(point=point, state=state, value=value)
        body = happened.ReadingTaken(reading=taken, when=self.phase, withdrawn=True)
        self._append(body)
        self.ask()

    @property
    def _entering(self) -> Point:
        if self.entering is None:
            raise ValueError("no reading is being entered")
        return self.entering

    @property
    def _place(self) -> str:
        return f"{self.entering or ''}@{self.state}"

    # The diagnosis

    @property
    def is_thinking(self) -> bool:
        """Whether the diagnosis has not yet answered for the newest reading."""
        return self.answered_case != self.case

    def ask(self) -> None:
        """Ask the diagnosis about the readings as they stand, unless it knows them already."""
        if self._busy or not self.is_thinking:
            return
        self._busy = True
        case = self.case
        self._background(
            lambda: self._diagnose(case), lambda found: self._answered(case, found), self._failed
        )

    def _answered(self, case: Case, found: Diagnosis) -> None:
        self._busy = False
        if case != self.case:
            self.ask()  # older than the newest reading: dropped
            return
        self.answered_case, self.diagnosis = case, found
        self.changed()

    def _failed(self, error: BaseException) -> None:
        self._busy = False
        raise error

    # What to read next

    def next_reading(self) -> Suggestion | None:
        """Return the reading worth taking next, None where no more is needed."""
        if self.phase == "after":
            return next(iter(self._proofs_open()), None)
        first = self._first_by_symptom()
        if first is not None:
            return first
        if self.diagnosis is None:
            return None
        for worth in self.diagnosis.next_readings:
            if self.value(worth.point, worth.state) is None:
                return Suggestion(worth.point, worth.state, "diagnosis", worth.cost_minutes)
        return None

    def _first_by_symptom(self) -> Suggestion | None:
        """Symptoms set where to begin; after two readings the readings lead."""
        if len(self.readings) >= _FIRST_BY_SYMPTOM:
            return None
        words = set(self.job.symptoms)
        for symptom in self._library.symptoms.values():
            if symptom.words not in words:
                continue
            for first in symptom.first_readings:
                if self._can_read(first.point, first.state):
                    return Suggestion(first.point, first.state, "symptom")
        return None

    def _can_read(self, point: Point, state: State) -> bool:
        fits = self.has_solar or (state is not State.SOLAR and point not in PANEL_POINTS)
        return fits and self.value(point, state) is None

    # Closing

    def conclude(
        self,
        faults: tuple[FaultId, ...],
        cause: str,
        repair: str,
        responsibility: Responsibility,
    ) -> None:
        """Write down what was found, what was done, and whose matter it was."""
        body = CauseConcluded(
            faults=faults, cause=cause, repair=repair, responsibility=responsibility
        )
        self._append(body)
        self.ask()

    def proofs(self) -> tuple[PointState, ...]:
        """List the readings that prove the repair: those the fault touches, taken again."""
        from logic.diagnosis.catalogue import proof_readings

        faults = self.job.conclusion.faults if self.job.conclusion else ()
        wanted = [(proof.point, proof.state) for f in faults for proof in proof_readings(f)]
        return tuple(dict.fromkeys(wanted))

    def also_touched(self) -> tuple[PointState, ...]:
        """List the other commissioning readings of the parts that the repair touched."""
        faults = self.job.conclusion.faults if self.job.conclusion else ()
        checklist = self._library.checklists.get("commissioning")
        if checklist is None:
            return ()
        facts = run.Facts(installation=self.installation, answers={}, skipped={})
        steps = run.steps_to_prove(self._library, checklist, facts, faults)
        found = [(s.point, s.state) for s in steps if s.point is not None and s.state is not None]
        return tuple(place for place in dict.fromkeys(found) if place not in self.proofs())

    def _proofs_open(self) -> tuple[Suggestion, ...]:
        places = (place for place in self.proofs() if self._can_read(*place))
        return tuple(Suggestion(point, state, "proof") for point, state in places)

    def name_vehicle(self, vehicle: Vehicle) -> None:
        """Give a stranger's vehicle its plate."""
        self._append(happened.VehicleDescribed(vehicle=vehicle))

    # The steps around the readings

    def stage(self, stage_id: str) -> Stage:
        """Return a stage of the callback's checklist."""
        checklist = self._library.checklists[arrival.CHECKLIST]
        return next(stage for stage in checklist.stages if stage.id == stage_id)

    def steps(self, stage_id: str) -> tuple[Step, ...]:
        """List a stage's steps that apply."""
        checklist = self.work.checklist
        if checklist is None:
            return ()
        applicable = run.applicable_steps(checklist, self.work.facts)
        return tuple(s for s in applicable if checklist.stage_of[s.id].id == stage_id)

    def open_required(self, stage_id: str) -> int:
        """Count a stage's required steps that are neither answered nor skipped."""
        done = {*self.job.answers, *self.job.skipped}
        return sum(step.required and step.id not in done for step in self.steps(stage_id))

    def answer(self, step_id: str, answer: Answer) -> None:
        """Answer a step of the checklist around the readings."""
        entry = self.job.answers.get(step_id)
        if entry is None or entry.answer != answer:
            self._append(happened.StepAnswered(step_id=step_id, answer=answer))

    def mark(self) -> None:
        """Mark the place in the store, with the digits not yet given."""
        self._store.set_bookmark(
            Bookmark(
                vehicle_id=self._vehicle_id,
                job_id=self._job_id,
                screen=SCREEN,
                step_id=self._place,
                unfinished=drafts.write(self._drafts, self._place),
            )
        )

    def _append(self, body: happened.Body) -> None:
        event = Event(vehicle_id=self._vehicle_id, job_id=self._job_id, at=self._clock(), body=body)
        self._store.append(event)
        self.reload()

    def _first_state(self) -> State:
        suggestion = self.next_reading()
        return suggestion.state if suggestion else State.IDLE
