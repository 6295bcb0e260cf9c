"""Which readings a careful technician takes, and whether a fault shows on them.

A fault shows where some reading lies far off what this vehicle would show without it.  Two faults
only move a voltage that lies anywhere on sound vehicles (a source on the house battery, a
supply too high): they show where it lies beyond what any sound vehicle of this world reaches.
"""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from tests.simulator.field.metering import LAMPS, TEMPERATURES, Visit
from tests.simulator.field.vehicle import (
    CURRENTS,
    ENGINE_STATES,
    FURTHER_CURRENTS,
    Key,
    Vehicle,
)

Generator = np.random.Generator

SYMPTOMS: tuple[Key, ...] = (
    ("house_battery_voltage", "rest"),
    ("start_battery_voltage", "idle"),
    ("house_battery_voltage", "idle"),
)
_REST = (
    "start_battery_voltage",
    "house_battery_voltage",
    "charger_input_voltage",
    "charger_output_voltage",
    "input_current",
)
_IDLE = (
    "start_battery_voltage",
    "vehicle_feed_drop",
    "vehicle_return_drop",
    "charger_input_voltage",
    "charger_output_voltage",
    "house_feed_drop",
    "house_return_drop",
    "house_battery_voltage",
    "input_current",
    "output_current",
    "house_load_current",
    "charger_case_temperature",
)
_FAST_IDLE = (
    "start_battery_voltage",
    "charger_input_voltage",
    "house_battery_voltage",
    "input_current",
    "output_current",
)
_SOLAR = (
    "solar_open_circuit_voltage",
    "solar_input_voltage",
    "solar_current",
    "sunlight_fraction",
    "output_current",
    "house_battery_voltage",
    "charger_output_voltage",
)


# What is read of further equipment, and how seldom it is left out (assumed).
_FURTHER: tuple[tuple[str, str, float], ...] = (
    ("input_limit_setting", "rest", 0.65),
    ("monitor_current", "rest", 0.6),
    ("sensor_temperature", "rest", 0.7),
    ("house_battery_temperature", "idle", 0.8),
    ("reverse_charge_current", "rest", 0.85),
    ("reverse_charge_voltage", "rest", 0.75),
    ("first_series_voltage", "rest", 0.8),
    ("second_unit_input_voltage", "rest", 0.5),
    ("second_unit_input_voltage", "idle", 0.85),
    ("second_unit_output_voltage", "idle", 0.85),
    ("second_unit_input_current", "idle", 0.9),
    ("second_unit_output_current", "idle", 0.9),
    ("second_unit_output_current", "fast_idle", 0.5),
    ("monitor_current", "idle", 0.95),
    ("monitor_current", "fast_idle", 0.4),
    ("first_parallel_current", "idle", 0.9),
    ("first_parallel_current", "fast_idle", 0.4),
    ("first_series_voltage", "idle", 0.6),
)


def further_sheet(rng: Generator, visit: Visit, sheet: Sequence[Key]) -> list[Key]:
    """Return the readings that further equipment adds to a full sheet."""
    keys = [(point, state) for point, state, often in _FURTHER if rng.random() < often]
    return [
        key
        for key in keys
        if key not in sheet
        and (visit.vehicle.sensor or key[0] != "house_battery_temperature")
        and visit.read(*key) is not None
    ]


def full_sheet(rng: Generator, vehicle: Vehicle) -> list[Key]:
    """Return the readings of a full sheet: some are left out as people leave them out."""
    sheet = [(point, "rest") for point in _REST]
    if vehicle.signal.fitted or rng.random() < 0.5:
        sheet += [("ignition_signal_voltage", "rest"), ("ignition_signal_voltage", "idle")]
    if rng.random() < 0.85:
        sheet.append(("profile_setting_voltage", "rest"))
    if rng.random() < 0.3:
        sheet.append(("house_load_current", "rest"))
    sheet += [(point, "idle") for point in _IDLE]
    if rng.random() < 0.6:
        sheet += [(lamp, "idle") for lamp in LAMPS]
    if vehicle.house.chemistry == "lifepo4" or rng.random() < 0.3:
        sheet.append(("house_battery_temperature", "idle"))
    if vehicle.panel:
        sheet += [("solar_current", "idle"), ("solar_input_voltage", "idle")]
    sheet += [(point, "fast_idle") for point in _FAST_IDLE]
    if vehicle.panel:
        sheet += [(point, "solar") for point in _SOLAR]
    return sheet


