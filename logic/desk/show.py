"""``show``: one vehicle, in words."""

from collections.abc import Iterator
from pathlib import Path

import click

from logic.desk.store_access import opened, vehicle_of
from logic.desk.terminal import aligned, say
from logic.records.outcomes import answer, answer_words, standing, summary
from logic.records.record import SealedRecord, StepRecord
from logic.records.state import JobState, VehicleState
from logic.records.store.store import Store
from logic.vehicle.installation import Installation
from logic.words.dates import moment
from logic.words.equipment import equipment
from logic.words.figures import as_read
from logic.words.names import RESPONSIBILITIES, in_words, reading_name


@click.command(
    help="""Show a vehicle: what is fitted, its jobs, their readings and their signed
    revisions.

    \b
    Examples:
      voltwalk-office show "LIB 042"
      voltwalk-office show 0123456789ab | less
    """
)
@click.argument("vehicle")
@click.pass_obj
def show(folder: Path, vehicle: str) -> None:
    with opened(folder) as store:
        state = store.vehicle(vehicle_of(store, vehicle).vehicle_id)
        say(*_vehicle(state))
        for job in state.jobs:
            say(*_job(store, job, state.installation))


def _vehicle(state: VehicleState) -> Iterator[str]:
    if state.vehicle:
        yield f"{state.vehicle.registration}  {state.vehicle.description}".rstrip()
        yield from _named("VIN", state.vehicle.vin)
    customer = ", ".join(filter(None, (state.customer.name, state.customer.contact)))
    yield f"  customer: {'erased on request' if state.customer_erased else customer or 'not given'}"
    yield f"  id: {state.vehicle_id}"
    if state.installation is None:
        yield "  equipment: not described yet"
        return
    for title, rows in equipment(state.installation):
        yield f"  {title}"
        yield from aligned(rows, 4)


def _named(name: str, text: str) -> Iterator[str]:
    if text:
        yield f"  {name}: {text}"


def _job(store: Store, job: JobState, fitted: Installation | None) -> Iterator[str]:
    begun = moment(job.opened_at) if job.opened_at else "at an unknown time"
    yield ""
    yield f"{in_words(job.kind)}, begun {begun}{'' if job.is_signed else ', not signed'}"
    yield from _named("complaint", job.complaint)
    yield from _named("symptoms", ", ".join(in_words(name).lower() for name in job.symptoms))
    for when, readings in (("before", job.readings), ("after", job.readings_after)):
        for one in readings:
            name = reading_name(one.point, one.state, fitted)
            yield f"  {when} the repair: {name}: {as_read(one.point, one.value)}"
    beyond = (reading_name(*one.key, fitted) for one in job.out_of_reach)
    yield from _named("out of reach", "; ".join(beyond))
    if job.conclusion:
        yield from _named("cause", job.conclusion.cause)
        yield from _named("repair", job.conclusion.repair)
        yield f"  responsible: {RESPONSIBILITIES[job.conclusion.responsibility]}"
    for step_id, entries in job.clashes.items():
        yield f"  answered differently on {len(entries)} devices: {in_words(step_id)}"
    signed = store.sealed(job.job_id)
    for sealed in signed:
        yield from _revision(sealed)
    if not job.is_signed:
        yield from _answers_so_far(job)


def _revision(sealed: SealedRecord) -> Iterator[str]:
    record = sealed.record
    yield f"  revision {record.revision}, signed {moment(record.signed_at)}: {summary(record)}"
    yield f"  SHA-256 {sealed.sha256}"
    rows = [_step(step) for step in record.steps]
    yield from aligned(rows, 4) if rows else ()


def _step(step: StepRecord) -> tuple[str, str, str]:
    said = " ".join(answer(step).split())
    return standing(step), step.title, said if len(said) <= 40 else f"{said[:39]}…"


def _answers_so_far(job: JobState) -> Iterator[str]:
    rows = [
        (in_words(step_id), " ".join(answer_words(entry.answer).split()))
        for step_id, entry in job.answers.items()
        if entry.answer
    ]
    rows += [(in_words(step_id), f"left out: {e.reason}") for step_id, e in job.skipped.items()]
    yield from aligned(rows, 4)
