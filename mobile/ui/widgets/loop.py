"""The fault-finding picture: the loop with what was read, every post and clamp place tappable.

Where everything lies is :mod:`mobile.ui.widgets.loop_plan`, what it shows a
:class:`mobile.jobs.circuit_view.LoopView`. A text that would not fit its slot is set smaller.
"""

from pathlib import Path

from kivy.clock import Clock
from kivy.graphics import Canvas, Color, Ellipse, Line, Rectangle, RoundedRectangle
from kivy.input.motionevent import MotionEvent
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.relativelayout import RelativeLayout

from logic.limits.ladder import Grade
from logic.vehicle.points import Post
from mobile.jobs.circuit_view import LoopView, RunShown
from mobile.ui.theme import theme
from mobile.ui.widgets import loop_plan
from mobile.ui.widgets.loop_plan import CLAMP, POST, LoopPlan, RunPlan
from mobile.ui.widgets.loop_text import LoopText, Style, fit
from mobile.ui.widgets.marks import drawing
from mobile.ui.widgets.rect import Place, Rect
from mobile.ui.widgets.run_patterns import COLOURS, strokes

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

SIGNS = {
    Post.START_BATTERY_POSITIVE: "+",
    Post.START_BATTERY_NEGATIVE: "−",
    Post.CHARGER_INPUT: "in",
    Post.CHARGER_NEGATIVE: "−",
    Post.CHARGER_OUTPUT: "out",
    Post.IGNITION_TERMINAL: "ign",
    Post.SOLAR_TERMINAL: "sol",
    Post.PANEL_LEAD_POSITIVE: "+",
    Post.PANEL_LEAD_NEGATIVE: "−",
    Post.HOUSE_BATTERY_POSITIVE: "+",
    Post.HOUSE_BATTERY_NEGATIVE: "−",
}
PARTS = {
    "start_battery": "Start battery",
    "charger": "Charger",
    "house_battery": "House battery",
    "ignition_source": "Ignition",
    "house_loads": "Loads",
    "solar_panel": "Panel",
}


_NAME = Style(small=True, wraps=True)


