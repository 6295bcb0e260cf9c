"""The installation as the technician entered it: some figures unknown, in the rough world careless.

How often what is left out, and how far off an entry may be, is assumed.
"""

from typing import Any

import numpy as np

from tests.simulator.field.conditions import World
from tests.simulator.field.drawing import AREAS_MM2, uniform
from tests.simulator.field.equipment import described
from tests.simulator.field.metering import Meter, Visit
from tests.simulator.field.vehicle import RUNS, Panel, Run, Vehicle

Generator = np.random.Generator
Description = dict[str, Any]


def describe(rng: Generator, visit: Visit) -> Description:
    """Return an installation in the words of the case contract."""
    vehicle, world = visit.vehicle, visit.world
    runs = {name: _run(rng, getattr(vehicle.runs, name), world) for name in RUNS}
    forgets = _Forgets(rng, world)
    told = {
        "nominal_voltage_v": vehicle.nominal_v,
        "alternator": {
            "control": vehicle.supply.control_said,
            "rated_current_a": forgets(vehicle.supply.rated_a, 0.35),
        },
        "start_battery": forgets(
            {"chemistry": vehicle.start.chemistry, "capacity_ah": vehicle.start.capacity_ah}, 0.15
        ),
        "charger": _charger(vehicle, forgets),
        "house_battery": _house_battery(rng, vehicle, forgets),
        "runs": runs,
        "location": vehicle.location,
        "ambient_c": forgets(vehicle.ambient_c, 0.2),
        "solar": None if vehicle.panel is None else _panel(vehicle.panel),
        "meter": _meter(rng, visit.meter, world),
    }
    return described(rng, vehicle, told, lambda run: _run(rng, run, world))


class _Forgets:
    """Leaves an entry out so often, and in the rough world at least every other one."""

    def __init__(self, rng: Generator, world: World) -> None:
        self._rng, self._least = rng, 0.5 if world == "rough" else 0.0

    def __call__(self, value: object, chance: float) -> object:
        return None if self._rng.random() < max(chance, self._least) else value


def _run(rng: Generator, run: Run, world: World) -> Description:
    told = dict(run.described)
    if world == "plain":
        for name, chance in (("length_m", 0.06), ("area_mm2", 0.06), ("joints", 0.2)):
            if rng.random() < chance:
                told[name] = None
        return told
    forgets = _Forgets(rng, world)
    told["length_m"] = (
        round((told["length_m"] or 0.0) * uniform(rng, 0.6, 1.4), 1)
        if rng.random() < 0.85
        else None
    )
    if rng.random() < 0.15:  # a size beside the right one
        size = AREAS_MM2.index(told["area_mm2"] or 0.0) + (1 if rng.random() < 0.5 else -1)
        told["area_mm2"] = AREAS_MM2[min(max(size, 0), len(AREAS_MM2) - 1)]
    joints, fuse = forgets(told["joints"], 0.5), forgets(told["fuse_a"], 0.3)
    area = None if rng.random() < 0.15 else told["area_mm2"]
    return {**told, "area_mm2": area, "joints": joints, "fuse_a": fuse}


def _charger(vehicle: Vehicle, forgets: _Forgets) -> Description:
    unit = vehicle.unit
    return {
        "rated_output_current_a": unit.rating_said_a,
        "efficiency": forgets(round(unit.efficiency_said, 2), 0.5),
        "start_voltage_v": unit.start_v,
        "stop_voltage_v": unit.stop_v,
        "ignition_start_voltage_v": unit.signalled_start_v,
        "ignition_stop_voltage_v": unit.signalled_stop_v,
        "ignition_signal_min_v": unit.signal_min_v,
        "absorption_voltage_v": unit.absorption_v,
        "float_voltage_v": unit.float_v,
        "input_current_limit_a": unit.input_limit_said_a,
        "ingress_protection": forgets(unit.ingress, 0.3),
        "max_ambient_c": forgets(unit.max_ambient_c, 0.4),
        "solar_max_voltage_v": vehicle.panel.max_v_said if vehicle.panel else None,
    }


def _house_battery(rng: Generator, vehicle: Vehicle, forgets: _Forgets) -> Description:
    battery = vehicle.house
    lithium = battery.chemistry_said == "lifepo4"
    return {
        "chemistry": battery.chemistry_said,
        "capacity_ah": battery.capacity_ah,
        "max_charge_current_a": forgets(battery.max_charge_a, 0.2),
        "absorption_voltage_v": forgets(vehicle.unit.absorption_v, 0.3),
        "min_charge_temperature_c": 0 if lithium and rng.random() < 0.7 else None,
    }


def _panel(panel: Panel) -> Description:
    return {
        "rated_power_w": panel.power_w,
        "open_circuit_voltage_v": panel.open_v,
        "short_circuit_current_a": panel.short_a,
        "max_power_voltage_v": panel.working_v,
    }


def _meter(rng: Generator, meter: Meter, world: World) -> Description | None:
    if not meter.described or (world == "rough" and rng.random() < 0.5):
        return None
    return {
        "voltage_accuracy_percent": meter.accuracy_percent,
        "voltage_counts": meter.counts,
        "voltage_resolution_v": meter.resolution_v,
        "current_accuracy_percent": meter.clamp_percent,
        "current_zero_a": meter.clamp_zero_a,
        "current_resolution_a": meter.clamp_resolution_a,
    }
