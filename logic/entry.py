"""Typed text to a number: what the keypad gave, checked before anything is judged.

Each refusal is an :class:`~logic.errors.InputError` with the field's name and what to type
instead. What is allowed but odd comes back with a question or a note, and is never lost.
"""

import re
from dataclasses import dataclass

from logic.errors import InputError
from logic.points import PROBES, Point
from logic.quantities import Volt

_SLIPS = str.maketrans({",": ".", "−": "-", "–": "-"})
_LOOKALIKES = str.maketrans({"o": "0", "O": "0", "l": "1", "I": "1"})

# Assumed: what no such circuit can show. ISO 16750-2 ends at 16 V (32 V at 24 V) for supplies;
# 20 V leaves room for a vehicle's fault, and still catches a 24 V vehicle set up as 12 V.
_HIGHEST_12V = 20.0
_HIGHEST_DROP_12V = 16.0
_HIGHEST_PANEL = 200.0
_HIGHEST_CURRENT = 400.0
_COLDEST, _HOTTEST = -60.0, 150.0

_DROPS = frozenset(
    {
        Point.VEHICLE_FEED_DROP,
        Point.VEHICLE_RETURN_DROP,
        Point.HOUSE_FEED_DROP,
        Point.HOUSE_RETURN_DROP,
    }
)
_PANEL = frozenset({Point.SOLAR_OPEN_CIRCUIT_VOLTAGE, Point.SOLAR_INPUT_VOLTAGE})
_NOISE = {"V": 0.05, "A": 0.5}


@dataclass(frozen=True)
class Entry:
    """A number as typed.

    ``question`` asks whether something else was meant, ``proposed`` being that value; while it
    stands, ``value`` cannot be taken as it is. ``note`` is worth a look, and ``value`` holds.
    """

    value: float
    question: str = ""
    proposed: float | None = None
    note: str = ""


def read_number(text: str, point: Point, nominal_voltage_v: Volt) -> Entry:
    """Read what was typed at a point.

    Parameters
    ----------
    text
        Key presses as they came; a comma is a point.
    point
        Where the meter is; its id is the ``field`` of an error.
    nominal_voltage_v : V
        12 or 24.

    Raises
    ------
    InputError
        No number, or one that no such circuit can show; says what to do.
    """
    value = number(text, point.value)
    unit = PROBES[point].unit
    if unit == "V":
        return _voltage(value, point, nominal_voltage_v)
    if unit == "A":
        return _current(value, point)
    if unit == "°C":
        _within(value, "°C", (_COLDEST, _HOTTEST), point.value)
        return Entry(value)
    if unit == "lit":
        if value not in (0, 1):
            raise InputError("Type 1 if the lamp is lit, 0 if it is not.", point.value)
        return Entry(value)
    return _sunlight(value, point)


def read_quantity(text: str, unit: str, low: float | None, high: float | None, field: str) -> float:
    """Read a plain quantity of a form, such as a length in metres.

    Raises
    ------
    InputError
        No number, or outside ``low`` to ``high``.
    """
    value = number(text, field)
    _within(value, unit, (low, high), field)
    return value


def number(text: str, field: str) -> float:
    """Read digits with one point or comma, perhaps a minus in front.

    Raises
    ------
    InputError
        Anything else, with what to type instead.
    """
    cleaned = re.sub(r"\s", "", text).translate(_SLIPS).removeprefix("+")
    if complaint := _complaint(cleaned, text.strip()):
        raise InputError(complaint, field)
    return float(cleaned)


def _complaint(cleaned: str, typed: str) -> str:
    if not cleaned:
        return "Nothing typed yet. Type the number on the meter, or skip the step."
    if re.search(r"[^\W\d_]", cleaned):
        return _about_letters(cleaned, typed)
    if not re.search(r"\d", cleaned):
        return f"'{typed}' has no digits. Type the number in full, such as 12.6."
    if cleaned.count(".") > 1:
        return f"'{typed}' has two points. Keep one, such as 12.6."
    if not re.fullmatch(r"-?\d*\.?\d*", cleaned):
        return f"'{typed}' is no number. Type digits, one point, and a minus only in front."
    too_long = len(cleaned) > 12
    return f"'{typed}' has more digits than any meter. Type what it shows." if too_long else ""


