"""The signed record: what is hashed, what is kept private beside it, and the seal on both.

A record says everything a later reader needs without the app. What can name a person
(customer, finger signatures) sits in ``Private``; the record holds only the digest of it,
so that it can be erased and the rest still verifies.
"""

from datetime import datetime
from typing import Annotated, Literal

from pydantic import Field

from logic.case import Diagnosis, Judgement, OutOfReach, Reading, Verdict
from logic.checklist.answers import Answer
from logic.checklist.depth import Depth
from logic.quantities import Data, Many, is_empty, is_none
from logic.records.events import (
    MOST_REVISIONS,
    CauseConcluded,
    Digest,
    Id,
    JobKind,
    Moment,
    Note,
    StepId,
)
from logic.vehicle.identity import Customer, Technician, Vehicle
from logic.vehicle.installation import Installation

Stroke = Annotated[tuple[tuple[float, float], ...], Field(fail_fast=True)]


class Signature(Data):
    """A finger's path on the glass: strokes of points, both axes 0 to 1, y upwards.

    ``absent`` says why nobody signed here, where nobody did.
    """

    name: str = Field("", max_length=120)
    strokes: Annotated[tuple[Stroke, ...], Field(fail_fast=True)] = ()
    absent: Note = ""


class Private(Data):
    """What may be erased. ``salt`` keeps its digest from being guessed from a phone book."""

    salt: str = Field(pattern=r"^[0-9a-f]{32}$")
    customer: Customer
    customer_signature: Signature
    technician_signature: Signature
    place: str = Field(
        "", max_length=200, exclude_if=is_empty, description="where it was signed, since 0.2.0"
    )


class StepHistory(Data):
    """An earlier answer that was corrected."""

    at: Moment
    answer: Answer
    text: str = Field("", exclude_if=is_empty, description="the answer in words")


class StepRecord(Data):
    """One step as it was left at signing; ``text`` is the answer in words."""

    step_id: StepId
    stage_id: str
    title: str
    outcome: Literal["done", "skipped", "open"]
    answer: Answer | None = None
    text: str = ""
    acceptable: bool = True
    verdict: Verdict | None = None
    notes: Many[Note] = ()
    skip_reason: Note = ""
    explanation: Note = ""
    photos: Many[Digest] = ()
    history: Many[StepHistory] = ()
    at: Moment | None = None

    @property
    def is_exception(self) -> bool:
        """Whether it was answered, and is not in order."""
        out = self.verdict is not None and self.verdict.verdict is Judgement.OUT_OF_RANGE
        return self.outcome == "done" and (out or not self.acceptable)


class NotAsked(Data):
    """A step that fits the vehicle and was not asked for at the job's depth.

    ``follows`` is the value that the readings taken make of it, in words: worked out, not read.
    """

    step_id: StepId
    title: str
    follows: str = Field("", exclude_if=is_empty)


class DesignChecked(Data):
    """A design rule held against what is fitted; ``passed`` is None where it cannot be told."""

    title: str
    passed: bool | None
    text: str
    source: str
    rule: str = Field("", exclude_if=is_empty, description="what has to hold")
    right: str = Field("", exclude_if=is_empty, description="what would be right, or what to do")


class CautionShown(Data):
    """A caution that was shown during the job, in the words shown."""

    caution_id: str
    text: str


class ChainHead(Data):
    """How far the signing device had come: its key, and its last event before the seal.

    ``sha256`` is that event's digest (:func:`logic.records.chain.event_digest`), ``None`` before
    its first.
    """

    key: Digest
    number: int = Field(ge=0, le=2**53)
    sha256: Digest | None = None


class SealSignature(Data):
    """A device's signature under a seal, and its public key: Ed25519, in hexadecimal."""

    key: Digest
    signature: str = Field(pattern=r"^[0-9a-f]{128}$")


class Record(Data):
    """Everything that was signed for. ``revision`` counts from 1 within a job.

    What release 0.1.0 did not know is left out where it is empty: its records are hashed without.
    """

    kind: Literal["voltwalk-record"] = "voltwalk-record"
    version: Literal[1] = 1
    vehicle_id: Id
    job_id: Id
    job_kind: JobKind
    revision: int = Field(ge=1, le=MOST_REVISIONS)
    previous_sha256: Digest | None = None
    opened_at: Moment
    signed_at: Moment
    place: str = Field("", max_length=200, description="release 0.1.0's; later it is private")
    app_version: str
    checklist_id: str = ""
    checklist_version: int = 0
    checklist_sha256: Digest | None = None
    depth: Depth | None = Field(None, exclude_if=is_none)
    not_asked: Many[NotAsked] = Field(
        (), exclude_if=is_empty, description="what the depth left out"
    )
    vehicle: Vehicle
    technician: Technician
    installation: Installation
    cautions: Many[CautionShown] = ()
    steps: Many[StepRecord] = ()
    symptoms: Many[str] = ()
    complaint: Note = ""
    readings: Many[Reading] = ()
    readings_after: Many[Reading] = ()
    out_of_reach: Many[OutOfReach] = Field((), exclude_if=is_empty)
    verdicts: Many[Verdict] = ()
    diagnosis: Diagnosis | None = None
    conclusion: CauseConcluded | None = None
    proof: str = Field("", exclude_if=is_empty, description="whether the repair is proved")
    design: Many[DesignChecked] = Field((), exclude_if=is_empty)
    advice: Many[str] = Field(
        (), exclude_if=is_empty, description="what the customer was told is normal"
    )
    chain: ChainHead | None = Field(
        None, exclude_if=is_none, description="the signing device's events up to the seal"
    )
    private_sha256: Digest

    def local(self, when: datetime) -> datetime:
        """Return a moment in the zone it was signed in; a phone's entries are in UTC."""
        try:
            return when.astimezone(self.signed_at.tzinfo)
        except OverflowError:  # in the calendar's first or last hours
            return when


class SealedRecord(Data):
    """A record, its private part unless that was erased or left out, and the seal.

    ``sha256`` is the SHA-256 of the record's canonical JSON (RFC 8785). ``parts`` are short
    digests of the record's parts: no proof, but they name what was changed. ``signature`` is the
    signing device's; a record of release 0.1.0 is sealed and not signed.
    """

    record: Record
    private: Private | None = None
    sha256: Digest
    parts: dict[str, str] = Field(default_factory=dict)
    signature: SealSignature | None = Field(None, exclude_if=is_none)
