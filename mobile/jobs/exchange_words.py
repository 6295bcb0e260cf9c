"""What an exchange of vehicles brought, and what is to be settled, in words. No Kivy."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logic.records.outcomes import answer_words
from logic.words.names import counted

if TYPE_CHECKING:
    from logic.checklist.form import Library
    from logic.checklist.step import Step
    from logic.records.bundle.importing import Imported
    from logic.records.state import Clash, JobState, StepEntry, VehicleState
    from logic.records.store.store import Store

_MOST_NAMED = 20


@dataclass(frozen=True)
class VehicleLine:
    """A vehicle that came, or that has new entries."""

    vehicle_id: str
    plate: str
    second: str


@dataclass(frozen=True)
class ClashLine:
    """A step with more than one answer; ``is_signed`` where the job must be opened again first."""

    job_id: str
    step_id: str
    text: str
    second: str
    is_signed: bool


def came_words(came: "Imported") -> str:
    """Say what an import brought."""
    if came.brought_nothing:
        return "Nothing new came: everything in this file is here already."
    parts = (
        (len(came.new_vehicles), "new vehicle", ""),
        (came.events, "new entry", "new entries"),
        (came.sealed, "new signed record", ""),
        (came.photos, "new photo", ""),
    )
    words = ", ".join(counted(count, one, more) for count, one, more in parts if count)
    if not words:
        return "The customer's name and contact came; everything else was here already."
    known = came.known_events
    already = f" {counted(known, 'entry was', 'entries were')} here already." if known else ""
    return f"Taken in: {words}.{already}"


def vehicle_lines(store: "Store", came: "Imported") -> tuple[tuple[VehicleLine, ...], str]:
    """Name the vehicles that came, and say how many more there are than can be named."""
    vehicles = [(one, "new here") for one in came.new_vehicles]
    vehicles += [(one, "new entries came") for one in came.grown_vehicles]
    lines = tuple(_vehicle_line(store.vehicle(one), what) for one, what in vehicles[:_MOST_NAMED])
    more = len(vehicles) - len(lines)
    return lines, f"and {more} more; look for them under 'All vehicles'." if more else ""


def clash_lines(
    store: "Store", library: "Library", clashes: Sequence["Clash"]
) -> tuple[tuple[ClashLine, ...], str]:
    """Name the steps to settle with their answers, and say how many more there are."""
    lines = []
    for clash in clashes[:_MOST_NAMED]:
        vehicle = store.vehicle(clash.vehicle_id)
        job, step_id = vehicle.job(clash.job_id), clash.step_id
        step = step_of(library, job, step_id)
        title = step.title if step else step_id
        answers = " / ".join(entry_words(step, entry) for entry in job.clashes.get(step_id, ()))
        second = (
            f"{answers}. Signed: open the job again to settle it." if job.is_signed else answers
        )
        text = f"{plate_of(vehicle)}: {title}"
        lines.append(ClashLine(job.job_id, step_id, text, second, job.is_signed))
    more = len(clashes) - len(lines)
    return tuple(lines), f"and {more} more, once these are settled." if more else ""


def late_words(job: "JobState") -> str:
    """Say what came from other phones that a signed job's record does not hold, "" for nothing."""
    if not job.is_signed:
        return ""
    signed_at = job.signed[-1].at
    late = sum(event.at > signed_at for event in job.late)
    parts = []
    if late:
        parts.append(f"{counted(late, 'entry', 'entries')} made after this was signed")
    if job.clashes:
        parts.append(f"other answers to {counted(len(job.clashes), 'step')}")
    if not parts:
        return ""
    return (
        f"From another phone came {' and '.join(parts)}. The record stays as it was signed; "
        "open the job again to look at them."
    )


def step_of(library: "Library", job: "JobState", step_id: str) -> "Step | None":
    """Return a job's step, ``None`` where its checklist no longer has it."""
    checklist = library.checklists.get(job.checklist_id)
    return checklist.by_id.get(step_id) if checklist else None


def entry_words(step: "Step | None", entry: "StepEntry") -> str:
    """Say one of the answers that a step was given."""
    if entry.skipped:
        return f"left out ({entry.reason})"
    return answer_words(entry.answer, step)


def plate_of(vehicle: "VehicleState") -> str:
    """Say which vehicle it is."""
    return vehicle.vehicle.registration if vehicle.vehicle else "No plate yet"


def _vehicle_line(vehicle: "VehicleState", what: str) -> VehicleLine:
    about = vehicle.vehicle.description if vehicle.vehicle else ""
    second = f"{about} · {what}" if about else what
    return VehicleLine(vehicle.vehicle_id, plate_of(vehicle), second)
