"""One vehicle's set-up in progress: its draft on disk at every change, its events when whole.

Plain Python. There is no "save": each part of the draft (vehicle, customer, equipment) becomes
an event as soon as a form is left with nothing wrong in it, and what is half-filled stays in
the store's settings until it is.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

from logic.checklist.presets import Group, Preset
from logic.errors import InputError
from logic.records.events import (
    CustomerDescribed,
    Event,
    InstallationDescribed,
    VehicleDescribed,
)
from logic.records.state import VehicleState
from logic.vehicle.identity import Technician
from logic.vehicle.installation import Meter, StatedBy
from logic.vehicle.points import LOOP, Run
from mobile.jobs import form_entry
from mobile.jobs.set_up_pages import guessed_profile_words
from mobile.jobs.under_way import DRAFTS, unfinished_set_ups

if TYPE_CHECKING:
    from logic.records.store.store import Store
    from mobile.jobs.workplace import Workplace

_CHEMISTRY = "house_battery.chemistry"
_SETS_PROFILE = (_CHEMISTRY, "nominal_voltage_v", "output_nominal_voltage_v")
"""The figures that a usual charging profile goes by."""
_METER = "meter"
_TECHNICIAN = "technician"


class FormOwner(Protocol):
    """Whoever keeps what a form's fields hold."""

    draft: dict[str, str]

    def put(self, path: str, text: str) -> str:
        """Take what was typed, keep it on disk, and return the complaint about it or ""."""

    def second_look(self, path: str) -> str:
        """Say what deserves a second look in a text that is allowed, or ""."""

    def finish(self) -> InputError | None:
        """Take over what is whole when the form is left; return what keeps the rest back."""


def technician(store: "Store") -> Technician:
    """Return the technician's own details as last given."""
    return Technician.model_validate(store.setting(_TECHNICIAN, {}))


class OwnDetails:
    """The technician's own details and own meter, kept as settings at every change."""

    def __init__(self, store: "Store") -> None:
        self._store = store
        own = technician(store).model_dump().items()
        self.draft = {f"{_TECHNICIAN}.{name}": str(text) for name, text in own} | _own_meter(store)

    def put(self, path: str, text: str) -> str:
        """Take what was typed; what cannot be taken is not kept, and stays on the screen."""
        self.draft[path] = text
        complaint = form_entry.complaint(path, text, self.draft)
        if not complaint:
            root, _, name = path.partition(".")
            given = {**self._store.setting(root, {}), name: form_entry.read(path, text, self.draft)}
            known = {name: value for name, value in given.items() if value is not None}
            self._store.set_setting(root, known)
        return complaint

    def second_look(self, path: str) -> str:
        """Nothing here has one."""
        return ""

    def finish(self) -> InputError | None:
        """Nothing is left to do: every change is kept already."""
        return None


def _own_meter(store: "Store") -> dict[str, str]:
    meter = Meter.model_validate(store.setting(_METER, {}))
    values = meter.model_dump().items()
    return {f"{_METER}.{name}": f"{value:g}" for name, value in values if value is not None}


