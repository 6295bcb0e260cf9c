"""The voltage ladder drawn: a rung for each post along the loop, a step between two posts.

On a rung the hatched box is where it should be, the solid wedge is today, the hollow ring the
commissioning: three shapes, so that no colour has to be told. A bar runs from 0 to today; a
run's drop has a bar of its own, on the enlarged scale.
"""

from pathlib import Path

from kivy.clock import Clock
from kivy.graphics import Canvas, Color, Line, Mesh, Rectangle
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from logic.diagram.patterns import GRADE_MARKS
from logic.limits.ladder import Grade
from mobile.jobs.ladder_view import LadderView, RungRow, StepRow
from mobile.ui.theme import theme
from mobile.ui.widgets import marks  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.words import Small

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_STRONG = (Grade.TOO_MUCH, Grade.OPEN, Grade.WRONG_WAY)


class LadderLine(Widget):
    """One rung's line: ``low`` to ``high``, ``now`` and ``then`` as parts of its width, or None.

    ``bar`` is the colour, by its name, of a bar from 0 to ``now``; "" for none.
    """

    low = ObjectProperty(None, allownone=True)
    high = ObjectProperty(None, allownone=True)
    now = ObjectProperty(None, allownone=True)
    then = ObjectProperty(None, allownone=True)
    bar = StringProperty("")
    air = NumericProperty("8dp")

    def __init__(self, **properties: object) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(**properties)
        self._ink = Canvas()
        self.canvas.add(self._ink)
        for name in ("pos", "size", "low", "high", "now", "then", "bar"):
            self.fbind(name, self._redraw)
        theme.follow(self)

    def repaint(self) -> None:
        """Paint anew, in the colours in force."""
        self._redraw()

    def _at(self, part: float) -> float:
        return self.x + self.air + min(1.0, max(0.0, part)) * (self.width - 2 * self.air)

    def _draw(self, *_: object) -> None:
        self._ink.clear()
        with self._ink:
            Color(*theme.line)
            Line(points=[self.x, self.center_y, self.right, self.center_y], width=dp(0.8))
            if self.bar and self.now is not None:
                self._bar(self._at(0), self._at(self.now))
            if self.low is not None and self.high is not None:
                self._band(self._at(self.low), self._at(self.high))
            if self.then is not None:
                self._ring(self._at(self.then))
            if self.now is not None:
                self._wedge(self._at(self.now))

    def _bar(self, start: float, end: float) -> None:
        Color(*getattr(theme, self.bar)[:3], 0.55)
        Rectangle(pos=(start, self.center_y - dp(4)), size=(max(dp(1), end - start), dp(8)))

    def _band(self, start: float, end: float) -> None:
        start, end = start - dp(1.5), end + dp(1.5)
        base, high = self.center_y - dp(9), dp(18)
        Color(*theme.in_range[:3], 0.22)
        Rectangle(pos=(start, base), size=(end - start, high))
        Color(*theme.in_range)
        Line(rectangle=(start, base, end - start, high), width=dp(1))
        x = start + dp(4)
        while x + dp(3) < end:
            Line(points=[x, base + dp(2), x + dp(3), base + high - dp(2)], width=dp(0.7))
            x += dp(7)

    def _ring(self, x: float) -> None:
        Color(*theme.ink)
        Line(circle=(x, self.center_y, dp(6)), width=dp(1.6))

    def _wedge(self, x: float) -> None:
        tip, top, half = self.center_y - dp(2), self.center_y + dp(15), dp(7)
        for colour, more in ((theme.ground, dp(2)), (theme.ink, 0)):
            Color(*colour)
            corners = (x, tip - more, 0, 0, x - half - more, top, 0, 0, x + half + more, top, 0, 0)
            Mesh(vertices=corners, indices=[0, 1, 2], mode="triangles")
        Line(points=[x, self.center_y - dp(11), x, self.center_y + dp(4)], width=dp(1.4))


class RungBar(BoxLayout):
    """A post with its line and its volts."""

    name = StringProperty("")
    text = StringProperty("")
    known = BooleanProperty(True)


class StepBar(BoxLayout):
    """What lies between two posts; a line joins their wedges, so that the ladder's way is seen.

    ``start`` and ``end`` are parts of the scale's width. A run's drop lies under its words.
    """

    words = StringProperty("")
    sign = StringProperty("")
    colour = StringProperty("faint")
    strong = BooleanProperty(False)
    has_drop = BooleanProperty(False)
    start = NumericProperty(-1)
    end = NumericProperty(-1)
    scale_left = NumericProperty(0)
    scale_width = NumericProperty(1)
    air = NumericProperty("8dp")

    def across(self, part: float) -> float:
        """Return where a part of the scale lies in the window."""
        inner = self.scale_width - 2 * self.air
        return self.x + self.scale_left + self.air + min(1.0, max(0.0, part)) * inner


class KeyRow(BoxLayout):
    """The key: what the three shapes mean."""


class KeyLine(BoxLayout):
    """A shape and its meaning."""

    words = StringProperty("")


class LadderPicture(BoxLayout):
    """Shows ``view``; the key says only what is there."""

    view: LadderView = ObjectProperty(None, allownone=True)

    def on_view(self, *_: object) -> None:
        self.clear_widgets()
        if self.view is None:
            return
        self._key()
        for index, rung in enumerate(self.view.rungs):
            self.add_widget(self._rung(rung))
            if index < len(self.view.steps):
                self.add_widget(self._step(index))

    def _key(self) -> None:
        lines = [("today", {"now": 0.5}), ("should be", {"low": 0.1, "high": 0.9})]
        if any(rung.then is not None for rung in self.view.rungs):
            lines.append(("then", {"then": 0.5}))
        self.add_widget(Small(text=self.view.scale_words))
        row = KeyRow()
        for text, shown in lines:
            line = KeyLine(words=text, size_hint_x=len(text) + 4)
            for name, part in shown.items():
                setattr(line.ids.scale, name, part)
            row.add_widget(line)
        self.add_widget(row)

    def _step(self, index: int) -> StepBar:
        step = self.view.steps[index]
        colour = GRADE_MARKS[step.grade].ink if step.grade else "faint"
        strong = step.grade in _STRONG
        bar = StepBar(words=step.words, sign=step.sign, colour=colour, strong=strong)
        above, below = self.view.rungs[index], self.view.rungs[index + 1]
        if above.now is not None and below.now is not None:
            bar.start, bar.end = self.view.part(above.now), self.view.part(below.now)
        if step.drop is not None:
            self._show_drop(bar, step, colour)
        return bar

    def _show_drop(self, bar: StepBar, step: StepRow, colour: str) -> None:
        drawn = {"low": step.low, "high": step.high, "now": step.drop, "then": step.then}
        bar.has_drop = True
        bar.ids.drop.bar = colour
        for name, volts in drawn.items():
            if volts is not None:
                setattr(bar.ids.drop, name, self.view.drop_part(volts))

    def _rung(self, rung: RungRow) -> RungBar:
        bar = RungBar(name=rung.name, text=rung.text, known=rung.now is not None)
        bar.ids.scale.bar = "main"
        for name in ("low", "high", "now", "then"):
            volts = getattr(rung, name)
            if volts is not None:
                setattr(bar.ids.scale, name, self.view.part(volts))
        return bar
