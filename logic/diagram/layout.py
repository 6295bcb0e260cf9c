"""Where everything of the circuit's picture lies, in units, for a picture of any size.

Always the same picture, so that it is recognised: start battery left, charger in the middle,
house battery right, feeds along the top of them, returns along the bottom, signal, panel and
loads above. A second unit beside the first has a band of its own under all that, and the picture is
so much higher. A higher or wider picture only stretches it; what is not fitted is left out and
nothing else moves against the rest.

From :func:`touch_height` up, everything that can be touched has a square of 48 units or more.
A lower picture is one to look at: its marks come closer together, and a slot in which no text
could be read is left out. No two slots, squares or marks overlap at any size.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Literal

from logic.diagram.geometry import XY, Rect
from logic.vehicle.installation import Extra
from logic.vehicle.points import Lead, Part, Point, Post, Run

TOUCH = 48.0
LEAST_HEIGHT = 150.0
LEAST_WIDTH = 320.0
LEAST_SLOT = (44.0, 18.0)
"""Width and height under which a value is left out."""

FLAG, ARROW = 18.0, 12.0
"""Sides of a probe's flag and length of a clamp's arrow."""

_POST, _CLAMP = 15.0, 11.0
_HALO = 6.0  # how far the ring round a marked post reaches beyond it
_FULL_HEIGHT = 210.0  # from here up posts and clamps are drawn in their full size
_BAND = 112.0  # the second unit's, under the rest
_SWITCH = (8.0, 14.0)  # an isolator's
FUSE = (14.0, 9.0)  # sides of a fuse
_PLUG = (9.0, 15.0)
_SOURCE, _LEAST_SOURCE = 17.0, 11.0  # sides of its square

SOURCES = (Extra.MAINS_CHARGER, Extra.SOLAR_REGULATOR)
"""What may charge the house battery beside the units, lowest first."""


@dataclass(frozen=True)
class Target:
    """What a touch can mean: a post, a lead where a clamp goes round it, or a part."""

    kind: Literal["post", "clamp", "part"]
    what: Post | Run | Part | Lead
    rect: Rect


@dataclass(frozen=True)
class RunLayout:
    """A run's straight way, in its current's direction, and the slots of its volts and word.

    ``gap`` is the part of the way where a break is drawn, clear of fuse and clamp.
    """

    run: Run
    start: XY
    end: XY
    volts: Rect | None
    word: Rect | None
    gap: tuple[float, float] = (0.42, 0.58)
    fuse: XY | None = None


@dataclass(frozen=True)
class ClampLayout:
    """Where a clamp goes round a lead: the ring's middle, and the arrow of positive current.

    ``tip`` is the arrow's point; it flies in the direction of ``towards``.
    """

    xy: XY
    tip: XY
    towards: XY


@dataclass
class Layout:
    """The whole picture; ``lines`` are plain wires, ``values`` the slots of readings by point."""

    width: float
    height: float
    has_solar: bool
    has_second_unit: bool = False
    posts: dict[Post, XY] = field(default_factory=dict)
    flags: dict[Post, Rect] = field(default_factory=dict)
    clamps: dict[Run | Part | Lead, ClampLayout] = field(default_factory=dict)
    parts: dict[Part, Rect] = field(default_factory=dict)
    names: dict[Part, Rect] = field(default_factory=dict)
    values: dict[Point, Rect] = field(default_factory=dict)
    runs: dict[Run, RunLayout] = field(default_factory=dict)
    lines: list[tuple[XY, ...]] = field(default_factory=list)
    switches: dict[Run, Rect] = field(default_factory=dict)
    """Where an isolator in a feed is drawn, if there is room and one is fitted."""
    plug: Rect | None = None
    """Where the trailer's plug and socket are drawn, if there are any."""
    sources: dict[Extra, Rect] = field(default_factory=dict)
    """Where what else charges the house battery is drawn, if there is room."""

    @property
    def is_touchable(self) -> bool:
        """Whether there is room for a fingertip at everything that has a meaning."""
        least = touch_height(self.has_solar, self.has_second_unit)
        return self.height >= least and self.width >= LEAST_WIDTH

    @property
    def scale(self) -> float:
        """How large posts and clamps are drawn: 1 unless the picture is very low."""
        band = _band(self.height) if self.has_second_unit else 0.0
        return min(1.0, (self.height - band) / _FULL_HEIGHT)

    @property
    def post(self) -> float:
        """A post's radius."""
        return _POST * self.scale

    @property
    def clamp(self) -> float:
        """A clamp ring's radius."""
        return _CLAMP * self.scale

    @property
    def halo(self) -> float:
        """The radius of the ring round a marked post."""
        return self.post + _HALO * self.scale

    @property
    def reach(self) -> float:
        """How far from a post's or a clamp's middle everything else keeps away."""
        return FLAG + _HALO * self.scale

    def targets(self) -> Iterator[Target]:
        """Yield what can be touched, posts and clamps first; nothing where it is too low."""
        if not self.is_touchable:
            return
        for post, xy in self.posts.items():
            yield Target("post", post, Rect.around(xy, TOUCH, TOUCH))
        for clamp, layout in self.clamps.items():
            yield Target("clamp", clamp, Rect.around(layout.xy, TOUCH, TOUCH))
        for part, rect in self.parts.items():
            yield Target("part", part, rect)

    def target_at(self, xy: XY) -> Target | None:
        """Return what a touch means."""
        return next((target for target in self.targets() if target.rect.holds(xy)), None)

    def marks_of(self, point: Point) -> Rect | None:
        """Return what holds the marks of a reading: its posts, its clamp, or its part."""
        marked = [self.posts[post] for post in (point.red, point.black) if post in self.posts]
        if point.clamp_on in self.clamps:
            marked.append(self.clamps[point.clamp_on].xy)
        if not marked:
            return self.parts.get(point.part) if point.part else None
        return Rect.between(
            min(x for x, _ in marked) - self.reach,
            min(y for _, y in marked) - self.reach,
            max(x for x, _ in marked) + self.reach,
            max(y for _, y in marked) + self.reach,
        )

    def has_clamp_of(self, point: Point) -> bool:
        """Tell whether the lead that a reading's clamp goes round is drawn."""
        return point.clamp_on in self.clamps

    def slots(self) -> Iterator[Rect]:
        """Yield the slot of every text."""
        yield from self.names.values()
        yield from self.values.values()
        for run in self.runs.values():
            yield from (slot for slot in (run.volts, run.word) if slot)


