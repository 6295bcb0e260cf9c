"""One vehicle on one day, read with one meter.

Each point in each state is read at a moment of its own.  In the rough world a meter may read high
on a flat battery and a clamp is not zeroed.  Ranges are assumed.
"""

from dataclasses import dataclass

import numpy as np

from tests.contract import POINTS, STATES
from tests.simulator.field.circuit import Circuit, Nodes
from tests.simulator.field.conditions import MOMENTS, World, draw_moments
from tests.simulator.field.drawing import one_of, uniform
from tests.simulator.field.vehicle import (
    CURRENTS,
    ENGINE_STATES,
    FURTHER_CURRENTS,
    FURTHER_POINTS,
    Key,
    Vehicle,
)

Generator = np.random.Generator

_NUMBERED = (*POINTS, *FURTHER_POINTS)
TEMPERATURES = ("charger_case_temperature", "house_battery_temperature")
LAMPS = ("charging_indicator", "fault_indicator")


@dataclass(frozen=True)
class Meter:
    """A voltmeter and a clamp with their own gain and zero, and the eye that judges the sun."""

    described: bool
    accuracy_percent: float
    counts: int
    resolution_v: float | None
    clamp_percent: float
    clamp_zero_a: float
    clamp_resolution_a: float
    gain: float
    zero_v: float
    clamp_gain: float
    zero_a: float
    in_series_at_rest: bool
    eye_gain: float
    eye_zero: float


def draw_meter(rng: Generator, world: World) -> Meter:
    """Draw a meter; less than half are described in the case."""
    described = bool(rng.random() < 0.4)
    resolution_v: float | None = None
    if described:
        percent = one_of(rng, [0.3, 0.5, 0.5, 0.8, 1.0])
        counts = int(one_of(rng, [2, 3, 5]))
        resolution_v = one_of(rng, [0.001, 0.01, 0.01])
        clamp_percent = one_of(rng, [1.5, 2.0, 2.5, 3.0])
        clamp_zero, clamp_resolution = one_of(rng, [0.1, 0.2, 0.3]), one_of(rng, [0.01, 0.1])
    else:
        percent, counts = one_of(rng, [0.5, 0.8, 1.0]), 3
        clamp_percent = one_of(rng, [2.0, 2.5, 3.0])
        clamp_zero, clamp_resolution = 0.25, 0.1
    gain = uniform(rng, -1, 1) * percent / 100
    zero_v = uniform(rng, -1, 1) * 0.6 * counts * (resolution_v or 0.001)
    clamp_gain = uniform(rng, -1, 1) * clamp_percent / 100
    zero_a = uniform(rng, -1, 1) * clamp_zero
    if world == "rough":
        if rng.random() < 0.08:  # its battery is flat
            gain += uniform(rng, 0.01, 0.02)
        zero_a = uniform(rng, -0.5, 0.5)
    return Meter(
        described=described,
        accuracy_percent=percent,
        counts=counts,
        resolution_v=resolution_v,
        clamp_percent=clamp_percent,
        clamp_zero_a=clamp_zero,
        clamp_resolution_a=clamp_resolution,
        gain=gain,
        zero_v=zero_v,
        clamp_gain=clamp_gain,
        zero_a=zero_a,
        in_series_at_rest=bool(rng.random() < 0.5),
        eye_gain=1 + float(rng.normal(0, 0.12)),
        eye_zero=float(rng.normal(0, 0.04)),
    )


