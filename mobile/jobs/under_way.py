"""What is under way: the job in the bookmark, set-ups not finished. No Kivy.

The first screen shows both, so nothing heavy is imported here.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from logic.errors import RecordError
from mobile.jobs.language import counted, said

if TYPE_CHECKING:
    from logic.records.state import JobState, VehicleState
    from logic.records.store.store_file import StoreFile
    from mobile.jobs.workplace import Workplace

DRAFTS = "drafts"


def unfinished_set_ups(store: "StoreFile") -> dict[str, dict[str, str]]:
    """Return every set-up's draft that holds something not yet given, by vehicle id."""
    return dict(store.setting(DRAFTS, {}))


@dataclass(frozen=True)
class JobUnderWay:
    """The job last worked on, and how to name it in a list."""

    vehicle_id: str
    job_id: str
    job_kind: str
    plate: str
    about: str


def job_under_way(work: "Workplace") -> JobUnderWay | None:
    """Return the open job that was last worked on, None where there is none."""
    marked = work.store_file.bookmark()
    if not marked.job_id:
        return None
    try:
        vehicle = work.store.vehicle(marked.vehicle_id)
        job = vehicle.job(marked.job_id)
    except (RecordError, KeyError):
        return None  # the bookmark outlived its vehicle: a store that was restored
    if job.is_signed or vehicle.vehicle is None:
        return None
    plate, about = vehicle.vehicle.registration, _about(vehicle, job)
    return JobUnderWay(vehicle.vehicle_id, job.job_id, job.kind, plate, about)


def _about(vehicle: "VehicleState", job: "JobState") -> str:
    described = vehicle.vehicle.description if vehicle.vehicle else ""
    count = len(job.answers) + len(job.skipped)
    done = counted("{count} step done", "{count} steps done", count)
    kind = said("Commissioning" if job.kind == "commissioning" else "Fault-finding")
    return " · ".join(one for one in (described, f"{kind}, {done}") if one)
