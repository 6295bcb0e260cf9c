"""One reading being entered under the picture: where the probes go, the keys, save."""

from pathlib import Path

from kivy.lang import Builder
from kivy.metrics import sp
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logic.words.names import probe_lines
from mobile.jobs.typed_reading import ReadingContext, Typed
from mobile.ui.widgets.reading_panel import ReadingPanel

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


_REMARK = 84  # sp: four lines, more than most verdicts take; a longer one scrolls


class EntryPane(BoxLayout):
    """Dispatches ``on_typed(text)``, ``on_save(typed)``, ``on_leave``, ``on_withdraw`` and
    ``on_how``."""

    __events__ = ("on_typed", "on_save", "on_leave", "on_withdraw", "on_how")

    title = StringProperty("")
    probes = StringProperty("")
    before = StringProperty("")
    has_cautions = BooleanProperty(False)

    def begin(self, context: ReadingContext, text: str) -> None:
        """Set up for a reading; ``text`` was typed of it before."""
        self.probes = ". ".join(line for _, line in probe_lines(context.point))
        self._panel = ReadingPanel(context, text, remark_room=sp(_REMARK))
        self._panel.bind(on_typed=lambda _, typed: self.dispatch("on_typed", typed))
        self._panel.bind(on_enter=lambda _: self.save())
        self._panel.bind(on_overload=lambda _: self.dispatch("on_leave"))
        self.ids.panel.clear_widgets()
        self.ids.panel.add_widget(self._panel)
        if self._panel.keypad is not None:
            ids = self.ids
            self._panel.keypad.hold(back=ids.leave, more=ids.withdraw, onward=ids.save)

    def save(self) -> None:
        """Hand the reading over, or say what is wrong with it."""
        if self._panel.typed.value is None:
            self._panel.insist()
        else:
            self._panel.taken()
            self.dispatch("on_save", self._panel.typed)

    def on_typed(self, text: str) -> None:
        """Say what stands in the field now."""

    def on_save(self, typed: Typed) -> None:
        """Say that the reading is to be saved."""

    def on_leave(self) -> None:
        """Say that nothing is to be saved now."""

    def on_how(self) -> None:
        """Say that how it is taken is to be shown."""

    def on_withdraw(self) -> None:
        """Say that the earlier reading here is to be taken back."""
