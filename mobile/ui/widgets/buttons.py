"""Buttons for a gloved thumb: 56 dp high at least, and higher where their words need it."""

from collections.abc import Sequence
from pathlib import Path

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

import mobile.ui.widgets.marks  # noqa: F401  (the kv draws Marks)
from mobile.ui.widgets.handed import HandedRow
from mobile.ui.widgets.words import Written

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class TapLabel(ButtonBehavior, Written):
    """Base of the worded buttons. ``needed_height`` is what its words ask for."""

    needed_height = NumericProperty(0)


class MainButton(TapLabel):
    """The one thing to do next on a screen; filled."""


class SideButton(TapLabel):
    """Anything else that can be done; outlined."""


class BareButton(TapLabel):
    """A quiet action: words only."""


class Chip(TapLabel):
    """One of several ready answers; ``chosen`` shows a filled dot as well as the colour."""

    chosen = BooleanProperty(False)
    value = StringProperty("")


class ShapeButton(ButtonBehavior, BoxLayout):
    """A drawn sign with a word under it; ``shape`` from ``shapes.SHAPES``."""

    shape = StringProperty("")
    text = StringProperty("")
    needed_height = NumericProperty(0)


class ButtonRow(HandedRow):
    """Buttons side by side, all as high as the highest needs."""

    def __init__(self, **properties: object) -> None:
        self._trigger = Clock.create_trigger(self._fit, -1)
        super().__init__(**properties)
        self._fit()

    def add_widget(self, widget: Widget, *args: object, **kwargs: object) -> None:
        widget.size_hint_y = 1
        if hasattr(widget, "needed_height"):
            widget.fbind("needed_height", self._trigger)
        super().add_widget(widget, *args, **kwargs)
        self._trigger()

    def remove_widget(self, widget: Widget, *args: object, **kwargs: object) -> None:
        if hasattr(widget, "needed_height"):
            widget.funbind("needed_height", self._trigger)
        super().remove_widget(widget, *args, **kwargs)
        self._trigger()

    def _fit(self, *_: object) -> None:
        self.height = max((getattr(w, "needed_height", 0) for w in self.children), default=0)


class ChipGrid(BoxLayout):
    """Chips in rows of ``columns``, each row as high as its highest needs."""

    columns = NumericProperty(2)

    def __init__(self, **properties: object) -> None:
        self.chips: list[Chip] = []
        super().__init__(**properties)

    def show(self, chips: Sequence[Chip]) -> None:
        """Lay out these chips in place of those there were."""
        for row in self.children:
            row.clear_widgets()
        self.clear_widgets()
        self.chips = list(chips)
        columns = max(1, int(self.columns))
        for start in range(0, len(self.chips), columns):
            row = ButtonRow(spacing=self.spacing, turns=False)
            of_row = self.chips[start : start + columns]
            for widget in (*of_row, *(Widget() for _ in range(columns - len(of_row)))):
                row.add_widget(widget)
            self.add_widget(row)
