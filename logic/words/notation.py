"""How a reader wants figures: another notation of a finished text, never another value.

Texts are written once, by :mod:`logic.words.figures`, in °C and mm² with a decimal point; so they
stand in records, on paper and in files. A screen that shows one to somebody who thinks in °F turns
it about at the last moment. Nothing that was turned about is stored.
"""

import re
from dataclasses import dataclass

from logic.words.numbers import MINUS, number

FAHRENHEIT = "°F"
_CELSIUS = "°C"

_NUMBER = rf"[{MINUS}-]?\d+(?:\.\d+)?"
_TEMPERATURE = re.compile(rf"(?<![\w.])({_NUMBER})(?: to ({_NUMBER}))? {_CELSIUS}")
# How far two temperatures lie apart is written in one of these ways only, and has no zero to shift.
_APART = re.compile(
    rf"(?:(?<=by )({_NUMBER}) {_CELSIUS}|(?<=within )({_NUMBER}) {_CELSIUS}(?= of\b)"
    rf"|({_NUMBER}) {_CELSIUS}(?= off\b))"
)
# Not in 0.1.0 or 5.4.3, which are no numbers.
_POINT = re.compile(r"(?<![\d.])(\d+)\.(\d+)(?!\d|\.\d)")
_BEING_TYPED = re.compile(rf"[{MINUS}-]?\d*\.\d*")
_SIZES = re.compile(r"(\d+(?:\.\d+)? mm²) or (\d+(?:/0)? AWG)")


@dataclass(frozen=True)
class Notation:
    """How figures are shown and typed; as they are written, unless told otherwise."""

    fahrenheit: bool = False
    decimal_comma: bool = False
    gauge_first: bool = False

    def shown(self, text: str) -> str:
        """Return a finished text with its figures in this notation.

        A text that names °F itself says both and stays as it is.
        """
        if self == _AS_WRITTEN:
            return text
        if self.fahrenheit and _CELSIUS in text and FAHRENHEIT not in text:
            text = _TEMPERATURE.sub(_in_fahrenheit, _APART.sub(_apart_in_fahrenheit, text))
        if self.gauge_first:
            text = _SIZES.sub(r"\2 or \1", text)
        return self._with_comma(text) if self.decimal_comma else text

    def unit(self, symbol: str) -> str:
        """Return the unit that a figure in ``symbol`` is shown and typed in."""
        return FAHRENHEIT if self.turns(symbol) else symbol

    def turns(self, symbol: str) -> bool:
        """Tell whether a figure in this unit is typed in another one."""
        return self.fahrenheit and symbol == _CELSIUS

    def _with_comma(self, text: str) -> str:
        if _BEING_TYPED.fullmatch(text):
            return text.replace(".", ",")
        return _POINT.sub(r"\1,\2", text)


_AS_WRITTEN = Notation()


def celsius(fahrenheit: float) -> float:
    """Return a temperature that was read in °F, to a hundredth: no thermometer here is finer.

    Parameters
    ----------
    fahrenheit : °F

    Returns
    -------
    °C

    References
    ----------
    NIST Special Publication 811 (2008), B.8: t/°C = (t/°F - 32) / 1.8.
    """
    return round((fahrenheit - 32) / 1.8, 2) + 0.0


def fahrenheit_text(text: str) -> str:
    """Return digits in °C as they would be typed in °F; what is no number yet stays."""
    value = _read(text)
    return text if value is None else _tenths(value * 1.8 + 32).replace(MINUS, "-")


def celsius_text(text: str) -> str:
    """Return digits that were typed in °F as they are kept, in °C; what is no number yet stays."""
    value = _read(text)
    return text if value is None else f"{celsius(value):g}"


def _in_fahrenheit(found: re.Match[str]) -> str:
    written = [_fahrenheit(one) for one in found.groups() if one]
    return f"{' to '.join(written)} {FAHRENHEIT}"


def _apart_in_fahrenheit(found: re.Match[str]) -> str:
    written = next(one for one in found.groups() if one)
    return f"{_tenths(float(written.replace(MINUS, '-')) * 1.8)} {FAHRENHEIT}"


def _fahrenheit(written: str) -> str:
    value = float(written.replace(MINUS, "-")) * 1.8 + 32
    return _tenths(value) if "." in written else number(value, 0)


def _tenths(value: float) -> str:
    return number(value, 1).removesuffix(".0")


def _read(text: str) -> float | None:
    try:
        return float(text.replace(MINUS, "-").replace(",", "."))
    except ValueError:
        return None
