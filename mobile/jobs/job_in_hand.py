"""A job in hand: what the walk and the callback have in common. No Kivy.

Whatever is given here is in the store before the call returns. Where the technician is, and
what is typed but not yet given, is in the store's bookmark at every key, so that an app that
was killed opens again there.
"""

import json
from abc import ABC, abstractmethod
from collections.abc import Callable
from datetime import datetime

from logic.case import Reading
from logic.checklist import run
from logic.checklist.answers import Answer, PhotoAnswer
from logic.checklist.form import Library
from logic.checklist.step import Checklist, Step
from logic.records.baseline import readings_of
from logic.records.events import (
    Body,
    Event,
    ExceptionExplained,
    PhotoTaken,
    StepAnswered,
    StepNoted,
    StepSkipped,
)
from logic.records.review import WorkDone
from logic.records.state import JobState, VehicleState
from logic.records.store.bookmark import Bookmark
from logic.records.store.store import Store
from logic.vehicle.installation import Installation

Clock = Callable[[], datetime]
# What is typed and not yet given: a text for each kind of entry, by what it belongs to.
Drafts = dict[str, dict[str, str]]

LABELS = "labels"
_ROOM = 3900  # characters; the bookmark's own limit is 4000


class JobInHand(ABC):
    """One job on one vehicle as it stands, and the way to bring it on.

    ``screen`` is the one that the app opens at again.
    """

    screen: str

    def __init__(self, store: Store, library: Library, clock: Clock, job_id: str) -> None:
        self.library = library
        self.job_id = job_id
        self.vehicle_id = store.job(job_id).vehicle_id
        self._store, self._clock = store, clock
        self._drafts = read_drafts(self._marked().unfinished)
        self.reload()

    def reload(self) -> None:
        """Read the vehicle's events again, after something else wrote to the store."""
        self.vehicle: VehicleState = self._store.vehicle(self.vehicle_id)
        self.job: JobState = self.vehicle.job(self.job_id)
        self.work_done = WorkDone(
            self.vehicle, self.job, self.library, baseline_of(self._store, self.job)
        )

    # What is known

    @property
    def is_open(self) -> bool:
        """Whether the job is not signed off: only then can anything be given."""
        return not self.job.is_signed

    @property
    def plate(self) -> str:
        """What the vehicle goes by, "" where it was never described."""
        return self.vehicle.vehicle.registration if self.vehicle.vehicle else ""

    @property
    def installation(self) -> Installation:
        """What is fitted; ``RecordError`` where it was never described."""
        return self.work_done.installation

    @property
    def baseline(self) -> tuple[Reading, ...]:
        """The readings that this job is compared with."""
        return self.work_done.baseline

    @property
    def checklist(self) -> Checklist | None:
        """The job's checklist, None for a job that has none."""
        return self.work_done.checklist

    @property
    def facts(self) -> run.Facts:
        """What the job's state says to a run through the checklist."""
        return self.work_done.facts

    @property
    def steps(self) -> tuple[Step, ...]:
        """Every step that applies, in order."""
        return run.applicable_steps(self.checklist, self.facts) if self.checklist else ()

    def steps_of(self, stage_id: str) -> tuple[Step, ...]:
        """List a stage's steps that apply."""
        checklist = self.checklist
        if checklist is None:
            return ()
        return tuple(step for step in self.steps if checklist.stage_of[step.id].id == stage_id)

    def is_step_open(self, step: Step) -> bool:
        """Tell whether a step is neither answered nor left out with a reason."""
        return step.id not in self.job.answers and step.id not in self.job.skipped

    # What is given

    def answer(self, step_id: str, answer: Answer) -> None:
        """Answer a step; an earlier answer stays in its history."""
        self._append(StepAnswered(step_id=step_id, answer=answer))
        self._drop_drafts(step_id)

    def skip(self, step_id: str, reason: str) -> None:
        """Leave a step out, for a reason."""
        self._append(StepSkipped(step_id=step_id, reason=reason))
        self._drop_drafts(step_id)

    def note(self, step_id: str, text: str) -> None:
        """Put a note on a step."""
        self._append(StepNoted(step_id=step_id, text=text))
        self._drop_drafts(step_id, "note")

    def explain(self, step_id: str, text: str) -> None:
        """Say why what is not in order at a step is accepted as it is."""
        self._append(ExceptionExplained(step_id=step_id, explanation=text))
        self._drop_drafts(step_id, "explanation")

    def photo(self, step_id: str, data: bytes, *, answers: bool = False) -> str:
        """Put a photo on a step and return its digest; ``answers`` makes it the answer too."""
        sha256 = self._store.add_photo(data)
        self._append(PhotoTaken(step_id=step_id, sha256=sha256))
        if answers:
            self._append(StepAnswered(step_id=step_id, answer=PhotoAnswer(sha256=sha256)))
        return sha256

    def _append(self, body: Body) -> None:
        event = Event(vehicle_id=self.vehicle_id, job_id=self.job_id, at=self._clock(), body=body)
        self.vehicle.add(self._store.append(event))

    # Where the technician is, and what is typed and not yet given

    @property
    @abstractmethod
    def entry_id(self) -> str:
        """What is being entered now, as the bookmark names it: a step, or a reading."""

    def draft(self, belongs_to: str, kind: str) -> str:
        """Return a text that was typed and not yet given."""
        return self._drafts.get(belongs_to, {}).get(kind, "")

    def keep(self, belongs_to: str, kind: str, text: str) -> None:
        """Keep a text that is typed and not yet given."""
        self._drafts.setdefault(belongs_to, {})[kind] = text
        self.mark()

    def mark(self) -> None:
        """Mark in the store where the technician is, with everything not yet given."""
        self._store.set_bookmark(
            Bookmark(
                vehicle_id=self.vehicle_id,
                job_id=self.job_id,
                screen=self.screen,
                step_id=self.entry_id,
                unfinished=write_drafts(self._drafts, self.entry_id),
            )
        )

    def _marked(self) -> Bookmark:
        """Return the store's bookmark, an empty one where it is in another job."""
        marked = self._store.bookmark()
        return marked if marked.job_id == self.job_id else Bookmark()

    def _drop_drafts(self, belongs_to: str, *kinds: str) -> None:
        """Let go of what is given now: some kinds, or all that was typed there."""
        typed = self._drafts.get(belongs_to, {})
        given = [kind for kind in kinds or tuple(typed) if typed.pop(kind, "")]
        if given:
            self.mark()


