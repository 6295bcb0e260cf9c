"""A callback as the store has it: what was told, read, concluded and answered. No Kivy.

Whatever is given here is in the store before the call returns. What is typed and not yet given
is in the store's bookmark at every key, with the place where the technician is.
"""

from collections import Counter
from collections.abc import Callable
from datetime import datetime
from typing import Literal

from logic.case import Case, FaultId, Reading, Responsibility
from logic.checklist import run
from logic.checklist.answers import Answer, TextAnswer
from logic.checklist.form import Library
from logic.checklist.step import AskText, Step
from logic.errors import InputError
from logic.records import events as happened
from logic.records.events import CauseConcluded, Event
from logic.records.review import WorkDone
from logic.records.state import JobState, VehicleState, fold
from logic.records.store.bookmark import Bookmark
from logic.records.store.store import Store
from logic.vehicle.identity import Vehicle
from logic.vehicle.points import Point, State
from mobile.jobs import callback_start, drafts

Phase = Literal["before", "after"]

SCREEN = "loop"
SCREENS = (SCREEN, "findings", "ladder", "compared", "repair", "closing")
_STATES = {state.value: state for state in State}
_POINTS = {point.value: point for point in Point}
PLATE = "plate"
_LONGEST_PLATE = 20
_TYPED = "typed"
_TEXTS = "texts"


