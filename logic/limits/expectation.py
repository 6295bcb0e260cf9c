"""What this very vehicle should show at a point: a low, a high, and why, with numbers.

Each point has one small function that holds its physics; :data:`EXPECTED` is the table of
them. Limits depend on what is fitted and on the values already read, not on how good the
meter is: the meter's part is carried in ``inherited`` and meets the reading in ``verdict``.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

from logic.case import Reading
from logic.limits import conditions, currents, house, panel, runs, supply
from logic.limits.expected import Expectation
from logic.limits.known import Known
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State

__all__ = ["EXPECTED", "Expectation", "expectation"]

EXPECTED: dict[Point, Callable[[Known], Expectation]] = {
    Point.START_BATTERY_VOLTAGE: supply.start_battery_voltage,
    Point.IGNITION_SIGNAL_VOLTAGE: supply.ignition_signal_voltage,
    Point.VEHICLE_FEED_DROP: runs.vehicle_feed_drop,
    Point.VEHICLE_RETURN_DROP: runs.vehicle_return_drop,
    Point.HOUSE_FEED_DROP: runs.house_feed_drop,
    Point.HOUSE_RETURN_DROP: runs.house_return_drop,
    Point.CHARGER_INPUT_VOLTAGE: runs.charger_input_voltage,
    Point.CHARGER_OUTPUT_VOLTAGE: house.charger_output_voltage,
    Point.HOUSE_BATTERY_VOLTAGE: house.house_battery_voltage,
    Point.PROFILE_SETTING_VOLTAGE: house.profile_setting_voltage,
    Point.INPUT_CURRENT: currents.input_current,
    Point.OUTPUT_CURRENT: currents.output_current,
    Point.HOUSE_LOAD_CURRENT: currents.house_load_current,
    Point.SOLAR_OPEN_CIRCUIT_VOLTAGE: panel.solar_open_circuit_voltage,
    Point.SOLAR_INPUT_VOLTAGE: panel.solar_input_voltage,
    Point.SOLAR_CURRENT: panel.solar_current,
    Point.CHARGER_CASE_TEMPERATURE: conditions.charger_case_temperature,
    Point.HOUSE_BATTERY_TEMPERATURE: conditions.house_battery_temperature,
    Point.SUNLIGHT_FRACTION: conditions.sunlight_fraction,
    Point.CHARGING_INDICATOR: conditions.charging_indicator,
    Point.FAULT_INDICATOR: conditions.fault_indicator,
}


def _no_limit(_known: Known) -> Expectation:
    return Expectation(None, None, "what it should be is not known")


def expectation(
    installation: Installation,
    readings: Sequence[Reading],
    point: Point,
    state: State,
    baseline: Sequence[Reading] = (),
) -> Expectation:
    """Return what a point should show in a state.

    Parameters
    ----------
    installation
        What is fitted; what is not known widens the limits.
    readings
        Already taken; one at this very point and state is left out.
    point
        Where the meter is.
    state
        What the vehicle is doing.
    baseline
        The commissioning readings: their resistance per ampere replaces the reckoned one.
    """
    known = Known.of(installation, readings, baseline, (point, state))
    found = EXPECTED.get(point, _no_limit)(known)
    if found.low is None or found.high is None or found.low <= found.high:
        return found
    # Readings that contradict each other turned the band inside out.
    return replace(found, low=found.high, high=found.low)
