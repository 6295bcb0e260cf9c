"""Paints the shapes and texts of :mod:`logic.diagram` on a Kivy canvas; one unit is one dp."""

from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import TypeVar

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Ellipse, Line, Mesh, Rectangle
from kivy.graphics.instructions import Instruction
from kivy.metrics import Metrics, dp

from logic.diagram import primitives
from logic.diagram.primitives import Circle, Ink, Polygon, Shape
from logic.diagram.signs import INKS, SIGNS, placed
from logic.diagram.text import SetText, Text, set_text
from mobile.ui.theme import theme

Colours = Callable[[Ink], list[float]]
Key = TypeVar("Key")
Value = TypeVar("Value")

_MOST_KEPT = 400  # textures; assumed: four pictures full of readings


def shape_instructions(shapes: Iterable[Shape], colours: Colours) -> Iterator[Instruction]:
    """Yield the canvas instructions of shapes, each in its ink's colour."""
    for shape in shapes:
        yield Color(*colours(shape.ink))
        yield _instruction(shape)


def _instruction(shape: Shape) -> Instruction:
    match shape:
        case Circle(centre=(x, y)):
            if shape.width is not None:
                middle = dp(shape.radius - shape.width / 2)
                return Line(circle=(dp(x), dp(y), middle), width=dp(shape.width) / 2)
            r = dp(shape.radius)
            return Ellipse(pos=(dp(x) - r, dp(y) - r), size=(2 * r, 2 * r), segments=40)
        case Polygon(points=points):
            vertices = [n for x, y in points for n in (dp(x), dp(y), 0, 0)]
            return Mesh(vertices=vertices, indices=list(range(len(points))), mode="triangle_fan")
        case primitives.Line(points=points):
            return Line(
                points=[dp(n) for point in points for n in point],
                width=dp(shape.width) / 2,
                close=shape.is_closed,
                joint="round" if shape.is_round else "miter",
                cap="round" if shape.is_round else "none",
            )


class Typesetter:
    """Sets texts and keeps what it set: a value that has not changed is not drawn anew."""

    def __init__(self) -> None:
        self._labels: OrderedDict[tuple[str, int, bool], CoreLabel] = OrderedDict()
        self._set: OrderedDict[tuple[Text, float, float], SetText] = OrderedDict()

    def set(self, text: Text) -> SetText:
        """Set a text in the reader's own font scale."""
        text = replace(text, text=theme.notation.shown(text.text))
        key = (text, Metrics.fontscale, Metrics.density)
        if key not in self._set:
            self._set[key] = set_text(text, self._measure, Metrics.fontscale)
        return _kept(self._set, key)

    def instructions(self, text: Text, colours: Colours) -> Iterator[Instruction]:
        """Yield the canvas instructions of a text with its sign."""
        found = self.set(text)
        if found.sign is not None and text.sign is not None:
            shapes = placed(SIGNS[text.sign], found.sign, INKS[text.sign])
            yield from shape_instructions(shapes, colours)
        yield Color(*colours(text.ink))
        for line in found.lines:
            texture = self._label(line.text, found.size, text.is_bold).texture
            # On whole pixels, or the letters blur.
            pos = (round(dp(line.rect.x)), round(dp(line.rect.y)))
            yield Rectangle(pos=pos, size=texture.size, texture=texture)

    def _measure(self, line: str, size: float, is_bold: bool) -> tuple[float, float]:
        width, height = self._label(line, size, is_bold).texture.size
        return width / dp(1), height / dp(1)

    def _label(self, line: str, size: float, is_bold: bool) -> CoreLabel:
        # White, so that one texture serves every colour. The label is kept with it, for it
        # draws it again after the phone took the graphics memory away.
        key = (line, int(dp(size)), is_bold)
        if key not in self._labels:
            self._labels[key] = CoreLabel(text=line, font_size=key[1], bold=is_bold)
            self._labels[key].refresh()
        return _kept(self._labels, key)


def _kept(kept: OrderedDict[Key, Value], key: Key) -> Value:
    """Return a kept value as the one used last; those not used for longest go."""
    kept.move_to_end(key)
    while len(kept) > _MOST_KEPT:
        kept.popitem(last=False)
    return kept[key]
