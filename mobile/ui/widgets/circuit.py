"""The circuit drawn: in the walk, in the callback and in the review.

What it shows is a :class:`logic.diagram.picture.CircuitPicture`, where everything lies
:mod:`logic.diagram.layout`'s; here it is painted, and touches are told.
"""

from kivy.clock import Clock
from kivy.graphics import Canvas
from kivy.input.motionevent import MotionEvent
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.relativelayout import RelativeLayout
from kivy.uix.scrollview import ScrollView

from logic.diagram.drawing import draw
from logic.diagram.geometry import XY
from logic.diagram.layout import Layout, Target
from logic.diagram.picture import CircuitPicture
from logic.diagram.primitives import Ink
from logic.diagram.text import SetText, Text
from mobile.ui.theme import theme
from mobile.ui.widgets.painter import Typesetter, shape_instructions
from mobile.ui.widgets.scrolling import show_from_top

_MOVED = 16  # dp: a finger that went further meant to scroll
_typesetter = Typesetter()


class CircuitView(RelativeLayout):
    """Set ``picture``; dispatches ``on_touched(target)`` for a post, a clamp's lead or a part.

    ``touch_height`` is the height from which it can be touched; lower it is only to look at.
    ``text`` is every text on it, a line each.
    """

    __events__ = ("on_touched",)

    picture: CircuitPicture = ObjectProperty(None, allownone=True)
    touch_height = NumericProperty("376dp")
    text = StringProperty("")

    def __init__(self, **properties: object) -> None:
        self._redraw = Clock.create_trigger(self._draw, -1)
        super().__init__(**{"size_hint_y": None, **properties})
        self._ink = Canvas()
        self.canvas.add(self._ink)
        self.fbind("size", self._redraw)
        self.fbind("picture", self._redraw)
        theme.follow(self)
        self._redraw()

    def on_picture(self, *_: object) -> None:
        if self.picture is not None:
            self.touch_height = dp(self.picture.touch_height)

    def on_touched(self, target: Target) -> None:
        """Say what was touched."""

    @property
    def layout(self) -> Layout:
        """Where everything lies now, in dp."""
        shown = self.picture if self.picture is not None else CircuitPicture(has_solar=False)
        return shown.lay_out(self.width / dp(1), self.height / dp(1))

    def show_marks(self, view: ScrollView) -> None:
        """Scroll a view that holds it so far from its top that the reading's marks are seen."""
        marked = self.picture.marked if self.picture is not None else None
        marks = self.layout.marks_of(marked) if marked is not None else None
        if marks is not None and self.parent is not None:
            base = self.y - view.children[0].y
            show_from_top(view, base + dp(marks.y), base + dp(marks.top))

    def set_texts(self) -> list[tuple[Text, SetText]]:
        """Return the texts on it as they are set, in dp."""
        drawn = draw(self.picture, self.layout) if self.picture is not None else ()
        return [(one, _typesetter.set(one)) for one in drawn if isinstance(one, Text)]

    def middle_of(self, kind: str, what: str) -> XY:
        """Return where in the window a target lies (for whoever touches it from outside)."""
        target = next(t for t in self.layout.targets() if (t.kind, t.what) == (kind, what))
        x, y = target.rect.centre
        return self.to_window(dp(x), dp(y), initial=False)

    def on_touch_up(self, touch: MotionEvent) -> bool:
        moved = abs(touch.x - touch.ox) + abs(touch.y - touch.oy)
        if not self.collide_point(*touch.pos) or moved > dp(_MOVED) or self.picture is None:
            return bool(super().on_touch_up(touch))
        target = self.layout.target_at(((touch.x - self.x) / dp(1), (touch.y - self.y) / dp(1)))
        if target:
            self.dispatch("on_touched", target)
        return bool(target)

    def repaint(self) -> None:
        """Paint anew, in the colours in force."""
        self._redraw()

    def _draw(self, *_: object) -> None:
        self._ink.clear()
        if self.picture is None or self.width < dp(100) or self.height < dp(100):
            return
        said = []
        for one in draw(self.picture, self.layout):
            if isinstance(one, Text):
                said.append(one.text)
                drawn = _typesetter.instructions(one, _colour)
            else:
                drawn = shape_instructions((one,), _colour)
            for instruction in drawn:
                self._ink.add(instruction)
        self.text = "\n".join(said)


def _colour(ink: Ink) -> list[float]:
    return getattr(theme, ink)