class VisitJob:
    """One callback's job, and the place in it: ``screen``, ``state`` and ``entering``."""

    def __init__(
        self, store: Store, library: Library, clock: Callable[[], datetime], job_id: str
    ) -> None:
        self.library = library
        self.job_id = job_id
        self._store, self._clock = store, clock
        self._vehicle_id = store.job(job_id).vehicle_id
        self._drafts: drafts.Drafts = {}
        self.screen = SCREEN
        self.state = State.IDLE
        self.entering: Point | None = None
        self.baseline = callback_start.baseline(store, self._vehicle_id)
        self.reload()

    def reload(self) -> None:
        """Read the vehicle's events again, after something else wrote to the store."""
        events = list(self._store.events(self._vehicle_id))
        self.vehicle: VehicleState = fold(self._vehicle_id, events)
        self.job: JobState = self.vehicle.job(self.job_id)
        self.work = WorkDone(self.vehicle, self.job, self.library, self.baseline)
        self.installation = self.work.installation
        self._times_read = Counter(
            (event.body.when, event.body.reading.point, event.body.reading.state)
            for event in events
            if event.job_id == self.job_id and isinstance(event.body, happened.ReadingTaken)
        )

    # What is known

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
    def case_before(self) -> Case:
        """What was read before the repair."""
        return Case(
            installation=self.installation, readings=self.job.readings, baseline=self.baseline
        )

    @property
    def states(self) -> tuple[State, ...]:
        """The states this vehicle can be read in."""
        return tuple(s for s in State if self.has_solar or not s.needs_panel)

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

    def times_read(self, point: Point, state: State) -> int:
        """Count how often a place was read in the phase in hand."""
        return self._times_read[self.phase, point, state]

    # What is given

    def write_reading(self, point: Point, value: float, typed: str) -> None:
        """Write a reading of the state in hand down."""
        taken = Reading(point=point, state=self.state, value=value, taken_at=self._clock())
        self._append(happened.ReadingTaken(reading=taken, when=self.phase, typed=typed[:32]))
        self._drafts.pop(self._place, None)

    def take_back(self, point: Point, state: State, value: float) -> None:
        """Take the latest reading at a place back; the record keeps that it was there."""
        taken = Reading(point=point, state=state, value=value)
        self._append(happened.ReadingTaken(reading=taken, when=self.phase, withdrawn=True))

    def write_conclusion(
        self,
        faults: tuple[FaultId, ...],
        cause: str,
        repair: str,
        responsibility: Responsibility,
    ) -> None:
        """Write down what was found, what was done, and whose matter it was."""
        self._append(
            CauseConcluded(faults=faults, cause=cause, repair=repair, responsibility=responsibility)
        )
        for kind in ("faults", "cause", "repair", "responsibility"):
            self._drafts.get(_TEXTS, {}).pop(kind, None)
        self.mark()

    def name_vehicle(self, plate: str) -> None:
        """Give a stranger's vehicle its plate."""
        described = self.vehicle.vehicle or Vehicle(registration=plate)
        told = described.model_dump() | {"registration": plate, "description": ""}
        self._append(happened.VehicleDescribed(vehicle=Vehicle.model_validate(told)))

    # The steps around the readings

    def steps(self, stage_id: str) -> tuple[Step, ...]:
        """List a stage's steps that apply."""
        checklist = self.work.checklist
        if checklist is None:
            return ()
        applicable = run.applicable_steps(checklist, self.work.facts)
        return tuple(s for s in applicable if checklist.stage_of[s.id].id == stage_id)

    def answered_steps(self) -> frozenset[str]:
        """Name the steps that are answered or left out with a reason."""
        return frozenset((*self.job.answers, *self.job.skipped))

    def open_steps(self, stage_id: str) -> tuple[Step, ...]:
        """List a stage's steps that are neither answered nor skipped."""
        done = self.answered_steps()
        return tuple(step for step in self.steps(stage_id) if step.id not in done)

    def answer(self, step_id: str, answer: Answer) -> None:
        """Answer a step of the checklist around the readings."""
        entry = self.job.answers.get(step_id)
        if entry is None or entry.answer != answer:
            self._append(happened.StepAnswered(step_id=step_id, answer=answer))

    def give_texts(self) -> None:
        """Give every text step what is typed there."""
        checklist = self.work.checklist
        typed = dict(self._drafts.get(_TEXTS, {}))
        for step in checklist.steps if checklist else ():
            text = typed.get(step.id, "").strip()
            if text and isinstance(step.ask, AskText):
                self.answer(step.id, TextAnswer(text=text))
                self._drafts[_TEXTS].pop(step.id)
        self.mark()

    def give_plate(self) -> None:
        """Give a stranger's vehicle the plate that is typed; none typed leaves it as it is.

        Raises
        ------
        InputError
            Longer than any plate.
        """
        plate = self.draft(PLATE).strip()
        if len(plate) > _LONGEST_PLATE:
            raise InputError(f"No plate has {len(plate)} characters. Type it as it is.", PLATE)
        if plate:
            self.name_vehicle(plate)
            self.keep_text(PLATE, "")

    # The place, and what is not given yet

    def shown(self, screen: str) -> None:
        """Say which of the visit's screens is shown now, so that it opens there again."""
        self.screen = screen
        self.mark()

    def draft(self, kind: str) -> str:
        """Return a text that was typed and not yet given."""
        return self._drafts.get(_TEXTS, {}).get(kind, "")

    def keep_text(self, kind: str, text: str) -> None:
        """Keep a text that is typed and not yet given."""
        self._drafts.setdefault(_TEXTS, {})[kind] = text
        self.mark()

    def digits(self) -> str:
        """Return the digits typed and not yet saved at the place being entered."""
        return self._drafts.get(self._place, {}).get(_TYPED, "")

    def keep(self, text: str) -> None:
        """Keep the digits typed so far."""
        self._drafts[self._place] = {_TYPED: text}
        self.mark()

    def mark(self) -> None:
        """Mark the place in the store, with what is not yet given."""
        self._store.set_bookmark(
            Bookmark(
                vehicle_id=self._vehicle_id,
                job_id=self.job_id,
                screen=self.screen,
                step_id=self._place,
                unfinished=drafts.write(self._drafts, self._place),
            )
        )

    def take_up(self, place: Bookmark) -> None:
        """Go on where the bookmark is, if it is in this job."""
        if place.job_id != self.job_id:
            return
        self.screen = place.screen if place.screen in SCREENS else SCREEN
        point, _, state = place.step_id.partition("@")
        self.state = _STATES.get(state, self.state)
        self.entering = _POINTS.get(point)
        self._drafts = drafts.read(place.unfinished)

    @property
    def _place(self) -> str:
        return f"{self.entering or ''}@{self.state}"

    def _append(self, body: happened.Body) -> None:
        event = Event(vehicle_id=self._vehicle_id, job_id=self.job_id, at=self._clock(), body=body)
        self._store.append(event)
        self.reload()
