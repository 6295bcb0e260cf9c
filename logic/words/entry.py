"""Typed text to a number: what the keypad gave, checked before anything is judged.

Each refusal is an :class:`~logic.errors.InputError` with the field's name and what to type
instead. What is allowed but odd comes back with a question or a note, and is never lost.
"""

import re
from dataclasses import dataclass

from logic.errors import InputError
from logic.quantities import Ampere, Celsius, Fraction, Volt
from logic.vehicle.points import Part, Point, Unit
from logic.words.figures import as_stated, degrees, number
from logic.words.notation import FAHRENHEIT, celsius

_MINUS_AND_POINT = str.maketrans({",": "."} | dict.fromkeys("−–‒—﹣－", "-"))
_LOOKALIKES = str.maketrans({"o": "0", "O": "0", "l": "1", "I": "1"})

# Assumed: what no such circuit can show. ISO 16750-2 ends at 16 V (32 V at 24 V) for supplies;
# 20 V leaves room for a vehicle's fault, and still catches a 24 V vehicle set up as 12 V.
_HIGHEST_12V = 20.0
_HIGHEST_DROP_12V = 16.0
_HIGHEST_PANEL = 200.0
_HIGHEST_CURRENT = 400.0
# Assumed: over this a clamp's figure has more likely lost its point.
_UNUSUAL_CURRENT = 120.0
_COLDEST, _HOTTEST = -60.0, 150.0
_WHOLE_DROP_12V = 2.0  # assumed: from here a whole number may as well be millivolts
_TENTH = (0.075, 0.13)  # assumed: share of the nominal voltage that a slipped point leaves
# Assumed: how far a meter's own zero may lie under nothing.
_ZERO_V, _ZERO_A = 0.05, 0.5


@dataclass(frozen=True)
class Entry:
    """A number as typed.

    ``value`` cannot be taken as it is where something else is likely ``meant``, told in words,
    with ``proposed`` as its value. ``note`` is worth a look, and ``value`` holds.
    """

    value: float
    meant: str = ""
    proposed: float | None = None
    note: str = ""


def parse_reading(text: str, point: Point, nominal_voltage_v: Volt) -> Entry:
    """Read what was typed at a reading point.

    Parameters
    ----------
    text
        Key presses as they came; a comma is a point. At a thermometer "104 °F" says its unit.
    point
        Where the meter is; its id is the ``field`` of an error.
    nominal_voltage_v : V
        Where it is read: 12 or 24, and a half of it across one of two batteries in series.

    Raises
    ------
    InputError
        No number, or one that no such circuit can show; says what to do.
    """
    if point.unit is Unit.LIT:
        return _lamp(text, point)
    if point.unit is Unit.CELSIUS and text.rstrip().endswith(FAHRENHEIT):
        return _fahrenheit(text.rstrip().removesuffix(FAHRENHEIT), point)
    value = _shown_by_a_meter(text, point.value)
    match point.unit:
        case Unit.VOLT:
            return _voltage(value, text, point, nominal_voltage_v)
        case Unit.AMPERE:
            return _current(value, point)
        case Unit.CELSIUS:
            return _temperature(value, point)
    return _sunlight(value, point)


def parse_quantity(
    text: str, unit: str, low: float | None, high: float | None, field: str
) -> float:
    """Read a plain quantity of a form, such as a length in metres.

    Parameters
    ----------
    text
        As typed.
    unit
        What it is typed in, for the error's text.
    low, high : in that unit
        The least and the most that can be; ``None`` for no such end.
    field
        What an error names.

    Raises
    ------
    InputError
        No number, or outside ``low`` to ``high``.
    """
    value = parse_number(text, field)
    _within(value, unit, low, high, field)
    return value


def parse_number(text: str, field: str) -> float:
    """Read digits with one point or comma, perhaps a minus in front.

    Raises
    ------
    InputError
        Anything else, with what to type instead.
    """
    cleaned = _cleaned(text)
    if complaint := _complaint(cleaned, text.strip()):
        raise InputError(complaint, field)
    return float(cleaned) + 0.0  # a lone minus before nought goes


def _cleaned(text: str) -> str:
    return text.strip().translate(_MINUS_AND_POINT).removeprefix("+")


def _shown_by_a_meter(text: str, field: str) -> float:
    """Read a number that was copied off a meter's display."""
    cleaned, typed = _cleaned(text), text.strip()
    if not cleaned:
        raise InputError(
            "Nothing typed yet. Type the number on the meter, or leave the step out.", field
        )
    if re.fullmatch(r"(?i)[0o]\.?l", cleaned):
        raise InputError(
            f"'{typed}' is a meter over its range, or connected to nothing. Set the range, look at "
            "the probes and read again, or leave the step out.",
            field,
        )
    value = parse_number(text, field)
    if re.search(r"^.{13}|\.\d{5}", cleaned):
        raise InputError(
            f"'{typed}' has more digits than any meter. Type what it shows.",
            field,
        )
    return value


