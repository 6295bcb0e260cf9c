"""The expected band as a ruler: what should be, the guard band at its ends, and the value.

The band is a hatched bar between two posts, so it is seen without its colour; the guard band is
the open part at each end where a value is marginal; the value is a wedge above the bar with
the verdict's own shape on it.
"""

from pathlib import Path

from kivy.clock import Clock
from kivy.graphics import Canvas, Color, Line, Mesh, Rectangle
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.relativelayout import RelativeLayout

from logic.words.figures import number
from mobile.ui.theme import theme
from mobile.ui.widgets.words import Written

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


def window_of(
    low: float | None, high: float | None, value: float | None, guard: float
) -> tuple[float, float]:
    """Return the ruler's two ends: the band, its guard, the value if near, and some air."""
    marks = [mark for mark in (low, high) if mark is not None]
    width = (max(marks) - min(marks)) if len(marks) == 2 else 0.0
    air = max(width * 0.6, guard * 3, abs(max(marks, key=abs)) * 0.02, 0.02)
    far = (min(marks) - 4 * air, max(marks) + 4 * air)
    near = [value] if value is not None and far[0] < value < far[1] else []
    ends = [*marks, *near]
    return min(ends) - air, max(ends) + air


class Tick(Written):
    """A number under the ruler."""


class Ruler(RelativeLayout):
    """Shows ``low`` and ``high`` (None for an open end), ``guard`` (half its width, in the same
    unit) and ``value`` (None until there is one) with the verdict's ``colour`` name.
    """

    low = ObjectProperty(None, allownone=True)
    high = ObjectProperty(None, allownone=True)
    value = ObjectProperty(None, allownone=True)
    guard = NumericProperty(0.0)
    colour = StringProperty("no_limit")
    decimals = NumericProperty(2)

    def __init__(self, **properties: object) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(**properties)
        self._ink = Canvas()
        self.canvas.add(self._ink)
        for name in ("size", "low", "high", "value", "guard", "colour", "decimals"):
            self.fbind(name, self._redraw)
        theme.follow(self)
        self._redraw()

    def repaint(self) -> None:
        """Paint anew, in the colours in force."""
        self._redraw()

    def _draw(self, *_: object) -> None:
        self._ink.clear()
        marks = [mark for mark in dict.fromkeys((self.low, self.high)) if mark is not None]
        if self.width < 40:
            marks = []
        self._keep_ticks(len(marks))
        if not marks:
            return
        self._ends = window_of(self.low, self.high, self.value, self.guard)
        with self._ink:
            self._band()
            if self.value is not None:
                self._wedge()
        for tick, mark in zip(self.children, marks, strict=True):
            self._put_at(tick, mark)

    def _keep_ticks(self, count: int) -> None:
        # Drawn at every key: making labels anew would cost most of it.
        while len(self.children) < count:
            self.add_widget(Tick())
        while len(self.children) > count:
            self.remove_widget(self.children[0])

    def _at(self, value: float) -> float:
        left, right = self._ends
        part = (value - left) / (right - left)
        return dp(10) + min(1.0, max(0.0, part)) * (self.width - dp(20))

    def _band(self) -> None:
        base, high = self._base, dp(14)
        Color(*theme.sunken)
        Rectangle(pos=(dp(4), base), size=(self.width - dp(8), high))
        start = self._at(self.low) if self.low is not None else dp(4)
        end = self._at(self.high) if self.high is not None else self.width - dp(4)
        Color(*theme.in_range)
        Line(rectangle=(start, base, end - start, high), width=dp(1))
        inner_start = self._at(self.low + self.guard) if self.low is not None else start
        inner_end = self._at(self.high - self.guard) if self.high is not None else end
        if inner_end > inner_start:
            self._hatch(inner_start, inner_end, base, high)
        Color(*theme.ink)
        for mark, x in ((self.low, start), (self.high, end)):
            if mark is not None:
                Line(points=[x, base - dp(3), x, base + high + dp(3)], width=dp(1.4))

    def _hatch(self, start: float, end: float, base: float, high: float) -> None:
        Color(*theme.in_range[:3], 0.28)
        Rectangle(pos=(start, base), size=(end - start, high))
        Color(*theme.in_range)
        x = start + dp(3)
        while x < end - dp(3):
            Line(points=[x, base + dp(3), x + dp(4), base + high - dp(3)], width=dp(0.8))
            x += dp(8)

    def _wedge(self) -> None:
        x, tip = self._at(self.value), self._base + dp(9)
        top, half = tip + dp(17), dp(9)
        Color(*theme.surface)
        self._triangle(x, tip - dp(3), top + dp(2), half + dp(3))
        Color(*getattr(theme, self.colour))
        self._triangle(x, tip, top, half)

    @staticmethod
    def _triangle(x: float, tip: float, top: float, half: float) -> None:
        corners = (x, tip, 0, 0, x - half, top, 0, 0, x + half, top, 0, 0)
        Mesh(vertices=corners, indices=[0, 1, 2], mode="triangles")

    @property
    def _base(self) -> float:
        return self.height - dp(30)

    def _put_at(self, tick: Tick, mark: float) -> None:
        text = number(mark, int(self.decimals))
        if tick.text != text:
            tick.text = text
            tick.texture_update()
            tick.size = tick.texture_size
        x = self._at(mark) - tick.width / 2
        if self.low is not None and self.high is not None:
            # Two close limits: the numbers step aside so that neither covers the other.
            room = self._at(self.high) - self._at(self.low)
            aside = max(0.0, (tick.width + dp(10) - room) / 2)
            x += aside if mark == self.high else -aside
        tick.pos = (min(max(0, x), self.width - tick.width), 0)
