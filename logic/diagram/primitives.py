"""What a painter has to draw: lines, filled polygons and circles, each in an ink.

Lengths are in units: one dp on a screen, a part of a millimetre on paper.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import cos, pi, sin

from logic.diagram.geometry import XY, Rect


class Ink(StrEnum):
    """A colour by what it stands for; a screen's theme and the paper have their own for each."""

    INK = "ink"
    FAINT = "faint"
    GROUND = "ground"
    SURFACE = "surface"
    TINT = "tint"
    MAIN = "main"
    MAIN_WORDS = "main_words"
    IN_RANGE = "in_range"
    MARGINAL = "marginal"
    OUT_OF_RANGE = "out_of_range"
    NO_LIMIT = "no_limit"
    VERDICT_WORDS = "verdict_words"
    RED_PROBE = "red_probe"
    BLACK_PROBE = "black_probe"
    CLAMP = "clamp"
    LIT = "caution"


@dataclass(frozen=True)
class Line:
    """A line through points; ``is_round`` rounds its ends and corners."""

    points: tuple[XY, ...]
    width: float
    ink: Ink = Ink.INK
    is_closed: bool = False
    is_round: bool = False


@dataclass(frozen=True)
class Polygon:
    """A filled convex polygon."""

    points: tuple[XY, ...]
    ink: Ink = Ink.INK


@dataclass(frozen=True)
class Circle:
    """A ring as wide as ``width``, with its outer edge at ``radius``; filled without a width."""

    centre: XY
    radius: float
    width: float | None = None
    ink: Ink = Ink.INK


Shape = Line | Polygon | Circle

_CORNER_STEPS = 5
_ARC_STEP = 12  # degrees


def arc(centre: XY, radius: float, start: float, end: float) -> tuple[XY, ...]:
    """Return points along an arc.

    Parameters
    ----------
    centre, radius
        Of the circle.
    start, end : °
        Anticlockwise from the right.
    """
    steps = max(1, round(abs(end - start) / _ARC_STEP))
    angles = (pi / 180 * (start + (end - start) * i / steps) for i in range(steps + 1))
    return tuple((centre[0] + radius * cos(a), centre[1] + radius * sin(a)) for a in angles)


def rounded(rect: Rect, radius: float) -> tuple[XY, ...]:
    """Return the outline of a rectangle with rounded corners.

    Parameters
    ----------
    radius : unit
    """
    radius = min(radius, rect.width / 2, rect.height / 2)
    corners = (
        ((rect.right - radius, rect.top - radius), 0),
        ((rect.x + radius, rect.top - radius), 90),
        ((rect.x + radius, rect.y + radius), 180),
        ((rect.right - radius, rect.y + radius), 270),
    )
    return tuple(_corners(corners, radius))


def _corners(corners: tuple[tuple[XY, int], ...], radius: float) -> Iterator[XY]:
    for (x, y), start in corners:
        for i in range(_CORNER_STEPS + 1):
            angle = pi / 180 * (start + 90 * i / _CORNER_STEPS)
            yield x + radius * cos(angle), y + radius * sin(angle)
