"""The drawn signs of verdicts, for no font is sure to have ticks and crosses.

A sign is drawn in a square of 0 to 1: what has no ink of its own takes the sign's, and
:data:`Ink.VERDICT_WORDS` is for what stands on it. Every sign has an outline of its own, so that
no colour is needed to know it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from enum import StrEnum

from logic.diagram.geometry import XY, Rect
from logic.diagram.primitives import Circle, Ink, Line, Polygon, Shape

_WIDTH = 0.1
_LEAST_WIDTH = 2.0


def line(*numbers: float, ink: Ink = Ink.INK) -> Line:
    """Return an open line through x, y, x, y, ..."""
    return Line(_points(numbers), _WIDTH, ink, is_round=True)


def loop(*numbers: float) -> Line:
    """Return a closed line through x, y, x, y, ..."""
    return Line(_points(numbers), _WIDTH, is_closed=True, is_round=True)


def ring(x: float, y: float, radius: float) -> Circle:
    """Return a circle's outline."""
    return Circle((x, y), radius, _WIDTH)


def _points(numbers: tuple[float, ...]) -> tuple[XY, ...]:
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


class Sign(StrEnum):
    """A sign by what it says."""

    IN_RANGE = "in_range"
    MARGINAL = "marginal"
    OUT_OF_RANGE = "out_of_range"
    NO_LIMIT = "no_limit"
    PROVES_NOTHING = "proves_nothing"
    QUESTION = "question"
    THERMOMETER = "thermometer"


_ON = Ink.VERDICT_WORDS
SIGNS: dict[Sign, tuple[Shape, ...]] = {
    # Disc, diamond, square, hollow ring, hollow hexagon.
    Sign.IN_RANGE: (
        Circle((0.5, 0.5), 0.48),
        line(0.27, 0.5, 0.44, 0.33, 0.74, 0.68, ink=_ON),
    ),
    Sign.MARGINAL: (
        Polygon(((0.5, 0.0), (1.0, 0.5), (0.5, 1.0), (0.0, 0.5))),
        line(0.5, 0.42, 0.5, 0.76, ink=_ON),
        line(0.5, 0.24, 0.5, 0.27, ink=_ON),
    ),
    Sign.OUT_OF_RANGE: (
        Polygon(((0.04, 0.04), (0.96, 0.04), (0.96, 0.96), (0.04, 0.96))),
        line(0.28, 0.28, 0.72, 0.72, ink=_ON),
        line(0.28, 0.72, 0.72, 0.28, ink=_ON),
    ),
    Sign.NO_LIMIT: (ring(0.5, 0.5, 0.48), line(0.3, 0.5, 0.7, 0.5)),
    Sign.PROVES_NOTHING: (
        loop(0.27, 0.05, 0.73, 0.05, 0.98, 0.5, 0.73, 0.95, 0.27, 0.95, 0.02, 0.5),
        line(0.26, 0.5, 0.29, 0.5),
        line(0.485, 0.5, 0.515, 0.5),
        line(0.71, 0.5, 0.74, 0.5),
    ),
    Sign.QUESTION: (
        ring(0.5, 0.5, 0.5),
        line(0.36, 0.62, 0.42, 0.72, 0.56, 0.73, 0.64, 0.62, 0.5, 0.48, 0.5, 0.4),
        line(0.5, 0.24, 0.5, 0.27),
    ),
    Sign.THERMOMETER: (
        loop(0.38, 0.36, 0.38, 0.88, 0.44, 0.96, 0.56, 0.96, 0.62, 0.88, 0.62, 0.36),
        Circle((0.5, 0.22), 0.22),
        line(0.5, 0.22, 0.5, 0.7),
    ),
}
INKS: dict[Sign, Ink] = {
    Sign.IN_RANGE: Ink.IN_RANGE,
    Sign.MARGINAL: Ink.MARGINAL,
    Sign.OUT_OF_RANGE: Ink.OUT_OF_RANGE,
    Sign.NO_LIMIT: Ink.NO_LIMIT,
    Sign.PROVES_NOTHING: Ink.NO_LIMIT,
    Sign.QUESTION: Ink.MARGINAL,
    Sign.THERMOMETER: Ink.INK,
}


def placed(shapes: Iterable[Shape], square: Rect, ink: Ink = Ink.INK) -> Iterator[Shape]:
    """Yield a sign's shapes in their square, lines never too thin to be seen."""
    side = square.width
    width = max(_LEAST_WIDTH, _WIDTH * side)

    def at(xy: XY) -> XY:
        return square.x + xy[0] * side, square.y + xy[1] * side

    for shape in shapes:
        own = ink if shape.ink is Ink.INK else shape.ink
        match shape:
            case Circle():
                thick = None if shape.width is None else width
                yield Circle(at(shape.centre), shape.radius * side, thick, own)
            case Line():
                points = tuple(map(at, shape.points))
                yield replace(shape, points=points, width=width, ink=own)
            case Polygon():
                yield Polygon(tuple(map(at, shape.points)), own)
