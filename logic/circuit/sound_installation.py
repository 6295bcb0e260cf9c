"""What a sound installation of this description would have: each unknown, mean and spread.

The expectation builds its limits on it and the diagnosis takes it as its priors. Nothing here
has been measured; ``None`` in the installation widens the spread. Plain floats, no numpy.

Volts are for this vehicle (24 V already doubled: supply, thresholds and signal by the vehicle's
nominal voltage, house battery, profile and panel by the house side's, which may be another). Fields
marked *ln* hold a median and the spread of the logarithm; the others a mean and a standard spread
(k = 1).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from logic.circuit import batteries, panels, tables
from logic.circuit.conductors import least_resistance, run_resistance
from logic.circuit.estimate import Estimate
from logic.circuit.supply import dead_signal, highest_set_point, signal_drop, supply_voltage
from logic.quantities import Ampere, Celsius, Ohm, Volt
from logic.vehicle.installation import Control, Installation, Location
from logic.vehicle.points import Run, State


@dataclass(frozen=True)
class SoundCharger:
    """A sound unit: its thresholds, and how close to its rating and its profile it works."""

    rated_output_a: Ampere
    rating_share: Estimate  # what it really gives in bulk over its rating
    input_limit_a: Ampere  # infinite where there is none
    input_per_output: float  # amperes in for each out, in bulk at the usual running voltage
    rated_input_a: Ampere  # drawn so at the rating, or its limit
    efficiency: Estimate
    own_use_w: Estimate
    absorption_v: Volt
    float_v: Volt
    regulation_v: Estimate  # what it really regulates to, less its profile
    start_v: Volt
    stop_v: Volt
    ignition_start_v: Volt
    ignition_stop_v: Volt
    ignition_signal_min_v: Volt
    case_rise_c: Estimate  # over ambient after some minutes' running; none at rest


@dataclass(frozen=True)
class SoundHouseBattery:
    """A sound house battery.

    Charging at I ampere net of loads it shows ``rest_v + rise_v + I * resistance_ohm``, until
    the charger's voltage limit; with the charger off ``rest_v - load * resistance_ohm``.
    """

    rest_v: Estimate
    rise_v: Estimate
    resistance_ohm: Estimate  # ln
    load_a: Estimate
    temperature_c: Estimate


@dataclass(frozen=True)
class SoundPanel:
    """A sound panel, warm, in full sun; current goes with the sunlight. Zero if none is fitted."""

    open_circuit_v: Estimate
    working_v: Estimate
    current_a: Estimate


@dataclass(frozen=True)
class SoundInstallation:
    """A sound installation; ``supply_v`` is at the start battery's posts.

    No sound regulator of this vehicle charges over ``highest_supply_v``.

    ``ignition_wired`` is the probability that the ignition input is wired at all. Wired, it
    shows the supply less ``signal_drop_v`` while the engine runs; dead, ``dead_signal_v``.
    """

    scale: float  # the vehicle's nominal voltage over 12 V
    house_scale: float  # the house side's, where the unit steps up or down another one
    supply_v: Mapping[State, Estimate]
    highest_supply_v: Volt
    signal_drop_v: Estimate
    dead_signal_v: Estimate
    ignition_wired: float
    run_ohm: Mapping[Run, Estimate]  # ln
    run_least_ohm: Mapping[Run, Ohm]
    full_load_a: Mapping[Run, Ampere]  # through each run of the loop at the unit's rating
    charger: SoundCharger
    house: SoundHouseBattery
    panel: SoundPanel
    ambient_c: Estimate


@lru_cache(maxsize=32)
def sound_installation(installation: Installation) -> SoundInstallation:
    """Return what a sound installation of this description would have."""
    ambient = _ambient(installation)
    described = {run: getattr(installation.runs, run.value) for run in Run}
    cables = {run: cable for run, cable in described.items() if cable is not None}
    charger = _charger(installation)
    return SoundInstallation(
        scale=installation.scale,
        house_scale=installation.house_scale,
        supply_v={s: supply_voltage(installation, s, ambient.mean) for s in State},
        highest_supply_v=highest_set_point(installation, ambient),
        signal_drop_v=signal_drop(installation.scale),
        dead_signal_v=dead_signal(),
        ignition_wired=_WIRED[installation.alternator.control],
        run_ohm={run: run_resistance(run, cable, ambient.mean) for run, cable in cables.items()},
        run_least_ohm={run: least_resistance(cable) for run, cable in cables.items()},
        full_load_a={
            Run.VEHICLE_FEED: charger.rated_input_a,
            Run.VEHICLE_RETURN: charger.rated_input_a,
            Run.HOUSE_FEED: charger.rated_output_a,
            Run.HOUSE_RETURN: charger.rated_output_a,
        },
        charger=charger,
        house=_house_battery(installation, ambient),
        panel=_panel(installation, ambient.mean),
        ambient_c=ambient,
    )


# Assumed: only a variable alternator makes the signal a need; a converter's steady volts do not,
# but a signal that is live only while the vehicle is ready is often asked for.
_WIRED = {
    Control.FIXED: 0.4,
    Control.VARIABLE: 0.97,
    Control.CONVERTER: 0.7,
    Control.UNKNOWN: 0.7,
}


def _usual(name: str) -> float:
    return tables.number("charger", name)


def _usual_estimate(name: str) -> Estimate:
    return Estimate(_usual(name), _usual(f"{name}_spread"))


def _ambient(installation: Installation) -> Estimate:
    if installation.ambient_c is None:
        return _usual_estimate("ambient.unknown")
    return Estimate(installation.ambient_c, _usual("ambient.known_spread"))


def _charger(installation: Installation) -> SoundCharger:
    unit, house = installation.charger, installation.house_battery
    scale, house_scale = installation.scale, installation.house_scale
    efficiency = _usual_estimate("usual.efficiency")
    if unit.efficiency is not None:
        efficiency = Estimate(unit.efficiency, _usual("stated.efficiency_spread"))
    absorption = unit.absorption_voltage_v or house.absorption_voltage_v
    absorption = absorption or sum(batteries.absorption_window(house.chemistry, house_scale)) / 2
    running = tables.number("supply", "generator.nominal") * scale
    per_output = absorption / (efficiency.mean * running)
    limit = unit.input_current_limit_a or math.inf
    return SoundCharger(
        rated_output_a=unit.rated_output_current_a,
        rating_share=_usual_estimate("usual.rating_share"),
        input_limit_a=limit,
        input_per_output=per_output,
        rated_input_a=min(unit.rated_output_current_a * per_output, limit),
        efficiency=efficiency,
        own_use_w=_usual_estimate("usual.own_use"),
        absorption_v=absorption,
        float_v=unit.float_voltage_v or batteries.float_voltage(house.chemistry, house_scale),
        regulation_v=Estimate(0.0, _usual("usual.regulation_spread") * house_scale),
        start_v=unit.start_voltage_v or _usual("usual.start") * scale,
        stop_v=unit.stop_voltage_v or _usual("usual.stop") * scale,
        ignition_start_v=unit.ignition_start_voltage_v or _usual("usual.ignition_start") * scale,
        ignition_stop_v=unit.ignition_stop_voltage_v or _usual("usual.ignition_stop") * scale,
        ignition_signal_min_v=unit.ignition_signal_min_v or _usual("usual.ignition_signal") * scale,
        case_rise_c=_case_rise(installation.location),
    )


def _case_rise(location: Location | None) -> Estimate:
    rise, spread = _usual_estimate("temperature.rise")
    bonnet, bonnet_spread = _usual_estimate("temperature.engine_bay")
    if location is Location.ENGINE_BAY:
        return Estimate(rise + bonnet, math.hypot(spread, bonnet_spread))
    if location is None:
        return Estimate(rise + bonnet / 4, math.hypot(spread, bonnet_spread))
    return Estimate(rise, spread)


def _house_battery(installation: Installation, ambient_c: Estimate) -> SoundHouseBattery:
    battery, scale = installation.house_battery, installation.house_scale
    kind = battery.chemistry
    charge = tables.number("batteries", "charge_before.house")
    charge_spread = tables.number("batteries", "charge_before.house_spread")
    low, high = (
        batteries.rest_voltage(kind, charge + sign * charge_spread, scale, ambient_c.mean)
        for sign in (-1, 1)
    )
    settled = tables.number("batteries", f"ocv_spread.{kind}") * scale
    rise = tables.number("batteries", f"rise.{kind}")
    capacity = battery.capacity_ah or tables.number("batteries", "capacity.unknown")
    guess = 0.0 if battery.capacity_ah else tables.number("batteries", "capacity.unknown_spread")
    return SoundHouseBattery(
        rest_v=Estimate((low + high) / 2, math.hypot((high - low) / 2, settled)),
        rise_v=Estimate(rise, tables.number("batteries", f"rise_spread.{kind}")).times(scale),
        resistance_ohm=Estimate(
            batteries.internal_resistance(kind, capacity, scale),
            math.hypot(tables.number("batteries", "resistance.spread"), guess),
        ),
        load_a=_usual_estimate("load.mean"),
        temperature_c=Estimate(
            ambient_c.mean, math.hypot(ambient_c.spread, _usual("temperature.house_spread"))
        ),
    )


def _panel(installation: Installation, ambient_c: Celsius) -> SoundPanel:
    solar, scale = installation.solar, installation.house_scale
    cells_c = ambient_c + tables.number("solar", "panel.warming")
    warm = panels.open_circuit_voltage(1.0, cells_c)
    spread = tables.number("solar", "panel.voltage_spread")
    open_circuit = panels.plate_open_circuit(solar, scale) * warm
    working = panels.plate_working(solar, scale) * warm
    current = panels.plate_current(solar, scale)
    return SoundPanel(
        open_circuit_v=Estimate(open_circuit, open_circuit * spread),
        working_v=Estimate(working, working * 1.5 * spread),
        current_a=Estimate(
            tables.number("solar", "panel.yield"), tables.number("solar", "panel.yield_spread")
        ).times(current),
    )
