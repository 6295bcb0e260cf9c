"""How far a reading may stand from what is true: the part shared by all, and each one's own.

A meter's gain and a clamp's zero are the same in every reading, so they are unknowns of the
fit (:func:`meter_priors`); treating them as noise on each reading would make a full sheet look
surer than it is.  What is left to each reading: counts and rounding, the drift of supply and
battery between two readings, and what the circuit model leaves out.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logic.circuit.estimate import Estimate
from logic.vehicle.installation import Meter
from logic.vehicle.points import PROBES, Point, State

Array = NDArray[np.float64]

# Ordinary handheld multimeter and DC clamp, standard spreads. Values from memory: 0.5 % + 2
# counts, 2 % + 0.3 A zero error.
_GAIN, _COUNTS, _RESOLUTION = 0.005, 2.0, 0.01
_CLAMP_GAIN, _CLAMP_ZERO, _CLAMP_RESOLUTION = 0.02, 0.3, 0.1
# A printed accuracy is a limit: its standard uncertainty is a / √3 when anything within is as
# likely (JCGM 100, 4.3.7); taken a little wider, for meters are not always within it.
_OF_LIMIT = 0.7

# What drifts between two readings, with its standard change at 12 V (assumed): a reading moves
# by that times its own slope, so a current held by the input's lowest voltage moves a lot.
DRIFTS: tuple[tuple[str, float], ...] = (
    ("supply_idle_v", 0.035),
    ("supply_sag_v", 0.035),
    ("supply_rest_v", 0.01),
    ("house_rise_v", 0.02),
    ("house_rise_solar_v", 0.03),
    ("output_share", 0.015),
    ("load_a", 0.05),
    ("regulation_v", 0.01),
    ("sun", 0.05),
)
# What the model leaves out, standard spreads (assumed): volts at a post, share of a drop or a
# current, volts of a small drop, amperes.
_POST, _SHARE, _DROP, _CURRENT = 0.012, 0.01, 0.002, 0.08
_THERMOMETER, _PROFILE = 3.0, 0.012
# Sunlight is judged by eye in coarse steps: part fixed, part a share of it.
_BY_EYE, _BY_EYE_SHARE = 0.1, 0.15
_RESTING_CASE, _PANEL_SHARE = 8.0, 0.03

_POSTS = frozenset(
    {
        Point.START_BATTERY_VOLTAGE,
        Point.CHARGER_INPUT_VOLTAGE,
        Point.IGNITION_SIGNAL_VOLTAGE,
        Point.HOUSE_BATTERY_VOLTAGE,
        Point.CHARGER_OUTPUT_VOLTAGE,
    }
)
_PANEL_POINTS = frozenset({Point.SOLAR_OPEN_CIRCUIT_VOLTAGE, Point.SOLAR_INPUT_VOLTAGE})
LAMPS = frozenset({Point.CHARGING_INDICATOR, Point.FAULT_INDICATOR})


def meter_priors(meter: Meter | None) -> dict[str, Estimate]:
    """Return the priors of the voltage gain, the current gain and the clamp's zero."""
    meter = meter or Meter()
    volts = _limit(meter.voltage_accuracy_percent, _GAIN)
    amps = _limit(meter.current_accuracy_percent, _CLAMP_GAIN)
    zero = _CLAMP_ZERO if meter.current_zero_a is None else meter.current_zero_a
    return {
        "voltage_gain": Estimate(0.0, max(volts * _OF_LIMIT, 1e-4)),
        "current_gain": Estimate(0.0, max(amps * _OF_LIMIT, 1e-3)),
        "clamp_zero_a": Estimate(0.0, max(zero * 0.8, 0.02)),
    }


def _limit(percent: float | None, usual: float) -> float:
    return usual if percent is None else percent / 100


@dataclass(frozen=True)
class ReadingNoise:
    """One reading's own standard spread: ``hypot(fixed, share * value)``."""

    fixed: float
    share: float

    def spread(self, value: Array) -> Array:
        """Return the spread at predicted values, in the reading's unit."""
        return np.hypot(self.fixed, self.share * value)


def reading_noise(point: Point, state: State, meter: Meter | None, scale: float) -> ReadingNoise:
    """Return one reading's own spread; ``scale`` is the nominal voltage over 12 V."""
    unit = PROBES[point].unit
    if point is Point.PROFILE_SETTING_VOLTAGE:
        return ReadingNoise(_PROFILE * scale, 0.0)
    if unit == "V":
        return _voltage_noise(point, meter or Meter(), scale)
    if unit == "A":
        return _current_noise(meter or Meter())
    if unit == "°C":
        resting = point is Point.CHARGER_CASE_TEMPERATURE and state in (State.REST, State.SOLAR)
        return ReadingNoise(np.hypot(_THERMOMETER, _RESTING_CASE * resting), 0.0)
    return ReadingNoise(_BY_EYE, _BY_EYE_SHARE)


def _voltage_noise(point: Point, meter: Meter, scale: float) -> ReadingNoise:
    resolution = meter.voltage_resolution_v or _RESOLUTION
    counts = _COUNTS if meter.voltage_counts is None else meter.voltage_counts
    if point in _PANEL_POINTS:
        return ReadingNoise(0.3 * scale, _PANEL_SHARE)
    if point in _POSTS:
        return ReadingNoise(float(np.hypot(_POST * scale, counts * resolution * 0.6)), 0.0)
    # A drop is read in millivolts where the meter has them.
    fine = min(resolution, 0.003) if meter.voltage_resolution_v is None else resolution
    return ReadingNoise(float(np.hypot(_DROP, counts * fine * 0.6)), _SHARE)


def _current_noise(meter: Meter) -> ReadingNoise:
    resolution = meter.current_resolution_a or _CLAMP_RESOLUTION
    return ReadingNoise(float(np.hypot(_CURRENT, resolution * 0.5)), _SHARE)
