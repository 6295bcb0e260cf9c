"""The two batteries with what hangs on them, and the panel, each at one moment.

Voltages against the battery's own negative post; every current is the unit's own direction:
out of the start side, into the house side.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.simulator.field.conditions import Moment
from tests.simulator.field.vehicle import ENGINE_STATES, Panel, Vehicle

# Of a lead-acid battery at rest, full, per 12 V (rounded from common tables).
_FULL_REST_V = {"flooded": 12.7, "agm": 12.85, "gel": 12.85}
# So much higher a start battery rests than a plain flooded one, per 12 V (assumed).
_RESTS_HIGHER_V = {"flooded": 0.0, "efb": 0.0, "calcium": 0.08, "agm": 0.12, "gel": 0.12}
# A converter wanders by so much less than an alternator does (assumed).
_CONVERTER_WANDERS = 0.2
_KEY_OFF_A = 0.03
_LEAST_SUN = 0.002


def largest(holds: Callable[[float], float], low: float, high: float, steps: int = 44) -> float:
    """Return the largest x between low and high with ``holds(x) >= 0``, for a falling one."""
    if holds(high) >= 0:
        return high
    if holds(low) < 0:
        return low
    for _ in range(steps):
        middle = 0.5 * (low + high)
        if holds(middle) >= 0:
            low = middle
        else:
            high = middle
    return low


class StartSide:
    """Start battery, alternator and the vehicle's own draw.

    What they can spare falls with the voltage in straight pieces, so its corners are enough.
    """

    def __init__(self, vehicle: Vehicle, moment: Moment, state: str) -> None:
        supply, battery, scale = vehicle.supply, vehicle.start, vehicle.scale
        self.engine = state in ENGINE_STATES
        higher = _RESTS_HIGHER_V[battery.chemistry]
        rests = scale * (11.75 + 0.95 * battery.charge + higher)
        rests += battery.surface_v + battery.offset_v
        self.also_taken_a = 0.0  # by a second unit
        regulated = most = 0.0
        if self.engine and not supply.down:
            hunts = supply.hunts_v * (1 if moment.chance < 0.5 else -1)
            steadier = _CONVERTER_WANDERS if supply.control == "converter" else 1
            regulated = supply.set_v[state] + moment.supply_v * steadier + hunts
            most = supply.rated_a * supply.share[state]
        own = max(0.0, supply.vehicle_a + moment.vehicle_a) if self.engine else _KEY_OFF_A

        def spare(volts: float) -> float:
            made = min(max((regulated - volts) / supply.source_ohm, 0), most)
            ohm = battery.taking_ohm if volts > rests else battery.giving_ohm
            return made - (volts - rests) / ohm - own

        corners = {0.0, rests, regulated, regulated - most * supply.source_ohm, 22 * scale}
        self._volts = sorted((one for one in corners if 0 <= one <= 22 * scale), reverse=True)
        self._spare_a = [spare(volts) for volts in self._volts]

    def posts_v(self, taken_a: float) -> float:
        """Return the voltage at the posts while so much is taken; negative is put in."""
        return float(np.interp(taken_a + self.also_taken_a, self._spare_a, self._volts))


@dataclass
class HouseSide:
    """House battery, house loads, and another charger if there is one."""

    vehicle: Vehicle
    moment: Moment
    state: str
    also_given_a: float = 0.0  # by a second unit

    @property
    def load_a(self) -> float:
        """What the loads ask for."""
        loads = self.vehicle.loads
        base = loads.rest_a if self.state == "rest" else loads.working_a
        asked = base + self.moment.load_a
        return asked if asked > 0 else base

    @property
    def load_ohm(self) -> float:
        """The loads as a resistance, for a battery that is not there."""
        return 12.8 * self.vehicle.house_scale / max(self.load_a, 0.02)

    def posts_v(self, given_a: float) -> float:
        """Return the voltage at the posts while so much arrives there from the unit."""
        other, highest = self.vehicle.other, 40 * self.vehicle.house_scale
        given_a = given_a + self.also_given_a
        if other is None or not self.other_works:
            return self._alone_v(given_a, highest)

        def short(volts: float) -> float:
            return self._alone_v(given_a + self.helped_a(volts), highest) - volts

        return largest(short, 0, highest)

    @property
    def other_works(self) -> bool:
        """Whether another charger works on the battery."""
        other = self.vehicle.other
        return other is not None and (self.state != "rest" or other.at_rest)

    def helped_a(self, volts: float) -> float:
        """Return what another charger gives while the posts are at so many volts."""
        other = self.vehicle.other
        if other is None or not self.other_works:
            return 0.0
        return min(max((other.limit_v - volts) / other.ohm, 0), other.amps)

    def _alone_v(self, given_a: float, highest: float) -> float:
        """Return the posts' voltage by what arrives from all chargers together."""
        if self.vehicle.house.protection == "tripped":
            return min(given_a * self.load_ohm, highest)
        return self._battery_v(given_a - self.load_a)

    def _battery_v(self, into_a: float) -> float:
        battery, scale = self.vehicle.house, self.vehicle.house_scale
        lithium = battery.chemistry == "lifepo4"
        charge, worn, capacity = battery.charge, battery.worn, battery.capacity_ah
        if lithium:
            full = 0.12 if charge > 0.97 else 0
            rests = scale * (13.05 + 0.3 * (charge - 0.3) / 0.7 * 0.75 + full)
            near = capacity * (60 * max(0, 1 - charge) ** 1.3 + 0.012)
            accepts = near if charge > 0.93 else math.inf
        else:
            rests = scale * (_FULL_REST_V[battery.chemistry] - 1.05 * (1 - charge))
            accepts = capacity * (battery.acceptance * (1 - charge) + 0.004)
        rests += battery.surface_v + battery.rest_error_v
        steep = battery.polarisation_v * (1 if lithium else 0.5)
        if into_a < 0:
            ohmic = into_a * battery.ohm * (1 + 0.5 * (worn - 1))
            sag = battery.polarisation_v * 0.5 * (1 - math.exp(into_a / (0.08 * capacity)))
            return rests + battery.offset_v + ohmic - sag
        if battery.protection == "cold":
            return rests + battery.offset_v + 3.0 * into_a * scale
        ohmic = into_a * battery.ohm
        if worn > 1:
            accepts = min(accepts, capacity) / worn
            ohmic *= 1 + 0.3 * (worn - 1)
        rise = 0.0
        if math.isfinite(accepts):
            gassing = max(0.05, 14.4 * scale - rests - min(accepts, 60) * battery.ohm)
            rise = gassing * (into_a / accepts) ** battery.acceptance_exponent
        rise = rise * self.moment.polarisation
        rise += steep * (1 - math.exp(-into_a / (0.06 * capacity)))
        return rests + battery.offset_v + ohmic + rise


