"""The circuit's picture as shapes and texts in the order in which a painter draws them."""

from collections.abc import Iterable, Iterator
from math import pi, sin

from logic.diagram import patterns
from logic.diagram.geometry import XY, Rect
from logic.diagram.layout import ARROW, FUSE, ClampLayout, Layout, RunLayout
from logic.diagram.patterns import GRADE_MARKS
from logic.diagram.picture import CircuitPicture, DropShown, partners
from logic.diagram.primitives import Circle, Ink, Line, Polygon, Shape, arc, rounded
from logic.diagram.signs import INKS, SIGNS, Sign, placed
from logic.diagram.text import LEAST, NAME, Text
from logic.limits.ladder import Grade
from logic.vehicle.installation import Extra, RepairedPart
from logic.vehicle.points import Lead, Part, Point, Post, Run, Unit

# On the boxes along the upper edge there is room for one word.
PART_NAMES = {part: part.full_name.capitalize() for part in Part} | {
    Part.IGNITION_SOURCE: "Ignition",
    Part.HOUSE_LOADS: "Loads",
    Part.SOLAR_PANEL: "Panel",
}

# What is lit of the boxes for a part of the installation that is no run.
_LIT_PARTS: dict[Part, frozenset[RepairedPart]] = {
    Part.START_BATTERY: frozenset({RepairedPart.START_BATTERY, RepairedPart.ALTERNATOR}),
    Part.CHARGER: frozenset({RepairedPart.CHARGER, RepairedPart.PROFILE}),
    Part.HOUSE_BATTERY: frozenset({RepairedPart.HOUSE_BATTERY}),
    Part.IGNITION_SOURCE: frozenset({RepairedPart.IGNITION_SIGNAL}),
    Part.HOUSE_LOADS: frozenset({RepairedPart.LOADS}),
    Part.SOLAR_PANEL: frozenset({RepairedPart.SOLAR}),
    Part.SECOND_UNIT: frozenset(),
}

_UNITS = (Part.CHARGER, Part.SECOND_UNIT)
_WIRE, _OUTLINE, _POST_OUTLINE, _HALO = 2.0, 1.2, 1.8, 3.5
_LIT = 24.0  # width of the band under the run that is being read
_CORNER = 6.0
_TAG = 13.0  # a flag's letter
_MARK = {1: 18.0, 2: 13.0, 3: 11.0}  # a post's own mark, by its length, in a full-size post
_THIN = 1.1


def draw(picture: CircuitPicture, layout: Layout) -> Iterator[Shape | Text]:
    """Yield what is to be drawn, from the ground up."""
    marked = picture.marked
    for run in _lit_runs(picture, layout):
        way = layout.runs[run]
        yield Line((way.start, way.end), _LIT * layout.scale, Ink.LIT)
    for points in layout.lines:
        yield Line(points, _WIRE)
    for part, body in layout.parts.items():
        yield from _body(picture, layout, part, body)
    for run, way in layout.runs.items():
        yield from _run(way, picture.drops.get(run, DropShown(Grade.NOT_READ)))
    for switch in layout.switches.values():
        yield from _switch(switch)
    if layout.plug is not None:
        yield from _plug(layout.plug)
    yield from _sources(layout)
    for lead, clamp in layout.clamps.items():
        yield from _clamp(layout, clamp, marked is not None and marked.clamp_on is lead)
    for post, xy in layout.posts.items():
        yield from _post(picture, layout, post, xy)
    if marked is not None:
        yield from _flags(layout, marked)
    yield from _values(picture, layout)


def _lit_runs(picture: CircuitPicture, layout: Layout) -> tuple[Run, ...]:
    """Return the run whose drop is being read, or else those in question or under suspicion."""
    marked = picture.marked
    if marked is not None and marked.run in layout.runs:
        return (marked.run,)
    return tuple(run for run in layout.runs if run.value in picture.lit)


def _body(
    picture: CircuitPicture, layout: Layout, part: Part, body: Rect
) -> Iterator[Shape | Text]:
    marked = picture.marked
    is_marked = (
        marked is not None
        and marked.part is part
        and marked.red is None
        and (marked.clamp_on is None or not layout.has_clamp_of(marked))
    )
    outline = rounded(body, _CORNER)
    is_lit = not _LIT_PARTS[part].isdisjoint(picture.lit)
    ground = Ink.LIT if is_lit else Ink.TINT if part in _UNITS else Ink.SURFACE
    yield Polygon(outline, ground)
    ink, width = (Ink.MAIN, _HALO) if is_marked else (Ink.INK, _OUTLINE)
    yield Line(outline, width, ink, is_closed=True)


