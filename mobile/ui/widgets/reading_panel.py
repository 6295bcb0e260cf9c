"""A reading being typed: value, band, verdict with its reason, the question if one, the keys."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import (
    BooleanProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.boxlayout import BoxLayout

from logic.records.words import begins_at_nothing
from mobile.jobs.typed_reading import Typed
from mobile.jobs.wording import VERDICTS, Sign
from mobile.ui.widgets import buttons, ruler  # noqa: F401  (the kv builds on them)
from mobile.ui.widgets.buttons import ButtonRow
from mobile.ui.widgets.fields import ChoiceField
from mobile.ui.widgets.keypad import Keypad, after_key

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


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
    """Dispatches ``on_typed(text)`` at each key, ``on_overload`` when OL is to be the reason.

    :meth:`show` is given what the text amounts to. Where ``choices`` (value, words) are given,
    they stand in place of the keys. ``is_given`` says that the text is an answer on record.
    A remark that is higher than ``remark_room`` scrolls.
    """

    __events__ = ("on_typed", "on_overload")

    text = StringProperty("")
    shown = StringProperty("–")
    unit = StringProperty("")
    expected = StringProperty("")
    low = ObjectProperty(None, allownone=True)
    high = ObjectProperty(None, allownone=True)
    places = NumericProperty(2)
    colour = StringProperty("no_limit")
    is_given = BooleanProperty(False)
    choices = ListProperty()
    key_height = NumericProperty("56dp")
    remark_room = NumericProperty("80dp")

    def on_typed(self, text: str) -> None:
        """Say what stands in the field now."""

    def on_overload(self) -> None:
        """Say that the step is to be left out because the meter shows OL."""

    def set_keys(self) -> None:
        """Lay out the keys, or the choices."""
        self.ids.key_box.clear_widgets()
        if self.choices:
            keys = ChoiceField(options=self.choices, columns=2 if len(self.choices) == 2 else 1)
            keys.bind(on_edited=lambda field: self.dispatch("on_typed", field.value))
        else:
            keys = Keypad(row_default_height=self.key_height)
            keys.bind(on_key=lambda _, key: self.press(key))
        self.ids.key_box.add_widget(keys)

    def press(self, key: str) -> None:
        """Do what a key asks."""
        # A value that was given before is corrected as a whole: its first key starts anew.
        before = "" if self.is_given and key != "erase" else self.text
        self.is_given = False
        self.dispatch("on_typed", after_key(before, key))

    def show(self, typed: Typed, *, insist: bool = False) -> None:
        """Show what the text amounts to; ``insist`` complains about a beginning too."""
        self.text = typed.text
        self.shown = typed.text.replace("-", "−") or "–"
        for field in self.ids.key_box.children:
            if isinstance(field, ChoiceField):
                field.value = typed.text
        sign, words = self._said(typed, insist)
        remark = self.ids.remark
        remark.shape, remark.colour, remark.text = sign.shape, sign.colour, words
        self._ask(typed)
        self._draw_ruler(typed, sign.colour if typed.verdict else "no_limit")

    def _said(self, typed: Typed, insist: bool) -> tuple[Sign, str]:
        if typed.verdict:
            sign = VERDICTS[typed.verdict.verdict]
            # What to do about it comes first, for the end may have to be scrolled to.
            note = f"{typed.note} " if typed.note else ""
            return sign, f"{sign.words}. {note}{typed.verdict.reason}"
        if typed.question:
            asked = f"{typed.text} is more than can be here. Is {typed.question[:-1]} meant?"
            return Sign("", "question", "ink"), asked
        if typed.complaint and (insist or not typed.premature):
            return Sign("", "caution", "out_of_range"), typed.complaint
        return Sign("", "information", "ink"), self.expected

    def _ask(self, typed: Typed) -> None:
        self.ids.question_box.clear_widgets()
        if typed.overload:
            question = Question(yes_words="Leave out: OL", no_words="Read again")
            question.bind(on_yes=lambda _: self.dispatch("on_overload"))
        elif typed.question and typed.proposed is not None:
            meant = f"{typed.proposed:g}"
            question = Question(yes_words=f"Yes, {typed.question[:-1]}", no_words="No, type again")
            question.bind(on_yes=lambda _: self.dispatch("on_typed", meant))
        else:
            return
        question.bind(on_no=lambda _: self.dispatch("on_typed", ""))
        self.ids.question_box.add_widget(question)

    def _draw_ruler(self, typed: Typed, colour: str) -> None:
        band, verdict = self.ids.ruler, typed.verdict
        band.places = self.places
        low = verdict.expected_low if verdict else self.low
        band.high = verdict.expected_high if verdict else self.high
        band.low = None if begins_at_nothing(low, band.high) else low
        band.guard = verdict.uncertainty if verdict else 0.0
        band.value = typed.value
        band.colour = self.colour = colour
