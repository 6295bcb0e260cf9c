"""What is signed and what stands in the way of it: from a job's state to its record.

A job may be signed when every required step is answered or skipped with a reason, when
whatever is out of range or not as it should be was put right or explained, and when both
sides signed, or the reason is written down why the customer could not. The record is then
built from what the technician saw on the review; sealing it is the store's business.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from logic.case import Judgement
from logic.checklist.depth import Depth
from logic.errors import RecordError
from logic.records.customer_names import CustomerNames
from logic.records.named_texts import places_named, places_with_parts, without_names
from logic.records.record import DesignChecked, Private, Record, Signature, StepRecord
from logic.records.repair_proof import proof
from logic.records.review import (
    WorkDone,
    cautions_shown,
    not_asked,
    review,
    verdicts_of_readings,
)
from logic.records.seal import digest, fresh_salt
from logic.vehicle.identity import Customer, Technician


@dataclass(frozen=True)
class Signing:
    """Who signs, where and when; the place is free text, and private like the customer.

    ``leaves_parts_out`` where a part of the customer's name, too, is kept out of the record's
    texts; the whole name always is.
    """

    technician: Technician
    technician_signature: Signature
    customer_signature: Signature
    signed_at: datetime
    app_version: str
    place: str = ""
    salt: str = field(default_factory=fresh_salt)
    leaves_parts_out: bool = False

    def names(self, customer: Customer) -> CustomerNames:
        """Return what the customer goes by, as described and as signed."""
        return CustomerNames.of((customer, Customer(name=self.customer_signature.name)))


@dataclass(frozen=True)
class Blocker:
    """One reason why the job cannot be signed yet, in words; ``step_id`` is "" for the whole."""

    kind: Literal["open", "unexplained", "no_reason", "clash", "conclusion", "signature"]
    text: str
    step_id: str = ""


def blockers(work: WorkDone, steps: tuple[StepRecord, ...]) -> tuple[Blocker, ...]:
    """List what stands in the way of signing, in the order of the walk; empty means nothing."""
    found = [blocker for step in steps for blocker in _of_step(work, step)]
    if work.job.kind == "callback" and work.job.conclusion is None:
        text = "Say what was found and what was done about it."
        found.append(Blocker("conclusion", text))
    return tuple(found)


def missing_signatures(signing: Signing) -> tuple[Blocker, ...]:
    """List what the two who sign still have to give; empty means nothing."""
    wanted = {
        "Write your name under 'Your name'.": bool(signing.technician.name.strip()),
        "Your signature is missing: sign on the glass.": _is_signed(signing.technician_signature),
        "The customer's signature is missing: hand over the phone, or say why not.": (
            _is_signed(signing.customer_signature)
            or bool(signing.customer_signature.absent.strip())
        ),
    }
    return tuple(Blocker("signature", text) for text, given in wanted.items() if not given)


def record(work: WorkDone, signing: Signing) -> tuple[Record, Private]:
    """Build the record, and its private part, of a job that nothing keeps from being signed.

    Raises
    ------
    RecordError
        Something still stands in the way; the text is the first such thing.
    """
    if standing := (*blockers(work, review(work)), *missing_signatures(signing)):
        raise RecordError(standing[0].text)
    return draft(work, signing)


def draft(work: WorkDone, signing: Signing) -> tuple[Record, Private]:
    """Build the record as it would be sealed now, whatever still stands in the way.

    Where a text of it names the customer, "the customer" stands instead: sealed, it could never
    be erased.

    Raises
    ------
    RecordError
        The vehicle or what is fitted was never described.
    """
    built, private = _built(work, signing)
    names = signing.names(private.customer)
    return without_names(built, names.with_parts() if signing.leaves_parts_out else names), private


@dataclass(frozen=True)
class NamesFound:
    """Where the record's texts name the customer: ``left_out`` there, or perhaps and ``kept``."""

    left_out: tuple[str, ...]
    kept: tuple[str, ...]


def names_found(work: WorkDone, signing: Signing) -> NamesFound:
    """Say where the record's texts name the customer, or a part of the name stands in them."""
    built, private = _built(work, signing)
    names = signing.names(private.customer)
    return NamesFound(places_named(built, names), places_with_parts(built, names))


