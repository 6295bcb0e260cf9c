"""How well a reading is known: one model of the meter, for the verdicts and for the diagnosis.

    reading = true value x (1 + gain) + zero + the reading's own error

Gain and zero are the same in every reading of one meter; counts and last digit are each
reading's own. What is printed is a limit, and within it every error is as likely, so a standard
uncertainty is the limit over √3 (JCGM 100, 4.3.7). Nothing here depends on the circuit.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from logic.quantities import Ampere, Celsius, Fraction, Percent, Volt
from logic.vehicle.installation import Meter
from logic.vehicle.points import Point, Unit

COVERAGE = 2.0

# Assumed: a 6000-count display shows millivolts up to 6 V and hundredths above.
_RANGE_END_V, _FINE_RESOLUTION_V, _COARSE_RESOLUTION_V = 6.0, 0.001, 0.01
# Assumed: half-width of a pocket thermometer held to a case.
_THERMOMETER_C: Celsius = 3.0
# Assumed: standard uncertainty of sunlight judged by eye in coarse steps: of full sun, and as a
# share of what was judged.
_BY_EYE: Fraction = 0.1
_BY_EYE_SHARE: Fraction = 0.15


@dataclass(frozen=True)
class Accuracy:
    """What a meter and its clamp are printed to keep within, with every figure filled in.

    The fields are those of :class:`~logic.vehicle.installation.Meter`; the defaults are an
    ordinary handheld multimeter's and DC clamp's.
    """

    # General meter tutorial: basic accuracy from 0.1 % + 1 count to 0.7 % + 1 count.
    voltage_accuracy_percent: Percent = 0.5
    voltage_counts: float = 2.0
    voltage_resolution_v: Volt | None = None  # by range, as a 6000-count display
    # Value from memory: 1 to 3 %, and the zero drifts by some tenths.
    current_accuracy_percent: Percent = 2.0
    current_zero_a: Ampere = 0.3
    current_resolution_a: Ampere = 0.1

    @classmethod
    def of(cls, meter: Meter | None) -> "Accuracy":
        """Return a meter's accuracy; what its description leaves open is an ordinary meter's."""
        return _filled_in(meter)

    def resolution_v(self, value: Volt) -> Volt:
        """Step of the last digit at a voltage.

        Parameters
        ----------
        value : V
            As read.

        Returns
        -------
        V
        """
        fine = abs(value) < _RANGE_END_V
        return self.voltage_resolution_v or (_FINE_RESOLUTION_V if fine else _COARSE_RESOLUTION_V)


@lru_cache(maxsize=16)
def _filled_in(meter: Meter | None) -> Accuracy:
    return Accuracy() if meter is None else Accuracy(**meter.model_dump(exclude_none=True))


@dataclass(frozen=True)
class Contribution:
    """One source of uncertainty: its standard uncertainty, sensitivity and shape."""

    standard: float
    sensitivity: float = 1.0
    is_rectangular: bool = False

    @classmethod
    def rectangular(cls, half_width: float, sensitivity: float = 1.0) -> "Contribution":
        """Anywhere within ± half-width with equal right: u = a / √3.

        Parameters
        ----------
        half_width : the source's unit
        sensitivity : the result's unit per the source's

        References
        ----------
        JCGM 100:2008, 4.3.7.
        """
        return cls(half_width / math.sqrt(3), sensitivity, True)

    @property
    def part(self) -> float:
        """Its share of the result's standard uncertainty, in the result's unit."""
        return abs(self.sensitivity * self.standard)


def combined(contributions: Iterable[Contribution]) -> float:
    """Combined standard uncertainty of independent contributions.

    Returns
    -------
    the result's unit

    References
    ----------
    JCGM 100:2008, 5.1.2.
    """
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
    """Half-width of "± (percent of reading + counts)".

    Parameters
    ----------
    value : unit of the reading
        As read.
    percent : %
        Of the reading.
    counts : 1
        Steps of the last digit.
    resolution : unit of the reading
        One step of the last digit.

    Returns
    -------
    unit of the reading
    """
    return abs(value) * percent / 100 + counts * resolution


def contributions(meter: Meter | None, point: Point, value: float) -> tuple[Contribution, ...]:
    """Contributions to one reading's uncertainty; none for a lamp or a setting read from a table.

    Parameters
    ----------
    meter
        As described; ``None`` is an ordinary one.
    point
        Where it was read.
    value : unit of the point
        As read.

    References
    ----------
    JCGM 100:2008, 4.3.7 (a limit is rectangular) and 5.1 (independent contributions).
    """
    return _contributions(Accuracy.of(meter), point, value)


def standard_uncertainty(meter: Meter | None, point: Point, value: float) -> float:
    """Standard uncertainty (k = 1) of a reading.

    Parameters
    ----------
    meter
        As described; ``None`` is an ordinary one.
    point
        Where it was read.
    value : unit of the point
        As read.

    Returns
    -------
    unit of the point
    """
    return combined(contributions(meter, point, value))


def expanded_uncertainty(meter: Meter | None, point: Point, value: float) -> float:
    """Expanded uncertainty of a reading, k = 2 throughout: never under 95 %.

    Parameters
    ----------
    meter, point, value
        As for :func:`standard_uncertainty`.

    Returns
    -------
    unit of the point
    """
    return COVERAGE * standard_uncertainty(meter, point, value)


def comparison_uncertainty(
    meter: Meter | None, point: Point, value: float, reference: float
) -> float:
    """Standard uncertainty of a reading less another one taken with the same meter.

    The gain is the same in both, so only their difference carries it; counts, zero and last
    digit come twice.

    Parameters
    ----------
    meter
        As described; ``None`` is an ordinary one.
    point
        Where ``value`` was read.
    value, reference : unit of the point
        Both as read.

    Returns
    -------
    unit of the point

    References
    ----------
    JCGM 100:2008, 5.2 (correlated inputs).
    """
    printed = Accuracy.of(meter)
    exact = replace(printed, voltage_accuracy_percent=0.0, current_accuracy_percent=0.0)
    own = (*_contributions(exact, point, value), *_contributions(exact, point, reference))
    is_voltage = point.unit is Unit.VOLT
    percent = printed.voltage_accuracy_percent if is_voltage else printed.current_accuracy_percent
    gain = Contribution.rectangular(percent / 100 * abs(value - reference))
    return combined((*own, gain))


@dataclass(frozen=True)
class SharedSpreads:
    """Standard spreads of what all readings of one meter share: a fit may find them out."""

    voltage_gain: float
    current_gain: float
    clamp_zero_a: Ampere


def shared_spreads(meter: Meter | None) -> SharedSpreads:
    """Standard spreads (k = 1) of a meter's two gains and of its clamp's zero.

    Returns
    -------
    1, 1, A
    """
    printed = Accuracy.of(meter)
    root = math.sqrt(3)
    return SharedSpreads(
        voltage_gain=printed.voltage_accuracy_percent / 100 / root,
        current_gain=printed.current_accuracy_percent / 100 / root,
        clamp_zero_a=printed.current_zero_a / root,
    )


@dataclass(frozen=True)
class OwnSpread:
    """One reading's own standard spread, beside the shared ones: ``hypot(fixed, share * value)``.

    ``fixed`` is in the point's unit.
    """

    fixed: float
    share: float = 0.0


def own_spread(meter: Meter | None, point: Point) -> OwnSpread:
    """Standard spread (k = 1) that each reading at a point has of its own, before it is taken.

    Counts and last digit are those of the range in which the point is read: a drop's shows
    millivolts, a post's hundredths.
    """
    printed, unit = Accuracy.of(meter), point.unit
    if unit is Unit.VOLT:
        step = printed.resolution_v(0.0 if point.is_drop else math.inf)
        return OwnSpread(math.hypot(printed.voltage_counts, 0.5) * step / math.sqrt(3))
    if unit is Unit.AMPERE:
        return OwnSpread(printed.current_resolution_a / 2 / math.sqrt(3))
    if unit is Unit.CELSIUS:
        return OwnSpread(_THERMOMETER_C / math.sqrt(3))
    return OwnSpread(_BY_EYE, _BY_EYE_SHARE)


_SHOWN_BY_THE_UNIT = (
    Point.PROFILE_SETTING_VOLTAGE,
    Point.INPUT_LIMIT_SETTING,
    Point.SENSOR_TEMPERATURE,
)  # read off it and not measured: how far they may be out is in their limits


def _contributions(printed: Accuracy, point: Point, value: float) -> tuple[Contribution, ...]:
    unit = point.unit
    if point in _SHOWN_BY_THE_UNIT or unit is Unit.LIT:
        return ()
    if unit is Unit.VOLT:
        step = printed.resolution_v(value)
        percent, counts = printed.voltage_accuracy_percent, printed.voltage_counts
        limit = accuracy_half_width(value, percent, counts, step)
        return Contribution.rectangular(limit), Contribution.rectangular(step / 2)
    if unit is Unit.AMPERE:
        return (
            Contribution.rectangular(abs(value) * printed.current_accuracy_percent / 100),
            Contribution.rectangular(printed.current_zero_a),
            Contribution.rectangular(printed.current_resolution_a / 2),
        )
    if unit is Unit.CELSIUS:
        return (Contribution.rectangular(_THERMOMETER_C),)
    return Contribution(_BY_EYE), Contribution(_BY_EYE_SHARE * abs(value))
