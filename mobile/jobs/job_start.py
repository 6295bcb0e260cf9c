"""How a job begins: a commissioning, or a callback on a vehicle known here or not. No Kivy.

Each way ends with a job in the store before anything else is asked.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from logic.checklist.depth import Depth
from logic.checklist.form import Library
from logic.errors import InputError
from logic.records.events import (
    Event,
    InstallationDescribed,
    JobOpened,
    VehicleDescribed,
    new_id,
)
from logic.vehicle.identity import Vehicle
from logic.vehicle.installation import Charger, Chemistry, HouseBattery, Installation, Meter
from mobile.jobs.job_in_hand import LABELS

if TYPE_CHECKING:
    from logic.records.store.store import Store

COMMISSIONING = "commissioning"
CALLBACK = "fault_finding"
DEPTH = "depth"
_COMPLAINTS = "complaints"
_ASKED_ON = "complaint_asked_on"
# What a vehicle goes by, with day and time, until its plate is given. Stored since 0.1.0.
_NO_PLATE = "STRANGER "


def begin_commissioning(store: "Store", library: Library, vehicle_id: str, now: datetime) -> str:
    """Open a commissioning on a vehicle and return the job's id."""
    checklist = library.checklists[COMMISSIONING]
    body = JobOpened(
        job_kind="commissioning",
        checklist_id=checklist.id,
        checklist_version=checklist.version,
        depth=chosen_depth(store),
    )
    return _open(store, vehicle_id, body, now)


def chosen_depth(store: "Store") -> Depth:
    """Return how much the workshop has its commissionings ask for; standard unless it chose."""
    try:
        return Depth(store.setting(DEPTH, Depth.STANDARD))
    except ValueError:  # a word of a later release
        return Depth.STANDARD


def choose_depth(store: "Store", depth: Depth) -> None:
    """Have every commissioning from now on ask for this much."""
    store.set_setting(DEPTH, depth.value)


def begin_callback(
    store: "Store",
    library: Library,
    vehicle_id: str,
    now: datetime,
    symptoms: Sequence[str] = (),
    complaint: str = "",
) -> str:
    """Open a callback on a vehicle and return the job's id."""
    checklist = library.checklists[CALLBACK]
    body = JobOpened(
        job_kind="callback",
        checklist_id=checklist.id,
        checklist_version=checklist.version,
        symptoms=tuple(library.symptoms[one].words for one in symptoms),
        complaint=complaint.strip(),
    )
    return _open(store, vehicle_id, body, now)


def _open(store: "Store", vehicle_id: str, opened: JobOpened, now: datetime) -> str:
    event = Event(vehicle_id=vehicle_id, job_id=new_id(), at=now, body=opened)
    return str(store.append(event).job_id)


class ComplaintDraft:
    """The complaint before the callback is opened, on disk at every change."""

    def __init__(self, store: "Store", vehicle_id: str) -> None:
        self._store, self._vehicle_id = store, vehicle_id
        store.set_setting(_ASKED_ON, vehicle_id)
        kept = store.setting(_COMPLAINTS, {}).get(vehicle_id, {})
        self.symptoms: list[str] = list(kept.get("symptoms", ()))
        self.complaint: str = str(kept.get("complaint", ""))

    @staticmethod
    def vehicle_asked(store: "Store") -> str:
        """Return the vehicle whose complaint was asked for last, "" where none was."""
        return str(store.setting(_ASKED_ON, ""))

    def put(self, symptoms: list[str] | None = None, complaint: str | None = None) -> None:
        """Take a change."""
        self.symptoms = self.symptoms if symptoms is None else symptoms
        self.complaint = self.complaint if complaint is None else complaint
        self._keep({"symptoms": self.symptoms, "complaint": self.complaint})

    def clear(self) -> None:
        """Forget it: it is in the job now."""
        self._keep(None)

    def _keep(self, complaint: dict[str, object] | None) -> None:
        kept = dict(self._store.setting(_COMPLAINTS, {}))
        kept.pop(self._vehicle_id, None)
        if complaint is not None:
            kept[self._vehicle_id] = complaint
        self._store.set_setting(_COMPLAINTS, kept)


def add_without_plate(store: "Store", installation: Installation, now: datetime) -> str:
    """Put a vehicle that nobody here knows into the store and return its id.

    It goes by the day and time until its plate is given at the end.
    """
    vehicle = Vehicle(
        registration=f"{_NO_PLATE}{now:%d-%m %H%M}", description="Stranger's vehicle, quick check"
    )
    return _add(store, new_id(), vehicle, installation, now)


def goes_without_plate(vehicle: Vehicle | None) -> bool:
    """Tell whether a vehicle still goes by the time it came rather than by its plate."""
    return vehicle is not None and vehicle.registration.startswith(_NO_PLATE)


def least_known(
    store: "Store", rating: float, chemistry: str, nominal_voltage_v: int, solar: bool
) -> Installation:
    """Return the installation of which only rating and chemistry are known.

    The technician's own meter is known wherever it is used.
    """
    meter = store.setting("meter", {})
    fitted: dict[str, object] = {
        "nominal_voltage_v": nominal_voltage_v,
        "charger": Charger(rated_output_current_a=rating),
        "house_battery": HouseBattery(chemistry=Chemistry(chemistry)),
        "solar": {} if solar else None,
        "meter": Meter.model_validate(meter) if meter else None,
    }
    return Installation.model_validate(fitted)


def add_from_label(store: "Store", text: str, now: datetime) -> str:
    """Take a vehicle over from its label's text and return its id.

    A vehicle that is here already keeps what is known of it.

    Raises
    ------
    InputError
        The text is no label, or not all of it.
    """
    from logic.records.label.encoding import decode

    if not text.strip():
        raise InputError("Nothing pasted yet: scan the label and paste its text.", "label")
    label = decode(text)
    kept = store.setting(LABELS, {})
    store.set_setting(LABELS, {**kept, label.vehicle_id: text.strip()})
    if not store.has_vehicle(label.vehicle_id):
        vehicle = Vehicle(registration=label.registration)
        _add(store, label.vehicle_id, vehicle, label.installation, now)
    return label.vehicle_id


def _add(
    store: "Store", vehicle_id: str, vehicle: Vehicle, installation: Installation, now: datetime
) -> str:
    bodies = (VehicleDescribed(vehicle=vehicle), InstallationDescribed(installation=installation))
    store.append_all(Event(vehicle_id=vehicle_id, at=now, body=body) for body in bodies)
    return vehicle_id
