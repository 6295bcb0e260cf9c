"""The app's own keypad: fifteen keys of 56 dp and more, no phone keyboard in the way.

Keys come in three rows of five, so that a circuit, a value and the keys fit on a small phone::

    1  2  3  −  erase
    4  5  6  .  OL
    7  8  9  0  last       ("clear" in the walk, "done" in a form)
"""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import BooleanProperty, ObjectProperty, OptionProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout
from kivy.uix.modalview import ModalView

from mobile.ui.widgets import buttons, cards  # noqa: F401  (the kv builds on them)

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

OVERLOAD = "OL"
_LONGEST = 12


def after_key(text: str, key: str) -> str:
    """Return what stands in the field after a key; texts that cannot be numbers are let be.

    Whether it makes a number is judged elsewhere: a keypad that drops keys hides mistakes.
    """
    if key == "clear":
        return ""
    if key == "erase":
        return "" if text == OVERLOAD else text[:-1]
    if key == OVERLOAD:
        return OVERLOAD
    if text == OVERLOAD:
        text = ""
    if key == "-":
        return text[1:] if text.startswith("-") else "-" + text
    return (text + key)[:_LONGEST]


class Key(ButtonBehavior, BoxLayout):
    """One key: a character, or a drawn sign with a word for the screen reader."""

    key = StringProperty("")
    text = StringProperty("")
    shape = StringProperty("")
    strong = BooleanProperty(False)


class Keypad(GridLayout):
    """Dispatches ``on_key(key)`` with a digit, ".", "-", "OL", "erase", "clear" or "done".

    ``overload`` and ``signed`` grey out keys that make no sense for what is being typed.
    """

    __events__ = ("on_key",)

    last = OptionProperty("clear", options=["clear", "done"])
    signed = BooleanProperty(True)
    overload = BooleanProperty(True)

    def on_key(self, key: str) -> None:
        """Say which key was pressed."""


class KeypadSheet(ModalView):
    """The keypad from below, writing into a :class:`~mobile.ui.widgets.fields.NumberField`."""

    field = ObjectProperty()

    def press(self, key: str) -> None:
        """Do what a key asks."""
        if key == "done":
            self.dismiss(animation=False)
        else:
            self.field.typed(after_key(self.field.text, key))

    def not_known(self) -> None:
        """Leave the field empty: the value is not known."""
        self.field.typed("")
        self.dismiss(animation=False)
