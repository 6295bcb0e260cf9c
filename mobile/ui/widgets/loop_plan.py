"""Where everything of the fault-finding picture lies, in dp, for a picture of any size. No Kivy.

Always the same picture: start battery left, charger in the middle, house battery right, feeds
along the top of them, returns along the bottom, signal, panel and loads above. Everything that
can be tapped has a square of 48 dp or more, every text a slot of its own, and no two of these
overlap at any size from :func:`least_height` up.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from logic.vehicle.points import Point, Post, Run
from mobile.ui.widgets.rect import Place, Rect

TOUCH = 48.0
POST = 15.0  # radius of a drawn post
CLAMP = 11.0  # of a clamp's ring
_HALF = TOUCH / 2
LOADS = "house_loads"


@dataclass(frozen=True)
class Target:
    """What a touch can mean: a post, a clamp's place, or a part; ``id`` names it."""

    kind: Literal["post", "clamp", "part"]
    id: str
    rect: Rect


@dataclass(frozen=True)
class RunPlan:
    """A run's straight way, in its current's direction, and the slots of its volts and word.

    ``gap`` is the part of the way where a break is drawn, clear of fuse and clamp.
    """

    run: Run
    start: Place
    end: Place
    volts: Rect
    word: Rect
    gap: tuple[float, float] = (0.42, 0.58)
    fuse: Place | None = None


@dataclass
class LoopPlan:
    """The whole picture; ``lines`` are plain wires, ``values`` the slots of readings by point."""

    width: float
    height: float
    posts: dict[Post, Place] = field(default_factory=dict)
    clamps: dict[str, Place] = field(default_factory=dict)
    parts: dict[str, Rect] = field(default_factory=dict)
    names: dict[str, Rect] = field(default_factory=dict)
    values: dict[Point, Rect] = field(default_factory=dict)
    runs: dict[Run, RunPlan] = field(default_factory=dict)
    lines: list[tuple[Place, ...]] = field(default_factory=list)
    earths: list[Place] = field(default_factory=list)

    def targets(self) -> Iterator[Target]:
        """Yield what can be tapped, posts and clamps first."""
        for post, place in self.posts.items():
            yield Target("post", post, Rect.around(place, TOUCH, TOUCH))
        for clamp, place in self.clamps.items():
            yield Target("clamp", clamp, Rect.around(place, TOUCH, TOUCH))
        for part, rect in self.parts.items():
            yield Target("part", part, rect)

    def target_at(self, place: Place) -> Target | None:
        """Return what a touch at a place means."""
        return next((target for target in self.targets() if target.rect.holds(place)), None)

    def slots(self) -> Iterator[Rect]:
        """Yield the slot of every text."""
        yield from self.names.values()
        yield from self.values.values()
        for run in self.runs.values():
            yield run.volts
            yield run.word


def least_height(solar: bool) -> float:
    """Return the height under which the picture would get crowded."""
    return 432.0 if solar else 376.0


def lay_out(width: float, height: float, solar: bool) -> LoopPlan:
    """Lay the picture out in a width and a height; a smaller height is taken as the least."""
    plan = LoopPlan(width, max(height, least_height(solar)))
    grid = _Grid(plan.width / 360.0, plan.height / 420.0)
    _bodies(plan, grid)
    _vehicle_side(plan, grid)
    _house_side(plan, grid, solar)
    _returns(plan, grid)
    _signal(plan, grid)
    if solar:
        _panel(plan, grid)
    return plan


@dataclass(frozen=True)
class _Grid:
    """Columns and rows of the picture as drawn on 360 x 420."""

    wide: float
    high: float

    def x(self, column: float) -> float:
        return column * self.wide

    def y(self, row: float) -> float:
        return row * self.high

    def at(self, column: float, row: float) -> Place:
        return self.x(column), self.y(row)


_TOP, _TERMINALS, _FEED, _BODY_TOP, _BODY_END, _BACK = 390.0, 324.0, 226.0, 172.0, 82.0, 44.0
_START, _IN, _MIDDLE, _OUT, _HOUSE = 30.0, 138.0, 180.0, 222.0, 330.0


def _bodies(plan: LoopPlan, grid: _Grid) -> None:
    for part, left, right in (
        ("start_battery", 4, 104),
        ("charger", 114, 246),
        ("house_battery", 256, 356),
    ):
        body = Rect.between(grid.x(left), grid.y(_BODY_END), grid.x(right), grid.y(_BODY_TOP))
        plan.parts[part] = body
        # A battery's name may take two lines; the charger has two values under its name.
        split = body.y + body.height * (0.68 if part == "charger" else 0.46)
        plan.names[part] = Rect.between(body.x + 3, split, body.right - 3, body.top - 2)
    _body_values(plan)


