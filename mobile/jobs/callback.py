"""The callback: a fault-finding job, its readings, what they say, what to read next. No Kivy.

The diagnosis runs where ``background`` runs it; an answer older than the newest reading is
dropped and asked for again.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

from logic.case import (
    Case,
    Diagnosis,
    FaultId,
    HiddenBehind,
    OutOfReach,
    Reading,
    Responsibility,
)
from logic.checklist import run
from logic.checklist.answers import Answer, TextAnswer
from logic.checklist.form import Library
from logic.checklist.step import AskText, Caution
from logic.errors import InputError
from logic.records.events import (
    CauseConcluded,
    ReadingOutOfReach,
    ReadingTaken,
    VehicleDescribed,
    When,
)
from logic.records.store.store import Store
from logic.vehicle.identity import Vehicle
from logic.vehicle.points import Point, ReadingKey, State
from mobile.jobs.how_to_take import HowToTake, how_to_take, start_delay
from mobile.jobs.job_in_hand import Clock, JobInHand
from mobile.jobs.typed_reading import ReadingContext
from mobile.jobs.walk import Waits

Done = Callable[[Any], None]
Failed = Callable[[BaseException], None]
Background = Callable[[Callable[[], Any], Done, Failed], None]
Diagnose = Callable[[Case], Diagnosis]

SCREEN = "circuit"
SCREENS = (SCREEN, "findings", "ladder", "compared", "repair", "closing")

# Under these ids texts that belong to no reading are kept until they are given.
TEXTS = "texts"
PLATE = "plate"
_DIGITS = "typed"
_LONGEST_PLATE = 20
_POINTS = {point.value: point for point in Point}
_STATES = {state.value: state for state in State}

_FIRST_BY_SYMPTOM = 2
# Assumed: one wrong answer in twenty is where a technician would act.
_SURE_ENOUGH = 0.95
# Assumed: from "very likely" up a finding may be acted on without a further reading.
_MAY_ACT = 0.8


def at_once(work: Callable[[], Any], done: Done, failed: Failed) -> None:
    """Do the work here and now: the background of tests and of the desk."""
    done(work())


def diagnose_case(case: Case) -> Diagnosis:
    """Ask the engine; its import is slow and waits until now."""
    import logic

    found: Diagnosis = logic.diagnose(case)
    return found


@dataclass(frozen=True)
class WantedReading:
    """The reading worth taking next, and what asks for it.

    ``before`` is the drop that this current is read for, ``why`` what it answers about the
    complaint.
    """

    point: Point
    state: State
    asked_by: Literal["symptom", "diagnosis", "left out", "repair check", "hidden", "doubt"]
    minutes: float | None = None
    tells_apart: tuple[FaultId, ...] = ()
    before: Point | None = None
    why: str = ""

    @property
    def key(self) -> ReadingKey:
        """The reading's point and state."""
        return ReadingKey(self.point, self.state)


