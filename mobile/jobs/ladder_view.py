"""The voltage ladder as rows: a rung for each post, a step between them. No Kivy.

All posts stand on one scale from 0, so that a step looks as large as it is. A drop of some tenths
of a volt cannot be seen there: each run's drop stands beside it once more, on the same scale
enlarged by a factor that is said.
"""

from dataclasses import dataclass
from math import ceil

from logic.diagram.patterns import GRADE_MARKS
from logic.limits.ladder import Grade, Ladder, Origin, RunDrop, Rung
from logic.quantities import Volt
from logic.vehicle.points import DROP_ACROSS, Post, Run
from logic.words.figures import as_read, limits, volts, worked_out

# What lies between a rung and the next one: a run, or a part by its name.
_BETWEEN: tuple[Run | str, ...] = (
    Run.VEHICLE_FEED,
    "charger",
    Run.HOUSE_FEED,
    "house battery",
    Run.HOUSE_RETURN,
    Run.VEHICLE_RETURN,
)
_AIR = 1.05  # the scale ends at the next whole volt over this
_LEAST_TOP = 1.0
_ENLARGED = (20, 10, 5, 2, 1)


@dataclass(frozen=True)
class RungRow:
    """A post: its potential now and at commissioning, and where it should be; volts."""

    post: Post
    now: float | None
    low: float | None
    high: float | None
    then: float | None

    @property
    def name(self) -> str:
        """The post's name; its sign never stands alone on a line."""
        return self.post.full_name.replace(" +", "\u00a0+").replace(" −", "\u00a0−")

    @property
    def text(self) -> str:
        """The potential in words."""
        return volts(self.now) if self.now is not None else "not read"


@dataclass(frozen=True)
class StepRow:
    """What lies between two posts, in words with a sign; ``grade`` is None for a part.

    ``drop`` is a run's, ``low`` and ``high`` what it should be, ``then`` at commissioning; volts.
    """

    words: str
    sign: str = ""
    grade: Grade | None = None
    drop: float | None = None
    low: float | None = None
    high: float | None = None
    then: float | None = None


@dataclass(frozen=True)
class LadderView:
    """Rungs and the steps between them, on a scale from 0 to ``top`` volts.

    The drops' own scale is the same, ``enlarged`` so many times.
    """

    rungs: tuple[RungRow, ...]
    steps: tuple[StepRow, ...]
    top: int
    enlarged: int

    def part(self, volts_there: float) -> float:
        """Return where a post's volts lie on the scale, from 0 to 1 and beyond."""
        return volts_there / self.top

    def drop_part(self, volts_lost: float) -> float:
        """Return where a drop lies on the enlarged scale, from 0 to 1 and beyond."""
        return volts_lost * self.enlarged / self.top

    @property
    def scale_words(self) -> str:
        """Both scales in words."""
        posts = f"Posts: 0 to {self.top} V."
        if self.enlarged == 1:
            return f"{posts} Drops: the same scale."
        enlarged = f"{self.enlarged} times enlarged, 0 to {self.top / self.enlarged:g} V"
        return f"{posts} Drops: {enlarged}."


def ladder_view(now: Ladder, then: Ladder | None) -> LadderView:
    """Put today's ladder beside that of the commissioning."""
    earlier = {rung.post: rung.potential_v for rung in then.rungs} if then else {}
    rungs = tuple(
        RungRow(rung.post, rung.potential_v, rung.low, rung.high, earlier.get(rung.post))
        for rung in now.rungs
    )
    steps = tuple(
        _of_run(now.drop(part), then.drop(part) if then else None)
        if isinstance(part, Run)
        else _of_part(part, now.rungs[i], now.rungs[i + 1])
        for i, part in enumerate(_BETWEEN)
    )
    top = ceil(_AIR * max([_LEAST_TOP, *_known(rungs)]))
    largest = max([0.0, *_known(steps)])
    enlarged = next((by for by in _ENLARGED if largest * by <= top), 1)
    return LadderView(rungs, steps, top, enlarged)


def _of_run(drop: RunDrop, then: RunDrop | None) -> StepRow:
    name = drop.run.full_name
    if drop.drop_v is None:
        return StepRow(f"{name}: not read", "", drop.grade, None, drop.low, drop.high)
    if drop.origin is Origin.TOGETHER and drop.partner:
        name = f"{name} and {drop.partner.full_name.split()[1]} together"
    mark = GRADE_MARKS[drop.grade]
    words = f"{name}: {_dropped(drop, drop.drop_v)}, {mark.word}"
    band = f"should be {limits(DROP_ACROSS[drop.run], drop.low, drop.high, drop.drop_v)}"
    was, earlier = "", None
    if then is not None and then.drop_v is not None and then.origin is drop.origin:
        was, earlier = f"; was {_dropped(then, then.drop_v)}", then.drop_v
    said = f"{words} ({band}{was})"
    return StepRow(said, mark.sign or "", drop.grade, drop.drop_v, drop.low, drop.high, earlier)


def _dropped(drop: RunDrop, volts_lost: Volt) -> str:
    write = as_read if drop.origin is Origin.READ else worked_out
    return write(DROP_ACROSS[drop.run], volts_lost)


def _of_part(name: str, above: Rung, below: Rung) -> StepRow:
    if above.potential_v is None or below.potential_v is None:
        return StepRow(name)
    across = abs(above.potential_v - below.potential_v)
    verb = "lifts or lowers by" if name == "charger" else "holds"
    return StepRow(f"{name} {verb} {volts(across)}")


def _known(rows: tuple[RungRow, ...] | tuple[StepRow, ...]) -> list[float]:
    """Return every volt that is to be drawn of these rows."""
    return [
        volts
        for row in rows
        for volts in (row.now if isinstance(row, RungRow) else row.drop, row.high, row.then)
        if volts is not None
    ]