def thinned(rng: Generator, sheet: Sequence[Key]) -> list[Key]:
    """Drop every clamped current, and a third of the rest."""
    voltages = [key for key in sheet if key[0] not in CURRENTS]
    kept = rng.permutation(len(voltages))[: math.ceil(len(voltages) * 2 / 3)]
    return [voltages[index] for index in sorted(kept)]


def rows(visit: Visit, keys: Iterable[Key]) -> list[dict[str, object]]:
    """Return readings in the form of the case contract."""
    read = [(point, state, visit.read(point, state)) for point, state in keys]
    return [
        {"point": point, "state": state, "value": value}
        for point, state, value in read
        if value is not None
    ]


def slack(point: str, value: float, scale: float) -> float:
    """Return how far a reading may lie off without a meaning, one standard deviation (assumed)."""
    if point in CURRENTS or point in FURTHER_CURRENTS:
        return 0.5 + 0.03 * abs(value)
    if "drop" in point:
        return 0.012 + 0.01 * abs(value)
    if point in TEMPERATURES or point == "sensor_temperature":
        return 5.0
    if point == "profile_setting_voltage":
        return 0.05 * scale
    if point == "sunlight_fraction" or point in LAMPS:
        return math.inf
    if point == "ignition_signal_voltage":
        return 0.25
    return 0.4 if "solar" in point else 0.06 * scale


def shows(visit: Visit, without: Visit, keys: Iterable[Key]) -> float:
    """Return how far the reading that differs most lies off that of a vehicle without the fault."""
    outside, most = visit.vehicle.outside, 0.0
    for point, state in keys:
        here, there = visit.true(point, state), without.true(point, state)
        if here is None or there is None:
            continue
        factor = outside.clamp_factor if point in CURRENTS else outside.voltmeter_factor
        gap = abs(here * factor - there)
        meaningless = slack(point, there, visit.vehicle.scale_at(point))
        if (point, state) == ("input_current", "rest"):
            # A meter in series shows what a clamp's zero hides.
            meaningless = 0.03 if visit.reads_in_series(here) else 0.2
        most = max(most, gap / meaningless)
    return most


# What sound vehicles of this world reach, per 12 V, as they are drawn in ``drawing``: at rest and
# full with the most surface charge; held by an old regulator, and by a computer.
_HIGHEST_REST_V = {"flooded": 13.0, "agm": 13.15, "gel": 13.15, "lifepo4": 13.55}
_HIGHEST_SUPPLY_V = {"fixed": 14.7, "variable": 15.1, "converter": 14.9, "unknown": 15.1}
# So far beyond, per 12 V: two standard deviations of ``slack``; three where the unit's own
# accuracy comes in.
_BEYOND_V, _BEYOND_UNIT_V = 0.12, 0.18
_SUPPLY = ("start_battery_voltage", "charger_input_voltage")
_HOUSE = ("house_battery_voltage", "charger_output_voltage")


def stands_out(visit: Visit, name: str, keys: Iterable[Key]) -> bool:
    """Whether a fault that only moves a voltage takes it where no sound vehicle has it."""
    vehicle, unit = visit.vehicle, visit.vehicle.unit
    volts = {
        (point, state): (visit.true(point, state) or 0.0) / vehicle.scale_at(point)
        for point, state in keys
        if point in (*_SUPPLY, *_HOUSE)
    }
    if name == "alternator_overvoltage":
        highest = _HIGHEST_SUPPLY_V[vehicle.supply.control_said] + _BEYOND_V
        return any(
            volts.get((point, state), 0.0) > highest for point in _SUPPLY for state in ENGINE_STATES
        )
    if name == "other_source_on_house":
        rests = _HIGHEST_REST_V[vehicle.house.chemistry] + _BEYOND_V
        set_v = unit.absorption_v + unit.profile_shift_v + vehicle.compensation_v
        holds = set_v / vehicle.house_scale + _BEYOND_UNIT_V
        return any(
            value > (rests if state == "rest" else holds)
            for (point, state), value in volts.items()
            if point in _HOUSE
        )
    return True