def touch_height(has_solar: bool, has_second_unit: bool = False) -> float:
    """Return the height from which everything can be touched.

    Returns
    -------
    unit
    """
    return (432.0 if has_solar else 376.0) + (_BAND if has_second_unit else 0.0)


def least_height(has_second_unit: bool = False) -> float:
    """Return the least height that the picture has.

    Returns
    -------
    unit
    """
    return LEAST_HEIGHT * (1 + has_second_unit * _BAND / _FULL_HEIGHT)


def _band(height: float) -> float:
    """Return how much of a picture's height is the second unit's band."""
    return min(_BAND, height * _BAND / (_FULL_HEIGHT + _BAND))


def lay_out(
    width: float,
    height: float,
    has_solar: bool,
    has_second_unit: bool = False,
    isolators: Collection[Run] = (),
    plug_in: Run | None = None,
    sources: Collection[Extra] = (),
) -> Layout:
    """Lay the picture out.

    Parameters
    ----------
    width, height : unit
        Of the picture; less than the least of either is taken as that.
    has_solar
        Whether a panel is fitted.
    has_second_unit
        Whether a second unit is fitted beside the first.
    isolators
        The feeds with an isolator switch.
    plug_in
        The feed that goes through a trailer's plug.
    sources
        What charges the house battery beside the unit: a regulator, a mains charger.
    """
    height = max(height, least_height(has_second_unit))
    layout = Layout(max(width, LEAST_WIDTH), height, has_solar, has_second_unit)
    band = _band(height) if has_second_unit else 0.0
    grid = _Grid(layout.width / 360.0, (height - band) / 420.0, band)
    _bodies(layout, grid)
    _vehicle_side(layout, grid)
    _house_side(layout, grid)
    _loads(layout, grid)
    _returns(layout, grid)
    _signal(layout, grid)
    if has_solar:
        _panel(layout, grid)
    if has_second_unit:
        _second_unit(layout, grid)
    _switches(layout, grid, isolators)
    if plug_in is not None:
        layout.plug = _plug(layout, plug_in)
    _sources(layout, grid, sources)
    _flags(layout)
    return layout


@dataclass(frozen=True)
class _Grid:
    """Columns and rows of the picture as drawn on 360 x 420, ``base`` over its lower edge."""

    wide: float
    high: float
    base: float

    def x(self, column: float) -> float:
        return column * self.wide

    def y(self, row: float) -> float:
        return self.base + row * self.high

    def at(self, column: float, row: float) -> XY:
        return self.x(column), self.y(row)


