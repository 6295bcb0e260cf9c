"""A panel from below over the dimmed screen, for choices and short texts."""

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.modalview import ModalView
from kivy.uix.widget import Widget

from mobile.ui.widgets import pages  # noqa: F401  (the kv builds on it)

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class BottomSheet(ModalView):
    """Children added to it stand in a stack that scrolls when it would be too high."""

    title = StringProperty("")
    most_of_height = NumericProperty(0.85)

    def add_widget(self, widget: Widget, *args: Any, **kwargs: Any) -> None:
        if "stack" in self.ids:
            self.ids.stack.add_widget(widget, *args, **kwargs)
        else:
            super().add_widget(widget, *args, **kwargs)

    @property
    def stack(self) -> BoxLayout:
        """The box that holds the children."""
        return self.ids.stack
