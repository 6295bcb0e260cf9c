"""A reading being typed: value, band, verdict with its reason, the question if one, the keys."""

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import (
    BooleanProperty,
    ListProperty,
    NumericProperty,
    StringProperty,
)
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.label import Label
from kivy.uix.widget import Widget

from logic.words.figures import as_read, begins_at_nothing
from logic.words.names import capitalised
from logic.words.notation import FAHRENHEIT, celsius_text, fahrenheit_text
from mobile.jobs import signs
from mobile.jobs.language import said
from mobile.jobs.signs import MarkedWord
from mobile.jobs.typed_reading import CHOICES, OVERLOAD, ReadingContext, expected_words
from mobile.ui.signals import OutOfRange
from mobile.ui.theme import theme
from mobile.ui.widgets import buttons, ruler  # noqa: F401  (the kv builds on them)
from mobile.ui.widgets.buttons import ButtonRow
from mobile.ui.widgets.fields import ChoiceField
from mobile.ui.widgets.keypad import Keypad, after_key

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


def _whole_lines(room: float) -> float:
    """Return as many whole lines of a remark as there is room for: none is cut through."""
    line = Label(text="M", font_size=theme.verdict, line_height=1.08)
    line.texture_update()
    high: float = line.texture_size[1]
    return max(2, room // high) * high


_IS_MEANT = "{shown} is more than can be here. Is {meant} meant?"
_IN_FAHRENHEIT = f" {FAHRENHEIT}"


def _fahrenheit(value: float | None) -> float | None:
    return None if value is None else value * 1.8 + 32


class Remark(BoxLayout):
    """A drawn sign and a sentence, on one line or more; empty text hides both."""

    shape = StringProperty("")
    colour = StringProperty("ink")
    text = StringProperty("")


class Question(ButtonRow):
    """Two buttons under a question."""

    __events__ = ("on_yes", "on_no")

    yes_words = StringProperty("")
    no_words = StringProperty("")

    def on_yes(self) -> None:
        """Say that the first answer was tapped."""

    def on_no(self) -> None:
        """Say that the second answer was tapped."""


class ReadingPanel(BoxLayout):
    """A reading being typed, judged at every key by its ``context``.

    Dispatches ``on_typed(text)`` at each key, ``on_enter`` at a keyboard's enter, ``on_overload``
    when OL is to be the reason for leaving it out. What the text amounts to is in ``typed``.
    A temperature may be typed in °F: ``text`` then names that unit, ``shown`` is without it.
    ``is_given`` says that the text is an answer on record. Where the point is chosen from a few
    ``choices``, they stand in place of the keys, and ``keypad`` is None. A remark that is higher
    than ``remark_room`` scrolls. A value out of range is signalled once its keys rest, or when
    the owner calls :meth:`taken`.
    """

    __events__ = ("on_typed", "on_enter", "on_overload")

    text = StringProperty("")
    shown = StringProperty("–")
    unit = StringProperty("")
    colour = StringProperty("no_limit")
    is_given = BooleanProperty(False)
    choices = ListProperty()
    key_height = NumericProperty("56dp")
    remark_room = NumericProperty("80dp")

    def __init__(self, context: ReadingContext, text: str, **properties: Any) -> None:
        point = context.point
        self._turns = theme.notation.turns(point.unit.symbol)
        unit = theme.notation.unit(point.unit.symbol)
        super().__init__(unit=unit, choices=CHOICES.get(point.unit, ()), **properties)
        self._context = context
        self._expectation = context.expectation()
        self.remark_room = _whole_lines(self.remark_room)
        self.keypad: Keypad | None = None
        self._set_keys()
        self.typed = context.typed(text)
        self._signal = OutOfRange(self.typed.verdict)
        self._show()

    def on_parent(self, _panel: Widget, parent: Widget | None) -> None:
        if parent is None:
            self._signal.end()

    def on_typed(self, text: str) -> None:
        """Say what stands in the field now."""

    def on_enter(self) -> None:
        """Say that enter was pressed on a real keyboard."""

    def on_overload(self) -> None:
        """Say that the step is to be left out because the meter shows OL."""

    def press(self, key: str) -> None:
        """Do what a key asks."""
        if key == "enter":
            self.dispatch("on_enter")
            return
        # A value that was given before is corrected as a whole: its first key starts anew.
        anew, self.is_given = self.is_given, False
        self.type(self._as_kept(after_key(self._digits(), key, anew=anew)))

    def type(self, text: str) -> None:
        """Put a text into the field and judge it."""
        self.typed = self._context.typed(text)
        self._signal.shown(self.typed.verdict)
        self._show()
        self.dispatch("on_typed", text)

    def confirm(self) -> None:
        """Take a value that the circuit cannot show as what the meter does show."""
        self.typed = self._context.typed(self.text, confirmed=True)
        self._signal.shown(self.typed.verdict)
        self._show()
        self.dispatch("on_typed", self.text)

    def insist(self) -> None:
        """Complain about a mere beginning too: it was to be saved as it is."""
        self._say(insist=True)

    def taken(self) -> None:
        """Take note that the value was saved: what is out of range is signalled now."""
        self._signal.taken()

    def _digits(self) -> str:
        """Return what stands in the field: the text, or what it is in the unit that is typed."""
        digits = self.text.removesuffix(_IN_FAHRENHEIT)
        if digits in ("", OVERLOAD) or (digits != self.text) == self._turns:
            return digits
        return fahrenheit_text(digits) if self._turns else celsius_text(digits)

    def _as_kept(self, digits: str) -> str:
        """Return digits as they are kept: those in °F name their unit."""
        return digits + _IN_FAHRENHEIT if self._turns and digits not in ("", OVERLOAD) else digits

    def _set_keys(self) -> None:
        if self.choices:
            keys = ChoiceField(options=self.choices, columns=2 if len(self.choices) == 2 else 1)
            keys.bind(on_edited=lambda field: self.type(field.value))
        else:
            keys = self.keypad = Keypad(key_height=self.key_height)
            keys.bind(on_key=lambda _, key: self.press(key))
        self.ids.key_box.add_widget(keys)

    def _show(self) -> None:
        self.text = self.typed.text
        self.shown = self._digits().replace("-", "−") or "–"
        for field in self.ids.key_box.children:
            if isinstance(field, ChoiceField):
                field.value = self.text
        self._say()
        self._ask()
        self._draw_ruler()

    def _say(self, *, insist: bool = False) -> None:
        sign, words = self._said(insist)
        remark = self.ids.remark
        remark.shape, remark.colour, remark.text = sign.shape, sign.colour, words

    def _said(self, insist: bool) -> tuple[MarkedWord, str]:
        typed = self.typed
        if typed.verdict:
            sign = signs.of_verdict(typed.verdict)
            # What to do about it comes first, for the end may have to be scrolled to.
            note = f"{typed.note} " if typed.note else ""
            if unproven := typed.verdict.proves_nothing:
                note = f"{capitalised(unproven)}. {note}"
            return sign, f"{said(sign.words)}. {note}{typed.verdict.reason}"
        if typed.meant:
            asked = said(_IS_MEANT, shown=self.shown, meant=typed.meant)
            return MarkedWord("", "question", "ink"), asked
        if typed.doubt and typed.proposed is not None:
            really = as_read(self._context.point, typed.proposed)
            asked = said("{doubt}. Really {value}?", doubt=capitalised(typed.doubt), value=really)
            return MarkedWord("", "question", "ink"), asked
        if typed.complaint and (insist or not typed.premature):
            return MarkedWord("", "caution", "out_of_range"), typed.complaint
        return MarkedWord("", "information", "ink"), expected_words(
            self._context.point, self._expectation
        )

    def _ask(self) -> None:
        typed = self.typed
        self.ids.question_box.clear_widgets()
        if typed.overload:
            question = Question(yes_words="Leave out: OL", no_words="Read again")
            question.bind(on_yes=lambda _: self.dispatch("on_overload"))
        elif typed.meant and typed.proposed is not None:
            meant = f"{typed.proposed:g}"
            yes = said("Yes, {value}", value=typed.meant)
            question = Question(yes_words=yes, no_words="No, type again")
            question.bind(on_yes=lambda _: self.type(meant))
        elif typed.doubt and typed.proposed is not None:
            shown = as_read(self._context.point, typed.proposed)
            yes = said("Yes, {value}", value=shown)
            question = Question(yes_words=yes, no_words="No, type again")
            question.bind(on_yes=lambda _: self.confirm())
        else:
            return
        question.bind(on_no=lambda _: self.type(""))
        self.ids.question_box.add_widget(question)

    def _draw_ruler(self) -> None:
        band, verdict, expected = self.ids.ruler, self.typed.verdict, self._expectation
        band.decimals = self._context.point.decimals
        low = verdict.expected_low if verdict else expected.low
        band.high = verdict.expected_high if verdict else expected.high
        band.low = (
            None
            if begins_at_nothing(self._context.point, low, band.high, self.typed.value)
            else low
        )
        band.guard = verdict.uncertainty if verdict else 0.0
        band.value = self.typed.value
        if self._turns:
            band.low, band.high, band.value = map(_fahrenheit, (band.low, band.high, band.value))
            band.guard *= 1.8
        band.colour = self.colour = signs.of_verdict(verdict).colour if verdict else "no_limit"
