"""Signing a job off, and opening it again. No Kivy.

What is being signed with is kept on disk at every change until the job is sealed. A signature
belongs to what was there when it was given: when anything of the job changes
afterwards, both signatures are taken away and must be given again.
"""

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from logic.case import Diagnosis
from logic.records import sign_off
from logic.records.events import Event, JobReopened
from logic.records.front_page import FrontPage, front_page, place_of
from logic.records.outcomes import answer_and_standing
from logic.records.record import SealedRecord, Signature
from logic.records.review import WorkDone, review
from logic.records.store.unfinished import SIGNING
from mobile import __version__
from mobile.jobs.callback import diagnose_case
from mobile.jobs.job_in_hand import baseline_of
from mobile.jobs.set_up import technician

if TYPE_CHECKING:
    from logic.records.store.store import Store
    from mobile.jobs.workplace import Workplace

Who = Literal["technician", "customer"]
Strokes = list[list[tuple[float, float]]]


def work_done(work: "Workplace", job_id: str, diagnosis: Diagnosis | None = None) -> WorkDone:
    """Gather what is to be signed for, as the store has it now."""
    vehicle = work.store.vehicle(work.store.job(job_id).vehicle_id)
    job = vehicle.job(job_id)
    return WorkDone(vehicle, job, work.library, baseline_of(work.store, job), diagnosis)


def seal(work: "Workplace", done: WorkDone, signing: sign_off.Signing) -> SealedRecord:
    """Sign a job off.

    Raises
    ------
    RecordError
        Something still stands in the way.
    """
    return work.store.seal(*sign_off.record(with_diagnosis(done), signing))


def with_diagnosis(done: WorkDone) -> WorkDone:
    """Return a callback's work with what its readings said, which its record holds."""
    if done.job.kind != "callback" or done.diagnosis is not None:
        return done
    # The app was opened anew at the signatures: it is worked out again.
    return replace(done, diagnosis=diagnose_case(done.case))


def reopen(work: "Workplace", vehicle_id: str, job_id: str, reason: str) -> None:
    """Open a signed job again; what follows belongs to its next revision."""
    body = JobReopened(reason=reason)
    work.store.append(Event(vehicle_id=vehicle_id, job_id=job_id, at=work.clock(), body=body))


def forget(store: "Store", job_id: str) -> None:
    """Forget what was given to sign a job with."""
    if store.setting(SIGNING, {}).get("job_id") == job_id:
        store.set_setting(SIGNING, {})


def names_words(found: sign_off.NamesFound, *, parts_left_out: bool) -> tuple[str, str, str]:
    """Say what is left out of the record of the customer's name, what is not, and the choice."""
    left = dict.fromkeys((*found.left_out, *(found.kept if parts_left_out else ())))
    told = (
        f"So that the name can be erased later, the record says “the customer” in its place: "
        f"{', '.join(left)}."
    )
    kept = (
        f"A part of the customer's name, or a word like it, stands in {', '.join(found.kept)}. "
        "Sealed, it can never be erased."
    )
    if not found.kept:
        return (told if left else "", "", "")
    if parts_left_out:
        return told, "", "Write these words out again"
    return (told if left else "", kept, "Say “the customer” there as well")