class LoopPicture(RelativeLayout):
    """Set ``view``; dispatches ``on_place(kind, id)`` for a tapped post, clamp or part.

    ``chosen`` is the post that was tapped first; ``partners`` are those that go with it.
    """

    __events__ = ("on_place",)

    view: LoopView = ObjectProperty(None, allownone=True)
    chosen = StringProperty("")
    partners = ObjectProperty(frozenset())
    least = NumericProperty("376dp")

    def __init__(self, **properties: object) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(**properties)
        self._ink = Canvas()
        self._drawn: dict[object, LoopText] = {}
        self._kept: dict[object, LoopText] = {}
        self.canvas.add(self._ink)
        for name in ("size", "view", "chosen", "partners"):
            self.fbind(name, self._redraw)
        theme.bind(dark=self._redraw)

    def on_view(self, *_: object) -> None:
        self.least = dp(loop_plan.least_height(self.view.solar))

    def on_place(self, kind: str, place_id: str) -> None:
        """Say what was tapped."""

    @property
    def plan(self) -> LoopPlan:
        """Where everything lies now, in dp."""
        solar = self.view is not None and self.view.solar
        return loop_plan.lay_out(self.width / dp(1), self.height / dp(1), solar)

    def place_of(self, kind: str, place_id: str) -> Place:
        """Return where in the window a target lies (for whoever taps it from outside)."""
        target = next(t for t in self.plan.targets() if (t.kind, t.id) == (kind, place_id))
        x, y = target.rect.centre
        return self.to_window(dp(x), dp(y), initial=False)

    def on_touch_up(self, touch: MotionEvent) -> bool:
        moved = abs(touch.x - touch.ox) + abs(touch.y - touch.oy)
        if not self.collide_point(*touch.pos) or moved > dp(16) or self.view is None:
            return bool(super().on_touch_up(touch))
        place = ((touch.x - self.x) / dp(1), (touch.y - self.y) / dp(1))
        target = self.plan.target_at(place)
        if target:
            self.dispatch("on_place", target.kind, target.id)
        return bool(target)

    # Drawing

    def _draw(self, *_: object) -> None:
        self.clear_widgets()
        self._ink.clear()
        self._kept = {}
        if self.view is None or self.width < dp(200) or self.height < dp(100):
            return
        plan = self.plan
        with self._ink:
            for line in plan.lines:
                self._line(line, 2, "ink")
            for part, body in plan.parts.items():
                self._body(part, body)
            for run in plan.runs.values():
                self._run(run, self.view.runs.get(run.run, RunShown(Grade.NOT_READ)))
            for clamp, place in plan.clamps.items():
                self._clamp(clamp, place)
            for post, place in plan.posts.items():
                self._post(post, place)
        self._texts(plan)
        self._drawn = self._kept

    def _line(self, places: tuple[Place, ...], width: float, colour: str) -> None:
        Color(*getattr(theme, colour))
        points = [dp(n) for place in places for n in place]
        Line(points=points, width=dp(width) / 2, joint="miter", cap="none")

    def _body(self, part: str, body: Rect) -> None:
        marked = self.view.part == part
        pos, size = (dp(body.x), dp(body.y)), (dp(body.width), dp(body.height))
        Color(*(theme.tint if part == "charger" else theme.surface))
        RoundedRectangle(pos=pos, size=size, radius=[dp(6)])
        Color(*(theme.main if marked else theme.ink))
        Line(rounded_rectangle=(*pos, *size, dp(6)), width=dp(2.5 if marked else 1.1))

    def _run(self, run: RunPlan, shown: RunShown) -> None:
        for stroke in strokes(shown.grade, shown.share, run):
            self._line(stroke.places, stroke.width, COLOURS[shown.grade])
        if run.fuse:
            self._fuse(run.fuse)

    def _fuse(self, at: Place) -> None:
        x, y, wide, high = dp(at[0]), dp(at[1]), dp(14), dp(9)
        Color(*theme.ground)
        Rectangle(pos=(x - wide / 2, y - high / 2), size=(wide, high))
        Color(*theme.ink)
        Line(rectangle=(x - wide / 2, y - high / 2, wide, high), width=dp(1))
        Line(points=[x - wide / 2, y, x + wide / 2, y], width=dp(0.8))

    def _clamp(self, clamp: str, at: Place) -> None:
        marked = self.view.clamp == clamp
        x, y, r = dp(at[0]), dp(at[1]), dp(CLAMP)
        # Not filled: the run's pattern goes through it, as the cable through the jaws.
        Color(*theme.clamp)
        Line(ellipse=(x - r, y - r, 2 * r, 2 * r, 30, 330), width=dp(2.4))
        if marked:
            self._halo(at, round_one=False)

    def _halo(self, at: Place, *, round_one: bool) -> None:
        x, y, r = dp(at[0]), dp(at[1]), dp(POST + 6)
        Color(*theme.main)
        if round_one:
            Line(circle=(x, y, r), width=dp(2.5))
        else:
            Line(rounded_rectangle=(x - r, y - r, 2 * r, 2 * r, dp(5)), width=dp(2.5))

    def _post(self, post: Post, at: Place) -> None:
        x, y, r = dp(at[0]), dp(at[1]), dp(POST)
        chosen = self.chosen == post
        Color(*(theme.main if chosen else theme.surface))
        Ellipse(pos=(x - r, y - r), size=(2 * r, 2 * r))
        Color(*theme.ink)
        Line(circle=(x, y, r), width=dp(1.6))
        if post in (self.view.red, self.view.black):
            self._halo(at, round_one=post is self.view.red)
        if self.chosen and not chosen and post in self.partners:
            self._beckon(at)

    def _beckon(self, at: Place) -> None:
        """Four ticks around a post that the chosen one can be read against."""
        x, y = dp(at[0]), dp(at[1])
        Color(*theme.main)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            near, far = dp(POST + 2), dp(POST + 8)
            Line(points=[x + dx * near, y + dy * near, x + dx * far, y + dy * far], width=dp(2))

    # Texts

    def _texts(self, plan: LoopPlan) -> None:
        for part, slot in plan.names.items():
            warm = self.view.temperatures.get(part, "")
            self._text(f"{PARTS[part]} {warm}".strip(), slot, _NAME)
        for post, place in plan.posts.items():
            self._post_sign(post, place)
        for point, slot in plan.values.items():
            if shown := self.view.values.get(point):
                self._text(shown.text, slot, Style(sign=shown.sign, bold=True))
        for run in plan.runs.values():
            self._run_texts(run)
        self._flags(plan)

    def _post_sign(self, post: Post, place: Place) -> None:
        # A part of the drawing: it grows with the posts, not with the font.
        side = 18 if len(SIGNS[post]) == 1 else 13
        style = Style(bold=True, colour="main_words" if self.chosen == post else "ink")
        key = (SIGNS[post], post, style, dp(1), theme.dark)
        label = self._drawn.get(key)
        if label is None:
            colour = getattr(theme, style.colour)
            label = LoopText(text=SIGNS[post], font_size=dp(side), bold=True, color=colour)
            label.texture_update()
            label.size = label.texture_size
        self._kept[key] = label
        label.center = (dp(place[0]), dp(place[1]))
        self.add_widget(label)

    def _run_texts(self, run: RunPlan) -> None:
        shown = self.view.runs.get(run.run)
        if shown and shown.volts:
            self._text(shown.volts, run.volts, Style(bold=True))
            colour = COLOURS[shown.grade]
            self._text(shown.word, run.word, Style(sign=shown.sign, small=True, colour=colour))

    def _text(self, text: str, slot: Rect, style: Style) -> None:
        side = min(dp(15), dp(slot.height), dp(slot.width) * 0.22) if style.sign else 0
        air = dp(3) if style.sign else 0
        label = self._label(text, (dp(slot.width) - side - air, dp(slot.height)), style)
        left = dp(slot.centre[0]) - (label.width + side + air) / 2
        if style.sign:
            self._sign(style.sign, (left, dp(slot.centre[1]) - side / 2, side))
        label.pos = (left + side + air, dp(slot.centre[1]) - label.height / 2)
        self.add_widget(label)

    def _label(self, text: str, room: Place, style: Style) -> LoopText:
        """Return a text set in its room: as it was drawn last, where nothing about it changed."""
        size = theme.small if style.small else theme.text
        key = (text, room, style, size, theme.dark)
        label = self._drawn.get(key) or self._set(text, room, style, size)
        if label.parent is not None:  # the same text twice
            label = self._set(text, room, style, size)
        self._kept[key] = label
        return label

    @staticmethod
    def _set(text: str, room: Place, style: Style, size: float) -> LoopText:
        label = LoopText(text=text, bold=style.bold, color=getattr(theme, style.colour))
        label.font_size = size
        fit(label, *room, wraps=style.wraps)
        return label

    def _sign(self, sign: str, box: tuple[float, float, float]) -> None:
        ink = getattr(theme, sign if hasattr(theme, sign) else "marginal")
        self._ink.add(drawing(sign, box, ink, theme.verdict_words))

    def _flags(self, plan: LoopPlan) -> None:
        for post, letter, colour in (
            (self.view.red, "R", theme.red_probe),
            (self.view.black, "B", theme.black_probe),
        ):
            if post in plan.posts:
                self._flag(plan.posts[post], letter, colour)
        if self.view.clamp in plan.clamps:
            self._flag(plan.clamps[self.view.clamp], "C", theme.clamp)

    def _flag(self, at: Place, letter: str, colour: list[float]) -> None:
        """A tag at the post's upper left corner: round for red, square for black and clamp."""
        x, y, side = dp(at[0] - 24), dp(at[1] + 8), dp(16)
        with self._ink:
            Color(*colour)
            radius = dp(8) if letter == "R" else dp(2)
            RoundedRectangle(pos=(x, y), size=(side, side), radius=[radius])
        label = LoopText(text=letter, bold=True, color=theme.verdict_words, font_size=dp(12))
        fit(label, side, side, wraps=False)
        label.center = (x + side / 2, y + side / 2)
        self.add_widget(label)