def _complaint(cleaned: str, typed: str) -> str:
    if with_unit := re.fullmatch(r"(?i)(-?\d+\.?\d*)\s*(mv|v|ma|a|ah|°?c|%)", cleaned):
        return _about_unit(float(with_unit[1]), with_unit[2], typed)
    mended = cleaned.translate(_LOOKALIKES)
    if mended != cleaned and re.fullmatch(r"-?\d+\.?\d*|-?\.\d+", mended):
        return f"'{typed}' has a letter in it. If {mended} is meant, type the digits."
    found = (words for pattern, words in _NO_NUMBER if re.search(pattern, cleaned))
    return next((f"'{typed}' {words}" for words in found), "")


def _about_unit(value: float, unit: str, typed: str) -> str:
    """Thousandths and hundredths are not turned into the field's unit unasked."""
    meant = value / {"m": 1000.0, "%": 100.0}.get(unit[0].lower(), 1.0)
    instead = f"If {number(meant)} is meant, type that."
    return f"'{typed}' has a unit in it, and the unit is given. {instead}"


# What makes a text no number, and what to do; the first that fits counts.
_NO_NUMBER = (
    (r"[\d.-]\s+[\d.-]", "has a gap in it. Type the number in one piece, such as 12.6."),
    (
        r"^-?\d+\.?\d*[eE][-+]?\d+$",
        "has a letter in it, as an exponent. Type the number in full, such as 12.6.",
    ),
    (r"[^\W\d_]", "has a letter in it. Type digits only, such as 12.6; the unit is given."),
    (r"^\D*$", "has no digits. Type the number in full, such as 12.6."),
    (r"\..*\.", "has two points. Keep one, such as 12.6."),
    (
        r"^(?!-?\d*\.?\d*$)",
        "is no number. Type digits, one point, and a minus only in front.",
    ),
)


def _voltage(value: Volt, text: str, point: Point, nominal_voltage_v: Volt) -> Entry:
    highest = _highest(point, nominal_voltage_v)
    if abs(value) > highest:
        return _too_high(value, point, nominal_voltage_v, highest)
    if value < -_ZERO_V:
        return Entry(value, note=_below_zero(value, point))
    has_point = "." in text.translate(_MINUS_AND_POINT)
    note = _likely_slip(value, has_point, point, nominal_voltage_v)
    return Entry(value, note=f"{note}; kept as typed." if note else "")


def _highest(point: Point, nominal_voltage_v: Volt) -> Volt:
    """Return the most that any fault makes a point show, V."""
    if point.needs_panel:
        return _HIGHEST_PANEL
    return (_HIGHEST_DROP_12V if point.is_drop else _HIGHEST_12V) * nominal_voltage_v / 12


def _too_high(value: Volt, point: Point, nominal_voltage_v: Volt, highest: Volt) -> Entry:
    volts = value / 1000
    likely = point.is_drop or abs(volts) >= 0.5 * nominal_voltage_v
    if likely and abs(volts) <= highest:
        return Entry(value, meant=as_stated(value, "mV"), proposed=volts)
    where = "panel" if point.needs_panel else _where(point, nominal_voltage_v)
    instead = _instead(value, point, nominal_voltage_v, highest)
    raise InputError(
        f"{as_stated(value, 'V')} is more than a {where} can show "
        f"(up to {as_stated(highest, 'V')}). {instead}",
        point.value,
    )


def _where(point: Point, nominal_voltage_v: Volt) -> str:
    """Name the system whose voltage is read: a unit may hold its house side at another one."""
    side = "battery" if point is Point.FIRST_SERIES_VOLTAGE else "vehicle"
    return f"{as_stated(nominal_voltage_v, 'V')} {'house side' if point.on_house_side else side}"


def _instead(value: Volt, point: Point, nominal_voltage_v: Volt, highest: Volt) -> str:
    if point is Point.FIRST_SERIES_VOLTAGE and value <= 2 * highest:
        return "Read across this one alone, from its own positive post to the link."
    if nominal_voltage_v == 12 and 20 < value <= 32:
        what = "the house side is 24 V" if point.on_house_side else "this is a 24 V vehicle"
        return f"If {what}, correct that in the set-up; else read the meter again."
    for tenfold in (10, 100):
        if 0.5 * nominal_voltage_v <= abs(value) / tenfold <= highest:
            meant = as_stated(value / tenfold, "V")
            return f"If {meant} is meant, type the point; else read the meter again."
    return "Look at the meter's range and where the probes are, and read it again."


