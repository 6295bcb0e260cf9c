"""The present state of a vehicle and its jobs: a pure fold over events, free of SQL.

Events are folded in the order of ``(at, event_id)``, so phones that exchanged the same events
in whatever order show the same. The latest answer to a step is the present one; where two
devices answered without having seen each other's answer, both stand in ``clashes``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime
from typing import Any

from logic.case import OutOfReach, Reading
from logic.checklist.answers import Answer, TextAnswer
from logic.checklist.depth import Depth
from logic.records.events import (
    CauseConcluded,
    CustomerDescribed,
    CustomerErased,
    Event,
    ExceptionExplained,
    InstallationDescribed,
    JobKind,
    JobOpened,
    JobReopened,
    JobSigned,
    OfStep,
    PhotoTaken,
    ReadingOutOfReach,
    ReadingTaken,
    StepAnswered,
    StepNoted,
    StepSkipped,
    VehicleDescribed,
    When,
)
from logic.vehicle.identity import Customer, Technician, Vehicle
from logic.vehicle.installation import Installation
from logic.vehicle.points import ReadingKey

# Folding these kinds of event alone gives the same description, customer and signatures.
SUMMARY_KINDS = (
    "vehicle_described",
    "customer_described",
    "customer_erased",
    "job_opened",
    "job_signed",
    "job_reopened",
)
# The step of a callback's checklist that asks for the complaint.
COMPLAINT_STEP = "complaint_in_own_words"
_NOT_OPENED = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True)
class StepEntry:
    """One answer or skip of a step: exactly one of ``answer`` and ``reason`` counts."""

    at: datetime
    event_id: str
    device: str
    answer: Answer | None = None
    reason: str = ""
    replaces: tuple[str, ...] = ()

    @property
    def skipped(self) -> bool:
        """Whether the step was left out, for ``reason``."""
        return self.answer is None


@dataclass(frozen=True)
class Clash:
    """A step that two devices answered without having seen each other's answer."""

    vehicle_id: str
    job_id: str
    step_id: str


@dataclass(frozen=True)
class Photo:
    """A photo on a step, by the SHA-256 of its file."""

    sha256: str
    caption: str
    at: datetime


@dataclass(frozen=True)
class SignedRevision:
    """A signed revision of a job; the record itself is kept under ``record_sha256``."""

    revision: int
    record_sha256: str
    at: datetime
    technician: Technician