_TOP, _TERMINALS, _FEED, _BODY_TOP, _BODY_END, _BACK = 390.0, 324.0, 226.0, 172.0, 82.0, 44.0
_START, _IN, _MIDDLE, _OUT, _HOUSE = 30.0, 138.0, 180.0, 222.0, 330.0
_RIGHT, _LEFT, _UP = (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0)


def _fits(slot: Rect) -> bool:
    return slot.width >= LEAST_SLOT[0] and slot.height >= LEAST_SLOT[1]


def _bodies(layout: Layout, grid: _Grid) -> None:
    for part, left, right in (
        (Part.START_BATTERY, 4, 104),
        (Part.CHARGER, 114, 246),
        (Part.HOUSE_BATTERY, 256, 356),
    ):
        body = Rect.between(grid.x(left), grid.y(_BODY_END), grid.x(right), grid.y(_BODY_TOP))
        layout.parts[part] = body
    _battery_texts(layout, Part.START_BATTERY, Point.START_BATTERY_VOLTAGE)
    _battery_texts(layout, Part.HOUSE_BATTERY, Point.HOUSE_BATTERY_VOLTAGE)
    _charger_texts(layout)


def _battery_texts(layout: Layout, part: Part, point: Point) -> None:
    # The name may take two lines.
    body = layout.parts[part]
    lower = Rect.between(body.x + 2, body.y + 3, body.right - 2, body.y + body.height * 0.44)
    _named(layout, part, {point: lower}, body.y + body.height * 0.46)


def _charger_texts(layout: Layout) -> None:
    # Lowest first: what the unit is set to stands under its name, where there is room for it.
    volts = (Point.CHARGER_OUTPUT_VOLTAGE, Point.CHARGER_INPUT_VOLTAGE)
    body = layout.parts[Part.CHARGER]
    with_setting = (*volts, Point.PROFILE_SETTING_VOLTAGE)
    points = with_setting if body.height / 4 >= LEAST_SLOT[1] + 1 else volts
    row = (body.height - 2) / (len(points) + 1)
    slots = {
        point: Rect(body.x + 3, body.y + 1 + i * row, body.width - 6, row)
        for i, point in enumerate(points)
    }
    _named(layout, Part.CHARGER, slots, body.y + 1 + len(points) * row)


def _named(layout: Layout, part: Part, values: dict[Point, Rect], split: float) -> None:
    """Give a part's name its slot above its values, or all of the body where they do not fit."""
    body = layout.parts[part]
    name = Rect.between(body.x + 3, split, body.right - 3, body.top - 1)
    if all(map(_fits, (name, *values.values()))):
        layout.values.update(values)
    else:
        name = Rect.between(name.x, body.y + 1, name.right, name.top)
    layout.names[part] = name


def _vehicle_side(layout: Layout, grid: _Grid) -> None:
    start, terminal, clamp = (grid.at(column, _FEED) for column in (_START, _IN, 84))
    layout.posts[Post.START_BATTERY_POSITIVE] = start
    layout.posts[Post.CHARGER_INPUT] = terminal
    layout.clamps[Run.VEHICLE_FEED] = _clamp(layout, clamp, _RIGHT, is_after=True)
    for x, y in (start, terminal):
        layout.lines.append(((x, y), (x, grid.y(_BODY_TOP))))
    above = Rect.between(3, start[1] + layout.reach + 2, terminal[0] - 20, grid.y(_TERMINALS) - 4)
    _feed(layout, Run.VEHICLE_FEED, (start, terminal), above, (0.66, 0.8))
    _under_clamp(layout, Point.INPUT_CURRENT, clamp, grid)


def _clamp(layout: Layout, xy: XY, towards: XY, *, is_after: bool) -> ClampLayout:
    """Place a clamp's arrow behind its ring or before it, where the lead has more room."""
    along = layout.clamp + 4 + ARROW if is_after else -layout.clamp - 4
    return ClampLayout(xy, (xy[0] + along * towards[0], xy[1] + along * towards[1]), towards)


def _under_clamp(layout: Layout, point: Point, clamp: XY, grid: _Grid) -> None:
    # Between the two posts' wires.
    half = grid.x(49)
    slot = Rect.between(
        clamp[0] - half, grid.y(_BODY_TOP) + 3, clamp[0] + half, clamp[1] - layout.reach - 1
    )
    if _fits(slot):
        layout.values[point] = slot


