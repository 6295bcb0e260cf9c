"""A mechanic who knows nothing: follows what the screen says on a simulated vehicle."""

import copy
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from logic.checklist import form
from logic.records.events import Event, InstallationDescribed, VehicleDescribed, new_id
from logic.records.store.store import Store
from logic.vehicle.identity import Vehicle
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State
from mobile.jobs.callback import SCREEN
from tests.paths import CHECKLISTS
from tests.simulator.metering import Bench

DESCRIPTION = {
    "nominal_voltage_v": 12,
    "alternator": {"control": "variable", "rated_current_a": 150},
    "start_battery": {"chemistry": "agm", "capacity_ah": 80},
    "charger": {
        "rated_output_current_a": 40,
        "efficiency": 0.92,
        "start_voltage_v": 13.2,
        "stop_voltage_v": 12.7,
        "ignition_start_voltage_v": 12.0,
        "ignition_stop_voltage_v": 11.5,
        "ignition_signal_min_v": 8.0,
        "absorption_voltage_v": 14.4,
        "float_voltage_v": 13.5,
        "input_current_limit_a": None,
        "ingress_protection": None,
        "max_ambient_c": None,
        "solar_max_voltage_v": 45,
    },
    "house_battery": {
        "chemistry": "agm",
        "capacity_ah": 120,
        "max_charge_current_a": 40,
        "absorption_voltage_v": 14.4,
        "min_charge_temperature_c": None,
    },
    "runs": {
        "vehicle_feed": {"length_m": 5.0, "area_mm2": 16, "joints": 4, "fuse_a": 60},
        "vehicle_return": {"length_m": 1.5, "area_mm2": 16, "joints": 3, "fuse_a": None},
        "house_feed": {"length_m": 1.5, "area_mm2": 16, "joints": 4, "fuse_a": 60},
        "house_return": {"length_m": 1.0, "area_mm2": 16, "joints": 2, "fuse_a": None},
    },
    "location": "cabin",
    "ambient_c": 20,
    "solar": None,
    "meter": None,
}
LITHIUM = {
    "chemistry": "lifepo4",
    "capacity_ah": 120,
    "max_charge_current_a": 60,
    "absorption_voltage_v": 14.4,
    "min_charge_temperature_c": 0,
}
SOLAR = {
    "rated_power_w": 200,
    "open_circuit_voltage_v": 24.0,
    "short_circuit_current_a": 10.5,
    "max_power_voltage_v": 19.5,
}


def described(*, lithium: bool = False, solar: bool = False) -> dict:
    """Return the description, with a lithium house battery or a panel where asked for."""
    return {
        **copy.deepcopy(DESCRIPTION),
        **({"house_battery": LITHIUM} if lithium else {}),
        **({"solar": SOLAR} if solar else {}),
    }


def describe(folder: Path, description: dict, plate: str = "BEE 338") -> str:
    """Put the beekeeper's flatbed into a store; return its id."""
    vehicle_id = new_id()
    bodies = (
        VehicleDescribed(vehicle=Vehicle(registration=plate, description="flatbed")),
        InstallationDescribed(installation=Installation.model_validate(description)),
    )
    with Store.open(folder) as store:
        store.append_all(Event(vehicle_id=vehicle_id, body=body) for body in bodies)
    return vehicle_id


def library() -> form.Library:
    return form.load(CHECKLISTS)


def text_of(value: float) -> str:
    """Return the keys to press for what the meter shows."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


@dataclass
class Mechanic:
    """Takes the reading that the big button names, types it, and goes on until none is asked."""

    phone: object
    bench: Bench
    taken: list[tuple[str, str]] = field(default_factory=list)

    def begin(self, vehicle_id: str, *symptoms: str) -> None:
        self.phone.app.navigator.show("callback", vehicle_id=vehicle_id)
        self.phone.frames(4)
        for words in symptoms:
            self.phone.tap(words)
        self.phone.tap("Safe to work: begin")
        self.settle()

    def settle(self) -> None:
        """Wait until the circuit is shown and the diagnosis has answered."""
        phone = self.phone
        phone.until(lambda: phone.app.navigator.current == SCREEN, 10)
        phone.until(self._has_answered, 60)
        phone.frames(4)

    def _has_answered(self) -> bool:
        return not self.phone.app.work.callback.is_thinking

    @property
    def button(self):
        return self.phone.app.navigator.page.ids.pane.children[0].ids.take

    def asked(self) -> tuple[Point, State] | None:
        """Read off the big button what is to be read, and in which state."""
        words = self.button.text
        head, _, name = words.partition(": ")
        points = {point.full_name: point for point in Point}
        if name not in points:
            return None
        states = {state.full_name: state for state in State}
        return points[name], states.get(head, self.phone.app.work.callback.state)

    def follow(self, most: int = 14) -> int:
        """Do what the screen says until it asks for nothing more; count the readings."""
        while len(self.taken) < most and (place := self.asked()):
            self.phone.tap(self.button)
            self.read(*place)
        return len(self.taken)

    def read(self, point: Point, state: State) -> None:
        """Type what the meter shows into the open keys, and save it."""
        value = self.bench.read(point.value, state.value)["value"]
        self.taken.append((point.value, state.value))
        unit = point.unit
        if unit == "lit":
            self.phone.tap("Lit" if value else "Not lit")
        elif unit == "1":
            self.phone.tap(
                "Clear, high sun" if value > 0.75 else "Hazy or low sun" if value > 0.3 else "Dull"
            )
        else:
            for key in text_of(value).replace("-", "−"):
                self.phone.tap(key)
        self.phone.tap("Save")
        self.settle()


def bench_with(fault: str, description: dict, seed: int) -> Bench:
    """Put a fault into a vehicle of this description, with a meter to read it."""
    from tests.simulator.sheets import bench

    # A run bad enough for somebody to call: 20 to 120 milliohms over.
    return bench(np.random.default_rng(seed), (fault,), description, (0.02, 0.12))[1]
