"""The review of a job: every step that applies, held against its limits, as a record has it.

:func:`review` is what the technician looks through before signing and, unchanged, what the
signed record holds. What stands in the way of signing is in :mod:`logic.records.sign_off`.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from logic.case import Case, Diagnosis, Reading, Verdict
from logic.checklist import run
from logic.checklist.answers import ReadingAnswer
from logic.checklist.conditions import Facts
from logic.checklist.form import Library
from logic.checklist.step import AskReading, Checklist, Step
from logic.errors import RecordError
from logic.limits.followed import follows_words
from logic.records.outcomes import answer_words
from logic.records.record import CautionShown, NotAsked, Record, StepHistory, StepRecord
from logic.records.state import JobState, VehicleState
from logic.vehicle.installation import Installation


@dataclass(frozen=True)
class WorkDone:
    """What is to be signed for: the vehicle, its job, and what the job was held against.

    ``baseline`` is the readings of the vehicle's commissioning, for a job after it.
    """

    vehicle: VehicleState
    job: JobState
    library: Library
    baseline: tuple[Reading, ...] = ()
    diagnosis: Diagnosis | None = None
    _judged: dict[str, tuple[object, int, Verdict | None]] = field(
        default_factory=dict, compare=False, repr=False
    )

    @property
    def installation(self) -> Installation:
        """What is fitted; ``RecordError`` where it was never described."""
        if self.vehicle.installation is None:
            raise RecordError("Nothing is described as fitted yet. Describe the equipment first.")
        return self.vehicle.installation

    @property
    def checklist(self) -> Checklist | None:
        """The job's checklist, None for a job that has none; ``RecordError`` if it is gone."""
        if not self.job.checklist_id:
            return None
        found = self.library.checklists.get(self.job.checklist_id)
        if found is None:
            raise RecordError(
                f"The checklist '{self.job.checklist_id}' of this job is not in this version "
                "of the app. Update the app, then sign."
            )
        fitted = self.vehicle.installation
        return found if fitted is None else found.in_words_for(fitted)

    @property
    def case(self) -> Case:
        """What a diagnosis is asked: what was read before any repair."""
        return Case(
            installation=self.installation,
            readings=self.job.readings,
            baseline=self.baseline,
            out_of_reach=self.job.out_of_reach,
        )

    @property
    def facts(self) -> Facts:
        """What the job's state says to a run through the checklist."""
        return replace(self._facts, judge=self._judge)

    @property
    def _facts(self) -> Facts:
        """The facts without verdicts: enough to tell what was answered."""
        answers = {step_id: entry.answer for step_id, entry in self.job.answers.items()}
        return Facts(
            installation=self.installation,
            answers={step_id: answer for step_id, answer in answers.items() if answer is not None},
            skipped={step_id: entry.reason for step_id, entry in self.job.skipped.items()},
            depth=self.job.depth,
        )

    def _judge(self, step_id: str) -> Verdict | None:
        """Judge a step's reading, once for each standing of the job: conditions ask often."""
        given, fitted = sum(map(len, self.job.entries.values())), self.installation
        kept = self._judged.get(step_id)
        if kept is None or kept[0] is not fitted or kept[1] != given:
            kept = fitted, given, verdict_of_step(self, step_id)
            self._judged[step_id] = kept
        return kept[2]


def review(work: WorkDone) -> tuple[StepRecord, ...]:
    """Hold every step that applies against its limits, as the record would have it."""
    checklist = work.checklist
    if checklist is None:
        return ()
    facts = work.facts
    steps = run.applicable_steps(checklist, facts)
    verdicts = dict(_verdicts_of_steps(work, steps, facts))
    return tuple(
        _step_record(work, step, checklist.stage_of[step.id].id, verdicts.get(step.id))
        for step in steps
    )


def verdict_of_step(work: WorkDone, step_id: str) -> Verdict | None:
    """Judge the reading that answers one step as :func:`review` does; None where none does."""
    checklist = work.checklist
    if checklist is None:
        return None
    # Without verdicts: what was answered applies whatever brought it in.
    facts = work._facts
    taken = _taken(work, run.applicable_steps(checklist, facts), facts)
    return _judged_as_typed(work, taken, step_id) if step_id in taken else None


def not_asked(work: WorkDone) -> tuple[NotAsked, ...]:
    """List what the job's depth left out, with the values that follow from what was read."""
    checklist = work.checklist
    if checklist is None:
        return ()
    facts = work.facts
    read = run.readings(checklist, facts)
    return tuple(
        NotAsked(
            step_id=step.id,
            title=step.title,
            follows=follows_words(read, step.point, step.state),
        )
        for step in run.left_out_by_depth(checklist, facts)
        # What only an exception brings in is no omission where there was none.
        if step.brought_in_by is None or step.point is not None
    )


