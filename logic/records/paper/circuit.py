"""The circuit on the record's first page: what was read, at its posts, as the screens draw it.

Signs, patterns and words say all that the colours say: a copy in black and white loses nothing.
Imports fpdf, so import this module only where a PDF is being written.
"""

from collections.abc import Iterator, Sequence

from logic.diagram.drawing import draw
from logic.diagram.geometry import XY, Rect
from logic.diagram.picture import CircuitPicture
from logic.diagram.primitives import Circle, Ink, Line, Polygon, Shape
from logic.diagram.signs import INKS, SIGNS, Sign, placed
from logic.diagram.text import NAME, Text, set_text
from logic.records.front_page import CircuitShown
from logic.records.paper.document import (
    INK,
    MARGIN,
    SHADE,
    SOFT,
    WIDTH,
    Colour,
    RecordPdf,
)
from logic.records.paper.sections import BAD, DOUBT, GOOD
from logic.words.names import PROVES_NOTHING

_WHITE: Colour = (255, 255, 255)
COLOURS: dict[Ink, Colour] = {
    Ink.INK: INK,
    Ink.FAINT: SOFT,
    Ink.GROUND: _WHITE,
    Ink.SURFACE: _WHITE,
    Ink.TINT: SHADE,
    Ink.MAIN: INK,
    Ink.MAIN_WORDS: _WHITE,
    Ink.IN_RANGE: GOOD,
    Ink.MARGINAL: DOUBT,
    Ink.OUT_OF_RANGE: BAD,
    Ink.NO_LIMIT: SOFT,
    Ink.VERDICT_WORDS: _WHITE,
    Ink.RED_PROBE: BAD,
    Ink.BLACK_PROBE: INK,
    Ink.CLAMP: (75, 42, 134),
    Ink.LIT: SHADE,
}

_UNIT = 0.155  # millimetres: a value's type is then 7.5 points high, the smallest 4
_HIGH = 0.96  # of the height at which a picture can be touched: paper only shows it
_POINT = 25.4 / 72  # millimetres
_ASCENT, _LINE = 0.93, 1.17  # of the type's size; DejaVu Sans
_BETWEEN = 4.0
_KEY = (
    (Sign.IN_RANGE, "in range"),
    (Sign.MARGINAL, "marginal"),
    (Sign.OUT_OF_RANGE, "out of range"),
    (Sign.PROVES_NOTHING, PROVES_NOTHING),
    (None, "dashed: not read"),
)


def circuits(pdf: RecordPdf, shown: Sequence[CircuitShown]) -> None:
    """Draw what was read: one picture, or before and after a repair side by side."""
    if not shown:
        return
    width = (WIDTH - _BETWEEN * (len(shown) - 1)) / len(shown)
    height = _HIGH * max(one.picture.touch_height for one in shown) * _UNIT
    top = pdf.get_y()
    for i, one in enumerate(shown):
        left = MARGIN + i * (width + _BETWEEN)
        pdf.write_in(8.5, "B")
        pdf.set_xy(left, top)
        pdf.cell(width, 4, pdf.clean(one.title))
        _Painter(pdf, left, top + 5, width, height).paint(one.picture)
    pdf.set_y(top + height + 6)
    _key(pdf)
    pdf.set_y(pdf.get_y() + 4)


def _key(pdf: RecordPdf) -> None:
    top, side = pdf.get_y(), 3.0
    painter = _Painter(pdf, MARGIN, top, WIDTH, side)
    pdf.write_in(NAME * _UNIT / _POINT)
    x = 0.0
    for sign, words in _KEY:
        if sign is not None:
            square = Rect(x / _UNIT, 0, side / _UNIT, side / _UNIT)
            painter.shapes(placed(SIGNS[sign], square, INKS[sign]))
            x += side + 1
        pdf.text(MARGIN + x, top + 0.8 * side, pdf.clean(words))
        x += pdf.get_string_width(words) + 6


class _Painter:
    """Paints one picture in a rectangle of the page, from its upper left corner; millimetres."""

    def __init__(
        self, pdf: RecordPdf, left: float, top: float, width: float, height: float
    ) -> None:
        self._pdf = pdf
        self._left, self._top = left, top
        self._width, self._height = width, height

    def paint(self, picture: CircuitPicture) -> None:
        """Paint a picture."""
        layout = picture.lay_out(self._width / _UNIT, self._height / _UNIT)
        for one in draw(picture, layout):
            if isinstance(one, Text):
                self._text(one)
            else:
                self.shapes((one,))

    def shapes(self, shapes: Iterator[Shape] | tuple[Shape, ...]) -> None:
        """Paint shapes one over the other."""
        for shape in shapes:
            self._pdf.set_draw_color(*COLOURS[shape.ink])
            with self._pdf.filled(COLOURS[shape.ink]):
                match shape:
                    case Circle():
                        self._circle(shape)
                    case Polygon():
                        self._pdf.polygon([self._at(xy) for xy in shape.points], style="F")
                    case Line():
                        self._line(shape)

    def _at(self, xy: XY) -> XY:
        return self._left + xy[0] * _UNIT, self._top + self._height - xy[1] * _UNIT

    def _circle(self, circle: Circle) -> None:
        x, y = self._at(circle.centre)
        if circle.width is None:
            self._pdf.circle(x, y, circle.radius * _UNIT, style="F")
            return
        self._pdf.set_line_width(circle.width * _UNIT)
        self._pdf.circle(x, y, (circle.radius - circle.width / 2) * _UNIT, style="D")

    def _line(self, line: Line) -> None:
        ends = "round" if line.is_round else "butt"
        points = [self._at(xy) for xy in line.points]
        with self._pdf.local_context(stroke_cap_style=ends, stroke_join_style="round"):
            self._pdf.set_line_width(line.width * _UNIT)
            self._pdf.polyline(points, polygon=line.is_closed, style="D")

    def _text(self, text: Text) -> None:
        found = set_text(text, self._measure)
        if found.sign is not None and text.sign is not None:
            self.shapes(placed(SIGNS[text.sign], found.sign, INKS[text.sign]))
        self._choose(found.size, text.is_bold)
        self._pdf.set_text_color(*COLOURS[text.ink])
        for line in found.lines:
            x, top = self._at((line.rect.x, line.rect.top))
            base = top + _ASCENT * found.size * _UNIT
            self._pdf.text(x, base, self._pdf.clean(line.text))

    def _measure(self, line: str, size: float, is_bold: bool) -> XY:
        self._choose(size, is_bold)
        return self._pdf.get_string_width(self._pdf.clean(line)) / _UNIT, size * _LINE

    def _choose(self, size: float, is_bold: bool) -> None:
        self._pdf.write_in(size * _UNIT / _POINT, "B" if is_bold else "")
