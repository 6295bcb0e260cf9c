"""What a step that is no reading is answered with: yes or no, a choice, a text, a photo.

Each dispatches ``on_given(answer)`` with one of :mod:`logic.checklist.answers`, or for a photo
``on_wanted``; ``show(answer, acceptable)`` marks what was answered before.
"""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import ListProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logic.checklist.answers import Answer, ChoiceAnswer, TextAnswer, YesNoAnswer
from mobile.ui.widgets import buttons, fields, reading_panel  # noqa: F401  (the kv builds on them)

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

NOT_IN_ORDER = "Not in order. Put it right and answer again, or say why it may stand (More)."


class AnswerPanel(BoxLayout):
    """Base: a question, and below it a remark where the answer is not in order."""

    __events__ = ("on_given",)

    question = StringProperty("")
    remark = StringProperty("")

    def on_given(self, answer: Answer) -> None:
        """Say what was answered."""

    def show(self, answer: Answer | None, acceptable: bool) -> None:
        """Mark what was answered before."""
        self.remark = "" if acceptable else NOT_IN_ORDER


class YesNoPanel(AnswerPanel):
    """Two large buttons."""

    value = StringProperty("")

    def show(self, answer: Answer | None, acceptable: bool) -> None:
        super().show(answer, acceptable)
        given = answer.yes if isinstance(answer, YesNoAnswer) else None
        self.value = {True: "yes", False: "no", None: ""}[given]

    def give(self, value: str) -> None:
        """Take a tap."""
        self.dispatch("on_given", YesNoAnswer(yes=value == "yes"))


class ChoicePanel(AnswerPanel):
    """One chip for each answer; ``options`` as in a ``ChoiceField``."""

    options = ListProperty()
    value = StringProperty("")

    def show(self, answer: Answer | None, acceptable: bool) -> None:
        super().show(answer, acceptable)
        self.value = answer.choice if isinstance(answer, ChoiceAnswer) else ""

    def give(self, value: str) -> None:
        """Take a tap."""
        self.dispatch("on_given", ChoiceAnswer(choice=value))


class TextPanel(AnswerPanel):
    """A field; dispatches ``on_typed(text)`` at each change. Nothing is given by itself."""

    __events__ = ("on_typed",)

    text = StringProperty("")

    def on_typed(self, text: str) -> None:
        """Say what stands in the field now."""

    @property
    def answer(self) -> TextAnswer:
        """What stands in the field, as an answer."""
        return TextAnswer(text=self.text.strip())


class PhotoPanel(AnswerPanel):
    """The photo, once there is one, and a button to take it; ``not_shown`` why it is not."""

    __events__ = ("on_wanted",)

    source = StringProperty("")
    not_shown = StringProperty("")

    def on_wanted(self) -> None:
        """Say that a photo is to be taken."""


class LookPanel(BoxLayout):
    """One tap for all that is in order; dispatches ``on_in_order``. Without words it has none."""

    __events__ = ("on_in_order",)

    words = StringProperty("")
    remark = StringProperty("")

    def on_in_order(self) -> None:
        """Say that what is open was looked at and is in order."""


class WaitPanel(BoxLayout):
    """A countdown; ``since`` says what it runs from.

    Dispatches ``on_cut`` when the technician goes on before it is over, ``on_waited`` when it was
    kept before.
    """

    __events__ = ("on_cut", "on_waited")

    left = StringProperty("")
    what_for = StringProperty("")
    since = StringProperty("")

    def on_cut(self) -> None:
        """Say that the wait is to be cut short."""

    def on_waited(self) -> None:
        """Say that the technician waited that long before."""
