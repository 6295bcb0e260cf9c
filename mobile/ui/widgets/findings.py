"""A finding: its name with how sure in words, per cent and a bar; below it what there is to say."""

from collections.abc import Iterable
from pathlib import Path

from kivy.lang import Builder
from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from mobile.ui.widgets.reading_panel import Remark

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class SureBar(Widget):
    """How sure, as a bar with the marks at which the word for it changes."""

    part = NumericProperty(0)


class FindingHead(ButtonBehavior, BoxLayout):
    """The head of a finding; a tap folds what is below it."""

    text = StringProperty("")
    sure = StringProperty("")
    percent = StringProperty("")
    part = NumericProperty(0)
    open = BooleanProperty(False)


class Said(BoxLayout):
    """A small head over lines, each with its sign."""

    head = StringProperty("")

    @classmethod
    def of(cls, head: str, lines: Iterable[str], shape: str) -> "Said":
        """Build it with its lines."""
        made = cls(head=head)
        for line in lines:
            made.add_widget(Remark(shape=shape, text=line))
        return made