class SigningForm:
    """Place, customer's name, the two signatures or why the customer's is missing."""

    def __init__(self, store: "Store", done: WorkDone) -> None:
        self._store, self._done = store, done
        kept = store.setting(SIGNING, {})
        self._kept = kept if kept.get("job_id") == done.job.job_id else {}
        self.was_changed = self._take_back_if_changed()

    @property
    def place(self) -> str:
        """Where it is signed; at first, where this vehicle's last record was.

        Never where another customer's was: a place may be where somebody lives.
        """
        return str(self._kept.get("place", self._last_place()))

    @property
    def customer_name(self) -> str:
        """Who signs for the customer; at first, the customer as described."""
        return str(self._kept.get("customer_name", self._done.vehicle.customer.name))

    @property
    def absent(self) -> str:
        """Why the customer does not sign, "" where they do."""
        return str(self._kept.get("absent", ""))

    def strokes(self, who: Who) -> Strokes:
        """Return what was drawn so far."""
        found: Strokes = self._kept.get(f"{who}_strokes", [])
        return found

    def put(self, name: Literal["place", "customer_name", "absent"], text: str) -> None:
        """Take what was typed."""
        self._keep({name: text})

    @property
    def leaves_parts_out(self) -> bool:
        """Whether a part of the customer's name is kept out of the record's texts as well."""
        return bool(self._kept.get("leaves_parts_out", False))

    def leave_parts_out(self, wanted: bool) -> None:
        """Keep parts of the customer's name out of the record's texts, or in them.

        What was signed for changes with that: both sign again.
        """
        self._keep({"leaves_parts_out": wanted, "technician_strokes": [], "customer_strokes": []})

    def names_found(self, at: datetime) -> sign_off.NamesFound:
        """Say where the record's texts name the customer, or may."""
        return sign_off.names_found(self._done, self.built(at))

    def draw(self, who: Who, strokes: Strokes) -> None:
        """Take what was drawn; a customer who signs is no longer absent."""
        self._keep({f"{who}_strokes": strokes, "as_of": self._as_of()})
        if who == "customer" and strokes:
            self._keep({"absent": ""})

    def built(self, at: datetime) -> sign_off.Signing:
        """Return what the record is signed with."""
        own = technician(self._store)
        return sign_off.Signing(
            technician=own,
            technician_signature=self._signature("technician", own.name),
            customer_signature=self._signature("customer", self.customer_name),
            signed_at=at.astimezone(),  # the record tells the hour of the place
            app_version=__version__,
            place=self.place,
            leaves_parts_out=self.leaves_parts_out,
        )

    def missing(self, at: datetime) -> tuple[str, ...]:
        """List what is still to be given, in words."""
        return tuple(one.text for one in sign_off.missing_signatures(self.built(at)))

    def close(self) -> None:
        """Forget it all: it is in the sealed record now."""
        self._kept = {}
        forget(self._store, self._done.job.job_id)

    def statement(self) -> str:
        """Say in one sentence what is signed for."""
        steps, job = review(self._done), self._done.job
        counts = {
            "steps done": sum(step.outcome == "done" for step in steps),
            "readings taken": len(job.readings) + len(job.readings_after),
            "left open": sum(step.outcome == "open" for step in steps),
            "left out with a reason": sum(step.outcome == "skipped" for step in steps),
            "accepted although not in order": sum(step.is_exception for step in steps),
        }
        told = ", ".join(f"{count} {words}" for words, count in counts.items() if count)
        return f"{told or 'nothing was checked'}."

    def front_page(self, at: datetime) -> FrontPage:
        """Return page one as it would be printed if it were sealed now."""
        return front_page(*sign_off.draft(self._done, self.built(at)))

    def accepted(self) -> tuple[str, ...]:
        """List what is accepted although it is not in order, each with the reason."""
        steps = [step for step in review(self._done) if step.is_exception]
        return tuple(
            f"{step.title}: {answer_and_standing(step)}. {step.explanation}" for step in steps
        )

    def _last_place(self) -> str:
        signed = [job.job_id for job in self._done.vehicle.jobs if job.signed]
        records = self._store.sealed(signed[-1]) if signed else ()
        return place_of(records[-1].record, records[-1].private) if records else ""

    def _signature(self, who: Who, name: str) -> Signature:
        strokes = tuple(tuple((x, y) for x, y in stroke) for stroke in self.strokes(who))
        absent = self.absent if who == "customer" and not strokes else ""
        return Signature(name=name.strip(), strokes=strokes, absent=absent)

    def _as_of(self) -> str:
        last_at = self._done.job.last_at
        return last_at.isoformat() if last_at else ""

    def _take_back_if_changed(self) -> bool:
        given = bool(self.strokes("technician") or self.strokes("customer"))
        if not given or self._kept.get("as_of") == self._as_of():
            return False
        self._keep({"technician_strokes": [], "customer_strokes": []})
        return True

    def _keep(self, change: dict[str, object]) -> None:
        self._kept = {**self._kept, "job_id": self._done.job.job_id, **change}
        self._store.set_setting(SIGNING, self._kept)
