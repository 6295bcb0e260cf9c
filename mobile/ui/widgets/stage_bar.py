"""How far the walk is: one segment a stage, filled as far as it is done, this one raised."""

from kivy.clock import Clock
from kivy.graphics import Canvas, Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import ListProperty, NumericProperty
from kivy.uix.widget import Widget

from mobile.ui.theme import theme


class StageBar(Widget):
    """``parts`` is a list of (share settled 0 to 1, steps in the stage); ``here`` an index."""

    parts = ListProperty()
    here = NumericProperty(0)

    def __init__(self, **properties: object) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(**properties)
        self._ink = Canvas()
        self.canvas.add(self._ink)
        for name in ("pos", "size", "parts", "here"):
            self.fbind(name, self._redraw)
        theme.follow(self)

    def repaint(self) -> None:
        """Paint anew, in the colours in force."""
        self._redraw()

    def _draw(self, *_: object) -> None:
        self._ink.clear()
        total = sum(count for _, count in self.parts)
        if not total:
            return
        gap = dp(4)
        room = self.width - gap * (len(self.parts) - 1)
        x = self.x
        with self._ink:
            for i, (share, count) in enumerate(self.parts):
                wide = room * count / total
                self._segment(x, wide, share, i == self.here)
                x += wide + gap

    def _segment(self, x: float, wide: float, share: float, here: bool) -> None:
        high = self.height if here else self.height * 0.5
        y = self.y + (self.height - high) / 2
        Color(*theme.surface)
        Rectangle(pos=(x, y), size=(wide, high))
        Color(*theme.main)
        Rectangle(pos=(x, y), size=(wide * share, high))
        Line(rectangle=(x, y, wide, high), width=dp(1.4 if here else 0.8))
