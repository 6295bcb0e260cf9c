"""A week's state of charge as a small chart: the line, its floor, driving and sun below it."""

from kivy.clock import Clock
from kivy.graphics import Canvas, Color, Line, Rectangle
from kivy.metrics import dp, sp
from kivy.properties import ObjectProperty
from kivy.uix.label import Label
from kivy.uix.relativelayout import RelativeLayout

from logic.choosing.chart import Chart
from mobile.ui.theme import theme

_STRIPE = 8  # dp, of driving and of sun each
_BESIDE = 4  # dp, between the scale and the line


class WeekChart(RelativeLayout):
    """Draws a :class:`Chart`; nothing while it has none."""

    shown: Chart | None = ObjectProperty(None, allownone=True)

    def __init__(self, **properties: object) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(size_hint_y=None, **properties)
        self._ink = Canvas()
        self.canvas.add(self._ink)
        self._labels = [Label(size_hint=(None, None)) for _ in range(10)]
        for label in self._labels:
            self.add_widget(label)
        for name in ("size", "shown"):
            self.fbind(name, self._redraw)
        theme.follow(self)
        self._redraw()

    def repaint(self) -> None:
        """Paint anew, in the colours and the type in force."""
        self._redraw()

    def _draw(self, *_: object) -> None:
        self._ink.clear()
        line = theme.small * 1.3
        self.height = dp(96) + 2 * dp(_STRIPE) + line if self.shown else 0
        for label in self._labels:
            label.text = ""
        if self.shown is None or self.width < sp(80):
            return
        self._left = self._scale(line)
        self._bottom = line + 2 * dp(_STRIPE)
        self._wide = self.width - self._left - dp(2)
        self._high = self.height - self._bottom - line / 2
        with self._ink:
            self._ground(self.shown)
            self._below(self.shown)
            Color(*theme.main)
            points = [n for x, y in self.shown.line for n in (self._x(x), self._y(y))]
            Line(points=points, width=dp(1.6), joint="round")
        self._name_days(line)

    def _scale(self, line: float) -> float:
        """Write the scale at the left, and return the room it takes."""
        widest = 0.0
        for label, charge in zip(self._labels[7:], (0.0, 0.5, 1.0), strict=True):
            self._write(label, f"{charge:.0%}")
            widest = max(widest, label.width)
        bottom = line + 2 * dp(_STRIPE)
        high = self.height - bottom - line / 2
        for label, charge in zip(self._labels[7:], (0.0, 0.5, 1.0), strict=True):
            label.pos = (widest - label.width, bottom + charge * high - label.height / 2)
        return widest + dp(_BESIDE)

    def _write(self, label: Label, text: str) -> None:
        label.text, label.font_size, label.color = text, theme.small, theme.ink
        label.texture_update()
        label.size = label.texture_size

    def _name_days(self, line: float) -> None:
        for number, label in enumerate(self._labels[:7]):
            self._write(label, str(number + 1))
            middle = self._x((number + 0.5) / 7)
            label.pos = (middle - label.width / 2, (line - label.height) / 2)

    def _ground(self, chart: Chart) -> None:
        Color(*theme.surface)
        Rectangle(pos=(self._left, self._bottom), size=(self._wide, self._high))
        Color(*theme.sunken)
        for day in range(1, 7, 2):
            Rectangle(pos=(self._x(day / 7), self._bottom), size=(self._wide / 7, self._high))
        Color(*theme.line)
        Line(rectangle=(self._left, self._bottom, self._wide, self._high), width=dp(0.8))
        Color(*theme.out_of_range)
        at, step = self._y(chart.floor), dp(6)
        x = self._left
        while x < self._left + self._wide:
            Line(points=[x, at, min(x + step / 2, self._left + self._wide), at], width=dp(1))
            x += step

    def _below(self, chart: Chart) -> None:
        stripe = dp(_STRIPE)
        Color(*theme.ink)
        for begun, ended in chart.driven:
            left, right = self._x(begun), self._x(ended)
            Rectangle(
                pos=(left, self._bottom - stripe + dp(1)),
                size=(max(dp(1), right - left), stripe - dp(3)),
            )
        Color(*theme.marginal)
        for (begun, ended), strength in chart.sun:
            left, right = self._x(begun), self._x(ended)
            high = (stripe - dp(1)) * min(1.0, strength)
            Rectangle(pos=(left, self._bottom - 2 * stripe), size=(right - left, high))

    def _x(self, part: float) -> float:
        return self._left + part * self._wide

    def _y(self, charge: float) -> float:
        return self._bottom + charge * self._high