@dataclass
class JobState:
    """One job as it stands.

    ``entries`` holds every answer and skip of each step, oldest first: the last of them is the
    present one, in ``answers`` or ``skipped``. ``taken`` holds the readings before and after
    the repair that were not withdrawn, oldest first, and ``times_taken`` counts them with
    those that were. ``beyond_reach`` is what cannot be read, as the technician says, and was not
    read since; ``times_left_out`` counts how often that was said. ``late`` are events dated after
    a signature by a device that did not know of it.
    """

    job_id: str
    vehicle_id: str
    kind: JobKind = "commissioning"
    opened_at: datetime | None = None
    checklist_id: str = ""
    checklist_version: int = 0
    depth: Depth = Depth.FULL
    symptoms: tuple[str, ...] = ()
    complaint: str = ""
    entries: dict[str, list[StepEntry]] = field(default_factory=dict)
    answers: dict[str, StepEntry] = field(default_factory=dict)
    skipped: dict[str, StepEntry] = field(default_factory=dict)
    notes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    photos: dict[str, tuple[Photo, ...]] = field(default_factory=dict)
    explanations: dict[str, str] = field(default_factory=dict)
    taken: dict[When, dict[ReadingKey, list[Reading]]] = field(default_factory=dict)
    times_taken: Counter[tuple[When, ReadingKey]] = field(default_factory=Counter)
    beyond_reach: dict[ReadingKey, OutOfReach] = field(default_factory=dict)
    times_left_out: Counter[ReadingKey] = field(default_factory=Counter)
    conclusion: CauseConcluded | None = None
    signed: tuple[SignedRevision, ...] = ()
    reopened: bool = False
    reopen_reason: str = ""
    late: tuple[Event, ...] = ()
    last_at: datetime | None = None

    @property
    def is_signed(self) -> bool:
        """Whether the job is closed by a signature: nothing can be answered any more."""
        return bool(self.signed) and not self.reopened

    @property
    def revision(self) -> int:
        """The latest signed revision, 0 before the first."""
        return max((signing.revision for signing in self.signed), default=0)

    @property
    def history(self) -> dict[str, tuple[StepEntry, ...]]:
        """Each step's earlier entries, oldest first, for the steps that have any."""
        return {
            step_id: tuple(entries[:-1])
            for step_id, entries in self.entries.items()
            if len(entries) > 1
        }

    @property
    def clashes(self) -> dict[str, tuple[StepEntry, ...]]:
        """Every entry of the steps that devices answered unaware of each other."""
        standing = {
            step_id: heads(entries) for step_id, entries in self.entries.items() if entries[1:]
        }
        return {step_id: entries for step_id, entries in standing.items() if len(entries) > 1}

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The latest reading at each point and state before the repair."""
        return self._latest("before")

    @property
    def readings_after(self) -> tuple[Reading, ...]:
        """The latest reading at each point and state after the repair."""
        return self._latest("after")

    @property
    def out_of_reach(self) -> tuple[OutOfReach, ...]:
        """What cannot be read, as the technician says, in the order in which it was said."""
        return tuple(self.beyond_reach.values())

    def add(self, event: Event) -> None:
        """Bring the job up to date with one more event, later than all before it."""
        match event.body:
            case StepAnswered() | StepSkipped() as body:
                self._enter(body.step_id, entry_of(event, body))
            case ReadingTaken() as body:
                self._read(body, event.at)
            case ReadingOutOfReach(reading=reading, withdrawn=withdrawn):
                self.beyond_reach.pop(reading.key, None)
                if not withdrawn:
                    self.beyond_reach[reading.key] = reading
                    self.times_left_out[reading.key] += 1
            case StepNoted(step_id=step_id, text=text):
                self.notes[step_id] = (*self.notes.get(step_id, ()), text)
            case PhotoTaken(step_id=step_id, sha256=sha256, caption=caption):
                photo = Photo(sha256, caption, event.at)
                self.photos[step_id] = (*self.photos.get(step_id, ()), photo)
            case ExceptionExplained(step_id=step_id, explanation=explanation):
                self.explanations[step_id] = explanation
            case JobOpened() as body if self.opened_at is None:
                self.kind, self.opened_at = body.job_kind, event.at
                self.checklist_id = body.checklist_id
                self.checklist_version = body.checklist_version
                self.depth = body.depth or Depth.FULL
                self.symptoms, self.complaint = body.symptoms, body.complaint
            case CauseConcluded() as body:
                self.conclusion = body
            case JobSigned() as body:
                signed = SignedRevision(
                    body.revision, body.record_sha256, event.at, body.technician
                )
                self.signed, self.reopened = (*self.signed, signed), False
            case JobReopened(reason=reason):
                self.reopened, self.reopen_reason = True, reason
        if self.is_signed and not isinstance(event.body, JobSigned):
            self.late += (event,)
        self.last_at = event.at

    def _enter(self, step_id: str, entry: StepEntry) -> None:
        self.entries.setdefault(step_id, []).append(entry)
        if entry.skipped:
            self.skipped[step_id] = entry
            self.answers.pop(step_id, None)
        else:
            self.answers[step_id] = entry
            self.skipped.pop(step_id, None)
        if step_id == COMPLAINT_STEP and isinstance(entry.answer, TextAnswer):
            self.complaint = entry.answer.text

    def _read(self, body: ReadingTaken, at: datetime) -> None:
        reading = body.reading
        self.times_taken[body.when, reading.key] += 1
        stack = self.taken.setdefault(body.when, {}).setdefault(reading.key, [])
        if body.withdrawn:
            del stack[-1:]
            return
        self.beyond_reach.pop(reading.key, None)
        if reading.taken_at is None:
            stack.append(reading.model_copy(update={"taken_at": at}))
        else:
            stack.append(reading)

    def _latest(self, when: When) -> tuple[Reading, ...]:
        return tuple(stack[-1] for stack in self.taken.get(when, {}).values() if stack)


# What a job's opening, signatures and reopenings say alone; all else waits for the other events.
_AT_ONCE = (
    "job_id",
    "vehicle_id",
    "kind",
    "opened_at",
    "checklist_id",
    "checklist_version",
    "depth",
    "symptoms",
    "signed",
    "reopened",
    "reopen_reason",
    "last_at",
)
JOB_SUMMARY_KINDS = ("job_opened", "job_signed", "job_reopened")


class _Later:
    """A field that is there once the job's events were folded."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __get__(self, job: WaitingJob | None, owner: type) -> Any:
        if job is None:
            return self
        job.fold_now()
        return job.__dict__[self._name]


