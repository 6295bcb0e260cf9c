"""The field that free text is typed into, and what all fields of a form share.

Apart from the others, which the first screen does not need: reading their rules takes as long as
reading its own.
"""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.ui.letters import sorted_out
from mobile.ui.widgets import marks, words  # noqa: F401  (the kv builds on them)
from mobile.ui.widgets.scrolling import InView

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class FormField(BoxLayout):
    """Base of the fields."""

    __events__ = ("on_edited",)

    label = StringProperty("")
    hint = StringProperty("")
    complaint = StringProperty("")
    name = StringProperty("")

    def on_edited(self) -> None:
        """Say that the value was changed by hand."""


class TextField(FormField):
    """Free text. ``text`` is what stands there; ``lines`` how many lines are shown.

    Letters that could not be drawn are not taken; ``left_out`` then says which, and why, until
    the field is entered anew.
    """

    text = StringProperty("")
    lines = NumericProperty(1)
    capitals = BooleanProperty(False)
    left_out = StringProperty("")

    def on_kv_post(self, base_widget: object) -> None:
        self._in_view = InView(self.ids.input)

    def entered(self, is_in: bool) -> None:
        """Take note that the keyboard writes here now, or no longer does."""
        if is_in:
            self.left_out = ""
            self._in_view.begin()
        else:
            self._in_view.end()

    def allowed(self, letters: str, _from_undo: bool) -> str:
        """Return what the keyboard may write of these letters."""
        kept, refused = sorted_out(letters)
        self.left_out = refused or self.left_out
        return kept

    def typed(self, text: str) -> None:
        """Take over what the keyboard wrote."""
        text = text.upper() if self.capitals else text
        if text != self.text:
            self.text = text
            self.complaint = ""
            self.dispatch("on_edited")
