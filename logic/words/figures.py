"""The one formatter of quantities: a value reads the same on screens, on paper and at the desk.

Three kinds of figure are told apart by where they come from:

read (:func:`as_read`)
    What a meter showed. At least the point's own decimals, so that columns line up, and every
    further digit that was typed. The entry takes up to four decimals; a value with more was
    never typed and is rounded to the point's own.
worked out (:func:`worked_out`, and the functions named after a unit)
    Limits, predictions, losses. Rounded to the decimals below: more would claim a knowledge
    that the sum does not have.
stated (:func:`as_stated`)
    A plate's or a setting's figure as it was entered, as short as it is exact: "25 A", "14.6 V".

========================  ==========  ============================================================
quantity                  decimals    why
========================  ==========  ============================================================
volts                     2           a handheld meter's last digit on its 20 V or 60 V range
drop along a run          3, in V     the last digit on its low range. In volts and never in
                                      millivolts: volts are what is typed, what the limits of the
                                      trade are stated in, and the unit of the ruler beside it
amperes                   1           a DC clamp's last digit; none by a rule of thumb
degrees Celsius           0           no limit here is finer
share of full sun         1           judged by eye: 1, 0.5 or 0.1
milliohms                 0, under    two figures: the clamp's zero error allows no more
                          10: 1
watts, minutes            0           estimates
per cent                  0           a probability is never told as 0 or 100
expanded uncertainty      2 figures   JCGM 100:2008, 7.2.6
========================  ==========  ============================================================

A minus is a real one (U+2212), not a hyphen, and unit and per cent sign stand apart from the
number. Where room is small, :func:`short` drops digits from the end, so that four are left.

References
----------
The International System of Units (SI Brochure), 9th edition, 5.4.3 and 5.4.7: a space between
number and unit, and before the per cent sign. JCGM 100:2008, 7.2.6: an uncertainty to at most
two figures. Decimals of meters: common practice, no published source.
"""

from decimal import Decimal

from logic.quantities import (
    Ampere,
    Celsius,
    Fraction,
    Minute,
    Ohm,
    SquareMillimetre,
    Volt,
    Watt,
)
from logic.vehicle.points import Point, Unit
from logic.words.numbers import MINUS as MINUS  # noqa: PLC0414 - read from here as well
from logic.words.numbers import number as number  # noqa: PLC0414

NOT_KNOWN = "not known"

_DROP = 3  # as the points' own; their others are their units'
_FINEST = 4  # logic.words.entry refuses more decimals
_MOST_DIGITS = 4  # assumed: what fits beside a post on the picture


# Numbers and units


def quantity(value: float, unit: str, decimals: int | None = None) -> str:
    """Write a number with its unit.

    Parameters
    ----------
    value : ``unit``
    """
    return f"{number(value, decimals)} {unit}"


def as_stated(value: float | None, unit: str) -> str:
    """Write a plate's or a setting's figure as it was entered, or say that it is not known.

    Parameters
    ----------
    value : ``unit``
    """
    return NOT_KNOWN if value is None else quantity(value, unit)


# Worked out


def volts(value: Volt, *, read: bool = False) -> str:
    """Write a voltage that was worked out; one that was ``read`` keeps its digits.

    Parameters
    ----------
    value : V
    """
    return quantity(value, "V", _typed(value, Unit.VOLT.decimals) if read else Unit.VOLT.decimals)


def drop_volts(value: Volt) -> str:
    """Write a loss along a run that was worked out.

    Parameters
    ----------
    value : V
    """
    return quantity(value, "V", _DROP)


def amperes(value: Ampere, *, read: bool = False) -> str:
    """Write a current that was worked out; one that was ``read`` keeps its digits.

    Parameters
    ----------
    value : A
    """
    return quantity(
        value, "A", _typed(value, Unit.AMPERE.decimals) if read else Unit.AMPERE.decimals
    )


def whole_amperes(value: Ampere) -> str:
    """Write a current by a rule of thumb, such as what a cable may carry.

    Parameters
    ----------
    value : A
    """
    return quantity(value, "A", 0)


def square_millimetres(value: SquareMillimetre) -> str:
    """Write a conductor's area to three figures: no cable is made more exactly.

    Parameters
    ----------
    value : mm²
    """
    return quantity(float(f"{value:.3g}"), "mm²")


def milliohms(value: Ohm) -> str:
    """Write a resistance in milliohms, to two figures or whole ones.

    Parameters
    ----------
    value : Ω
    """
    return quantity(value * 1000, "mΩ", 0 if abs(value) >= 0.00995 else 1)


def degrees(value: Celsius) -> str:
    """Write a temperature that was worked out.

    Parameters
    ----------
    value : °C
    """
    return quantity(value, "°C", Unit.CELSIUS.decimals)


