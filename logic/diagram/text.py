"""A text of the drawing, set in its slot as large as it fits: never cut, never over another.

Painters differ only in how they measure a line of type; how a text is set is decided here.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from logic.diagram.geometry import Rect
from logic.diagram.primitives import Ink
from logic.diagram.signs import Sign

VALUE = 17.0
NAME = 14.0
LEAST = 9.0
"""The smallest type, in units; assumed: on a phone the smallest read at arm's length."""
LEFT_OUT = "…"
"""Stands where a text would not fit even in the smallest type."""

_SIGN_SIDE = 15.0
_SIGN_SHARE = 0.22  # of the slot's width
_AIR = 3.0
_TRIES = 6


@dataclass(frozen=True)
class Text:
    """A text in a slot, with its sign before it.

    ``size`` in units is as large as it gets; where ``is_sized_by_reader``, times the reader's own
    font scale. ``wraps`` lets it take several lines.
    """

    text: str
    slot: Rect
    size: float = VALUE
    ink: Ink = Ink.INK
    is_bold: bool = False
    wraps: bool = False
    sign: Sign | None = None
    is_sized_by_reader: bool = True


@dataclass(frozen=True)
class SetLine:
    """One line of a set text, in its own rectangle."""

    text: str
    rect: Rect


@dataclass(frozen=True)
class SetText:
    """A text as it is set: its lines, their size in units, and the square of its sign."""

    lines: tuple[SetLine, ...]
    size: float
    sign: Rect | None


class Measure(Protocol):
    """Says how wide and high a line of type is, all in units."""

    def __call__(self, line: str, size: float, is_bold: bool) -> tuple[float, float]: ...


def set_text(text: Text, measure: Measure, font_scale: float = 1.0) -> SetText:
    """Set a text in its slot, smaller where it would not fit, several lines where it wraps.

    Parameters
    ----------
    font_scale : 1
        The reader's own size of type over the phone's usual one.
    """
    slot = text.slot
    side = min(_SIGN_SIDE, slot.height, slot.width * _SIGN_SHARE) if text.sign else 0.0
    before = side + _AIR if text.sign else 0.0
    own = text.size * (font_scale if text.is_sized_by_reader else 1.0)
    room = (slot.width - before, slot.height)
    candidates = [_fitted(lines, own, room, measure, text.is_bold) for lines in _broken(text)]
    size, lines = max(candidates, key=lambda found: (found[0], -len(found[1])))
    if size < min(LEAST, own):
        size, lines = LEAST, (LEFT_OUT,)
    return _centred(lines, size, text, measure, before, side)


def _broken(text: Text) -> Iterator[tuple[str, ...]]:
    """Yield a text on one line and, where it wraps, broken once at each of its gaps."""
    yield (text.text,)
    words = text.text.split(" ") if text.wraps else []
    for i in range(1, len(words)):
        yield " ".join(words[:i]), " ".join(words[i:])


def _fitted(
    lines: tuple[str, ...], own: float, room: tuple[float, float], measure: Measure, bold: bool
) -> tuple[float, tuple[str, ...]]:
    size = own
    for _ in range(_TRIES):
        sizes = [measure(line, size, bold) for line in lines]
        over = max(
            max(width for width, _ in sizes) / room[0], sum(height for _, height in sizes) / room[1]
        )
        if over <= 1:
            return size, lines
        # Type does not shrink quite evenly: a little more than what is over.
        size *= 0.985 / over
    return 0.0, lines


def _centred(
    lines: tuple[str, ...], size: float, text: Text, measure: Measure, before: float, side: float
) -> SetText:
    sizes = [measure(line, size, text.is_bold) for line in lines]
    widest = max(width for width, _ in sizes)
    x, y = text.slot.centre
    left = x - (before + widest) / 2
    top = y + sum(height for _, height in sizes) / 2
    placed = []
    for line, (width, height) in zip(lines, sizes, strict=True):
        top -= height
        placed.append(SetLine(line, Rect(left + before + (widest - width) / 2, top, width, height)))
    sign = Rect(left, y - side / 2, side, side) if text.sign else None
    return SetText(tuple(placed), size, sign)
