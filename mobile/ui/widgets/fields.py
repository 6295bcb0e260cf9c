"""What is typed or chosen on a form. Each keeps what was typed and shows its complaint beside it.

All have ``label``, ``hint`` (small print under the label), ``complaint`` (what is wrong and what
to do, or "") and ``on_edited`` (dispatched on every change by hand).
"""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import (
    BooleanProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.label import Label

from mobile.ui.widgets.buttons import Chip
from mobile.ui.widgets.text_field import FormField, TextField

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

__all__ = ["ChoiceField", "FormField", "NumberField", "PhotoField", "SwitchField", "TextField"]


class WayTag(ButtonBehavior, Label):
    """How a figure is known: one tap beside it."""

    value = StringProperty("")
    field = ObjectProperty()
    chosen = BooleanProperty(False)
    shown = BooleanProperty(False)

    def on_release(self) -> None:
        self.field.know_by(self.value)


class NumberField(ButtonBehavior, FormField):
    """A number as text, typed on the app's own keypad, which opens from below on a tap.

    ``text`` keeps the key presses; reading them is the owner's matter. Empty means not known.
    ``sheet`` is made on the first tap; ``signed`` offers the minus key. ``ways`` are how the
    figure may be known, as (value, words), each one tap beside it; ``stated`` is the one that
    holds, "" for none. ``on_known_by`` is dispatched when it was tapped.
    """

    __events__ = ("on_known_by",)

    text = StringProperty("")
    ways = ListProperty()
    stated = StringProperty("")
    unit = StringProperty("")
    empty_words = StringProperty("not known")
    signed = BooleanProperty(False)
    sheet = ObjectProperty(None, allownone=True)

    def on_known_by(self) -> None:
        """Say that it was tapped how the figure is known."""

    def on_kv_post(self, base_widget: object) -> None:
        for value, words in self.ways:
            tag = WayTag(text=words, value=value, field=self)
            self.ids.box.add_widget(tag)

    def know_by(self, way: str) -> None:
        """Take a tap on how the figure is known; a second one takes it back."""
        self.stated = "" if self.stated == way else way
        self.dispatch("on_known_by")

    def on_release(self) -> None:
        from mobile.ui.widgets.keypad import KeypadSheet

        self.sheet = KeypadSheet(field=self)
        self.sheet.open()

    def typed(self, text: str) -> None:
        """Take over what the keypad wrote."""
        if text != self.text:
            self.text = text
            self.complaint = ""
            self.dispatch("on_edited")


class ChoiceField(FormField):
    """One of a few answers as chips. ``options`` is a list of (value, words) pairs.

    ``value`` is the chosen one's value, "" for none. ``columns`` chips stand in a row.
    """

    options = ListProperty()
    value = StringProperty("")
    columns = NumericProperty(2)
    ready = BooleanProperty(False)

    def on_kv_post(self, base_widget: object) -> None:
        self.ready = True
        self._lay_out()

    def on_options(self, *_: object) -> None:
        if self.ready:
            self._lay_out()

    def on_value(self, *_: object) -> None:
        if self.ready:
            for chip in self.ids.chips.chips:
                chip.chosen = chip.value == self.value

    def choose(self, chip: Chip) -> None:
        """Take the tapped chip's value."""
        self.value = chip.value
        self.complaint = ""
        self.dispatch("on_edited")

    def _lay_out(self) -> None:
        self.ids.chips.show([self._chip(value, words) for value, words in self.options])

    def _chip(self, value: str, words: str) -> Chip:
        chip = Chip(text=words, value=value, chosen=value == self.value)
        chip.bind(on_release=self.choose)
        return chip


class PhotoField(FormField):
    """A photo: what it shows once there is one, and a button to take it.

    ``text`` names the photo, "" for none; ``source`` is its file, "" where that is not here.
    ``on_wanted`` is dispatched to have one taken; taking it away is an edit.
    """

    __events__ = ("on_wanted",)

    text = StringProperty("")
    source = StringProperty("")

    def on_wanted(self) -> None:
        """Say that a photo is to be taken."""

    def take_away(self) -> None:
        """Have no photo."""
        self.text = self.source = self.complaint = ""
        self.dispatch("on_edited")


class SwitchField(ButtonBehavior, FormField):
    """Yes or no, as a row that is tapped; shape and word show which."""

    active = BooleanProperty(False)
    yes_words = StringProperty("yes")
    no_words = StringProperty("no")

    def on_release(self) -> None:
        self.active = not self.active
        self.dispatch("on_edited")