def watts(value: Watt) -> str:
    """Write a power.

    Parameters
    ----------
    value : W
    """
    return quantity(value, "W", 0)


def minutes(value: Minute) -> str:
    """Write a time that something takes, never as none at all.

    Parameters
    ----------
    value : min
    """
    return quantity(max(1, round(value)), "min", 0)


def percent(share: Fraction) -> str:
    """Write a share in whole per cent.

    Parameters
    ----------
    share : 1
    """
    return quantity(100 * share, "%", 0)


def probability(value: Fraction) -> str:
    """Write a probability in whole per cent, never as a false 0 or 100.

    Parameters
    ----------
    value : 1
    """
    return quantity(whole_percent(value), "%", 0)


def whole_percent(value: Fraction) -> int:
    """Round a probability to whole per cent, never to a false 0 or 100.

    Parameters
    ----------
    value : 1
    """
    return min(99, max(1, round(100 * value)))


def volt_range(low: Volt, high: Volt) -> str:
    """Write a range of volts: "13.50 to 14.50 V".

    Parameters
    ----------
    low, high : V
    """
    return f"{number(low, Unit.VOLT.decimals)} to {volts(high)}"


def ampere_range(low: Ampere, high: Ampere) -> str:
    """Write a range of amperes: "38.0 to 43.2 A".

    Parameters
    ----------
    low, high : A
    """
    return f"{number(low, Unit.AMPERE.decimals)} to {amperes(high)}"


# At a reading point


def as_read(point: Point, value: float) -> str:
    """Write a reading with its unit: the point's decimals at least, and all that was typed.

    Parameters
    ----------
    value : the point's unit
    """
    return _at(point, value, _typed(value, point.decimals))


def worked_out(point: Point, value: float) -> str:
    """Write what a point should show, rounded to the point's decimals.

    Parameters
    ----------
    value : the point's unit
    """
    return _at(point, value, point.decimals)


def short(point: Point, value: float) -> str:
    """Write a reading for where room is small: as :func:`as_read`, but at most four digits.

    Parameters
    ----------
    value : the point's unit
    """
    decimals = _typed(value, point.decimals)
    while decimals and _digits(value, decimals) > _MOST_DIGITS:
        decimals -= 1
    return _at(point, value, decimals)


def limits(point: Point, low: float | None, high: float | None, value: float | None = None) -> str:
    """Write what a reading at a point is held against: "at most 0.310 V", "no limit".

    Parameters
    ----------
    low, high : the point's unit
        ``None`` where there is no limit on that side.
    value : the point's unit
        As read, if it was: the end that it is beyond is always named.
    """
    if point.unit is Unit.LIT and low == high and low is not None:
        return lamp(low)
    if low is None and high is None:
        return "no limit"
    if low is None or begins_at_nothing(point, low, high, value):
        return f"at most {worked_out(point, high or 0.0)}"
    if high is None:
        return f"at least {worked_out(point, low)}"
    return f"{number(low, point.decimals)} to {worked_out(point, high)}"


def begins_at_nothing(
    point: Point, low: float | None, high: float | None, value: float | None = None
) -> bool:
    """Tell whether a band's lower end is only the meter's error below 0: no limit to name.

    A limit of 0 is one, temperatures go on below it, and where a ``value`` is under a limit, that
    is what it is judged by.

    Parameters
    ----------
    low, high, value : the point's unit
    """
    if low is None or point.unit is Unit.CELSIUS or (value is not None and value < low):
        return False
    return -(high or 0.0) / 4 < low < 0


def uncertainty(point: Point, expanded: float) -> str:
    """Write an expanded uncertainty (k = 2) to two figures, "" where there is none.

    Parameters
    ----------
    expanded : the point's unit
    """
    if point.unit is Unit.LIT or not expanded:
        return ""
    return f"{Decimal(f'{expanded:.1e}'):f} {point.unit.symbol}".rstrip()


def lamp(value: float) -> str:
    """Say whether a lamp is lit."""
    return "lit" if value >= 0.5 else "not lit"


def _at(point: Point, value: float, decimals: int) -> str:
    if point.unit is Unit.LIT:
        return lamp(value)
    return quantity(value, point.unit.symbol or "of full sun", decimals)


def _typed(value: float, least: int) -> int:
    """Return how many decimals a value was typed with, or ``least`` where it never was."""
    exact = (decimals for decimals in range(least, _FINEST + 1) if round(value, decimals) == value)
    return next(exact, least)


def _digits(value: float, decimals: int) -> int:
    return sum(sign.isdigit() for sign in f"{value:.{decimals}f}")