def _below_zero(value: Volt, point: Point) -> str:
    shown = as_stated(value, "V")
    if point.red is None or point.black is None:
        raise InputError(f"{shown} cannot be set. Type the volts without a minus.", point.value)
    if point.needs_panel:
        return (
            f"{shown} is below zero. Check that red is on the lead marked +; if it is, the "
            "panel is reversed: leave it unplugged."
        )
    return (
        f"{shown} is below zero: the probes look swapped. Put red on {point.red.full_name}, "
        f"black on {point.black.full_name}, and read again; kept as typed."
    )


def _likely_slip(value: Volt, has_point: bool, point: Point, nominal_voltage_v: Volt) -> str:
    """Say what a value may have been meant for that can be right, and as likely is a slip."""
    share, shown = value / nominal_voltage_v, as_stated(value, "V")
    across_a_battery = point.part in (Part.START_BATTERY, Part.HOUSE_BATTERY)
    if point.is_drop:
        if not has_point and 12 * share >= _WHOLE_DROP_12V:
            instead = f"If {as_stated(value, 'mV')} is meant, type {number(value / 1000)}"
            return f"{shown} is a lot to lose. {instead}"
    elif across_a_battery and nominal_voltage_v == 24 and 0.4 <= share <= 0.67:
        return f"{shown} is one of two batteries in series: read across both"
    elif point.is_system_voltage and has_point and _TENTH[0] <= share <= _TENTH[1]:
        instead = f"If {as_stated(10 * value, 'V')} is meant, move the point"
        return f"{shown} is very little here. {instead}"
    return ""


def _lamp(text: str, point: Point) -> Entry:
    if text.strip() not in ("0", "1"):
        raise InputError("Type 1 if the lamp is lit, 0 if it is not.", point.value)
    return Entry(float(text))


def _temperature(value: Celsius, point: Point) -> Entry:
    _within(value, "°C", _COLDEST, _HOTTEST, point.value)
    if point.unusual_above is None or value <= point.unusual_above:
        return Entry(value)
    meant = f"If the thermometer shows °F, that is {degrees(celsius(value))}"
    return Entry(value, note=f"{as_stated(value, '°C')} is very hot. {meant}; kept as typed.")


def _fahrenheit(text: str, point: Point) -> Entry:
    shown = _shown_by_a_meter(text, point.value)
    value = celsius(shown)
    low, high = _COLDEST * 1.8 + 32, _HOTTEST * 1.8 + 32
    _within(shown, FAHRENHEIT, low, high, point.value)
    if point.unusual_above is None or value <= point.unusual_above:
        return Entry(value)
    note = f"{as_stated(shown, FAHRENHEIT)} is very hot. Look at the thermometer; kept as typed."
    return Entry(value, note=note)


def _current(value: Ampere, point: Point) -> Entry:
    shown = as_stated(value, "A")
    if abs(value) > _HIGHEST_CURRENT:
        tenth = next((value / ten for ten in (10, 100) if abs(value) / ten <= 100), None)
        meant = (
            f"If {as_stated(tenth, 'A')} is meant, type the point; else look" if tenth else "Look"
        )
        raise InputError(
            f"{shown} is more than such a circuit can carry. {meant} at the clamp's range "
            "and read it again.",
            point.value,
        )
    if value > _UNUSUAL_CURRENT:
        meant = f"If {as_stated(value / 10, 'A')} is meant, type the point"
        return Entry(value, note=f"{shown} is a lot. {meant}; kept as typed.")
    if value < -_ZERO_A:
        note = (
            f"{shown} is below zero: turn the clamp so that its arrow points to the "
            f"{point.towards}, zero it and read again; kept as typed."
        )
        return Entry(value, note=note)
    return Entry(value)


def _sunlight(value: Fraction, point: Point) -> Entry:
    if 10 <= value <= 100:
        return Entry(value, meant=as_stated(value, "%"), proposed=value / 100)
    if not 0 <= value <= 1:
        share = f" If {number(value / 10)} is meant, type the point." if 1 < value < 10 else ""
        scale = "Sunlight is a share from 0 to 1: 1 clear noon, 0.5 hazy or low sun, 0.1 dull."
        raise InputError(scale + share, point.value)
    return Entry(value)


def _within(value: float, unit: str, low: float | None, high: float | None, field: str) -> None:
    if (low is None or value >= low) and (high is None or value <= high):
        return
    if low is None:
        wanted = f"at most {as_stated(high, unit)}"
    elif high is None:
        wanted = f"at least {as_stated(low, unit)}"
    else:
        wanted = f"from {number(low)} to {as_stated(high, unit)}"
    raise InputError(f"{as_stated(value, unit)} cannot be: type {wanted}.", field)