def _feed(
    layout: Layout, run: Run, way: tuple[XY, XY], above: Rect, gap: tuple[float, float]
) -> None:
    # The fuse sits near the battery, at the other end than the gap.
    (x0, level), (x1, _) = way
    fuse = (x0 + (x1 - x0) * (0.23 if gap[0] > 0.5 else 0.77), level)
    volts, word = _volts_and_word(above)
    layout.runs[run] = RunLayout(run, *way, volts, word, gap, fuse)


def _volts_and_word(above: Rect) -> tuple[Rect | None, Rect | None]:
    """Part the room over a feed: the volts next to the wire, the word above them."""
    least = LEAST_SLOT[1]
    if not _fits(above):
        return None, None
    part = min(26.0, above.height * 0.55 if above.height >= 2 * least else above.height)
    volts = Rect(above.x, above.y, above.width, max(part, least))
    word = Rect.between(above.x, volts.top, above.right, min(above.top, volts.top + 22))
    return volts, word if _fits(word) else None


def _house_side(layout: Layout, grid: _Grid) -> None:
    terminal, house, clamp = (grid.at(column, _FEED) for column in (_OUT, _HOUSE, 276))
    layout.posts[Post.CHARGER_OUTPUT] = terminal
    layout.posts[Post.HOUSE_BATTERY_POSITIVE] = house
    layout.clamps[Run.HOUSE_FEED] = _clamp(layout, clamp, _RIGHT, is_after=False)
    for x, y in (terminal, house):
        layout.lines.append(((x, y), (x, grid.y(_BODY_TOP))))
    # With a panel its lead's clamp lies over this run, and its readings beside it.
    under = layout.reach + 2 if layout.has_solar else 4
    above = Rect.between(
        grid.x(254 if layout.has_solar else 215),
        terminal[1] + layout.reach + 2,
        _loads_line(layout, grid) - layout.clamp - 2,
        grid.y(_TERMINALS) - under,
    )
    _feed(layout, Run.HOUSE_FEED, (terminal, house), above, (0.2, 0.34))
    _under_clamp(layout, Point.OUTPUT_CURRENT, clamp, grid)


def _loads_line(layout: Layout, grid: _Grid) -> float:
    return min(grid.x(335), layout.width - TOUCH / 2 - 1)


def _upper_box(layout: Layout, grid: _Grid, part: Part, left: float, right: float) -> Rect:
    """Place one of the boxes along the upper edge."""
    top = grid.y(_TOP)
    half = min(TOUCH / 2, layout.height - top)
    box = Rect.between(grid.x(left), top - half, grid.x(right), top + half)
    layout.parts[part] = box
    return box


def _loads(layout: Layout, grid: _Grid) -> None:
    box = _upper_box(layout, grid, Part.HOUSE_LOADS, 294, 356)
    _named_in_box(layout, Part.HOUSE_LOADS, Point.HOUSE_LOAD_CURRENT)
    x = _loads_line(layout, grid)
    clamp = (x, grid.y(_TERMINALS))
    layout.clamps[Part.HOUSE_LOADS] = _clamp(layout, clamp, _UP, is_after=False)
    layout.lines.append(((x, grid.y(_FEED)), clamp, (x, box.y)))


def _named_in_box(layout: Layout, part: Part, point: Point) -> None:
    box = layout.parts[part]
    middle = box.centre[1]
    value = Rect.between(box.x + 1, box.y + 2, box.right - 1, middle)
    _named(layout, part, {point: value}, middle)


def _returns(layout: Layout, grid: _Grid) -> None:
    positions = {
        Post.START_BATTERY_NEGATIVE: grid.at(54, _BACK),
        Post.CHARGER_NEGATIVE: grid.at(_MIDDLE, _BACK),
        Post.HOUSE_BATTERY_NEGATIVE: grid.at(306, _BACK),
    }
    layout.posts.update(positions)
    for x, y in positions.values():
        layout.lines.append(((x, y), (x, grid.y(_BODY_END))))
    start, middle, house = positions.values()
    _return(layout, Run.VEHICLE_RETURN, (middle, start), grid)
    _return(layout, Run.HOUSE_RETURN, (house, middle), grid)


def _return(layout: Layout, run: Run, way: tuple[XY, XY], grid: _Grid) -> None:
    (right, level), (left, _) = way
    left, right = left + layout.reach + 1, right - layout.reach - 1
    over = Rect.between(left, level + 10, right, grid.y(_BODY_END) - 2)
    under = Rect.between(left, grid.base + 1, right, level - 10)
    volts, word, *_ = *filter(_fits, (over, under)), None, None
    layout.runs[run] = RunLayout(run, *way, volts, word)