def _body_values(plan: LoopPlan) -> None:
    start, charger, house = (plan.parts[p] for p in ("start_battery", "charger", "house_battery"))
    plan.values[Point.START_BATTERY_VOLTAGE] = _lower(start, start.x, start.right)
    plan.values[Point.HOUSE_BATTERY_VOLTAGE] = _lower(house, house.x, house.right)
    row = charger.height * 0.33
    for level, point in enumerate((Point.CHARGER_OUTPUT_VOLTAGE, Point.CHARGER_INPUT_VOLTAGE)):
        bottom = charger.y + 1 + level * row
        plan.values[point] = Rect.between(charger.x + 3, bottom, charger.right - 3, bottom + row)


def _lower(body: Rect, left: float, right: float) -> Rect:
    return Rect.between(left + 2, body.y + 3, right - 2, body.y + body.height * 0.44)


def _vehicle_side(plan: LoopPlan, grid: _Grid) -> None:
    feed = grid.y(_FEED)
    plan.posts[Post.START_BATTERY_POSITIVE] = grid.at(_START, _FEED)
    plan.posts[Post.CHARGER_INPUT] = grid.at(_IN, _FEED)
    plan.clamps[Run.VEHICLE_FEED] = grid.at(84, _FEED)
    for column in (_START, _IN):
        plan.lines.append((grid.at(column, _FEED), grid.at(column, _BODY_TOP)))
    free = Rect.between(3, feed + _HALF + 2, grid.x(_IN) - 20, grid.y(_TERMINALS) - 4)
    plan.runs[Run.VEHICLE_FEED] = _feed_plan(
        Run.VEHICLE_FEED, (grid.at(_START, _FEED), grid.at(_IN, _FEED)), free, (0.66, 0.8)
    )
    plan.values[Point.INPUT_CURRENT] = _under_clamp(grid.at(84, _FEED), grid.y(_BODY_TOP))


def _under_clamp(clamp: Place, body_top: float) -> Rect:
    return Rect.between(clamp[0] - 34, body_top + 3, clamp[0] + 28, clamp[1] - _HALF - 1)


def _feed_plan(run: Run, way: tuple[Place, Place], free: Rect, gap: tuple[float, float]) -> RunPlan:
    # The volts stand next the wire, the word above them.
    part = min(26.0, free.height * 0.55)
    volts = Rect.between(free.x, free.y, free.right, free.y + part)
    word = Rect.between(free.x, free.y + part, free.right, min(free.top, free.y + part + 22))
    # The fuse sits near the battery, at the other end than the gap.
    (x0, level), (x1, _) = way
    fuse = (x0 + (x1 - x0) * (0.23 if gap[0] > 0.5 else 0.77), level)
    return RunPlan(run, *way, volts, word, gap, fuse)


def _house_side(plan: LoopPlan, grid: _Grid, solar: bool) -> None:
    feed = grid.y(_FEED)
    plan.posts[Post.CHARGER_OUTPUT] = grid.at(_OUT, _FEED)
    plan.posts[Post.HOUSE_BATTERY_POSITIVE] = grid.at(_HOUSE, _FEED)
    plan.clamps[Run.HOUSE_FEED] = grid.at(276, _FEED)
    for column in (_OUT, _HOUSE):
        plan.lines.append((grid.at(column, _FEED), grid.at(column, _BODY_TOP)))
    above = grid.y(_TERMINALS) - (_HALF + 2 if solar else 4)
    free = Rect.between(grid.x(250), feed + _HALF + 2, grid.x(360) - _HALF - 4, above)
    plan.runs[Run.HOUSE_FEED] = _feed_plan(
        Run.HOUSE_FEED, (grid.at(_OUT, _FEED), grid.at(_HOUSE, _FEED)), free, (0.2, 0.34)
    )
    plan.values[Point.OUTPUT_CURRENT] = _under_clamp(grid.at(276, _FEED), grid.y(_BODY_TOP))
    _loads(plan, grid)


def _loads(plan: LoopPlan, grid: _Grid) -> None:
    top = grid.y(_TOP)
    box = Rect.between(grid.x(290), top - _HALF, grid.x(356), top + _HALF)
    plan.parts["house_loads"] = box
    _named_with_value(plan, "house_loads", Point.HOUSE_LOAD_CURRENT)
    line = grid.x(360) - _HALF - 1
    clamp = (line, grid.y(_TERMINALS))
    plan.clamps[LOADS] = clamp
    plan.lines.append(((line, grid.y(_FEED)), (line, clamp[1]), (line, box.y)))


