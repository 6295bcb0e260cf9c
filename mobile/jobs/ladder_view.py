"""The voltage ladder as rows: a rung for each post, a step between them. No Kivy."""

from collections.abc import Iterable
from dataclasses import dataclass

from logic.diagram.patterns import GRADE_MARKS
from logic.limits.ladder import Grade, Ladder, Origin, RunDrop, Rung
from logic.quantities import Volt
from logic.vehicle.points import DROP_ACROSS, Post, Run
from logic.words.figures import as_read, limits, volts, worked_out

POSITIVES = 4
# What lies between a rung and the next one: a run, or a part by its name.
_BETWEEN: tuple[Run | str, ...] = (
    Run.VEHICLE_FEED,
    "charger",
    Run.HOUSE_FEED,
    "house battery",
    Run.HOUSE_RETURN,
    Run.VEHICLE_RETURN,
)
_AIR = 1.15
_LEAST_SPAN = 0.6


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
    """What lies between two posts, in words with a sign; ``grade`` is None for a part."""

    words: str
    sign: str = ""
    grade: Grade | None = None


@dataclass(frozen=True)
class LadderView:
    """Rungs and the steps between them; both windows are equally many volts wide."""

    rungs: tuple[RungRow, ...]
    steps: tuple[StepRow, ...]
    upper: tuple[float, float]
    lower: tuple[float, float]

    def part(self, index: int, volts: float) -> float:
        """Return where volts lie in a rung's window, from 0 to 1 and beyond."""
        low, high = self.upper if index < POSITIVES else self.lower
        return (volts - low) / (high - low)


def ladder_view(now: Ladder, then: Ladder | None) -> LadderView:
    """Put today's ladder beside that of the commissioning."""
    earlier = {rung.post: rung.potential_v for rung in then.rungs} if then else {}
    rungs = tuple(
        RungRow(rung.post, rung.potential_v, rung.low, rung.high, earlier.get(rung.post))
        for rung in now.rungs
    )
    upper, lower = _windows(rungs)
    steps = tuple(
        _of_run(now.drop(part), then.drop(part) if then else None)
        if isinstance(part, Run)
        else _of_part(part, now.rungs[i], now.rungs[i + 1])
        for i, part in enumerate(_BETWEEN)
    )
    return LadderView(rungs, steps, upper, lower)


def _of_run(drop: RunDrop, then: RunDrop | None) -> StepRow:
    name = drop.run.full_name
    if drop.drop_v is None:
        return StepRow(f"{name}: not read", "", drop.grade)
    if drop.origin is Origin.TOGETHER and drop.partner:
        name = f"{name} and {drop.partner.full_name.split()[1]} together"
    mark = GRADE_MARKS[drop.grade]
    words = f"{name}: {_dropped(drop, drop.drop_v)}, {mark.word}"
    band = f"should be {limits(DROP_ACROSS[drop.run], drop.low, drop.high, drop.drop_v)}"
    was = ""
    if then is not None and then.drop_v is not None and then.origin is drop.origin:
        was = f"; was {_dropped(then, then.drop_v)}"
    return StepRow(f"{words} ({band}{was})", mark.sign or "", drop.grade)


def _dropped(drop: RunDrop, volts_lost: Volt) -> str:
    write = as_read if drop.origin is Origin.READ else worked_out
    return write(DROP_ACROSS[drop.run], volts_lost)


def _of_part(name: str, above: Rung, below: Rung) -> StepRow:
    if above.potential_v is None or below.potential_v is None:
        return StepRow(name)
    across = abs(above.potential_v - below.potential_v)
    verb = "lifts or lowers by" if name == "charger" else "holds"
    return StepRow(f"{name} {verb} {volts(across)}")


def _windows(
    rungs: tuple[RungRow, ...],
) -> tuple[tuple[float, float], tuple[float, float]]:
    upper, lower = _ends(rungs[:POSITIVES]), _ends(rungs[POSITIVES:])
    span = _AIR * max(upper[1] - upper[0], lower[1] - lower[0], _LEAST_SPAN)
    return _widened(upper, span), _widened(lower, span)


def _ends(rungs: Iterable[RungRow]) -> tuple[float, float]:
    known = [
        volts
        for rung in rungs
        for volts in (rung.now, rung.low, rung.high, rung.then)
        if volts is not None
    ]
    return (min(known), max(known)) if known else (0.0, 0.0)


def _widened(ends: tuple[float, float], span: float) -> tuple[float, float]:
    middle = (ends[0] + ends[1]) / 2
    return middle - span / 2, middle + span / 2