def _built(work: WorkDone, signing: Signing) -> tuple[Record, Private]:
    from logic.circuit.design import design_checks  # not on the start path

    steps = review(work)
    job, described = work.job, work.vehicle.vehicle
    if described is None:
        raise RecordError("The vehicle has no plate yet. Describe the vehicle first.")
    checklist = work.checklist
    last = job.signed[-1] if job.signed else None
    private = _private_part(work, signing)
    verdicts = verdicts_of_readings(work)
    built = Record(
        vehicle_id=work.vehicle.vehicle_id,
        job_id=job.job_id,
        job_kind=job.kind,
        revision=job.revision + 1,
        previous_sha256=last.record_sha256 if last else None,
        opened_at=job.opened_at or signing.signed_at,
        signed_at=signing.signed_at,
        app_version=signing.app_version,
        checklist_id=job.checklist_id,
        checklist_version=checklist.version if checklist else 0,
        checklist_sha256=checklist.sha256 if checklist else None,
        depth=job.depth if job.depth is not Depth.FULL else None,
        not_asked=not_asked(work),
        vehicle=described,
        technician=signing.technician,
        installation=work.installation,
        cautions=cautions_shown(work, steps),
        steps=steps,
        symptoms=job.symptoms,
        complaint=job.complaint,
        readings=job.readings,
        readings_after=job.readings_after,
        out_of_reach=job.out_of_reach,
        verdicts=verdicts,
        diagnosis=work.diagnosis,
        conclusion=job.conclusion,
        proof=proof(
            job.conclusion,
            verdicts if job.readings_after else (),
            job.out_of_reach,
            work.installation,
        ),
        design=tuple(
            DesignChecked(
                title=one.title,
                passed=one.passed,
                text=one.text,
                source=one.source,
                rule=one.rule,
                right=one.right,
            )
            for one in design_checks(work.installation)
        ),
        advice=_advice(work, steps),
        private_sha256=digest(private.model_dump(mode="json")),
    )
    return built, private


def _advice(work: WorkDone, steps: tuple[StepRecord, ...]) -> tuple[str, ...]:
    """Gather what the steps done at a commissioning gave to pass on to the customer.

    The hand-over's comes first: it sums up.
    """
    checklist = work.checklist
    if checklist is None or work.job.kind != "commissioning":
        return ()
    told = (
        checklist.by_id[step.step_id].teaches for step in reversed(steps) if step.outcome == "done"
    )
    return tuple(dict.fromkeys(text for text in told if text))


def _private_part(work: WorkDone, signing: Signing) -> Private:
    return Private(
        salt=signing.salt,
        customer=work.vehicle.customer,
        customer_signature=signing.customer_signature,
        technician_signature=signing.technician_signature,
        place=signing.place.strip(),
    )


def _is_signed(signature: Signature) -> bool:
    return any(len(stroke) > 1 for stroke in signature.strokes)


def _of_step(work: WorkDone, step: StepRecord) -> Iterator[Blocker]:
    checklist = work.checklist
    required = checklist is not None and checklist.by_id[step.step_id].required
    if step.outcome == "open" and required:
        text = f"{step.title}: still open. Answer it, or leave it out with a reason."
        yield Blocker("open", text, step.step_id)
    if step.outcome == "skipped" and not step.skip_reason.strip():
        text = f"{step.title}: left out without a reason. Say why, or do it."
        yield Blocker("no_reason", text, step.step_id)
    if step.is_exception and not step.explanation.strip():
        text = f"{step.title}: {_trouble(step)}. Put it right and do it again, or explain it."
        yield Blocker("unexplained", text, step.step_id)
    if step.step_id in work.job.clashes:
        text = f"{step.title}: two phones answered differently. Do it again to settle it."
        yield Blocker("clash", text, step.step_id)


def _trouble(step: StepRecord) -> str:
    out = step.verdict is not None and step.verdict.verdict is Judgement.OUT_OF_RANGE
    return f"{step.text}, {'out of range' if out else 'not as it should be'}"