def _run(way: RunLayout, shown: DropShown) -> Iterator[Shape]:
    yield from patterns.lines(shown.grade, shown.share, way)
    if way.fuse:
        body = Rect.around(way.fuse, *FUSE)
        yield Polygon(rounded(body, 0), Ink.GROUND)
        yield Line(rounded(body, 0), _OUTLINE, is_closed=True)
        yield Line(((body.x, way.fuse[1]), (body.right, way.fuse[1])), _OUTLINE)


def _switch(slot: Rect) -> Iterator[Shape]:
    """An isolator in its wire: two contacts, and the blade that swings between them."""
    x = slot.centre[0]
    yield Polygon(rounded(slot, 0), Ink.GROUND)
    for end in (slot.y + 1.5, slot.top - 1.5):
        yield Circle((x, end), 2.2)
    yield Line(((x, slot.y + 1.5), (slot.x, slot.top - 2.5)), _WIRE)


def _plug(slot: Rect) -> Iterator[Shape]:
    """A plug's pin, filled, in the round of its socket, as IEC 60617 draws the two together.

    From memory; as high as the symbol needs, and as wide as the wire leaves.
    """
    x, y = slot.centre
    radius = slot.width - _WIRE
    yield Polygon(rounded(slot, 0), Ink.GROUND)
    yield Line(arc((slot.right - 1, y), radius, 90, 270), _WIRE)
    yield Polygon(rounded(Rect.between(x - 0.5, y - 2.4, slot.right, y + 2.4), 0))
    yield Line(((slot.x, y), (slot.right - 1 - radius, y)), _WIRE)


def _sources(layout: Layout) -> Iterator[Shape]:
    # Joined to the battery's wire under its isolator: what a switch in the feed does not part.
    x, _ = layout.posts[Post.HOUSE_BATTERY_POSITIVE]
    level = layout.parts[Part.HOUSE_BATTERY].top + 4
    for source, square in layout.sources.items():
        middle = square.centre[0]
        at = (square.x, level) if square.y < level else (middle, square.y)
        start = (x, level) if square.y < level else (middle, square.y - 2)
        yield Line((start, at), _OUTLINE)
        yield from _source(source, square)


def _source(source: Extra, square: Rect) -> Iterator[Shape]:
    """A converter's square with its diagonal, as IEC 60617 draws it: input over output.

    The wave is alternating current, the two strokes are direct current (both from memory).
    """
    side = square.width
    yield Polygon(rounded(square, 0), Ink.SURFACE)
    yield Line(rounded(square, 0), _OUTLINE, is_closed=True)
    yield Line(((square.x, square.y), (square.right, square.top)), _OUTLINE)

    def at(x: float, y: float) -> XY:
        return square.x + x * side, square.y + y * side

    def direct(x: float, y: float) -> Iterator[Line]:
        for up in (-0.06, 0.06):
            yield Line((at(x - 0.16, y + up), at(x + 0.16, y + up)), _THIN)

    yield from direct(0.7, 0.26)
    if source is Extra.MAINS_CHARGER:
        wave = (at(0.1 + 0.04 * i, 0.74 + 0.1 * sin(2 * pi * i / 10)) for i in range(11))
        yield Line(tuple(wave), _THIN, is_round=True)
    else:
        yield from direct(0.3, 0.74)


def _clamp(layout: Layout, clamp: ClampLayout, is_marked: bool) -> Iterator[Shape | Text]:
    if not is_marked:
        # The same six corners, not filled: the run goes through it, as the cable through the jaws.
        yield Line(_six_corners(clamp.xy, layout.clamp), 2.4, Ink.CLAMP, is_closed=True)
        return
    radius = layout.clamp + 2
    yield Polygon(_six_corners(clamp.xy, radius), Ink.CLAMP)
    yield Circle(clamp.xy, layout.halo, _HALO, Ink.CLAMP)
    yield _arrow(clamp)
    yield _letter("C", Rect.around(clamp.xy, 2 * radius, 2 * radius))


def _six_corners(xy: XY, radius: float) -> tuple[XY, ...]:
    """Return the clamp's one outline, wherever it is drawn."""
    return arc(xy, radius, 0, 360)[:-1:5]


def _arrow(clamp: ClampLayout) -> Polygon:
    (x, y), (dx, dy), half = clamp.tip, clamp.towards, ARROW / 2
    base = (x - dx * ARROW, y - dy * ARROW)
    sides = ((base[0] - dy * half, base[1] + dx * half), (base[0] + dy * half, base[1] - dx * half))
    return Polygon((clamp.tip, *sides), Ink.CLAMP)