def _signal(layout: Layout, grid: _Grid) -> None:
    box = _upper_box(layout, grid, Part.IGNITION_SOURCE, 4, 88)
    layout.names[Part.IGNITION_SOURCE] = Rect.around(box.centre, box.width - 4, box.height - 2)
    top, terminal = box.centre[1], grid.at(150, _TERMINALS)
    x, level = terminal
    layout.posts[Post.IGNITION_TERMINAL] = terminal
    # With a panel the wire comes up left of it.
    bend = min(level + 30, box.y - 4)
    left = grid.x(96)
    layout.lines.append(
        ((box.right, top), (left, top), (left, bend), (x, bend), terminal)
        if layout.has_solar
        else ((box.right, top), (x, top), terminal)
    )
    _into_charger(layout, terminal, grid.x(171), grid)
    ceiling = min(level + 24, (bend if layout.has_solar else box.y) - 2)
    value = Rect.between(grid.x(56), level - 2, x - layout.reach - 1, ceiling)
    if _fits(value):
        layout.values[Point.IGNITION_SIGNAL_VOLTAGE] = value


def _into_charger(layout: Layout, terminal: XY, x: float, grid: _Grid) -> None:
    bend = terminal[1] - layout.reach - 4
    layout.lines.append((terminal, (terminal[0], bend), (x, bend), (x, grid.y(_BODY_TOP))))


def _panel(layout: Layout, grid: _Grid) -> None:
    box = _upper_box(layout, grid, Part.SOLAR_PANEL, 104, 174)
    _named_in_box(layout, Part.SOLAR_PANEL, Point.SOLAR_OPEN_CIRCUIT_VOLTAGE)
    minus, plus = grid.at(203, _TOP), grid.at(259, _TOP)
    terminal, clamp = grid.at(204, _TERMINALS), grid.at(259, _TERMINALS)
    layout.posts[Post.PANEL_LEAD_NEGATIVE] = minus
    layout.posts[Post.PANEL_LEAD_POSITIVE] = plus
    layout.posts[Post.SOLAR_TERMINAL] = terminal
    layout.clamps[Run.SOLAR_FEED] = _clamp(layout, clamp, _LEFT, is_after=True)
    layout.lines += [((box.right, minus[1]), minus), (plus, clamp, terminal)]
    _into_charger(layout, terminal, grid.x(189), grid)
    beside = Rect.between(
        grid.x(191),
        grid.y(_FEED) + layout.reach + 2,
        grid.x(252),
        terminal[1] - layout.reach - 6,
    )
    half = beside.height / 2
    for i, point in enumerate((Point.SOLAR_CURRENT, Point.SOLAR_INPUT_VOLTAGE)):
        slot = Rect(beside.x, beside.y + i * half, beside.width, half)
        if _fits(slot):
            layout.values[point] = slot


def _second_unit(layout: Layout, grid: _Grid) -> None:
    """Draw the second unit under the rest: its feeds round the outside, its returns above it."""
    share = grid.base / _BAND
    level, beside = 32.0 * share, layout.width - 2
    body = Rect.between(grid.x(115), 3, grid.x(245), 61.0 * share)
    layout.parts[Part.SECOND_UNIT] = body
    row = (body.height - 2) / 3
    _named(
        layout,
        Part.SECOND_UNIT,
        {
            point: Rect(body.x + 3, body.y + 1 + i * row, body.width - 6, row)
            for i, point in enumerate(
                (Point.SECOND_UNIT_OUTPUT_VOLTAGE, Point.SECOND_UNIT_INPUT_VOLTAGE)
            )
        },
        body.y + 1 + 2 * row,
    )
    terminal, output = (grid.x(86), level), (grid.x(274), level)
    negative = (grid.x(_MIDDLE), 86.0 * share)
    layout.posts[Post.SECOND_UNIT_INPUT] = terminal
    layout.posts[Post.SECOND_UNIT_OUTPUT] = output
    layout.posts[Post.SECOND_UNIT_NEGATIVE] = negative
    start, house = (
        layout.posts[post] for post in (Post.START_BATTERY_POSITIVE, Post.HOUSE_BATTERY_POSITIVE)
    )
    layout.lines += [
        (start, (2, start[1]), (2, level), (body.x, level)),
        ((body.right, level), (beside, level), (beside, house[1]), house),
        (negative, (negative[0], body.top)),
    ]
    for post in (Post.START_BATTERY_NEGATIVE, Post.HOUSE_BATTERY_NEGATIVE):
        x, y = layout.posts[post]
        layout.lines.append((negative, (x, negative[1]), (x, y)))
    leads = (
        (Lead.SECOND_VEHICLE_FEED, Point.SECOND_UNIT_INPUT_CURRENT, 29.5, True),
        (Lead.SECOND_HOUSE_FEED, Point.SECOND_UNIT_OUTPUT_CURRENT, 330.5, False),
    )
    for lead, point, column, is_after in leads:
        x = grid.x(column)
        layout.clamps[lead] = _clamp(layout, (x, level), _RIGHT, is_after=is_after)
        left, right = (6.0, body.x - 4) if is_after else (body.right + 4, layout.width - 6)
        floor = level + layout.reach + 1
        slot = Rect.between(left, floor, right, min(floor + 22, negative[1] - 2))
        if _fits(slot):
            layout.values[point] = slot


