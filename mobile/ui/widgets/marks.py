"""A drawn sign: one of :data:`mobile.ui.widgets.shapes.SHAPES` in two colours."""

from pathlib import Path

from kivy.graphics import Color, Ellipse, Line, Mesh
from kivy.graphics.instructions import InstructionGroup
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import ColorProperty, NumericProperty, StringProperty
from kivy.uix.widget import Widget

from mobile.ui.widgets.shapes import SHAPES, Stroke

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

Box = tuple[float, float, float]


def _scaled(numbers: tuple[float, ...], box: Box) -> list[float]:
    x, y, size = box
    return [(x, y)[i % 2] + n * size for i, n in enumerate(numbers)]


def _polygon(points: list[float]) -> Mesh:
    vertices = [n for i in range(0, len(points), 2) for n in (*points[i : i + 2], 0, 0)]
    return Mesh(vertices=vertices, indices=list(range(len(points) // 2)), mode="triangle_fan")


def _instruction(stroke: Stroke, box: Box, width: float) -> Ellipse | Line | Mesh:
    kind = str(stroke[0]).rstrip("2")
    numbers = tuple(float(n) for n in stroke[1:])
    if kind in ("disc", "ring"):
        x, y = _scaled(numbers[:2], box)
        r = numbers[2] * box[2]
        if kind == "disc":
            return Ellipse(pos=(x - r, y - r), size=(2 * r, 2 * r), segments=40)
        return Line(circle=(x, y, r - width / 2), width=width)
    points = _scaled(numbers, box)
    if kind == "fill":
        return _polygon(points)
    return Line(points=points, width=width, close=kind == "loop", joint="round", cap="round")


def drawing(shape: str, box: Box, ink: list[float], on_ink: list[float]) -> InstructionGroup:
    """Return a shape's canvas instructions; ``box`` is the square's x, y and side in pixels."""
    group = InstructionGroup()
    width = max(dp(1), box[2] * 0.05)
    for stroke in SHAPES[shape]:
        group.add(Color(*(on_ink if str(stroke[0]).endswith("2") else ink)))
        group.add(_instruction(stroke, box, width))
    return group


class Mark(Widget):
    """A shape in the middle of its box; nothing is drawn for an empty ``shape``."""

    shape = StringProperty("")
    color = ColorProperty()
    second_color = ColorProperty()
    scale = NumericProperty(1.0)

    def __init__(self, **properties: object) -> None:
        self._drawn: InstructionGroup | None = None
        super().__init__(**properties)
        for name in ("pos", "size", "shape", "color", "second_color", "scale"):
            self.fbind(name, self._draw)
        self._draw()

    def _draw(self, *_: object) -> None:
        if self._drawn is not None:
            self.canvas.remove(self._drawn)
            self._drawn = None
        if not self.shape:
            return
        side = min(self.size) * self.scale
        # Not center_x: it is told of a move only after pos is.
        left, bottom = self.x + (self.width - side) / 2, self.y + (self.height - side) / 2
        box = (left, bottom, side)
        self._drawn = drawing(self.shape, box, self.color, self.second_color)
        self.canvas.add(self._drawn)
