"""Which readings a technician takes: the full sheet, the symptoms, and what is left out."""

import numpy as np

from tests.simulator.descriptions import draw_installation
from tests.simulator.faults_put_in import ANY_OHM, put_in
from tests.simulator.metering import CURRENTS, Bench
from tests.simulator.vehicle import draw_vehicle

Generator = np.random.Generator

REST = (
    "start_battery_voltage",
    "house_battery_voltage",
    "ignition_signal_voltage",
    "profile_setting_voltage",
)
IDLE = (
    "start_battery_voltage",
    "ignition_signal_voltage",
    "charger_input_voltage",
    "vehicle_feed_drop",
    "vehicle_return_drop",
    "charger_output_voltage",
    "house_feed_drop",
    "house_return_drop",
    "house_battery_voltage",
    "input_current",
    "output_current",
    "house_load_current",
    "charger_case_temperature",
    "house_battery_temperature",
)
FAST_IDLE = (
    "start_battery_voltage",
    "charger_input_voltage",
    "charger_output_voltage",
    "house_battery_voltage",
    "input_current",
    "output_current",
)
SOLAR = ("sunlight_fraction", "solar_open_circuit_voltage", "solar_input_voltage", "solar_current")
SYMPTOMS = (
    ("house_battery_voltage", "rest"),
    ("start_battery_voltage", "idle"),
    ("house_battery_voltage", "idle"),
)


def full_sheet(description: dict) -> list[tuple[str, str]]:
    """Return every reading of the commissioning sheet, in the order of the walk."""
    sheet = [(point, "rest") for point in REST]
    sheet += [(point, "idle") for point in IDLE]
    sheet += [(point, "fast_idle") for point in FAST_IDLE]
    if description["solar"]:
        sheet += [(point, "solar") for point in SOLAR]
    return sheet


def bench(
    rng: Generator,
    names: tuple[str, ...],
    description: dict | None = None,
    severity: tuple = ANY_OHM,
) -> tuple[dict, Bench]:
    """Return a description and a vehicle with these faults on the bench."""
    description = draw_installation(rng) if description is None else description
    vehicle = draw_vehicle(rng, description)
    for name in names:
        vehicle = put_in(rng, vehicle, name, description, severity)
    return description, Bench(rng, vehicle, description)


def thinned(rng: Generator, sheet: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Drop every clamped current, and a third of the rest."""
    voltages = [key for key in sheet if key[0] not in CURRENTS]
    return [key for key in voltages if rng.random() > 1 / 3]