def verdicts_of_readings(work: WorkDone) -> tuple[Verdict, ...]:
    """Judge a callback's readings: those after the repair, if any, else those before."""
    return _judged(work, work.job.readings_after or work.job.readings)


def read_verdicts(steps: Iterable[StepRecord], verdicts: Iterable[Verdict]) -> tuple[Verdict, ...]:
    """Gather the verdicts on everything that was read: at the steps, and beside them."""
    return (*(step.verdict for step in steps if step.verdict is not None), *verdicts)


def verdicts_before(record: Record) -> tuple[Verdict, ...]:
    """Return the verdicts on what a record's job read before any repair."""
    if record.diagnosis and record.diagnosis.verdicts:
        return record.diagnosis.verdicts
    return () if record.readings_after else record.verdicts


def cautions_shown(work: WorkDone, steps: tuple[StepRecord, ...]) -> tuple[CautionShown, ...]:
    """Gather the cautions of every stage and step that was shown, each once."""
    checklist = work.checklist
    if checklist is None:
        return ()
    ids: dict[str, None] = {}
    for step in steps:
        stage = checklist.stage_of[step.step_id]
        ids |= dict.fromkeys((*stage.cautions, *checklist.by_id[step.step_id].cautions))
    shown = run.cautions(work.library, ids, work.facts)
    return tuple(CautionShown(caution_id=one.id, text=f"{one.title}: {one.text}") for one in shown)


def _step_record(work: WorkDone, step: Step, stage_id: str, verdict: Verdict | None) -> StepRecord:
    job, step_id = work.job, step.id
    entry = job.answers.get(step_id)
    left_out = job.skipped.get(step_id)
    given = entry or left_out
    answer = entry.answer if entry else None
    made = StepRecord(
        step_id=step_id,
        stage_id=stage_id,
        title=step.title,
        outcome="done" if answer else "skipped" if left_out else "open",
        answer=answer,
        text=answer_words(answer, step),
        acceptable=answer is None or run.is_acceptable(step, answer),
        verdict=verdict,
        notes=job.notes.get(step_id, ()),
        skip_reason=left_out.reason if left_out and not answer else "",
        photos=tuple(photo.sha256 for photo in job.photos.get(step_id, ())),
        history=_history(job, step),
        at=given.at if given else None,
    )
    said = job.explanations.get(step_id, "")
    return made.model_copy(update={"explanation": said if made.is_exception else ""})


def _history(job: JobState, step: Step) -> tuple[StepHistory, ...]:
    earlier = job.history.get(step.id, ())
    return tuple(
        StepHistory(at=entry.at, answer=entry.answer, text=answer_words(entry.answer, step))
        for entry in earlier
        if entry.answer is not None
    )


def _verdicts_of_steps(
    work: WorkDone, steps: tuple[Step, ...], facts: Facts
) -> Iterator[tuple[str, Verdict]]:
    taken = _taken(work, steps, facts)
    return ((step_id, _judged_as_typed(work, taken, step_id)) for step_id in taken)


def _taken(work: WorkDone, steps: tuple[Step, ...], facts: Facts) -> dict[str, Reading]:
    """Return what was read at the steps, by their ids."""
    taken: dict[str, Reading] = {}
    for step in steps:
        answer = facts.answers.get(step.id)
        if isinstance(step.ask, AskReading) and isinstance(answer, ReadingAnswer):
            at = work.job.answers[step.id].at
            ask = step.ask
            taken[step.id] = Reading(
                point=ask.point, state=ask.state, value=answer.value, taken_at=at
            )
    return taken


def _judged_as_typed(work: WorkDone, taken: dict[str, Reading], step_id: str) -> Verdict:
    from logic.limits.verdict import judge  # imports numpy: not on the start path

    reading = taken[step_id]
    known = [one for other, one in taken.items() if _was_known(work.job, other, one, reading)]
    return judge(work.installation, known, reading, work.baseline)


def _was_known(job: JobState, step_id: str, other: Reading, reading: Reading) -> bool:
    """Tell whether another reading counts for this one's limits.

    The limits are those that were shown when the value was typed: what was read later does not
    move them. What was read earlier counts as it was corrected since, and a drop's own current
    counts whenever it was read.
    """
    is_its_current = other.key == (reading.point.current, reading.state)
    first = job.entries[step_id][0].at if step_id in job.entries else other.taken_at
    return is_its_current or first is None or reading.taken_at is None or first <= reading.taken_at


def _judged(work: WorkDone, readings: tuple[Reading, ...]) -> tuple[Verdict, ...]:
    if not readings:
        return ()
    from logic.limits.verdict import judge_all  # imports numpy: not on the start path

    return judge_all(work.installation, readings, work.baseline)