def _post(picture: CircuitPicture, layout: Layout, post: Post, xy: XY) -> Iterator[Shape | Text]:
    chosen, radius = picture.chosen, layout.post
    is_chosen = chosen is post
    yield Circle(xy, radius, ink=Ink.MAIN if is_chosen else Ink.SURFACE)
    yield Circle(xy, radius, _POST_OUTLINE)
    room = 2 * radius - 3
    yield Text(
        post.mark,
        Rect.around(xy, room, room),
        max(LEAST, _MARK[len(post.mark)] * layout.scale),
        Ink.MAIN_WORDS if is_chosen else Ink.INK,
        is_bold=True,
        is_sized_by_reader=False,
    )
    if chosen is not None and post in partners(chosen):
        yield from _ticks(xy, radius)


def _ticks(xy: XY, radius: float) -> Iterator[Line]:
    """Mark a post that the chosen one can be read against."""
    for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        near, far = radius + 2, radius + 8
        ends = ((xy[0] + dx * near, xy[1] + dy * near), (xy[0] + dx * far, xy[1] + dy * far))
        yield Line(ends, 4, Ink.MAIN)


def _flags(layout: Layout, marked: Point) -> Iterator[Shape | Text]:
    """Mark where the probes or the thermometer go: red round, black square."""
    if marked.red in layout.posts:
        xy, flag = layout.posts[marked.red], layout.flags[marked.red]
        yield Circle(xy, layout.halo, _HALO, Ink.RED_PROBE)
        yield Circle(flag.centre, flag.width / 2, ink=Ink.RED_PROBE)
        yield _letter("R", flag)
    if marked.black in layout.posts:
        xy, flag = layout.posts[marked.black], layout.flags[marked.black]
        square = Rect.around(xy, 2 * layout.halo - _HALO, 2 * layout.halo - _HALO)
        yield Line(rounded(square, 2), _HALO, Ink.BLACK_PROBE, is_closed=True)
        yield Polygon(rounded(flag, 1), Ink.BLACK_PROBE)
        yield _letter("B", flag)
    if marked.clamp_on is Lead.FIRST_IN_PARALLEL:
        # Several batteries are drawn as one: the clamp stands where the lead enters it.
        x, _ = layout.posts[Post.HOUSE_BATTERY_POSITIVE]
        radius = layout.clamp + 2
        at = (x, layout.parts[Part.HOUSE_BATTERY].top + 3)
        yield Polygon(_six_corners(at, radius), Ink.CLAMP)
        yield _letter("C", Rect.around(at, 2 * radius, 2 * radius))
    if marked.unit is Unit.CELSIUS and marked.part is not None:
        body = layout.parts[marked.part]
        side = min(24.0, body.height * 0.7)
        square = Rect(body.right - side - 2, body.top - side - 3, side, side)
        yield from placed(SIGNS[Sign.THERMOMETER], square, INKS[Sign.THERMOMETER])


def _letter(letter: str, slot: Rect) -> Text:
    return Text(letter, slot, _TAG, Ink.VERDICT_WORDS, is_bold=True, is_sized_by_reader=False)


def _values(picture: CircuitPicture, layout: Layout) -> Iterator[Text]:
    slots = {point: slot for point, slot in layout.values.items() if point in picture.values}
    for part, slot in layout.names.items():
        name = f"{PART_NAMES[part]} {picture.temperatures.get(part, '')}".strip()
        body = layout.parts[part]
        is_alone = not any(body.holds(value.centre) for value in slots.values())
        sign = picture.temperature_signs.get(part)
        yield Text(name, body.inset(3, 1) if is_alone else slot, NAME, wraps=True, sign=sign)
    for point, slot in slots.items():
        shown = picture.values[point]
        yield Text(shown.text, slot, is_bold=True, sign=shown.sign)
    for run, way in layout.runs.items():
        shown_drop = picture.drops.get(run)
        if shown_drop and shown_drop.volts and way.volts:
            yield from _drop(shown_drop, way.volts, way.word)


def _drop(shown: DropShown, volts: Rect, word: Rect | None) -> Iterator[Text]:
    """Show a run's volts and word; without room for the word its sign stands with the volts."""
    ink = GRADE_MARKS[shown.grade].ink
    sign = shown.sign if word is None else None
    yield Text(shown.volts, volts, is_bold=True, sign=sign)
    if word is not None:
        yield Text(shown.word, word, NAME, ink, wraps=True, sign=shown.sign)


def texts(drawn: Iterable[Shape | Text]) -> tuple[Text, ...]:
    """Pick the texts out of what is drawn."""
    return tuple(one for one in drawn if isinstance(one, Text))
