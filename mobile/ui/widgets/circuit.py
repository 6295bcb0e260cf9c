"""The circuit drawn, with the step's probes, clamp or thermometer place marked on it.

A red probe's flag is a round tag with R, a black one's a square tag with B, a clamp a
hexagonal jaw with C and an arrow the way positive current flows: letter, shape and colour.
Where everything lies is plain data in :mod:`mobile.ui.widgets.circuit_plan`.
"""

from pathlib import Path

from kivy.clock import Clock
from kivy.graphics import Canvas, Color, Ellipse, Line, Mesh, Rectangle, RoundedRectangle
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.label import Label
from kivy.uix.relativelayout import RelativeLayout

from logic.vehicle.points import Point, Post
from mobile.ui.theme import theme
from mobile.ui.widgets.circuit_plan import Box, Place, Plan, Wire, plan

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_FLAG = 12  # dp, half a flag's side
_HEXAGON = ((1, 0), (0.5, 0.87), (-0.5, 0.87), (-1, 0), (-0.5, -0.87), (0.5, -0.87))


class Name(Label):
    """A name on the drawing, centred on its place."""


class Circuit(RelativeLayout):
    """The drawing. ``point`` marks where that reading is taken; "" marks nothing.

    ``red``, ``black`` and ``clamp`` follow from ``point`` and can be set instead of it.
    """

    solar = BooleanProperty(False)
    point = StringProperty("")
    red = StringProperty("")
    black = StringProperty("")
    clamp = StringProperty("")
    line = NumericProperty("2dp")

    def __init__(self, **properties: object) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(**properties)
        self._ink = Canvas()
        self.canvas.add(self._ink)
        for name in ("size", "solar", "red", "black", "clamp"):
            self.fbind(name, self._redraw)
        theme.bind(dark=self._look_changed)
        self.on_point()

    @property
    def plan(self) -> Plan:
        """Where everything lies now."""
        return plan(solar=self.solar)

    def on_point(self, *_: object) -> None:
        point = Point(self.point) if self.point else None
        self.red = (point.red or "") if point else ""
        self.black = (point.black or "") if point else ""
        self.clamp = (point.clamp_on or "") if point else ""
        self._redraw()

    # Drawing

    def _look_changed(self, *_: object) -> None:
        # A method of its own: bound methods are held weakly, so the widget can go.
        self._redraw()

    def _draw(self, *_: object) -> None:
        self.clear_widgets()
        self._ink.clear()
        if self.width < 10 or self.height < 10:
            return
        drawn = self.plan
        with self._ink:
            for wire in drawn.wires:
                self._wire(wire)
            for earth in drawn.earths:
                self._earth(earth)
            for box in drawn.boxes:
                self._box(box)
            for post, placed in drawn.posts.items():
                self._post(placed.at, str(post) in (self.red, self.black))
            self._marks(drawn)
        self._names(drawn)

    def _px(self, place: Place) -> Place:
        # Half a flag stays free at the edges.
        edge = dp(3)
        return (
            edge + place[0] * (self.width - 2 * edge),
            edge + place[1] * (self.height - 2 * edge),
        )

    def _wire(self, wire: Wire) -> None:
        Color(*theme.ink)
        points = [n for place in wire.places for n in self._px(place)]
        Line(points=points, width=self.line / 2, joint="miter")
        if wire.fuse:
            x, y = self._px(wire.fuse)
            wide, high = dp(16), dp(8)
            box = (x - wide / 2, y - high / 2)
            Color(*theme.surface)
            Rectangle(pos=box, size=(wide, high))
            Color(*theme.ink)
            Line(rectangle=(*box, wide, high), width=dp(1))
            Line(points=[x - wide / 2, y, x + wide / 2, y], width=dp(0.8))

    def _earth(self, place: Place) -> None:
        x, y = self._px(place)
        Color(*theme.ink)
        for i, half in enumerate((8, 5, 2)):
            level = y - dp(4) * i
            Line(points=[x - dp(half), level, x + dp(half), level], width=dp(1))

    def _box(self, box: Box) -> None:
        x0, y0 = self._px((box.x, box.y))
        x1, y1 = self._px((box.x + box.width, box.y + box.height))
        Color(*(theme.tint if box.part == "charger" else theme.surface))
        RoundedRectangle(pos=(x0, y0), size=(x1 - x0, y1 - y0), radius=[dp(5)])
        Color(*theme.ink)
        Line(rounded_rectangle=(x0, y0, x1 - x0, y1 - y0, dp(5)), width=dp(1.1))

    def _post(self, place: Place, marked: bool) -> None:
        x, y = self._px(place)
        r = dp(5) if marked else dp(3.5)
        Color(*theme.ink)
        Ellipse(pos=(x - r, y - r), size=(2 * r, 2 * r))

    def _marks(self, drawn: Plan) -> None:
        for post, colour, round_tag in (
            (self.red, theme.red_probe, True),
            (self.black, theme.black_probe, False),
        ):
            placed = drawn.posts.get(Post(post)) if post else None
            if placed:
                self._flag(self._px(placed.at), self._px(placed.flag), colour, round_tag)
        place = drawn.clamps.get(self.clamp)
        if place:
            self._clamp(self._px(place.at), place.towards)

    def _flag(self, at: Place, flag: Place, colour: list[float], round_tag: bool) -> None:
        r = dp(_FLAG)
        Color(*colour)
        Line(points=[*at, *flag], width=dp(2))
        Ellipse(pos=(at[0] - dp(5), at[1] - dp(5)), size=(dp(10), dp(10)))
        box = {"pos": (flag[0] - r, flag[1] - r), "size": (2 * r, 2 * r)}
        if round_tag:
            Ellipse(**box)
        else:
            Rectangle(**box)

    def _clamp(self, at: Place, towards: Place) -> None:
        r = dp(_FLAG)
        x, y = at
        Color(*theme.clamp)
        corners = [n for dx, dy in _HEXAGON for n in (x + dx * r, y + dy * r, 0, 0)]
        Mesh(vertices=corners, indices=list(range(6)), mode="triangle_fan")
        # The arrow lies beside the wire, so that the fuse and the posts stay in sight.
        dx, dy = towards
        side = (-dy * dp(19), dx * dp(19))
        ax, ay = x + side[0], y + side[1]
        half = dp(16) if dx else dp(11)
        tail = (ax - dx * half, ay - dy * half)
        head = (ax + dx * half, ay + dy * half)
        Line(points=[*tail, *head], width=dp(1.8), cap="square")
        left = (head[0] - dx * dp(8) - dy * dp(6), head[1] - dy * dp(8) + dx * dp(6))
        right = (head[0] - dx * dp(8) + dy * dp(6), head[1] - dy * dp(8) - dx * dp(6))
        Line(points=[*left, *head, *right], width=dp(1.8), joint="miter")

    def _names(self, drawn: Plan) -> None:
        for box in drawn.boxes:
            self._name(box.words, self._px(box.words_at))
        for placed in drawn.posts.values():
            if placed.sign:
                self._name(placed.sign, self._px(placed.sign_at), small=True)
        for post, letter in ((self.red, "R"), (self.black, "B")):
            probed = drawn.posts.get(Post(post)) if post else None
            if probed:
                self._name(letter, self._px(probed.flag), colour=theme.verdict_words)
        place = drawn.clamps.get(self.clamp)
        if place:
            self._name("C", self._px(place.at), colour=theme.verdict_words)

    def _name(
        self,
        words: str,
        at: Place,
        colour: list[float] | None = None,
        small: bool = False,
    ) -> None:
        name = Name(text=words, bold=colour is not None, color=colour or theme.ink)
        if small:
            name.font_size = "11dp"
        name.texture_update()
        name.size = name.texture_size
        name.center = at
        self.add_widget(name)
