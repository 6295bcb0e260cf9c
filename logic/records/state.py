"""The present state of a vehicle and its jobs: a pure fold over events, free of SQL.

Events are folded in the order of ``(at, event_id)``, so phones that exchanged the same events
in whatever order show the same. The latest answer to a step is the present one; where two
devices answered without having seen each other's answer, both stand in ``clashes``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from logic.case import Reading
from logic.checklist.answers import Answer
from logic.records import events as happened
from logic.records.events import CauseConcluded, Event, JobKind
from logic.vehicle.identity import Customer, Technician, Vehicle
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State


@dataclass(frozen=True)
class Entry:
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
class Photo:
    """A photo on a step, by the SHA-256 of its file."""

    sha256: str
    caption: str
    at: datetime


@dataclass(frozen=True)
class Signing:
    """A signed revision of a job; the record itself is kept under ``record_sha256``."""

    revision: int
    record_sha256: str
    at: datetime
    technician: Technician


@dataclass
class JobState:
    """One job as it stands.

    ``answers`` and ``skipped`` hold each step's present entry, ``history`` the earlier ones,
    oldest first; ``clashes`` every entry of a step that devices answered unaware of each other.
    ``late`` are events dated after a signature by a device that did not know of it.
    """

    job_id: str
    vehicle_id: str
    kind: JobKind = "commissioning"
    opened_at: datetime | None = None
    checklist_id: str = ""
    checklist_version: int = 0
    symptoms: tuple[str, ...] = ()
    complaint: str = ""
    answers: dict[str, Entry] = field(default_factory=dict)
    skipped: dict[str, Entry] = field(default_factory=dict)
    history: dict[str, tuple[Entry, ...]] = field(default_factory=dict)
    clashes: dict[str, tuple[Entry, ...]] = field(default_factory=dict)
    notes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    photos: dict[str, tuple[Photo, ...]] = field(default_factory=dict)
    explanations: dict[str, str] = field(default_factory=dict)
    readings: tuple[Reading, ...] = ()
    readings_after: tuple[Reading, ...] = ()
    conclusion: CauseConcluded | None = None
    signed: tuple[Signing, ...] = ()
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


@dataclass
class VehicleState:
    """One vehicle as it stands, its jobs oldest first; ``None`` means never described."""

    vehicle_id: str
    vehicle: Vehicle | None = None
    customer: Customer = field(default_factory=Customer)
    customer_erased: bool = False
    installation: Installation | None = None
    jobs: tuple[JobState, ...] = ()
    last_at: datetime | None = None

    def job(self, job_id: str) -> JobState:
        """Return one of the vehicle's jobs; ``KeyError`` where there is none of that id."""
        for job in self.jobs:
            if job.job_id == job_id:
                return job
        raise KeyError(job_id)

    @property
    def open_job(self) -> JobState | None:
        """The latest job that is not signed off, if there is one."""
        return next((job for job in reversed(self.jobs) if not job.is_signed), None)


def fold(vehicle_id: str, events: Iterable[Event]) -> VehicleState:
    """Fold a vehicle's events, given in any order, into its present state."""
    state = VehicleState(vehicle_id)
    of_job: dict[str, list[Event]] = {}
    for event in sorted(events, key=lambda event: (event.at, event.event_id)):
        state.last_at = event.at
        if isinstance(event.body, _OF_VEHICLE):
            _describe(state, event.body)
        elif event.job_id:
            of_job.setdefault(event.job_id, []).append(event)
    jobs = [_fold_job(job_id, vehicle_id, found) for job_id, found in of_job.items()]
    state.jobs = tuple(sorted(jobs, key=lambda job: (str(job.opened_at), job.job_id)))
    return state


