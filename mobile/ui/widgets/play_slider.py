"""A slider to play with: its label and value above, a bar as high as a thumb below."""

from pathlib import Path

from kivy.input.motionevent import MotionEvent
from kivy.lang import Builder
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.slider import Slider

import mobile.ui.widgets.words  # noqa: F401  (the kv builds on it)

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class ThumbSlider(Slider):
    """The bar; ``owner`` is told when the finger leaves it."""

    def on_touch_up(self, touch: MotionEvent) -> bool:
        is_mine = touch.grab_current is self
        taken = bool(super().on_touch_up(touch))
        if is_mine:
            self.parent.dispatch("on_left")
        return taken


class PlaySlider(BoxLayout):
    """``on_moved`` at each step that the finger brings it to, ``on_left`` when it lets go."""

    __events__ = ("on_moved", "on_left")

    label = StringProperty("")
    words = StringProperty("")
    low = NumericProperty(0.0)
    high = NumericProperty(1.0)
    step = NumericProperty(1.0)
    value = NumericProperty(0.0)

    def on_moved(self) -> None:
        """Say that the finger brought it to another value."""

    def on_left(self) -> None:
        """Say that the finger let go."""

    def moved_to(self, value: float) -> None:
        """Take over where the bar is."""
        if abs(value - self.value) > 1e-9:
            self.value = value
            self.dispatch("on_moved")