class WaitingJob(JobState):
    """A job whose events are read and folded only when something of them is asked for.

    A vehicle that was worked on for years has many jobs, and a screen shows one of them. From the
    first such question on it is a ``JobState`` like any other, and equal to it before.
    """

    def __init__(
        self,
        job_id: str,
        vehicle_id: str,
        summary: Iterable[Event],
        last_at: datetime,
        devices: Callable[[], int],
        events: Callable[[], Iterable[Event]],
    ) -> None:
        """``devices`` counts those that wrote in the job; ``events`` are read when needed."""
        known = JobState(job_id, vehicle_id)
        for event in summary:
            known.add(event)
        known.last_at = last_at
        # Past the dataclass's own __init__, which would set every field.
        self.__dict__.update({name: known.__dict__[name] for name in _AT_ONCE})
        self.__dict__.update(_devices=devices, _events=events)

    def fold_now(self) -> None:
        """Fold the events that wait."""
        if (events := self.__dict__.get("_events")) is None:
            return  # another thread was here first
        whole = JobState(self.job_id, self.vehicle_id)
        for event in events():
            whole.add(event)
        self.__dict__.update(whole.__dict__)
        self.__class__ = JobState  # type: ignore[assignment]
        for name in ("_devices", "_events"):
            self.__dict__.pop(name, None)

    @property
    def clashes(self) -> dict[str, tuple[StepEntry, ...]]:
        """As a job's that waits for nothing; where one device wrote everything there is none."""
        if self.__dict__["_devices"]() < 2:
            return {}
        self.fold_now()
        return self.clashes

    def add(self, event: Event) -> None:
        """Bring the job up to date with one more event, later than all before it."""
        self.fold_now()
        self.add(event)

    def __eq__(self, other: object) -> bool:
        """Whether two jobs stand the same, however much of them was read."""
        self.fold_now()
        return self == other

    __hash__ = None  # type: ignore[assignment]


for _field in fields(JobState):
    if _field.name not in _AT_ONCE:
        setattr(WaitingJob, _field.name, _Later(_field.name))


@dataclass
class VehicleState:
    """One vehicle as it stands, its jobs by their ids; ``None`` means never described."""

    vehicle_id: str
    vehicle: Vehicle | None = None
    customer: Customer = field(default_factory=Customer)
    customer_erased: bool = False
    installation: Installation | None = None
    job_of: dict[str, JobState] = field(default_factory=dict)
    last_at: datetime | None = None

    def job(self, job_id: str) -> JobState:
        """Return one of the vehicle's jobs; ``KeyError`` where there is none of that id."""
        return self.job_of[job_id]

    @property
    def jobs(self) -> tuple[JobState, ...]:
        """The vehicle's jobs, oldest first; one whose opening is not known comes last."""
        order = [(job.opened_at or _NOT_OPENED, job_id) for job_id, job in self.job_of.items()]
        return tuple(self.job_of[job_id] for _, job_id in sorted(order))

    @property
    def open_job(self) -> JobState | None:
        """The latest job that is not signed off, if there is one."""
        return next((job for job in reversed(self.jobs) if not job.is_signed), None)

    def add(self, event: Event) -> None:
        """Bring the vehicle up to date with one more event, later than all before it."""
        self.last_at = event.at
        match event.body:
            case VehicleDescribed(vehicle=vehicle):
                self.vehicle = vehicle
            case InstallationDescribed(installation=installation):
                self.installation = installation
            case CustomerDescribed(customer=customer):
                self.customer, self.customer_erased = customer, False
            case CustomerErased():
                self.customer, self.customer_erased = Customer(), True
            case _ if event.job_id:
                job = self.job_of.setdefault(event.job_id, JobState(event.job_id, self.vehicle_id))
                job.add(event)


def fold(vehicle_id: str, events: Iterable[Event]) -> VehicleState:
    """Fold a vehicle's events, given in any order, into its present state."""
    state = VehicleState(vehicle_id)
    for event in sorted(events, key=lambda event: (event.at, event.event_id)):
        state.add(event)
    return state


def heads(entries: Iterable[StepEntry]) -> tuple[StepEntry, ...]:
    """Return the entries that no other one replaced: two or more are a clash.

    An entry replaces those it names and its own device's earlier ones.
    """
    ordered = list(entries)
    replaced = {name for entry in ordered for name in entry.replaces}
    newest = {entry.device: entry.event_id for entry in ordered}
    left = [
        entry
        for entry in ordered
        if entry.event_id not in replaced and newest[entry.device] == entry.event_id
    ]
    return tuple(left or ordered[-1:])


def entry_of(event: Event, body: OfStep) -> StepEntry:
    """Return a step's answer or skip as an entry of its history."""
    replaces = (*((body.replaces,) if body.replaces else ()), *body.also_replaces)
    if isinstance(body, StepSkipped):
        return StepEntry(event.at, event.event_id, event.device, None, body.reason, replaces)
    return StepEntry(event.at, event.event_id, event.device, body.answer, "", replaces)