def heads(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return the entries that no other one took the place of: two or more are a clash.

    An entry takes the place of those it names and of its own device's earlier ones.
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


_OF_VEHICLE = (
    happened.VehicleDescribed,
    happened.CustomerDescribed,
    happened.CustomerErased,
    happened.InstallationDescribed,
)


def _describe(state: VehicleState, body: happened.Body) -> None:
    if isinstance(body, happened.VehicleDescribed):
        state.vehicle = body.vehicle
    elif isinstance(body, happened.InstallationDescribed):
        state.installation = body.installation
    elif isinstance(body, happened.CustomerDescribed):
        state.customer, state.customer_erased = body.customer, False
    else:
        state.customer, state.customer_erased = Customer(), True


def _fold_job(job_id: str, vehicle_id: str, events: list[Event]) -> JobState:
    job = JobState(job_id, vehicle_id)
    entries: dict[str, list[Entry]] = {}
    readings = _Readings()
    for event in events:
        body = event.body
        if isinstance(body, happened.StepAnswered | happened.StepSkipped):
            entries.setdefault(body.step_id, []).append(entry_of(event, body))
        elif isinstance(body, happened.ReadingTaken):
            readings.take(body, event.at)
        elif isinstance(body, _OF_STEP):
            _annotate(job, body, event.at)
        else:
            _run(job, body, event.at)
        if job.is_signed and not isinstance(body, happened.JobSigned):
            job.late += (event,)
        job.last_at = event.at
    job.readings, job.readings_after = readings.of("before"), readings.of("after")
    for step_id, found in entries.items():
        _settle(job, step_id, found)
    return job


def entry_of(event: Event, body: happened.StepAnswered | happened.StepSkipped) -> Entry:
    """Return a step's answer or skip as an entry of its history."""
    replaces = (*((body.replaces,) if body.replaces else ()), *body.also_replaces)
    if isinstance(body, happened.StepSkipped):
        return Entry(event.at, event.event_id, event.device, None, body.reason, replaces)
    return Entry(event.at, event.event_id, event.device, body.answer, "", replaces)


def _settle(job: JobState, step_id: str, entries: list[Entry]) -> None:
    present = entries[-1]
    (job.skipped if present.skipped else job.answers)[step_id] = present
    if entries[:-1]:
        job.history[step_id] = tuple(entries[:-1])
    standing = heads(entries)
    if len(standing) > 1:
        job.clashes[step_id] = standing


_OF_STEP = (happened.StepNoted, happened.PhotoTaken, happened.ExceptionExplained)


def _annotate(job: JobState, body: happened.Body, at: datetime) -> None:
    if isinstance(body, happened.StepNoted):
        job.notes[body.step_id] = (*job.notes.get(body.step_id, ()), body.text)
    elif isinstance(body, happened.PhotoTaken):
        photo = Photo(body.sha256, body.caption, at)
        job.photos[body.step_id] = (*job.photos.get(body.step_id, ()), photo)
    elif isinstance(body, happened.ExceptionExplained):
        job.explanations[body.step_id] = body.explanation


def _run(job: JobState, body: happened.Body, at: datetime) -> None:
    if isinstance(body, happened.JobOpened) and job.opened_at is None:
        job.kind, job.opened_at = body.job_kind, at
        job.checklist_id, job.checklist_version = body.checklist_id, body.checklist_version
        job.symptoms, job.complaint = body.symptoms, body.complaint
    elif isinstance(body, happened.CauseConcluded):
        job.conclusion = body
    elif isinstance(body, happened.JobSigned):
        signing = Signing(body.revision, body.record_sha256, at, body.technician)
        job.signed, job.reopened = (*job.signed, signing), False
    elif isinstance(body, happened.JobReopened):
        job.reopened, job.reopen_reason = True, body.reason


class _Readings:
    """Readings by place: the latest at a point and state counts until it is withdrawn."""

    def __init__(self) -> None:
        self._taken: Mapping[str, dict[tuple[Point, State], list[Reading]]] = {
            "before": {},
            "after": {},
        }

    def take(self, body: happened.ReadingTaken, at: datetime) -> None:
        reading = body.reading
        stack = self._taken[body.when].setdefault((reading.point, reading.state), [])
        if body.withdrawn:
            del stack[-1:]
        elif reading.taken_at is None:
            stack.append(reading.model_copy(update={"taken_at": at}))
        else:
            stack.append(reading)

    def of(self, when: str) -> tuple[Reading, ...]:
        return tuple(stack[-1] for stack in self._taken[when].values() if stack)
