"""A callback in hand: the reading being entered, what the readings say, what to read next. No Kivy.

The diagnosis runs where ``background`` runs it; an answer older than the newest reading is
dropped and asked for again. What is stored is :mod:`mobile.jobs.callback_job`'s.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from logic.case import Case, Diagnosis, FaultId, Responsibility
from logic.checklist import run
from logic.checklist.form import Library
from logic.records.store.store import Store
from logic.vehicle.points import Point, State
from mobile.jobs import typed_reading
from mobile.jobs.callback_job import SCREEN, SCREENS, Phase, VisitJob
from mobile.jobs.typed_reading import Typed

__all__ = ["SCREEN", "SCREENS", "Phase", "Suggestion", "Visit", "at_once"]

Done = Callable[[Any], None]
Failed = Callable[[BaseException], None]
Background = Callable[[Callable[[], Any], Done, Failed], None]
Diagnose = Callable[[Case], Diagnosis]
PointState = tuple[Point, State]

_FIRST_BY_SYMPTOM = 2
# Assumed: one wrong answer in twenty is where a technician would act.
_SURE_ENOUGH = 0.95


def at_once(work: Callable[[], Any], done: Done, failed: Failed) -> None:
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
    tells_apart: tuple[FaultId, ...] = ()


class Visit(VisitJob):
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
        super().__init__(store, library, clock, job_id)
        self.changed: Callable[[], None] = _nobody
        self.diagnosis: Diagnosis | None = None
        self._background, self._diagnose = background, diagnose
        self._answered_case: Case | None = None
        self._found_before: Diagnosis | None = None
        self._busy = False
        self.state = self.first_state()
        self.take_up(store.bookmark())

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
        return self.digits()

    def leave(self) -> None:
        """Put the reading being entered away; its digits stay for later."""
        self.entering = None
        self.mark()

    def typed(self, text: str) -> Typed:
        """Say what a text amounts to at the place being entered."""
        place = typed_reading.Place(
            self.installation, self._entering, self.state, self.readings, self.baseline
        )
        return typed_reading.typed(text, place)

    def take(self, value: float, typed: str) -> None:
        """Write the reading down and ask the diagnosis."""
        self.write_reading(self._entering, value, typed)
        self.leave()
        self.ask()

    def withdraw(self, point: Point, state: State) -> None:
        """Take the latest reading at a place back."""
        value = self.value(point, state)
        if value is not None:
            self.take_back(point, state, value)
            self.ask()

    @property
    def _entering(self) -> Point:
        if self.entering is None:
            raise ValueError("no reading is being entered")
        return self.entering

    # The diagnosis

    @property
    def is_thinking(self) -> bool:
        """Whether the diagnosis has not yet answered for the newest reading."""
        return self._answered_case != self.case

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
        self._answered_case, self.diagnosis = case, found
        if self.phase == "before":
            self._found_before = found
        self.changed()

    def _failed(self, error: BaseException) -> None:
        self._busy = False
        raise error

    def diagnosis_before(self, then: Callable[[Diagnosis], None]) -> None:
        """Hand over what the readings before the repair said; asks again after a restart."""
        if self._found_before is not None and self.phase == "after":
            then(self._found_before)
            return
        case = self.case_before
        self._background(lambda: self._diagnose(case), then, self._failed)

    # What to read next

    @property
    def is_settled(self) -> bool:
        """Whether the readings say enough to act on; more would only make surer."""
        if self.diagnosis is None or self.is_thinking or len(self.readings) < _FIRST_BY_SYMPTOM:
            return False
        return self.diagnosis.findings[0].probability >= _SURE_ENOUGH

    def next_reading(self) -> Suggestion | None:
        """Return the reading worth taking next, None where no more is needed."""
        if doubtful := self._to_take_again():
            return doubtful
        if self.phase == "after":
            return next(iter(self._proofs_open()), None)
        return self._first_by_symptom() or self._by_diagnosis()

    def first_state(self) -> State:
        """Return the state in which the first reading is best taken."""
        suggestion = self.next_reading()
        return suggestion.state if suggestion else State.IDLE

    def _to_take_again(self) -> Suggestion | None:
        """A reading that cannot be right is taken again, once; then it stands as it is."""
        for doubt in self.diagnosis.suspect_readings if self.diagnosis else ():
            place = (doubt.point, doubt.state)
            if self.value(*place) is not None and self.times_read(*place) == 1:
                return Suggestion(*place, "again")
        return None

    def _first_by_symptom(self) -> Suggestion | None:
        """Symptoms set where to begin; after two readings the readings lead."""
        if len(self.readings) >= _FIRST_BY_SYMPTOM:
            return None
        words = set(self.job.symptoms)
        told = (one for one in self.library.symptoms.values() if one.words in words)
        places = ((first.point, first.state) for one in told for first in one.first_readings)
        return next((Suggestion(*place, "symptom") for place in places if self._opens(place)), None)

    def _by_diagnosis(self) -> Suggestion | None:
        for worth in self.diagnosis.next_readings if self.diagnosis else ():
            if self.value(worth.point, worth.state) is None:
                return Suggestion(
                    worth.point, worth.state, "diagnosis", worth.cost_minutes, worth.tells_apart
                )
        return None

    def _opens(self, place: PointState) -> bool:
        point, state = place
        fits = self.has_solar or not (state.needs_panel or point.needs_panel)
        return fits and self.value(point, state) is None

    # Proving the repair

    def conclude(
        self,
        faults: tuple[FaultId, ...],
        cause: str,
        repair: str,
        responsibility: Responsibility,
    ) -> None:
        """Write down what was found and done; what is read from now on is after the repair."""
        self.write_conclusion(faults, cause, repair, responsibility)
        self.ask()

    def proofs(self) -> tuple[PointState, ...]:
        """List the readings that prove the repair: those the fault touches, taken again."""
        from logic.diagnosis.catalogue import proof_readings

        return tuple((proof.point, proof.state) for proof in proof_readings(self._concluded_faults))

    def also_touched(self) -> tuple[PointState, ...]:
        """List the other commissioning readings of the parts that the repair touched."""
        from logic.diagnosis.catalogue import parts_touched

        checklist = self.library.checklists.get("commissioning")
        if checklist is None:
            return ()
        facts = run.Facts(installation=self.installation, answers={}, skipped={})
        steps = run.steps_to_prove(checklist, facts, parts_touched(self._concluded_faults))
        found = [(s.point, s.state) for s in steps if s.point is not None and s.state is not None]
        proofs = self.proofs()
        return tuple(place for place in dict.fromkeys(found) if place not in proofs)

    @property
    def _concluded_faults(self) -> tuple[FaultId, ...]:
        return self.job.conclusion.faults if self.job.conclusion else ()

    def _proofs_open(self) -> tuple[Suggestion, ...]:
        places = (place for place in self.proofs() if self._opens(place))
        return tuple(Suggestion(*place, "proof") for place in places)


def _nobody() -> None:
    pass