def _switches(layout: Layout, grid: _Grid, isolators: Collection[Run]) -> None:
    """Place an isolator on the wire that comes up from its feed's battery, where there is room."""
    wide, high = _SWITCH
    ends = {
        Run.VEHICLE_FEED: Post.START_BATTERY_POSITIVE,
        Run.HOUSE_FEED: Post.HOUSE_BATTERY_POSITIVE,
    }
    for run in isolators:
        x, y = layout.posts[ends[run]]
        floor, ceiling = grid.y(_BODY_TOP), y - layout.post
        if ceiling - floor >= high + 2:
            layout.switches[run] = Rect.around((x, (floor + ceiling) / 2), wide, high)


def _plug(layout: Layout, run: Run) -> Rect | None:
    """Place plug and socket in a feed, between its fuse and its clamp."""
    fuse, (clamp, level) = layout.runs[run].fuse, layout.clamps[run].xy
    if fuse is None:
        return None
    reach = layout.clamp if fuse[0] < clamp else -layout.clamp
    half = FUSE[0] / 2 if fuse[0] < clamp else -FUSE[0] / 2
    left, right = sorted((fuse[0] + half, clamp - reach))
    return Rect.around(((left + right) / 2, level), min(_PLUG[0], right - left), _PLUG[1])


def _sources(layout: Layout, grid: _Grid, sources: Collection[Extra]) -> None:
    """Place them beside the wire that comes up from the house battery, one over the other."""
    x, y = layout.posts[Post.HOUSE_BATTERY_POSITIVE]
    left, right = x + _SWITCH[0] / 2 + 2, layout.width - 4
    floor, ceiling = grid.y(_BODY_TOP) + 2, y - layout.post - 1
    side = min(_SOURCE, right - left, (ceiling - floor) / 2 - 1)
    if side < _LEAST_SOURCE:
        return
    for place, source in enumerate(one for one in SOURCES if one in sources):
        layout.sources[source] = Rect(right - side, floor + place * (side + 2), side, side)


# Where a probe's flag stands beside its post: clear of every other post, part and text.
_FLAGS = {
    Post.START_BATTERY_POSITIVE: (-1, 1),
    Post.CHARGER_INPUT: (-1, 1),
    Post.CHARGER_OUTPUT: (1, 1),
    Post.HOUSE_BATTERY_POSITIVE: (-1, 1),
    Post.IGNITION_TERMINAL: (-1, -1),
    Post.SOLAR_TERMINAL: (-1, -1),
    Post.PANEL_LEAD_NEGATIVE: (1, 0),
    Post.PANEL_LEAD_POSITIVE: (1, 0),
    Post.START_BATTERY_NEGATIVE: (-1, 0),
    Post.CHARGER_NEGATIVE: (-1, 0),
    Post.HOUSE_BATTERY_NEGATIVE: (1, 0),
    Post.SECOND_UNIT_INPUT: (-1, 1),
    Post.SECOND_UNIT_OUTPUT: (1, 1),
    Post.SECOND_UNIT_NEGATIVE: (-1, 0),
}


def _flags(layout: Layout) -> None:
    aside, corner = layout.post + 7, FLAG / 2 + 6 * layout.scale
    for post, (x, y) in layout.posts.items():
        dx, dy = _FLAGS[post]
        away = corner if dx and dy else aside
        layout.flags[post] = Rect.around((x + dx * away, y + dy * away), FLAG, FLAG)
