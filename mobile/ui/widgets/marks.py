"""A drawn sign: one of :data:`mobile.ui.widgets.shapes.SHAPES` in two colours."""

from pathlib import Path

from kivy.graphics.instructions import InstructionGroup
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import ColorProperty, NumericProperty, StringProperty
from kivy.uix.widget import Widget

from logic.diagram.geometry import Rect
from logic.diagram.primitives import Ink
from logic.diagram.signs import placed
from mobile.ui.widgets.painter import shape_instructions
from mobile.ui.widgets.shapes import SHAPES

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


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
        square = Rect(left / dp(1), bottom / dp(1), side / dp(1), side / dp(1))
        self._drawn = InstructionGroup()
        for instruction in shape_instructions(placed(SHAPES[self.shape], square), self._colour):
            self._drawn.add(instruction)
        self.canvas.add(self._drawn)

    def _colour(self, ink: Ink) -> list[float]:
        return self.color if ink is Ink.INK else self.second_color
