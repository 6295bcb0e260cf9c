"""A meter with its own gain and zero, used on a vehicle that drifts between two readings."""

from dataclasses import replace

import numpy as np

from tests.simulator.solver import settle
from tests.simulator.vehicle import Vehicle

Generator = np.random.Generator

CURRENTS = {"input_current", "output_current", "house_load_current", "solar_current"}
IN_SUN, WITHOUT_SUN = "input_current_in_sun", "input_current_without_sun"
OTHERS = {
    "charger_case_temperature",
    "house_battery_temperature",
    "profile_setting_voltage",
    "input_limit_setting",
    "sunlight_fraction",
    "charging_indicator",
    "fault_indicator",
}
SUPPLY_DRIFT_V, CURRENT_DRIFT = 0.02, 0.012
SPOILS = ("slip_right", "slip_left", "sign", "millivolts", "wrong_post")


class Bench:
    """One vehicle and one meter: reads points, each a moment later than the last."""

    def __init__(self, rng: Generator, vehicle: Vehicle, description: dict) -> None:
        meter = description["meter"] or {}
        accuracy = meter.get("voltage_accuracy_percent", 0.5) / 100
        clamp = meter.get("current_accuracy_percent", 2.0) / 100
        zero = meter.get("current_zero_a", 0.3)
        self.rng, self.vehicle = rng, vehicle
        self.resolution_v = meter.get("voltage_resolution_v")
        self.resolution_a = meter.get("current_resolution_a", 0.1)
        self.gain_v = 1 + float(rng.uniform(-accuracy, accuracy))
        self.gain_a = 1 + float(rng.uniform(-clamp, clamp))
        self.zero_a = float(rng.uniform(-zero, zero))

    def read(self, point: str, state: str) -> dict:
        """Return one reading in the form of the case contract."""
        vehicle = self._drifted(state)
        if point in (IN_SUN, WITHOUT_SUN):
            # The same clamp, with the panel as it is or covered.
            vehicle = replace(vehicle, sun={}) if point == WITHOUT_SUN else vehicle
            true = settle(vehicle, state).values["input_current"]
            return {"point": point, "state": state, "value": self._shown("input_current", true)}
        true = settle(vehicle, state).values[point]
        return {"point": point, "state": state, "value": self._shown(point, true)}

    def _drifted(self, state: str) -> Vehicle:
        v, rng = self.vehicle, self.rng
        moved = v.supply_v[state] + float(rng.normal(0, SUPPLY_DRIFT_V)) * v.scale
        running = state in ("idle", "fast_idle")
        rise = v.house_rise_v + float(rng.normal(0, 0.015)) * v.scale
        return replace(
            v,
            steady_v=v.supply_v,
            supply_v=v.supply_v | ({state: moved} if running else {}),
            output_share=v.output_share * (1 + float(rng.normal(0, CURRENT_DRIFT))),
            load_a=v.load_a * (1 + float(rng.normal(0, 0.03))),
            house_rise_v=rise,
        )

    def _shown(self, point: str, true: float) -> float:
        rng = self.rng
        if point in CURRENTS:
            return _rounded(true * self.gain_a + self.zero_a, self.resolution_a)
        if point.endswith("temperature"):
            return round(true + float(rng.normal(0, 1.5)), 0)
        if point == "sunlight_fraction":
            return round(float(np.clip(true + rng.normal(0, 0.08), 0.05, 1.0)), 1)
        if point in OTHERS:
            return true
        resolution = self.resolution_v or (0.001 if abs(true) < 6 else 0.01)
        return _rounded(true * self.gain_v, resolution)


def _rounded(value: float, resolution: float) -> float:
    return round(round(value / resolution) * resolution, 4)


def spoil(rng: Generator, readings: list[dict]) -> tuple[list[dict], int]:
    """Spoil one reading so that it is plainly another number; return the sheet and its index.

    The ignition terminal is read once and hangs on nothing else: a wrong post that happens to
    be dead or live is no reading that cannot be right, so it only gets slips.
    """
    order = rng.permutation(len(readings))
    for index in order:
        wrong = _spoilt(rng, readings, int(index))
        if wrong is not None:
            sheet = [dict(reading) for reading in readings]
            sheet[index]["value"] = wrong
            return sheet, int(index)
    raise ValueError("no reading on this sheet can be spoilt visibly")


def _spoilt(rng: Generator, readings: list[dict], index: int) -> float | None:
    reading = readings[index]
    point, value = reading["point"], reading["value"]
    if point in OTHERS or abs(value) < (1.0 if point in CURRENTS else 0.05):
        return None
    kind = str(rng.choice(SPOILS))
    if point == "ignition_signal_voltage" and (abs(value) < 1 or kind == "wrong_post"):
        return None
    if kind == "millivolts" and abs(value) < 0.9 and point not in CURRENTS:
        return value * 1000
    if kind == "wrong_post":
        return _other_post(rng, readings, index)
    return {"slip_right": value * 10, "slip_left": value / 10, "sign": -value}.get(kind)


def _other_post(rng: Generator, readings: list[dict], index: int) -> float | None:
    here = readings[index]
    if here["point"] in CURRENTS:
        return None
    others = [
        r["value"]
        for r in readings
        if r["state"] == here["state"]
        and r["point"].endswith(("voltage", "drop"))
        and r["point"] not in OTHERS
        and abs(r["value"] - here["value"]) > max(0.5, 0.2 * abs(here["value"]))
    ]
    return float(rng.choice(others)) if others else None
