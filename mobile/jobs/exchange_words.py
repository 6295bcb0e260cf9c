"""What an exchange of vehicles brought, and what is to be settled, in words. No Kivy."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logic.records.outcomes import answer_words
from logic.words.names import counted
from mobile.jobs.workshop_keys import in_two_lines

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


@dataclass(frozen=True)
class SenderWords:
    """Who a file comes from, in words; ``compare`` are the digits to hold against the sender's."""

    text: str
    compare: str = ""
    is_ours: bool = False


@dataclass(frozen=True)
class Asked:
    """Something in a file that is taken in only if the technician says so."""

    why: str
    label: str
    hint: str


def sender_words(would: "Imported") -> SenderWords:
    """Say who a file comes from, and whether that is the workshop's."""
    sender = would.sender
    if not sender.public:
        return SenderWords(
            "No signature: made before 0.2. Nothing in it proves who wrote it. Take it in only if "
            "you know where it comes from."
        )
    if sender.is_ours:
        return SenderWords(f"Signed by {sender.words}, one of the workshop's.", is_ours=True)
    from logic.records.keys import shown

    return SenderWords(
        f"Signed by a key that this phone does not know; it calls itself '{would.device}'. On the "
        "other phone open 'Keys of the workshop' in the menu and compare:",
        in_two_lines(shown(sender.public)),
    )


def would_do(would: "Imported") -> tuple[str, ...]:
    """Say what a file would bring, and what of it would be kept aside or refused."""
    if would.brought_nothing and not (would.held or would.count_refused):
        return ("Nothing new: everything in this file is here already.",)
    if would.brought_nothing and would.sender.public and not would.sender.is_ours:
        waiting = counted(would.held.get("key", 0), "entry", "entries")
        return (f"{waiting} that no known key answers for: nothing can be taken in yet.",)
    counts = (
        (len(would.new_vehicles), "new vehicle", ""),
        (
            len(would.grown_vehicles),
            "known vehicle with new entries",
            "known vehicles with new entries",
        ),
        (would.events, "new entry", "new entries"),
        (would.sealed, "new signed record", ""),
        (would.photos, "new photo", ""),
    )
    words = ", ".join(counted(count, one, more) for count, one, more in counts if count)
    said = [f"It brings {words}."] if words else ["It brings nothing that can be taken in yet."]
    if would.signers:
        who = ", ".join(
            f"{counted(count, 'entry', 'entries')} by {signer.words}"
            for signer, count in would.signers
        )
        said.append(f"Signed: {who}.")
    if would.reopened:
        said.append(f"It opens {counted(len(would.reopened), 'signed job')} again.")
    return (*said, *would.remarks)


def asked_for(would: "Imported") -> tuple[Asked, ...]:
    """Name what is taken in only if the technician says so."""
    named = {
        **_about_keys(would),
        "erasure": Asked(
            "erasure",
            f"Erase {counted(would.held.get('erasure', 0), 'customer')} here too",
            "Name, contact and signatures; it cannot be undone.",
        ),
        "date": Asked(
            "date",
            f"Take in {counted(would.held.get('date', 0), 'entry', 'entries')} dated ahead",
            "A clock was set wrong; the date stays as it is.",
        ),
        "key": Asked(
            "key",
            f"Take in {counted(would.held.get('key', 0), 'entry', 'entries')} without a signature",
            "Only if you know where the file comes from.",
        ),
    }
    return tuple(named[why] for why in would.needs_asking)


def _about_keys(would: "Imported") -> dict[str, Asked]:
    new = [one for one in would.open_offers if one.standing == "trusted"]
    gone = [one for one in would.open_offers if one.standing == "withdrawn"]
    named: dict[str, Asked] = {}
    if gone:
        named["withdrawals"] = Asked(
            "withdrawals",
            f"Stop believing the key of {', '.join(one.name or one.shown for one in gone)}",
            f"{gone[0].by} says that its phone is no longer the workshop's.",
        )
    if new:
        named["keys"] = Asked(
            "keys",
            f"Take in {counted(len(new), 'key')} of the workshop",
            "; ".join(f"{one.name}: {one.shown}, vouched for by {one.by}" for one in new),
        )
    return named


def came_words(came: "Imported") -> str:
    """Say what an import brought."""
    if came.brought_nothing and (came.held or came.count_refused):
        return " ".join(("Nothing was taken in.", *came.remarks))
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
    return " ".join((f"Taken in: {words}.{already}", *came.remarks))


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