def _about_letters(cleaned: str, typed: str) -> str:
    if re.fullmatch(r"-?\d+\.?\d*[eE][-+]?\d+", cleaned):
        return f"'{typed}' is written with an exponent. Type the number in full, such as 12.6."
    mended = cleaned.translate(_LOOKALIKES)
    if re.fullmatch(r"-?\d+\.?\d*|-?\.\d+", mended):
        return f"'{typed}' has a letter in it. If {mended} is meant, type the digits."
    return f"'{typed}' has a letter in it. Type digits only, such as 12.6; the unit is given."


def _voltage(value: float, point: Point, nominal_voltage_v: Volt) -> Entry:
    highest = _highest(point) * (1 if point in _PANEL else nominal_voltage_v / 12)
    if abs(value) > highest:
        return _too_high(value, point, nominal_voltage_v, highest)
    if value >= -_NOISE["V"]:
        return Entry(value)
    if PROBES[point].red is None:
        raise InputError(f"{value:g} V cannot be set. Type the volts without a minus.", point.value)
    return Entry(value, note=_below_zero(value, point))


def _highest(point: Point) -> Volt:
    if point in _PANEL:
        return _HIGHEST_PANEL
    return _HIGHEST_DROP_12V if point in _DROPS else _HIGHEST_12V


def _too_high(value: float, point: Point, nominal_voltage_v: Volt, highest: Volt) -> Entry:
    volts = value / 1000
    likely = point in _DROPS or abs(volts) >= 0.5 * nominal_voltage_v
    if likely and abs(volts) <= highest:
        return Entry(value, question=f"{value:g} mV?", proposed=volts)
    where = "panel" if point in _PANEL else f"{nominal_voltage_v:g} V vehicle"
    raise InputError(
        f"{value:g} V is more than a {where} can show (up to {highest:g} V). "
        f"{_slip(value, nominal_voltage_v, highest)}",
        point.value,
    )


def _slip(value: float, nominal_voltage_v: Volt, highest: Volt) -> str:
    if nominal_voltage_v == 12 and 20 < value <= 32:
        return "If this is a 24 V vehicle, correct that in its set-up; else read the meter again."
    for tenfold in (10, 100):
        if 0.5 * nominal_voltage_v <= abs(value) / tenfold <= highest:
            return f"If {value / tenfold:g} V is meant, type the point; else read the meter again."
    return "Look at the meter's range and where the probes are, and read it again."


def _below_zero(value: float, point: Point) -> str:
    if point in _PANEL:
        return (
            f"{value:g} V is below zero. Check that red is on the lead marked +; if it is, the "
            "panel is reversed: leave it unplugged."
        )
    probe = PROBES[point]
    red = str(probe.red).replace("_", " ")
    black = str(probe.black).replace("_", " ")
    return (
        f"{value:g} V is below zero: the probes look swapped. Put red on {red}, black on {black}, "
        f"and read again; kept as typed."
    )


def _current(value: float, point: Point) -> Entry:
    if abs(value) > _HIGHEST_CURRENT:
        raise InputError(
            f"{value:g} A is more than such a circuit can carry. Look at the clamp's range and "
            "type amperes, such as 24.5.",
            point.value,
        )
    if value < -_NOISE["A"]:
        towards = PROBES[point].towards.replace("_", " ")
        note = (
            f"{value:g} A is below zero: turn the clamp so that its arrow points to the {towards}"
        )
        return Entry(value, note=f"{note}, zero it and read again; kept as typed.")
    return Entry(value)


def _sunlight(value: float, point: Point) -> Entry:
    if 1 < value <= 100:
        return Entry(value, question=f"{value:g} %?", proposed=value / 100)
    if not 0 <= value <= 1:
        raise InputError(
            "Sunlight is a share: 1 clear noon, 0.5 hazy or low sun, 0.1 dull.", point.value
        )
    return Entry(value)


def _within(value: float, unit: str, limits: tuple[float | None, float | None], field: str) -> None:
    low, high = limits
    if (low is None or value >= low) and (high is None or value <= high):
        return
    if low is None:
        wanted = f"at most {high:g} {unit}"
    elif high is None:
        wanted = f"at least {low:g} {unit}"
    else:
        wanted = f"from {low:g} to {high:g} {unit}"
    raise InputError(f"{value:g} {unit} cannot be: type {wanted}.".replace("  ", " "), field)
