"""How well a reading is known: the meter's printed accuracy as standard uncertainty.

Nothing here knows the circuit. A meter that is not described is taken as an ordinary handheld
multimeter with a DC clamp.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from logic.quantities import Ampere, Volt
from logic.vehicle.installation import Meter
from logic.vehicle.points import PROBES, Point

COVERAGE = 2.0

# Ordinary handheld multimeter and DC clamp. Basic accuracy 0.1 % + 1 to 0.7 % + 1 is a general
# meter tutorial's; the clamp's 1 to 3 % plus zero drift is a value from memory.
_VOLT_PERCENT, _VOLT_COUNTS = 0.5, 2.0
_CLAMP_PERCENT, _CLAMP_ZERO, _CLAMP_RESOLUTION = 2.0, 0.3, 0.1
# Assumed: a 6000-count display shows millivolts up to 6 V and hundredths above.
_RANGE_END, _FINE_RESOLUTION, _COARSE_RESOLUTION = 6.0, 0.001, 0.01
# Assumed: a pocket thermometer on a case, half-width; sunlight by eye, share of what was judged.
_THERMOMETER, _BY_EYE = 3.0, 0.25


@dataclass(frozen=True)
class Contribution:
    """One source of uncertainty: its standard uncertainty, sensitivity and shape."""

    standard: float
    sensitivity: float = 1.0
    is_rectangular: bool = False

    @classmethod
    def rectangular(cls, half_width: float, sensitivity: float = 1.0) -> "Contribution":
        """Anywhere within ± half-width with equal right: u = a / √3 (JCGM 100, 4.3.7)."""
        return cls(half_width / math.sqrt(3), sensitivity, True)

    @property
    def part(self) -> float:
        """Its share of the result's standard uncertainty, in the result's unit."""
        return abs(self.sensitivity * self.standard)


def combined(contributions: Iterable[Contribution]) -> float:
    """Combined standard uncertainty of independent contributions (JCGM 100, 5.1.2)."""
    return math.hypot(*(c.part for c in contributions))


def coverage_factor(contributions: Iterable[Contribution]) -> float:
    """Factor that makes a combined uncertainty cover about 95 %.

    2 for a sum of several; 1.65 where one rectangular contribution outweighs all others
    together by more than 1 : 0.3, since then the result is rectangular too.

    References
    ----------
    EA-4/02 M:2022, example S9 (p * √3 = 1.65 for a single dominant rectangular distribution).
    """
    parts = sorted(contributions, key=lambda c: c.part, reverse=True)
    if parts and parts[0].is_rectangular:
        rest = combined(parts[1:]) if parts[1:] else 0.0
        if rest <= 0.3 * parts[0].part:
            return 1.65
    return COVERAGE


def accuracy_half_width(value: float, percent: float, counts: float, resolution: float) -> float:
    """Half-width of "± (percent of reading + counts)"."""
    return abs(value) * percent / 100 + counts * resolution


def voltage_contributions(meter: Meter | None, value: Volt) -> tuple[Contribution, ...]:
    """Contributions to a voltage reading: accuracy as printed, and half the last digit."""
    meter = meter or Meter()
    fine = abs(value) < _RANGE_END
    resolution = meter.voltage_resolution_v or (_FINE_RESOLUTION if fine else _COARSE_RESOLUTION)
    half_width = accuracy_half_width(
        value,
        _given(meter.voltage_accuracy_percent, _VOLT_PERCENT),
        _given(meter.voltage_counts, _VOLT_COUNTS),
        resolution,
    )
    return Contribution.rectangular(half_width), Contribution.rectangular(resolution / 2)


def current_contributions(meter: Meter | None, value: Ampere) -> tuple[Contribution, ...]:
    """Contributions to a clamped current: accuracy, zero error, and half the last digit."""
    meter = meter or Meter()
    percent = _given(meter.current_accuracy_percent, _CLAMP_PERCENT)
    return (
        Contribution.rectangular(abs(value) * percent / 100),
        Contribution.rectangular(_given(meter.current_zero_a, _CLAMP_ZERO)),
        Contribution.rectangular(_given(meter.current_resolution_a, _CLAMP_RESOLUTION) / 2),
    )


def contributions(meter: Meter | None, point: Point, value: float) -> tuple[Contribution, ...]:
    """Contributions to a reading at a point; none for a lamp or a setting read from a table."""
    unit = PROBES[point].unit
    if point is Point.PROFILE_SETTING_VOLTAGE or unit == "lit":
        return ()
    if unit == "V":
        return voltage_contributions(meter, value)
    if unit == "A":
        return current_contributions(meter, value)
    if unit == "°C":
        return (Contribution.rectangular(_THERMOMETER),)
    return (Contribution.rectangular(_BY_EYE * abs(value)),)


def standard_uncertainty(meter: Meter | None, point: Point, value: float) -> float:
    """Standard uncertainty (k = 1) of a reading, in its own unit."""
    return combined(contributions(meter, point, value))


def comparison_uncertainty(
    meter: Meter | None, point: Point, value: float, reference: float
) -> float:
    """Standard uncertainty of a reading less another one taken with the same meter.

    What goes with the reading (percent) is the same in both, so only their difference carries
    it; counts, zero and last digit come twice (JCGM 100, 5.2: correlated inputs).
    """
    fixed = combined(
        (
            *_without_gain(meter, point, value),
            *_without_gain(meter, point, reference),
        )
    )
    gain = _gain_percent(meter, point) / 100 * abs(value - reference) / math.sqrt(3)
    return math.hypot(fixed, gain)


def expanded_uncertainty(meter: Meter | None, point: Point, value: float) -> float:
    """Expanded uncertainty of a reading, k = 2 throughout: never under 95 %."""
    return COVERAGE * standard_uncertainty(meter, point, value)


def _gain_percent(meter: Meter | None, point: Point) -> float:
    meter = meter or Meter()
    if PROBES[point].unit == "V":
        return _given(meter.voltage_accuracy_percent, _VOLT_PERCENT)
    return _given(meter.current_accuracy_percent, _CLAMP_PERCENT)


def _without_gain(meter: Meter | None, point: Point, value: float) -> tuple[Contribution, ...]:
    exact = (meter or Meter()).model_copy(
        update={"voltage_accuracy_percent": 0.0, "current_accuracy_percent": 0.0}
    )
    return contributions(exact, point, value)


def _given(value: float | None, usual: float) -> float:
    return usual if value is None else value