def baseline_of(store: Store, job: JobState) -> tuple[Reading, ...]:
    """Return the readings a job is compared with: those of the commissioning, for a callback."""
    return commissioned(store, job.vehicle_id) if job.kind == "callback" else ()


def commissioned(store: Store, vehicle_id: str) -> tuple[Reading, ...]:
    """Return the commissioning readings: of the latest record here, else of the label."""
    sealed = store.latest_commissioning(vehicle_id)
    if sealed is not None:
        return readings_of(sealed.record)
    text = store.setting(LABELS, {}).get(vehicle_id, "")
    if not text:
        return ()
    from logic.records.label.encoding import decode

    return decode(text).readings


def read_drafts(text: str) -> Drafts:
    """Read drafts; a text that is none gives none: an older version's bookmark is no error."""
    try:
        found = json.loads(text) if text else {}
    except ValueError:
        return {}
    drafts = found.get("drafts") if isinstance(found, dict) else None
    if not isinstance(drafts, dict):
        return {}
    return {
        str(belongs_to): {str(kind): str(typed) for kind, typed in kinds.items()}
        for belongs_to, kinds in drafts.items()
        if isinstance(kinds, dict)
    }


def write_drafts(drafts: Drafts, entry_id: str) -> str:
    """Write drafts; where they are too long, those of what is not being entered go first."""
    kept = {belongs_to: kinds for belongs_to, kinds in drafts.items() if any(kinds.values())}
    for other in [one for one in kept if one != entry_id]:
        if _fits(kept):
            break
        del kept[other]
    return json.dumps({"drafts": kept}, ensure_ascii=False) if _fits(kept) else ""


def _fits(drafts: Drafts) -> bool:
    return len(json.dumps({"drafts": drafts}, ensure_ascii=False)) <= _ROOM
