"""A box to sign with the finger: strokes kept as a share of its width and height."""

from pathlib import Path
from typing import Any

from kivy.graphics import Color, Ellipse, Line
from kivy.graphics.instructions import InstructionGroup
from kivy.input.motionevent import MotionEvent
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import ColorProperty, ListProperty
from kivy.uix.widget import Widget

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

Stroke = list[tuple[float, float]]


class SignaturePad(Widget):
    """``strokes`` is a list of lists of (x, y), both 0 to 1, y upwards.

    ``on_signed`` is dispatched at the end of every stroke. A stroke that leaves the pad is cut
    off at its edge and goes on when the finger comes back.
    """

    __events__ = ("on_signed",)

    strokes = ListProperty()
    ink = ColorProperty()

    def __init__(self, **properties: Any) -> None:
        super().__init__(**properties)
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        for name in ("pos", "size", "strokes", "ink"):
            self.fbind(name, self._draw)

    def on_signed(self) -> None:
        """Say that a stroke was finished."""

    def clear(self) -> None:
        """Take every stroke away."""
        self.strokes = []

    def on_touch_down(self, touch: MotionEvent) -> bool:
        if not self.collide_point(*touch.pos):
            return False
        touch.grab(self)
        self.strokes = [*self.strokes, [self._position(touch)]]
        return True

    def on_touch_move(self, touch: MotionEvent) -> bool:
        if touch.grab_current is not self:
            return False
        position = self._position(touch)
        if position != self.strokes[-1][-1]:
            self.strokes = [*self.strokes[:-1], [*self.strokes[-1], position]]
        return True

    def on_touch_up(self, touch: MotionEvent) -> bool:
        if touch.grab_current is not self:
            return False
        touch.ungrab(self)
        self.dispatch("on_signed")
        return True

    def _position(self, touch: MotionEvent) -> tuple[float, float]:
        x = (touch.x - self.x) / max(1, self.width)
        y = (touch.y - self.y) / max(1, self.height)
        return round(min(1.0, max(0.0, x)), 4), round(min(1.0, max(0.0, y)), 4)

    def _draw(self, *_: object) -> None:
        self._drawn.clear()
        self._drawn.add(Color(*self.ink))
        for stroke in self.strokes:
            points = [(self.x + x * self.width, self.y + y * self.height) for x, y in stroke]
            if len(points) == 1:
                (x, y), r = points[0], dp(1.5)
                self._drawn.add(Ellipse(pos=(x - r, y - r), size=(2 * r, 2 * r)))
            else:
                flat = [number for point in points for number in point]
                self._drawn.add(Line(points=flat, width=dp(1.8), joint="round", cap="round"))
