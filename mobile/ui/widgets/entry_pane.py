"""One reading being entered under the picture: where the probes go, the keys, save."""

from collections.abc import Callable
from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout

from logic.limits.expectation import Expectation
from logic.vehicle.points import Point
from mobile.jobs.typed_reading import Typed
from mobile.jobs.wording import CHOICES, expected_words, probe_lines
from mobile.ui.widgets.reading_panel import ReadingPanel

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class EntryPane(BoxLayout):
    """Dispatches ``on_typed(text)``, ``on_save(typed)``, ``on_leave`` and ``on_withdraw``."""

    __events__ = ("on_typed", "on_save", "on_leave", "on_withdraw")

    title = StringProperty("")
    probes = StringProperty("")
    before = StringProperty("")

    def begin(
        self, point: Point, expectation: Expectation, read: Callable[[str], Typed], text: str
    ) -> None:
        """Set up for a point; ``read`` says what a text amounts to, ``text`` stands there."""
        self._read = read
        self.probes = ". ".join(line for _, line in probe_lines(point))
        self._panel = ReadingPanel(
            unit=point.unit.symbol,
            low=expectation.low,
            high=expectation.high,
            expected=expected_words(point, expectation),
            places=point.decimals,
            choices=CHOICES.get(point.unit, ()),
        )
        self._panel.set_keys()
        self._panel.bind(on_typed=lambda _, typed: self._type(typed))
        self._panel.bind(on_overload=lambda _: self.dispatch("on_leave"))
        self.ids.panel.clear_widgets()
        self.ids.panel.add_widget(self._panel)
        self._show(text)

    def save(self) -> None:
        """Hand the reading over, or say what is wrong with it."""
        if self._typed.value is None:
            self._panel.show(self._typed, insist=True)
        else:
            self.dispatch("on_save", self._typed)

    def on_typed(self, text: str) -> None:
        """Say what stands in the field now."""

    def on_save(self, typed: Typed) -> None:
        """Say that the reading is to be saved."""

    def on_leave(self) -> None:
        """Say that nothing is to be saved now."""

    def on_withdraw(self) -> None:
        """Say that the earlier reading here is to be taken back."""

    def _type(self, text: str) -> None:
        self._show(text)
        self.dispatch("on_typed", text)

    def _show(self, text: str) -> None:
        self._typed = self._read(text)
        self._panel.show(self._typed)
