"""One message across the top of every screen, that a tap puts away."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from mobile.ui.widgets import cards  # noqa: F401  (the kv builds on it)

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class Banner(ButtonBehavior, BoxLayout):
    """Shows ``text`` with the shape of ``kind`` until it is tapped or replaced."""

    text = StringProperty("")
    kind = StringProperty("information")

    def say(self, text: str, kind: str = "information") -> None:
        """Show a message; ``kind`` is one of :class:`~mobile.ui.widgets.cards.Notice`'s."""
        self.kind = kind
        self.text = text

    def on_release(self) -> None:
        self.text = ""