class Callback(JobInHand):
    """One callback; ``changed`` is called when the diagnosis has something new to say.

    ``state`` is what the vehicle is doing now, ``entering`` the point being typed, if any.
    """

    def __init__(
        self,
        store: Store,
        library: Library,
        clock: Clock,
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
        self._waits = Waits(store, job_id, clock)
        self._cautions_read: set[str] = set()
        marked = self._marked()
        point, _, state = marked.step_id.partition("@")
        self.screen = marked.screen if marked.screen in SCREENS else SCREEN
        self.entering = _POINTS.get(point)
        self.state = _STATES.get(state) or self.first_state()

    @property
    def entry_id(self) -> str:
        """The point and the state in hand, as the bookmark names them."""
        return f"{self.entering or ''}@{self.state}"

    # What is known

    @property
    def phase(self) -> When:
        """Before the repair, or after it: the conclusion stands between them."""
        return "before" if self.job.conclusion is None else "after"

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings of the phase in hand."""
        return self.job.readings if self.phase == "before" else self.job.readings_after

    @property
    def case(self) -> Case:
        """What the diagnosis is asked: after the repair, only what was read after it."""
        return Case(
            installation=self.installation,
            readings=self.readings,
            baseline=self.baseline,
            out_of_reach=self.job.out_of_reach,
        )

    @property
    def states(self) -> tuple[State, ...]:
        """The states this vehicle can be read in."""
        return tuple(state for state in State if state.exists_on(self.installation))

    def value(self, point: Point, state: State | None = None) -> float | None:
        """Return what was read at a point in a state, the state in hand if none is given."""
        wanted = ReadingKey(point, state or self.state)
        return next((one.value for one in self.readings if one.key == wanted), None)

    # Reading

    def choose_state(self, state: State) -> None:
        """Say what the vehicle is doing now."""
        self._now(state)
        self.entering = None
        self.mark()

    def _now(self, state: State) -> None:
        """Take note of the state; the unit's start delay runs from the engine's start."""
        self.state = state
        if (step := start_delay(self.library)) is None:
            return
        if state.engine_runs:
            self._waits.begin(step)
        else:
            self._waits.forget(step)

    def wait_left(self) -> float:
        """Seconds of the unit's start delay still to go, 0 with the engine off."""
        step = start_delay(self.library)
        return self._waits.left(step) if step and self.state.engine_runs else 0.0

    def how_to_take(self, key: ReadingKey) -> HowToTake:
        """Say how a reading is taken, and its cautions."""
        return how_to_take(self.library, self.installation, key)

    def unread_cautions(self, key: ReadingKey) -> tuple[Caution, ...]:
        """Return the cautions of a reading that were not read on this visit yet."""
        cautions = self.how_to_take(key).cautions
        return tuple(one for one in cautions if one.id not in self._cautions_read)

    def read_cautions(self, key: ReadingKey) -> None:
        """Take note that the cautions of a reading were read."""
        self._cautions_read |= {one.id for one in self.how_to_take(key).cautions}

    def enter(self, point: Point, state: State | None = None) -> str:
        """Begin to enter a reading; return the digits that were typed there before."""
        self._now(state or self.state)
        self.entering = point
        self.mark()
        return self.draft(self.entry_id, _DIGITS)

    def keep_digits(self, text: str) -> None:
        """Keep the digits typed so far of the reading being entered."""
        self.keep(self.entry_id, _DIGITS, text)

    def leave(self) -> None:
        """Put the reading being entered away; its digits stay for later."""
        self.entering = None
        self.mark()

    def reading_context(self) -> ReadingContext:
        """Return what the reading being entered is judged by, as things stand."""
        return ReadingContext(
            self.installation, self._entered_point, self.state, self.readings, self.baseline
        )

    def take(self, value: float, typed: str) -> None:
        """Write the reading being entered down and ask the diagnosis."""
        reading = Reading(
            point=self._entered_point, state=self.state, value=value, taken_at=self._clock()
        )
        self._append(ReadingTaken(reading=reading, when=self.phase, typed=typed[:32]))
        self._drop_drafts(self.entry_id)
        self.leave()
        self.ask()

    def withdraw(self, point: Point, state: State) -> None:
        """Take the latest reading at a point and state back; the record keeps that it was there."""
        value = self.value(point, state)
        if value is not None:
            reading = Reading(point=point, state=state, value=value)
            taken = ReadingTaken(reading=reading, when=self.phase, withdrawn=True)
            self._append(taken)
            self.ask()

    def cannot_reach(self, point: Point, state: State) -> None:
        """Write down that a reading cannot be taken; it is not asked for any more."""
        self._say_of_reach(point, state, withdrawn=False)

    def can_reach(self, point: Point, state: State) -> None:
        """Take back that a reading cannot be taken."""
        self._say_of_reach(point, state, withdrawn=True)

    def _say_of_reach(self, point: Point, state: State, *, withdrawn: bool) -> None:
        reading = OutOfReach(point=point, state=state)
        self._append(ReadingOutOfReach(reading=reading, withdrawn=withdrawn))
        self.ask()

    @property
    def _entered_point(self) -> Point:
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
        case = self.work_done.case
        self._background(lambda: self._diagnose(case), then, self._failed)

    # What to read next

    @property
    def is_settled(self) -> bool:
        """Whether the readings say enough to act on; more would only make surer."""
        if self.diagnosis is None or self.is_thinking or len(self.readings) < _FIRST_BY_SYMPTOM:
            return False
        first = self.diagnosis.findings[:1]
        return any(one.probability >= _SURE_ENOUGH for one in first)

    @property
    def is_very_likely(self) -> bool:
        """Whether the likeliest finding may be acted on by its probability alone."""
        first = self.diagnosis.findings[:1] if self.diagnosis else ()
        return any(one.probability >= _MAY_ACT for one in first)

    @property
    def may_act(self) -> bool:
        """Whether something was read and the likeliest finding is worth acting on.

        It is when it is very likely, or when no further reading would change it.
        """
        if self.diagnosis is None or self.is_thinking or not self.readings:
            return False
        return self.is_very_likely or self.next_reading() is None

    def next_reading(self) -> WantedReading | None:
        """Return the reading worth taking next, None where no more is needed.

        A current comes before the drops that hang on it.
        """
        if doubtful := self._to_take_again():
            return doubtful
        wanted = self._wanted()
        return self._current_first(wanted) if wanted else None

    def _current_first(self, wanted: WantedReading) -> WantedReading:
        from logic.limits.reading_order import read_first  # imports numpy: not on the start path

        first = read_first(self.installation, self.readings, wanted.key)
        if first is None or not self._can_take(first):
            return wanted
        return replace(wanted, point=first.point, before=wanted.point)

    def _wanted(self) -> WantedReading | None:
        if self.phase == "after":
            still_open = (key for key in self.check_readings() if self._can_take(key))
            return next((self._wanted_after(key) for key in still_open), None)
        return (
            self._first_by_symptom()
            or self._by_diagnosis()
            or self._before_clearing()
            or self._worth_reaching()
        )

    def _wanted_after(self, key: ReadingKey) -> WantedReading:
        hidden = self.hidden_faults(key)
        return WantedReading(*key, "hidden" if hidden else "repair check", tells_apart=hidden)

    def first_state(self) -> State:
        """Return the state in which the first reading is best taken."""
        wanted = self.next_reading()
        return wanted.state if wanted else State.IDLE

    def _to_take_again(self) -> WantedReading | None:
        """A reading that cannot be right is taken again, once; then it stands as it is."""
        for doubtful in self.diagnosis.suspect_readings if self.diagnosis else ():
            times = self.job.times_taken[self.phase, doubtful.key]
            if times == 1 and self.value(*doubtful.key) is not None:
                return WantedReading(*doubtful.key, "doubt")
        return None

    def _first_by_symptom(self) -> WantedReading | None:
        """Symptoms set where to begin; after two readings the readings lead."""
        return self._by_symptom() if len(self.readings) < _FIRST_BY_SYMPTOM else None

    def _before_clearing(self) -> WantedReading | None:
        """What the complaint asks for is read before it is answered with "no part is at fault"."""
        from logic.diagnosis import catalogue

        first = self.diagnosis.findings[:1] if self.diagnosis else ()
        clears = any(
            all(entry.equipment_is_sound for entry in catalogue.known(one.faults)) for one in first
        )
        return self._by_symptom() if clears and not self.is_settled else None

    def _worth_reaching(self) -> WantedReading | None:
        """What was left out, and alone would tell, is asked for once more."""
        for worth in self.diagnosis.worth_reaching if self.diagnosis else ():
            if self.job.times_left_out[worth.key] == 1 and not self.is_settled:
                return WantedReading(*worth.key, "left out", worth.cost_minutes, worth.tells_apart)
        return None

    def _by_symptom(self) -> WantedReading | None:
        words = set(self.job.symptoms)
        symptoms = (one for one in self.library.symptoms.values() if one.words in words)
        for symptom in symptoms:
            for first in symptom.first_readings:
                if self._can_take(first.key):
                    why = f"{symptom.words}: {first.why}" if first.why else ""
                    return WantedReading(*first.key, "symptom", why=why)
        return None

    def _by_diagnosis(self) -> WantedReading | None:
        for worth in self.diagnosis.next_readings if self.diagnosis else ():
            if self._can_take(worth.key):
                return WantedReading(*worth.key, "diagnosis", worth.cost_minutes, worth.tells_apart)
        return None

    def _can_take(self, key: ReadingKey) -> bool:
        """Tell whether a reading is still to be taken, and can be on this vehicle."""
        fitted = self.installation
        exists = key.state.exists_on(fitted) and key.point.exists_on(fitted)
        return exists and self.value(*key) is None and key not in self.job.beyond_reach

    # The repair and its check

    def conclude(
        self,
        faults: tuple[FaultId, ...],
        cause: str,
        repair: str,
        responsibility: Responsibility,
    ) -> None:
        """Write down what was found and done; what is read from now on is after the repair."""
        self._append(
            CauseConcluded(
                faults=faults,
                cause=cause,
                repair=repair,
                responsibility=responsibility,
                hides=self._hidden_by(faults),
            )
        )
        self._drop_drafts(TEXTS, "faults", "cause", "repair", "responsibility")
        self.ask()

    def check_readings(self) -> tuple[ReadingKey, ...]:
        """List the readings that check the repair: what the fault touches, then what it hid."""
        conclusion = self.job.conclusion
        return _checks(conclusion.faults, conclusion.hides) if conclusion else ()

    def checks_of(self, faults: tuple[FaultId, ...]) -> tuple[ReadingKey, ...]:
        """List the readings that would check the repair of these faults."""
        return _checks(faults, self._hidden_by(faults))

    def hidden_faults(self, key: ReadingKey) -> tuple[FaultId, ...]:
        """Name the faults that a reading shows only now that what hid them is put right.

        None for a reading that checks the repair itself.
        """
        from logic.diagnosis import catalogue

        conclusion = self.job.conclusion
        if conclusion is None or key in catalogue.check_readings(conclusion.faults):
            return ()
        return tuple(f for hidden in conclusion.hides if hidden.key == key for f in hidden.faults)

    def _hidden_by(self, faults: tuple[FaultId, ...]) -> tuple[HiddenBehind, ...]:
        """Return what these faults hide, as the readings before the repair said."""
        found = self._found_before
        for finding in found.findings if found else ():
            if set(finding.faults) == set(faults):
                return finding.hides
        conclusion = self.job.conclusion
        return conclusion.hides if conclusion and conclusion.faults == faults else ()

    def also_touched(self) -> tuple[ReadingKey, ...]:
        """List the other commissioning readings of the parts that the repair touched."""
        from logic.diagnosis.catalogue import parts_touched

        checklist = self.library.checklists.get("commissioning")
        if checklist is None:
            return ()
        facts = run.Facts(installation=self.installation, answers={}, skipped={})
        steps = run.steps_to_prove(checklist, facts, parts_touched(self._concluded_faults))
        keys = [ReadingKey(s.point, s.state) for s in steps if s.point and s.state]
        checks = self.check_readings()
        return tuple(key for key in dict.fromkeys(keys) if key not in checks)

    @property
    def _concluded_faults(self) -> tuple[FaultId, ...]:
        return self.job.conclusion.faults if self.job.conclusion else ()

    # The steps around the readings

    def answered_steps(self) -> frozenset[str]:
        """Name the steps that are answered or left out with a reason."""
        return frozenset((*self.job.answers, *self.job.skipped))

    def answer(self, step_id: str, answer: Answer) -> None:
        """Answer a step, unless it is answered so already."""
        entry = self.job.answers.get(step_id)
        if entry is None or entry.answer != answer:
            super().answer(step_id, answer)

    def give_texts(self) -> None:
        """Give every text step what is typed there."""
        for step in self.checklist.steps if self.checklist else ():
            text = self.draft(TEXTS, step.id).strip()
            if text and isinstance(step.ask, AskText):
                self.answer(step.id, TextAnswer(text=text))
                self._drop_drafts(TEXTS, step.id)
        self.mark()

    def give_plate(self) -> None:
        """Give a vehicle without a plate the one that is typed; none typed leaves it as it is.

        Raises
        ------
        InputError
            Longer than any plate.
        """
        plate = self.draft(TEXTS, PLATE).strip()
        if len(plate) > _LONGEST_PLATE:
            raise InputError(f"No plate has {len(plate)} characters. Type it as it is.", PLATE)
        if plate:
            described = self.vehicle.vehicle or Vehicle(registration=plate)
            named = described.model_dump() | {"registration": plate, "description": ""}
            self._append(VehicleDescribed(vehicle=Vehicle.model_validate(named)))
            self._drop_drafts(TEXTS, PLATE)

    def shown(self, screen: str) -> None:
        """Say which of the callback's screens is shown now, so that it opens there again."""
        self.screen = screen
        self.mark()


def _checks(faults: tuple[FaultId, ...], hides: tuple[HiddenBehind, ...]) -> tuple[ReadingKey, ...]:
    from logic.diagnosis import catalogue

    keys = (*catalogue.check_readings(faults), *(hidden.key for hidden in hides))
    return tuple(dict.fromkeys(keys))


def _nobody() -> None:
    pass