def _named_with_value(plan: LoopPlan, part: str, point: Point) -> None:
    box = plan.parts[part]
    half = box.centre[1]
    plan.names[part] = Rect.between(box.x + 2, half, box.right - 2, box.top - 2)
    plan.values[point] = Rect.between(box.x + 2, box.y + 2, box.right - 2, half)


def _returns(plan: LoopPlan, grid: _Grid) -> None:
    places = {
        Post.START_BATTERY_NEGATIVE: grid.at(54, _BACK),
        Post.CHARGER_NEGATIVE: grid.at(_MIDDLE, _BACK),
        Post.HOUSE_BATTERY_NEGATIVE: grid.at(306, _BACK),
    }
    plan.posts.update(places)
    for place in places.values():
        plan.lines.append((place, (place[0], grid.y(_BODY_END))))
    start, middle, house = places.values()
    plan.runs[Run.VEHICLE_RETURN] = _return_plan(plan, Run.VEHICLE_RETURN, (middle, start), grid)
    plan.runs[Run.HOUSE_RETURN] = _return_plan(plan, Run.HOUSE_RETURN, (house, middle), grid)


def _return_plan(plan: LoopPlan, run: Run, way: tuple[Place, Place], grid: _Grid) -> RunPlan:
    (right, level), (left, _) = way
    edges = left + _HALF + 1, right - _HALF - 1
    volts = Rect.between(edges[0], level + 10, edges[1], grid.y(_BODY_END) - 2)
    word = Rect.between(edges[0], 1, edges[1], level - 10)
    return RunPlan(run, *way, volts, word)


def _signal(plan: LoopPlan, grid: _Grid) -> None:
    top, level = grid.y(_TOP), grid.y(_TERMINALS)
    box = Rect.between(grid.x(4), top - _HALF, grid.x(88), top + _HALF)
    plan.parts["ignition_source"] = box
    plan.names["ignition_source"] = Rect.around(box.centre, box.width - 4, box.height - 4)
    terminal = (grid.x(150), level)
    plan.posts[Post.IGNITION_TERMINAL] = terminal
    plan.lines.append(((box.right, top), (terminal[0], top), terminal))
    down = grid.x(171)
    bend = level - _HALF - 4
    plan.lines.append((terminal, (terminal[0], bend), (down, bend), (down, grid.y(_BODY_TOP))))
    plan.values[Point.IGNITION_SIGNAL_VOLTAGE] = Rect.between(
        grid.x(56), level - 2, terminal[0] - _HALF - 1, level + 24
    )


def _panel(plan: LoopPlan, grid: _Grid) -> None:
    top, level = grid.y(_TOP), grid.y(_TERMINALS)
    box = Rect.between(grid.x(106), top - _HALF, grid.x(182), top + _HALF)
    # The signal's wire comes up left of the panel.
    plan.lines[-2] = (
        (grid.x(88), top),
        (grid.x(96), top),
        (grid.x(96), level + 30),
        (grid.x(150), level + 30),
        (grid.x(150), level),
    )
    plan.parts["solar_panel"] = box
    _named_with_value(plan, "solar_panel", Point.SOLAR_OPEN_CIRCUIT_VOLTAGE)
    minus, plus = (grid.x(210), top), (grid.x(261), top)
    terminal, clamp = (grid.x(204), level), (grid.x(260), level)
    plan.posts[Post.PANEL_LEAD_NEGATIVE] = minus
    plan.posts[Post.PANEL_LEAD_POSITIVE] = plus
    plan.posts[Post.SOLAR_TERMINAL] = terminal
    plan.clamps[Run.SOLAR_FEED] = clamp
    plan.lines += [
        ((box.right, top), minus),
        (plus, clamp, terminal, (terminal[0], level - _HALF - 4), (grid.x(189), level - _HALF - 4),
         (grid.x(189), grid.y(_BODY_TOP))),
    ]  # fmt: skip
    beside = Rect.between(grid.x(192), grid.y(_FEED) + _HALF + 2, grid.x(248), level - _HALF - 6)
    half = beside.centre[1]
    plan.values[Point.SOLAR_INPUT_VOLTAGE] = Rect.between(beside.x, half, beside.right, beside.top)
    plan.values[Point.SOLAR_CURRENT] = Rect.between(beside.x, beside.y, beside.right, half)