class Visit:
    """A vehicle with a meter on it; the same seed meets the same moments with the same meter."""

    def __init__(self, vehicle: Vehicle, world: World, seed: int) -> None:
        self.vehicle, self.world, self._seed = vehicle, world, seed
        self.meter = draw_meter(np.random.default_rng(seed), world)
        self._moments = draw_moments(np.random.default_rng(seed + 1), vehicle, world)
        self._nodes: dict[tuple[str, int], Nodes] = {}
        self._true: dict[Key, float | None] = {}
        self._read: dict[Key, float | None] = {}

    def nodes(self, state: str, number: int) -> Nodes:
        """Return the settled loop at one moment of a state."""
        if (state, number) not in self._nodes:
            self._nodes[state, number] = self.circuit(state, number).settled()
        return self._nodes[state, number]

    def circuit(self, state: str, number: int) -> Circuit:
        """Return the loop at one moment of a state, not yet settled."""
        return Circuit(self.vehicle, self._moments[state][number], state)

    def true(self, point: str, state: str) -> float | None:
        """Return the true value at the moment this point is read; None if there is no such."""
        if (point, state) not in self._true:
            place = [self._seed, _NUMBERED.index(point), STATES.index(state)]
            number = int(np.random.default_rng(place).integers(0, MOMENTS))
            self._true[point, state] = self.value(point, state, number)
        return self._true[point, state]

    def true_values(self) -> dict[str, float]:
        """Return all true values looked at so far."""
        return {
            f"{state}/{point}": value
            for (point, state), value in sorted(self._true.items())
            if value is not None
        }

    def value(self, point: str, state: str, number: int) -> float | None:
        """Return the true value of a point at one moment of a state."""
        vehicle, unit, panel = self.vehicle, self.vehicle.unit, self.vehicle.panel
        engine = state in ENGINE_STATES
        if point == "profile_setting_voltage":
            return unit.absorption_v + unit.profile_shift_v
        if point == "charger_case_temperature":
            over = unit.case_c - vehicle.ambient_c
            return unit.case_c if engine else vehicle.ambient_c + 0.25 * over
        if point == "house_battery_temperature":
            return vehicle.house.celsius
        if point == "sunlight_fraction":
            return panel.sun * (panel.sun_with_engine if engine else 1) if panel else None
        if point == "solar_open_circuit_voltage":
            return self.circuit(state, number).panel.unplugged_v()
        if point in FURTHER_POINTS:
            return self._further(point, state, number)
        return self._of_loop(point, state, self.nodes(state, number))

    def _further(self, point: str, state: str, number: int) -> float | None:
        """Return the true value at a point of further equipment; None where there is none."""
        vehicle, at = self.vehicle, self.nodes(state, number)
        second = at.second
        if point.startswith("second_unit"):
            if second is None:
                return None
            return {
                "second_unit_input_voltage": second.input_v - second.negative_v,
                "second_unit_output_voltage": second.output_v - second.negative_v,
                "second_unit_input_current": second.feed_a,
                "second_unit_output_current": second.house_a,
            }[point]
        if point.startswith("reverse_charge"):
            return self._reversed(point, at)
        if point == "monitor_current" and vehicle.monitor is not None:
            past_shunt = vehicle.monitor.charge_missed * at.given_a
            past_shunt -= vehicle.monitor.loads_missed * at.load_a
            return at.battery_a - past_shunt
        if point == "first_parallel_current" and vehicle.bank is not None:
            return at.battery_a * vehicle.bank.first_share
        if point == "sensor_temperature" and vehicle.sensor is not None:
            return vehicle.sensor.reads_c(vehicle.house.celsius)
        if point == "input_limit_setting" and vehicle.limit_fitted:
            return vehicle.unit.input_limit_a
        if point == "first_series_voltage" and vehicle.start.second == "series":
            return at.start_v * vehicle.start.first_share
        return None

    def _reversed(self, point: str, at: Nodes) -> float | None:
        """Return current and voltage after five minutes of reverse charge, key off."""
        vehicle, reverse = self.vehicle, self.vehicle.reverse
        if reverse is None:
            return None
        cut = vehicle.vehicle_fuse_open or vehicle.house_fuse_open or vehicle.exchanged
        cut = cut or vehicle.negative_open is not None or vehicle.house.protection is not None
        amps = 0.0 if vehicle.unit.dead or cut else reverse.amps
        if reverse.blocked:
            amps = min(amps, reverse.leaks_a)
        if point == "reverse_charge_current":
            return amps
        lifted = self.circuit("rest", 0).start.posts_v(-amps) - at.start_v
        share = amps / reverse.amps
        return at.start_v + share * min(max(lifted, reverse.least_rise_v), reverse.most_rise_v)

    def _of_loop(self, point: str, state: str, at: Nodes) -> float | None:
        unit, panel = self.vehicle.unit, self.vehicle.panel
        lit = at.unit.running and (at.unit.output_a > 0.2 or not unit.fault_lamp)
        return {
            "start_battery_voltage": at.start_v,
            "vehicle_feed_drop": at.start_v - at.input_v,
            "vehicle_return_drop": at.negative_v,
            "charger_input_voltage": at.input_v - at.negative_v,
            "ignition_signal_voltage": (
                at.signal_v - at.negative_v if self.vehicle.signal.fitted else 0.0
            ),
            "charger_output_voltage": at.output_v - at.negative_v,
            "house_feed_drop": at.output_v - at.house_plus_v,
            "house_return_drop": at.house_minus_v - at.negative_v,
            "house_battery_voltage": at.house_v,
            "solar_input_voltage": at.solar_v if panel else None,
            "input_current": at.feed_a,
            "output_current": at.house_a,
            "house_load_current": at.load_a,
            "solar_current": at.solar_a if panel else None,
            "charging_indicator": float(lit),
            "fault_indicator": float(unit.fault_lamp and state != "rest"),
        }[point]

    def read(self, point: str, state: str) -> float | None:
        """Return what the technician reads; None where there is nothing to read."""
        if point not in _NUMBERED:
            return None
        if (point, state) not in self._read:
            true = self.true(point, state)
            shown = None if true is None else self._shown(point, state, true)
            self._read[point, state] = shown
        return self._read[point, state]

    def _shown(self, point: str, state: str, true: float) -> float:
        place = [self._seed, 7, _NUMBERED.index(point), STATES.index(state)]
        rng = np.random.default_rng(place)
        if point in ("input_limit_setting", "sensor_temperature"):
            return float(round(true))
        monitor = self.vehicle.monitor
        if point == "monitor_current" and monitor is not None:
            return round(true * monitor.gain + monitor.zero_a, 1)
        if point in CURRENTS or point in FURTHER_CURRENTS:
            return self._amps(point, state, true, rng)
        if point in TEMPERATURES:
            return float(round(true + rng.normal(0, 1.5)))
        if point == "sunlight_fraction":
            judged = true * self.meter.eye_gain + self.meter.eye_zero
            return float(min(1.0, max(0.05, round(judged * 20) / 20)))
        if point in LAMPS:
            return true
        if point == "profile_setting_voltage":
            return round(true, 1)
        return self._volts(true, rng)

    def _amps(self, point: str, state: str, true: float, rng: Generator) -> float:
        meter = self.meter
        if point == "input_current" and state == "rest" and self.reads_in_series(true):
            return round(true * (1 + meter.clamp_gain * 0.3), 3)
        shown = true * (1 + meter.clamp_gain) * self.vehicle.outside.clamp_factor
        shown += meter.zero_a + float(rng.normal(0, 0.04))
        return round(round(shown / meter.clamp_resolution_a) * meter.clamp_resolution_a, 3)

    def reads_in_series(self, amps: float) -> bool:
        """Whether the standing current is read with the meter in series, not by the clamp."""
        return self.meter.in_series_at_rest and abs(amps) < 8

    def _volts(self, true: float, rng: Generator) -> float:
        meter = self.meter
        shown = true * (1 + meter.gain) * self.vehicle.outside.voltmeter_factor
        ranged = meter.resolution_v is None
        resolution = meter.resolution_v or (
            0.0001 if abs(shown) < 0.6 else 0.001 if abs(shown) < 6 else 0.01
        )
        if ranged and abs(shown) >= 6:
            shown += meter.zero_v * 5
        else:
            shown += meter.zero_v * (0.3 if ranged and abs(shown) <= 0.6 else 1)
        shown += float(rng.normal(0, 0.4)) * resolution
        return round(round(shown / resolution) * resolution, 4)
