"""The drawn signs of buttons, lists and states, beside those of verdicts in the circuit's drawing.

Each is drawn in a square of 0 to 1, y upwards; see :mod:`logic.diagram.signs`.
"""

from math import cos, radians, sin

from logic.diagram.primitives import Shape
from logic.diagram.signs import SIGNS, line, loop, ring


def _crescent() -> tuple[float, ...]:
    """Return a moon's outline: most of a circle, and another one that cuts into it."""
    outer = [(0.46 + 0.42 * cos(radians(a)), 0.5 + 0.42 * sin(radians(a))) for a in _OUTER]
    inner = [(0.7 + 0.36 * cos(radians(a)), 0.64 + 0.36 * sin(radians(a))) for a in _INNER]
    return tuple(number for point in (*outer, *inner) for number in point)


_OUTER, _INNER = range(80, 341, 20), range(288, 141, -21)  # degrees

SHAPES: dict[str, tuple[Shape, ...]] = {
    **{sign.value: shapes for sign, shapes in SIGNS.items()},
    # States of a step in lists.
    "open": (ring(0.5, 0.5, 0.42),),
    "done": (line(0.12, 0.48, 0.4, 0.2, 0.88, 0.8),),
    "skipped": (
        ring(0.5, 0.5, 0.44),
        line(0.22, 0.22, 0.78, 0.78),
    ),
    "caution": (
        loop(0.5, 0.95, 0.97, 0.08, 0.03, 0.08),
        line(0.5, 0.36, 0.5, 0.64),
        line(0.5, 0.19, 0.5, 0.22),
    ),
    "information": (
        ring(0.5, 0.5, 0.46),
        line(0.5, 0.26, 0.5, 0.54),
        line(0.5, 0.71, 0.5, 0.74),
    ),
    "saved": (
        ring(0.5, 0.5, 0.46),
        line(0.28, 0.5, 0.44, 0.34, 0.72, 0.66),
    ),
    # Actions.
    "back": (line(0.62, 0.12, 0.24, 0.5, 0.62, 0.88),),
    "next": (line(0.38, 0.12, 0.76, 0.5, 0.38, 0.88),),
    "down": (line(0.12, 0.64, 0.5, 0.28, 0.88, 0.64),),
    "up": (line(0.12, 0.36, 0.5, 0.72, 0.88, 0.36),),
    "erase": (
        loop(0.02, 0.5, 0.3, 0.84, 0.98, 0.84, 0.98, 0.16, 0.3, 0.16),
        line(0.46, 0.36, 0.76, 0.64),
        line(0.46, 0.64, 0.76, 0.36),
    ),
    "note": (
        loop(0.14, 0.06, 0.86, 0.06, 0.86, 0.94, 0.14, 0.94),
        line(0.3, 0.7, 0.7, 0.7),
        line(0.3, 0.5, 0.7, 0.5),
        line(0.3, 0.3, 0.52, 0.3),
    ),
    "camera": (
        loop(
            0.04,
            0.16,
            0.96,
            0.16,
            0.96,
            0.76,
            0.7,
            0.76,
            0.62,
            0.9,
            0.38,
            0.9,
            0.3,
            0.76,
            0.04,
            0.76,
        ),
        ring(0.5, 0.46, 0.18),
    ),
    "skip": (
        line(0.1, 0.18, 0.42, 0.5, 0.1, 0.82),
        line(0.48, 0.18, 0.8, 0.5, 0.48, 0.82),
        line(0.92, 0.16, 0.92, 0.84),
    ),
    "list": (
        line(0.06, 0.2, 0.14, 0.2),
        line(0.3, 0.2, 0.96, 0.2),
        line(0.06, 0.5, 0.14, 0.5),
        line(0.3, 0.5, 0.96, 0.5),
        line(0.06, 0.8, 0.14, 0.8),
        line(0.3, 0.8, 0.96, 0.8),
    ),
    "plus": (
        line(0.5, 0.1, 0.5, 0.9),
        line(0.1, 0.5, 0.9, 0.5),
    ),
    "close": (
        line(0.16, 0.16, 0.84, 0.84),
        line(0.16, 0.84, 0.84, 0.16),
    ),
    "clock": (
        ring(0.5, 0.5, 0.46),
        line(0.5, 0.8, 0.5, 0.5, 0.72, 0.38),
    ),
    "search": (
        ring(0.42, 0.58, 0.34),
        line(0.67, 0.33, 0.95, 0.05),
    ),
    "pencil": (
        loop(0.06, 0.06, 0.14, 0.34, 0.72, 0.92, 0.92, 0.72, 0.34, 0.14),
        line(0.58, 0.78, 0.78, 0.58),
    ),
    "key": (
        ring(0.28, 0.5, 0.2),
        line(0.48, 0.5, 0.92, 0.5, 0.92, 0.32),
        line(0.74, 0.5, 0.74, 0.36),
    ),
    "share": (
        line(0.5, 0.36, 0.5, 0.96),
        line(0.26, 0.72, 0.5, 0.96, 0.74, 0.72),
        line(0.1, 0.5, 0.1, 0.06, 0.9, 0.06, 0.9, 0.5),
    ),
    "sun": (
        ring(0.5, 0.5, 0.22),
        line(0.5, 0.84, 0.5, 0.98),
        line(0.5, 0.02, 0.5, 0.16),
        line(0.02, 0.5, 0.16, 0.5),
        line(0.84, 0.5, 0.98, 0.5),
        line(0.16, 0.16, 0.26, 0.26),
        line(0.74, 0.74, 0.84, 0.84),
        line(0.16, 0.84, 0.26, 0.74),
        line(0.74, 0.26, 0.84, 0.16),
    ),
    "moon": (loop(*_crescent()),),
    # States of the vehicle, each with its own outline.
    "rest": (
        loop(0.1, 0.1, 0.9, 0.1, 0.9, 0.9, 0.1, 0.9),
        line(0.34, 0.34, 0.66, 0.34, 0.66, 0.66, 0.34, 0.66, 0.34, 0.34),
    ),
    "idle": (
        ring(0.5, 0.5, 0.44),
        line(0.5, 0.5, 0.24, 0.62),
    ),
    "fast_idle": (
        ring(0.5, 0.5, 0.44),
        line(0.5, 0.5, 0.78, 0.66),
    ),
}
SHAPES["solar"] = SHAPES["sun"]
