"""A blind callback: only what the screen says is done, and some readings cannot be taken."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from logic.diagnosis.catalogue import faults
from logic.diagnosis.reach import minutes
from logic.vehicle.installation import Extra
from logic.vehicle.points import Point, ReadingKey, State
from tests.mobile.callback_scene import Mechanic, text_of

# What a customer would come with, by what is wrong; and what must be fitted for it.
COMPLAINTS = {
    "no_fault": "Battery never full",
    "house_battery_charged": "Charges slowly",
    "house_load_high": "Battery never full",
    "vehicle_feed_resistive": "Charges slowly",
    "vehicle_return_resistive": "Charges slowly",
    "house_feed_resistive": "Charges slowly",
    "house_return_resistive": "Charges slowly",
    "vehicle_fuse_open": "Never charges",
    "charger_negative_open": "Never charges",
    "ignition_signal_missing": "Never charges",
    "ignition_always_live": "Start battery goes flat",
    "alternator_not_charging": "Start battery goes flat",
    "charger_no_output": "Never charges",
    "charger_thermal_derating": "Unit gets hot",
    "charger_output_limited": "Charges slowly",
    "profile_too_low": "Battery never full",
    "profile_too_high": "Unit gets hot",
    "house_fuse_open": "Never charges",
    "house_battery_protected": "Never charges",
    "house_battery_high_resistance": "Battery never full",
    "house_battery_low_cell": "Battery never full",
    "solar_open": "Nothing from the panel",
    "solar_reversed": "Nothing from the panel",
    "solar_second_regulator": "Nothing from the panel",
    "solar_undersupply": "Nothing from the panel",
}
ONE_IN = 6  # readings that cannot be taken
_MOST = 24  # readings asked for before it counts as a dead end


def fitted_for(fault: str) -> dict[str, bool]:
    """Return what must be fitted for a fault, as ``described`` takes it."""
    needs = faults()[fault].needs
    return (
        {"solar": True}
        if Extra.SOLAR in needs.fitted
        else {"lithium": True}
        if needs.chemistry
        else {}
    )


@dataclass
class BlindMechanic(Mechanic):
    """Counts taps and minutes; says of one reading in six that it cannot be taken."""

    rng: np.random.Generator = field(default_factory=lambda: np.random.default_rng(0))
    taps: int = 0
    minutes: float = 0.0
    left_out: int = 0

    def solve(self) -> str:
        """Follow the screen to its findings; return the title of the first, "" at a dead end."""
        for _ in range(_MOST):
            place = self.asked()
            if place is None:
                break
            self.phone.rest(0.5)
            if self.rng.random() < 1 / ONE_IN and self._pane.can_fail:
                self.phone.tap("Cannot reach this")
                self.taps, self.left_out = self.taps + 1, self.left_out + 1
                self.settle()
                continue
            installation = self.phone.app.work.callback.installation
            taken = [ReadingKey(Point(point), State(state)) for point, state in self.taken]
            self.minutes += minutes(ReadingKey(*place), taken, installation)
            self.phone.tap(self.button)
            self.read(*place)
        return self._first_finding()

    def read(self, point: Point, state: State) -> None:
        super().read(point, state)
        # The button, each key or the one choice, and Save.
        value = self.phone.app.work.callback.value(point, state)
        keys = len(text_of(value)) if point.unit.symbol else 1
        self.taps += 2 + keys

    def _first_finding(self) -> str:
        if not self.button.text.startswith("See the findings"):
            return ""
        self.phone.rest(0.5)
        self.phone.tap("See the findings")
        self.phone.frames(3)
        self.taps += 1
        page = self.phone.app.navigator.page
        heads = [w for w in page.ids.body.stack.children[::-1] if hasattr(w, "percent")]
        can_go_on = self.phone.sees("Put it right")
        return heads[0].text if heads and can_go_on else ""

    @property
    def _pane(self) -> Any:
        return self.phone.app.navigator.page.ids.pane.children[0]
