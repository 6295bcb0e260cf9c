"""How a run is drawn by what it drops: as lines in dp along a straight way. No Kivy.

Each pattern differs in shape, not only in colour: dashes where nothing was read, dots where
nothing flows, a plain bar where all is right, a double line at the limit, a zigzag that grows
with the drop where it is too much, a gap between two stops where the run is open, and back
strokes where the drop has the wrong sign.
"""

from dataclasses import dataclass
from math import hypot, log2

from logic.limits.ladder import Grade
from mobile.ui.widgets.loop_plan import RunPlan

Place = tuple[float, float]


@dataclass(frozen=True)
class Stroke:
    """A line through places, so many dp wide."""

    places: tuple[Place, ...]
    width: float


COLOURS = {
    Grade.NOT_READ: "faint",
    Grade.NOTHING_FLOWS: "no_limit",
    Grade.AS_EXPECTED: "in_range",
    Grade.MARGINAL: "marginal",
    Grade.TOO_MUCH: "out_of_range",
    Grade.OPEN: "out_of_range",
    Grade.WRONG_WAY: "marginal",
}


@dataclass(frozen=True)
class _Way:
    """A straight way with places along it and beside it."""

    start: Place
    end: Place
    gap: tuple[float, float]

    @property
    def length(self) -> float:
        return hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])

    def at(self, along: float, aside: float = 0.0) -> Place:
        """Return the place so many dp along the way and so many to its left."""
        dx = (self.end[0] - self.start[0]) / self.length
        dy = (self.end[1] - self.start[1]) / self.length
        return self.start[0] + dx * along - dy * aside, self.start[1] + dy * along + dx * aside

    def bar(self, start: float, end: float, width: float, aside: float = 0.0) -> Stroke:
        """Return a plain line between two places along the way."""
        return Stroke((self.at(start, aside), self.at(end, aside)), width)


def strokes(grade: Grade, share: float, run: RunPlan) -> tuple[Stroke, ...]:
    """Return a run's lines; ``share`` is its drop over the most it should be."""
    return _DRAWN[grade](_Way(run.start, run.end, run.gap), share)


def _dashes(way: _Way, dash: float, gap: float, width: float) -> tuple[Stroke, ...]:
    count = max(1, int((way.length + gap) // (dash + gap)))
    pitch = way.length / count
    return tuple(way.bar(i * pitch, i * pitch + dash, width) for i in range(count))


def _not_read(way: _Way, _share: float) -> tuple[Stroke, ...]:
    return _dashes(way, 9, 5, 2.5)


def _nothing_flows(way: _Way, _share: float) -> tuple[Stroke, ...]:
    return _dashes(way, 2, 6, 4)


def _plain(way: _Way, _share: float) -> tuple[Stroke, ...]:
    return (way.bar(0, way.length, 5),)


def _double(way: _Way, _share: float) -> tuple[Stroke, ...]:
    return way.bar(0, way.length, 2.5, 3.5), way.bar(0, way.length, 2.5, -3.5)


def _zigzag(way: _Way, share: float) -> tuple[Stroke, ...]:
    swing = min(11.0, 5.0 + 2.0 * log2(max(share, 1.0)))
    count = max(4, int(way.length // 9))
    pitch = way.length / count
    corners = (way.at((i + 0.5) * pitch, swing * (-1) ** i) for i in range(count))
    return (Stroke((way.start, *corners, way.end), 2.5),)


def _gap(way: _Way, _share: float) -> tuple[Stroke, ...]:
    left, right = (way.length * part for part in way.gap)
    stops = [Stroke((way.at(along, 9), way.at(along, -9)), 3) for along in (left, right)]
    return way.bar(0, left, 3), way.bar(right, way.length, 3), *stops


def _back_strokes(way: _Way, _share: float) -> tuple[Stroke, ...]:
    count = max(3, int(way.length // 16))
    pitch = way.length / count
    backs = [
        Stroke(
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


_DRAWN = {
    Grade.NOT_READ: _not_read,
    Grade.NOTHING_FLOWS: _nothing_flows,
    Grade.AS_EXPECTED: _plain,
    Grade.MARGINAL: _double,
    Grade.TOO_MUCH: _zigzag,
    Grade.OPEN: _gap,
    Grade.WRONG_WAY: _back_strokes,
}
