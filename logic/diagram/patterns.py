"""How a run is drawn by what it drops: lines along its straight way, with a word and a sign.

Each pattern differs in shape, not only in colour: dashes where nothing was read, dots where
nothing flows, dashes and dots where it proves nothing yet, a plain bar where all is right, a
double line at the limit, a zigzag that grows with the drop where it is too much, a gap between
two stops where the run is open, and back strokes where the drop has the wrong sign.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, log2

from logic.diagram.geometry import XY
from logic.diagram.layout import RunLayout
from logic.diagram.primitives import Ink, Line
from logic.diagram.signs import Sign
from logic.limits.ladder import Grade


@dataclass(frozen=True)
class _Way:
    """A straight way with points along it and beside it."""

    start: XY
    end: XY
    gap: tuple[float, float]
    ink: Ink

    @property
    def length(self) -> float:
        return hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])

    def at(self, along: float, aside: float = 0.0) -> XY:
        """Return the point so many units along the way and so many to its left."""
        dx = (self.end[0] - self.start[0]) / self.length
        dy = (self.end[1] - self.start[1]) / self.length
        return self.start[0] + dx * along - dy * aside, self.start[1] + dy * along + dx * aside

    def line(self, points: tuple[XY, ...], width: float) -> Line:
        """Return a line in the way's ink."""
        return Line(points, width, self.ink)

    def bar(self, start: float, end: float, width: float, aside: float = 0.0) -> Line:
        """Return a plain line between two points along the way."""
        return self.line((self.at(start, aside), self.at(end, aside)), width)


def _dashes(way: _Way, dash: float, gap: float, width: float) -> tuple[Line, ...]:
    count = max(1, int((way.length + gap) // (dash + gap)))
    pitch = way.length / count
    return tuple(way.bar(i * pitch, i * pitch + dash, width) for i in range(count))


def _not_read(way: _Way, _share: float) -> tuple[Line, ...]:
    return _dashes(way, 9, 5, 2.5)


def _nothing_flows(way: _Way, _share: float) -> tuple[Line, ...]:
    return _dashes(way, 2, 6, 4)


def _dash_and_dot(way: _Way, _share: float) -> tuple[Line, ...]:
    count = max(2, round(way.length / 20))
    starts = [i * way.length / count for i in range(count)]
    dashes = (way.bar(start, start + 9, 2.5) for start in starts)
    return *dashes, *(way.bar(start + 13, start + 15, 4) for start in starts)


def _plain(way: _Way, _share: float) -> tuple[Line, ...]:
    return (way.bar(0, way.length, 5),)


def _double(way: _Way, _share: float) -> tuple[Line, ...]:
    return way.bar(0, way.length, 2.5, 3.5), way.bar(0, way.length, 2.5, -3.5)


def _zigzag(way: _Way, share: float) -> tuple[Line, ...]:
    swing = min(11.0, 5.0 + 2.0 * log2(max(share, 1.0)))
    count = max(4, int(way.length // 9))
    pitch = way.length / count
    corners = (way.at((i + 0.5) * pitch, swing * (-1) ** i) for i in range(count))
    return (way.line((way.start, *corners, way.end), 2.5),)


def _gap(way: _Way, _share: float) -> tuple[Line, ...]:
    left, right = (way.length * part for part in way.gap)
    stops = [way.line((way.at(along, 9), way.at(along, -9)), 3) for along in (left, right)]
    return way.bar(0, left, 3), way.bar(right, way.length, 3), *stops


def _back_strokes(way: _Way, _share: float) -> tuple[Line, ...]:
    count = max(3, int(way.length // 16))
    pitch = way.length / count
    backs = [
        way.line(
            (
                way.at((i + 0.75) * pitch, 6),
                way.at((i + 0.3) * pitch),
                way.at((i + 0.75) * pitch, -6),
            ),
            2,
        )
        for i in range(count)
    ]
    return way.bar(0, way.length, 2), *backs


@dataclass(frozen=True)
class GradeMark:
    """How a grade is shown: word, sign, ink, and the pattern of its run."""

    word: str
    sign: Sign | None
    ink: Ink
    pattern: Callable[[_Way, float], tuple[Line, ...]]


GRADE_MARKS: dict[Grade, GradeMark] = {
    Grade.NOT_READ: GradeMark("not read", None, Ink.FAINT, _not_read),
    Grade.NOTHING_FLOWS: GradeMark("no current", Sign.NO_LIMIT, Ink.NO_LIMIT, _nothing_flows),
    Grade.PROVES_NOTHING: GradeMark(
        "no proof yet", Sign.PROVES_NOTHING, Ink.NO_LIMIT, _dash_and_dot
    ),
    Grade.AS_EXPECTED: GradeMark("in order", Sign.IN_RANGE, Ink.IN_RANGE, _plain),
    Grade.MARGINAL: GradeMark("at its limit", Sign.MARGINAL, Ink.MARGINAL, _double),
    Grade.TOO_MUCH: GradeMark("too much", Sign.OUT_OF_RANGE, Ink.OUT_OF_RANGE, _zigzag),
    Grade.OPEN: GradeMark("open", Sign.OUT_OF_RANGE, Ink.OUT_OF_RANGE, _gap),
    Grade.WRONG_WAY: GradeMark("wrong way", Sign.QUESTION, Ink.MARGINAL, _back_strokes),
}


def lines(grade: Grade, share: float, run: RunLayout) -> tuple[Line, ...]:
    """Return a run's lines; ``share`` is its drop over the most it should be.

    Parameters
    ----------
    share : 1
    """
    mark = GRADE_MARKS[grade]
    return mark.pattern(_Way(run.start, run.end, run.gap, mark.ink), share)
