"""The app's own keypad, laid out as on a phone, and the keys of a real keyboard beside it.

Keys are 56 dp and more; 0 stands under 8. What the page does with the value takes the columns
at both sides, so that a circuit, a value and the keys fit on a small phone::

    OL     1  2  3  erase
    more   4  5  6  clear
           7  8  9  next
    back   .  0  −
"""

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.modalview import ModalView
from kivy.uix.widget import Widget

from mobile.ui.widgets import buttons, cards  # noqa: F401  (the kv builds on them)
from mobile.ui.widgets.handed import HandedRow

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

OVERLOAD = "OL"
_LONGEST = 12
_CHARACTERS = {sign: sign for sign in "0123456789.-"} | {",": "."}
# Kivy's codes: backspace and delete, return and enter; the number block has codes of its own.
_KEYS = {8: "erase", 127: "clear", 13: "enter", 271: "enter", 266: ".", 269: "-"}
_KEYS |= {256 + digit: str(digit) for digit in range(10)}


def after_key(text: str, key: str, *, anew: bool = False) -> str:
    """Return what stands in the field after a key; texts that cannot be numbers are let be.

    Whether it makes a number is judged elsewhere: a keypad that drops keys hides mistakes.
    ``anew``: the text stood there when the field was entered, and the first key takes its place,
    unless it erases.
    """
    if key == "clear":
        return ""
    if key == "erase":
        return "" if text == OVERLOAD else text[:-1]
    if key == OVERLOAD:
        return OVERLOAD
    if text == OVERLOAD or anew:
        text = ""
    if key == "-":
        return text[1:] if text.startswith("-") else "-" + text
    return (text + key)[:_LONGEST]


class Key(ButtonBehavior, BoxLayout):
    """One key: a character, or a drawn sign with a word for the screen reader."""

    key = StringProperty("")
    text = StringProperty("")
    shape = StringProperty("")


class Keypad(HandedRow):
    """Dispatches ``on_key(key)`` with a digit, ".", "-", "OL", "erase", "clear" or "enter".

    ``overload`` offers OL; ``signed`` greys out the minus where it makes no sense. A real
    keyboard's keys come as the same, as long as nothing lies over the keypad. :meth:`hold` puts
    the page's own buttons into the columns at its sides, which change sides for the left hand.
    """

    __events__ = ("on_key",)

    signed = BooleanProperty(True)
    overload = BooleanProperty(True)
    key_height = NumericProperty("56dp")

    def __init__(self, **properties: Any) -> None:
        super().__init__(**properties)
        from kivy.core.window import Window

        # Held weakly by the window: a keypad that is gone hears nothing.
        Window.bind(on_key_down=self._key_down)

    def on_overload(self, *_: Any) -> None:
        # Set by the rule of kv that the keypad stands in, once it is built.
        if not self.overload and self.ids.left.parent is not None:
            self.remove_widget(self.ids.left)

    def on_key(self, key: str) -> None:
        """Say which key was pressed."""

    def hold(self, *, back: Widget, more: Widget, onward: Widget) -> None:
        """Take in the page's buttons: back and onward in the corners, where they are elsewhere."""
        self.ids.left.remove_widget(self.ids.left_air)
        self.ids.right.remove_widget(self.ids.right_air)
        one = self.key_height
        two = 2 * one + self.spacing
        columns = (
            (self.ids.left, more, two),
            (self.ids.left, back, one),
            (self.ids.right, onward, two),
        )
        for column, named, high in columns:
            # A page's ids are weak: held here, the button outlives the row it leaves.
            button = named.__self__
            button.parent.remove_widget(button)
            button.size_hint = (1, high)  # shares of what the keys above leave
            column.add_widget(button)

    def _key_down(self, window: Any, code: int, _scan: int, text: str | None, *_: Any) -> bool:
        if self.get_root_window() is None or not self._is_uncovered(window):
            return False
        key = _KEYS.get(code) or _CHARACTERS.get(text or "")
        if key is None or (key == "-" and not self.signed):
            return False
        self.dispatch("on_key", key)
        return True

    def _is_uncovered(self, window: Any) -> bool:
        above = next((child for child in window.children if isinstance(child, ModalView)), None)
        return above is None or any(parent is above for parent in self.walk_reverse(loopback=False))


class KeypadSheet(ModalView):
    """The keypad from below, writing into a :class:`~mobile.ui.widgets.fields.NumberField`.

    What stood in the field is replaced by the first key, as on a calculator; ``anew`` is true
    until then. A text that cannot be taken keeps the sheet open, with what to do about it.
    """

    field = ObjectProperty()
    anew = BooleanProperty(False)

    def on_field(self, *_: Any) -> None:
        self.anew = bool(self.field.text)

    def press(self, key: str) -> None:
        """Do what a key asks."""
        if key == "enter":
            self.done()
            return
        anew, self.anew = self.anew, False
        self.field.typed(after_key(self.field.text, key, anew=anew))

    def done(self) -> None:
        """Close, unless what is typed cannot be taken."""
        if not self.field.complaint:
            self.dismiss(animation=False)

    def not_known(self) -> None:
        """Leave the field empty: the value is not known."""
        self.field.typed("")
        self.dismiss(animation=False)