class PanelSide:
    """The panel with its lead in one moment's light."""

    def __init__(self, vehicle: Vehicle, moment: Moment, state: str) -> None:
        self._panel, self._state = vehicle.panel, state
        self._floating_v = vehicle.unit.floating_v
        self._sun = 0.0
        self.most_w = 0.0
        if vehicle.panel is None or state == "rest":
            return
        roof = vehicle.panel.sun_with_engine if state in ENGINE_STATES else 1.0
        self._sun = vehicle.panel.sun * moment.sun * roof
        self._peak_a = 0.0
        broken = vehicle.panel.fault not in (None, "regulator")
        if self._sun > _LEAST_SUN and not broken:
            self._find_peak(vehicle.panel)

    def _find_peak(self, panel: Panel) -> None:
        amps = np.linspace(0, self._short_a(panel) * 0.999, 160)
        leads = np.array([self._cells_v(panel, float(one)) for one in amps])
        watts = (leads - amps * panel.lead_ohm) * amps
        peak = int(np.argmax(watts))
        self.most_w = float(watts[peak]) * panel.tracking
        self._peak_a = float(amps[peak])
        if panel.fault == "regulator":
            self.most_w *= panel.regulator_share

    def _short_a(self, panel: Panel) -> float:
        return panel.short_a * self._sun * panel.real * panel.current_share

    def _cells_v(self, panel: Panel, amps: float) -> float:
        """Return the panel's own voltage at a current: one knee, from its own plate."""
        short = self._short_a(panel)
        if self._sun <= _LEAST_SUN or amps >= short:
            return 0.0
        working_a = panel.power_w / panel.working_v
        knee = math.log(max(1.02, panel.short_a / max(panel.short_a - working_a, 1e-3)))
        slope = (panel.open_v - panel.working_v) / knee
        left = max(1e-9, self._sun * (short - amps) / short)
        rest = panel.open_v * panel.hot * panel.voltage_share
        return max(rest + slope * math.log(left), 0.0)

    def plugged(self, watts: float) -> tuple[float, float]:
        """Return volts and amperes at the solar terminal while the unit takes so many watts."""
        panel = self._panel
        if panel is None or self._sun <= _LEAST_SUN:
            return 0.0, 0.0
        if panel.fault in ("open_up", "open_down"):
            return self._floating_v, 0.0
        if panel.fault == "reversed_clamped":
            return -0.4 - 0.4 * self._floating_v, 0.0
        if panel.fault == "reversed_blocked":
            return -self._cells_v(panel, 0), 0.0
        if panel.fault == "regulator":
            works = panel.regulator_share > 0.05
            shown = panel.regulator_v if works else panel.regulator_open_v
            return shown, watts / panel.regulator_v
        if watts <= 0:
            return self._cells_v(panel, 0.0), 0.0

        def terminal_v(amps: float) -> float:
            return self._cells_v(panel, amps) - amps * panel.lead_ohm

        amps = largest(lambda one: watts - terminal_v(one) * one, 0, self._peak_a)
        return terminal_v(amps), amps

    def unplugged_v(self) -> float | None:
        """Return what the panel's leads show on their own; None without a panel."""
        panel = self._panel
        if panel is None:
            return None
        if self._state == "rest":
            return 0.0
        if panel.fault == "open_up":
            return self._floating_v * 0.3
        if panel.fault == "regulator":
            return panel.regulator_open_v
        shown = self._cells_v(panel, 0)
        return -shown if panel.fault in ("reversed_clamped", "reversed_blocked") else shown