@dataclass
class SetUp:
    """The draft of one vehicle; ``known`` is the vehicle as stored, None before its first event."""

    work: "Workplace"
    vehicle_id: str
    known: VehicleState | None = None
    draft: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, work: "Workplace", vehicle_id: str, known: VehicleState | None = None) -> "SetUp":
        """Go on with a vehicle's set-up where it was left, or begin a new vehicle's.

        ``known`` is the vehicle as stored, where the caller has it already.
        """
        if known is None and work.store.has_vehicle(vehicle_id):
            known = work.store.vehicle(vehicle_id)
        made = cls(work, vehicle_id, known)
        made.draft = made._from_store() | unfinished_set_ups(work.store).get(vehicle_id, {})
        return made

    def put(self, path: str, text: str) -> str:
        """Take what was typed, keep it on disk, and return the complaint about it or "".

        What stands there already was not typed anew: how it was come by stays.
        """
        changed = text != self.draft.get(path, "")
        if changed:
            self.draft = form_entry.typed_over(self.draft, path) | {path: text}
        if changed and path in _SETS_PROFILE and self.draft.get(_CHEMISTRY):
            presets = self.work.library.presets[Group.HOUSE_BATTERIES]
            self.draft = form_entry.with_usual_profile(self.draft, presets)
        self._keep(self.draft)
        return form_entry.complaint(path, text, self.draft)

    def state(self, path: str, stated: StatedBy | None) -> None:
        """Say how the figure at a path was come by."""
        self.draft = form_entry.with_stated(self.draft, path, stated)
        self._keep(self.draft)

    def second_look(self, path: str) -> str:
        """Say what deserves a second look: a check digit, a plate that is here, a guess made."""
        text = self.draft.get(path, "")
        if path == _CHEMISTRY:
            return guessed_profile_words(self.draft)
        if path != "vehicle.registration" or not text.strip():
            return form_entry.second_look(path, text)
        plate = " ".join(text.upper().split())
        same = [row for row in self.work.store.find_vehicles(plate) if row.registration == plate]
        if all(row.vehicle_id == self.vehicle_id for row in same):
            return ""
        return f"{plate} is in the list already: go back and open it there, if it is the same."

    def take(self, preset: Preset, runs: tuple[Run, ...] = LOOP) -> None:
        """Fill in a preset."""
        self.draft = form_entry.with_preset(self.draft, preset, runs)
        self._keep(self.draft)

    def finish(self) -> InputError | None:
        """Turn what is whole into events; return the first thing that keeps the rest back.

        Nothing is written twice: a part equal to what is stored makes no event.
        """
        if not self.draft.get("vehicle.registration", "").strip():
            return InputError("It is needed first.", "vehicle.registration")
        trouble: InputError | None = None
        bodies: list[VehicleDescribed | CustomerDescribed | InstallationDescribed] = []
        for read in (self._vehicle, self._customer, self._installation):
            try:
                bodies += read()
            except InputError as error:
                trouble = trouble or error
        if bodies:
            now = self.work.clock()
            self.work.store.append_all(
                Event(vehicle_id=self.vehicle_id, at=now, body=body) for body in bodies
            )
            self.known = self.work.store.vehicle(self.vehicle_id)
        self._keep(self.draft if trouble else None)
        return trouble

    def discard(self) -> None:
        """Throw the draft away; a vehicle that is stored stays as it is stored."""
        self._keep(None)
        self.draft = self._from_store()

    def _vehicle(self) -> list[VehicleDescribed]:
        described = form_entry.vehicle(self.draft)
        same = self.known is not None and self.known.vehicle == described
        return [] if same else [VehicleDescribed(vehicle=described)]

    def _customer(self) -> list[CustomerDescribed]:
        owner = form_entry.customer(self.draft)
        stored = self.known.customer if self.known else form_entry.customer({})
        return [] if owner == stored else [CustomerDescribed(customer=owner)]

    def _installation(self) -> list[InstallationDescribed]:
        fitted = form_entry.installation(self.draft)
        same = self.known is not None and self.known.installation == fitted
        return [] if same else [InstallationDescribed(installation=fitted)]

    def _from_store(self) -> dict[str, str]:
        if self.known is None or self.known.vehicle is None:
            return _own_meter(self.work.store)
        draft = form_entry.draft_of_vehicle(self.known.vehicle, self.known.customer)
        if self.known.installation is not None:
            return draft | form_entry.draft_of(self.known.installation)
        return draft | _own_meter(self.work.store)

    def _keep(self, draft: dict[str, str] | None) -> None:
        kept: dict[str, Any] = unfinished_set_ups(self.work.store)
        kept.pop(self.vehicle_id, None)
        if draft is not None:
            kept[self.vehicle_id] = draft
        self.work.store.set_setting(DRAFTS, kept)
