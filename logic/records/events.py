"""What can happen to a vehicle: each thing is one event, written once and never changed.

The present state of a vehicle or a job is a fold over its events in the order of
``(at, event_id)``, so phones that exchange events in any order come to the same state.
"""

from datetime import UTC, datetime
from typing import Annotated, Literal
from uuid import uuid4

from pydantic import AwareDatetime, Field

from logic.case import FaultId, HiddenBehind, OutOfReach, Reading, Responsibility
from logic.checklist.answers import Answer
from logic.checklist.depth import Depth
from logic.quantities import Data, is_empty, is_none
from logic.vehicle.identity import Customer, Technician, Vehicle
from logic.vehicle.installation import Installation

Id = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
StepId = Annotated[str, Field(min_length=1, max_length=80)]
Note = Annotated[str, Field(max_length=2000)]

Moment = Annotated[
    AwareDatetime,
    # Assumed: no phone's clock says otherwise, and beyond lie dates that no zone can be put to.
    Field(ge=datetime(1970, 1, 2, tzinfo=UTC), le=datetime(2200, 1, 1, tzinfo=UTC)),
]
MOST_REVISIONS = 10_000  # assumed: far above any job's
MOST_VERSIONS = 1_000_000  # assumed: far above any checklist's
MOST_TEXTS = 4000
"""As many entries one erasure names; further ones have an erasure of their own."""

JobKind = Literal["commissioning", "callback"]
When = Literal["before", "after"]


def new_id() -> str:
    """Return a fresh id: 32 hexadecimal digits, unique without asking anybody."""
    return uuid4().hex


class Told(Data):
    """What may hold words of a person, and so a customer's name.

    In the store and between devices the words lie apart, where they can be erased, and the event
    holds only their salted digest; see ``logic.records.store.text_table``.
    """

    texts_sha256: Digest | None = Field(None, exclude_if=is_none)


class VehicleDescribed(Told):
    """The vehicle's plate, VIN and description, first given or corrected."""

    kind: Literal["vehicle_described"] = "vehicle_described"
    vehicle: Vehicle


class CustomerDescribed(Data):
    """The customer's name and contact; the one body that can be erased."""

    kind: Literal["customer_described"] = "customer_described"
    customer: Customer


class CustomerErased(Data):
    """The customer asked for their data to be erased, and it was.

    ``texts`` are the events whose words were erased because they named the customer.
    """

    kind: Literal["customer_erased"] = "customer_erased"
    texts: tuple[Id, ...] = Field((), max_length=MOST_TEXTS, exclude_if=is_empty)


class InstallationDescribed(Told):
    """What is fitted, first given or corrected."""

    kind: Literal["installation_described"] = "installation_described"
    installation: Installation


class JobOpened(Told):
    """Work on the vehicle began; a callback carries the complaint.

    ``depth`` is how much of its checklist it asks for; a job without one asks for all of it.
    """

    kind: Literal["job_opened"] = "job_opened"
    job_kind: JobKind
    checklist_id: str = Field("", max_length=80)
    checklist_version: int = Field(0, ge=0, le=MOST_VERSIONS)
    depth: Depth | None = Field(None, exclude_if=is_none)
    symptoms: tuple[str, ...] = ()
    complaint: Note = ""


class StepAnswered(Told):
    """A step was answered; ``replaces`` is the answer's event that the technician saw.

    ``also_replaces`` are the other answers of a clash that this one settles.
    """

    kind: Literal["step_answered"] = "step_answered"
    step_id: StepId
    answer: Answer
    replaces: Id | None = None
    also_replaces: tuple[Id, ...] = ()


class StepSkipped(Told):
    """A step was left out, with the reason."""

    kind: Literal["step_skipped"] = "step_skipped"
    step_id: StepId
    reason: Note
    replaces: Id | None = None
    also_replaces: tuple[Id, ...] = ()


class StepNoted(Told):
    """A note on a step."""

    kind: Literal["step_noted"] = "step_noted"
    step_id: StepId
    text: Note


class PhotoTaken(Told):
    """A photo on a step; the file lies in the store's photo folder under its digest."""

    kind: Literal["photo_taken"] = "photo_taken"
    step_id: StepId
    sha256: Digest
    caption: Note = ""


class ExceptionExplained(Told):
    """Why something out of range is accepted as it is."""

    kind: Literal["exception_explained"] = "exception_explained"
    step_id: StepId
    explanation: Note


class ReadingTaken(Data):
    """A fault-finding reading, before or after the repair.

    ``withdrawn`` takes back the latest one at that point and state.
    """

    kind: Literal["reading_taken"] = "reading_taken"
    reading: Reading
    when: When = "before"
    typed: str = Field("", max_length=32)
    withdrawn: bool = False


class ReadingOutOfReach(Data):
    """A reading that cannot be taken on this vehicle, as the technician says.

    ``withdrawn`` takes that back; so does taking the reading.
    """

    kind: Literal["reading_out_of_reach"] = "reading_out_of_reach"
    reading: OutOfReach
    withdrawn: bool = False


class CauseConcluded(Told):
    """What a callback found, what was done, and whose matter it was.

    ``hides`` is what the faults hid: it is read after the repair too.
    """

    kind: Literal["cause_concluded"] = "cause_concluded"
    faults: tuple[FaultId, ...] = ()
    cause: Note = ""
    repair: Note = ""
    responsibility: Responsibility = "none"
    hides: tuple[HiddenBehind, ...] = Field((), exclude_if=is_empty)


class JobSigned(Data):
    """The job was signed; the sealed record is kept beside the events under its digest."""

    kind: Literal["job_signed"] = "job_signed"
    technician: Technician
    record_sha256: Digest
    revision: int = Field(ge=1, le=MOST_REVISIONS)


class JobReopened(Told):
    """Work went on after signing: what follows belongs to the next revision."""

    kind: Literal["job_reopened"] = "job_reopened"
    reason: Note = ""


Body = Annotated[
    VehicleDescribed
    | CustomerDescribed
    | CustomerErased
    | InstallationDescribed
    | JobOpened
    | StepAnswered
    | StepSkipped
    | StepNoted
    | PhotoTaken
    | ExceptionExplained
    | ReadingTaken
    | ReadingOutOfReach
    | CauseConcluded
    | JobSigned
    | JobReopened,
    Field(discriminator="kind"),
]


# These belong to the vehicle and may come at any time; all others belong to an open job.
OfVehicle = VehicleDescribed | CustomerDescribed | CustomerErased | InstallationDescribed
OfStep = StepAnswered | StepSkipped


class Event(Data):
    """One thing that happened, when, and on which device it was written down."""

    event_id: Id = Field(default_factory=new_id)
    vehicle_id: Id
    job_id: Id | None = None
    at: Moment = Field(default_factory=lambda: datetime.now(UTC))
    device: str = Field("", max_length=64)
    body: Body
