"""Boxes: a card, a row of a list that can be tapped, and a shape with words in a box."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    NumericProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

import mobile.ui.widgets.marks
import mobile.ui.widgets.words  # noqa: F401  (the kv builds on both)

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class Card(BoxLayout):
    """A box with an edge, as high as its content."""


class RowCard(ButtonBehavior, BoxLayout):
    """A list row: a sign, a first line, a second line; ``on_release`` when tapped.

    Everything it shows is a property, so that it can be a RecycleView's viewclass.
    ``colour`` is the sign's, by its name in the theme; ``needed_height`` what its words ask for.
    """

    shape = StringProperty("")
    colour = StringProperty("main")
    text = StringProperty("")
    second = StringProperty("")
    leads_on = BooleanProperty(True)
    needed_height = NumericProperty(0)


class Notice(BoxLayout):
    """One message with its own shape; ``kind`` sets shape and colour, empty text hides it."""

    kind = OptionProperty(
        "information",
        options=[
            "information", "question", "caution", "saved",
            "in_range", "marginal", "out_of_range", "no_limit",
        ],
    )  # fmt: skip
    text = StringProperty("")
    font_size = NumericProperty("17sp")
    ground = ColorProperty()
    edge = ColorProperty()
