"""A sheet that asks for a reason: ready ones as chips, or a text of one's own."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import ListProperty, StringProperty

from mobile.ui.widgets import fields  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.buttons import Chip
from mobile.ui.widgets.sheets import BottomSheet

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class ReasonSheet(BottomSheet):
    """``ready`` reasons go into ``text``, where they can be added to; ``on_given(text)``."""

    __events__ = ("on_given", "on_edited")

    about = StringProperty("")
    text = StringProperty("")
    ready = ListProperty()
    complaint = StringProperty("")
    give_words = StringProperty("Save")

    def on_kv_post(self, base_widget: object) -> None:
        for reason in self.ready:
            chip = Chip(text=reason, value=reason)
            chip.bind(on_release=self._choose)
            self.ids.chips.add_widget(chip)

    def give(self) -> None:
        """Hand the reason over, or ask for one."""
        if self.text.strip():
            self.dispatch("on_given", self.text.strip())
            self.dismiss(animation=False)
        else:
            self.complaint = "Choose a reason, or write one."

    def typed(self, text: str) -> None:
        """Take over what was typed or chosen."""
        self.text, self.complaint = text, ""
        for chip in self.ids.chips.children:
            chip.chosen = chip.value == text
        self.dispatch("on_edited")

    def on_given(self, text: str) -> None:
        """Say that a reason was given."""

    def on_edited(self) -> None:
        """Say that the text was changed by hand."""

    def _choose(self, chip: Chip) -> None:
        self.typed(chip.value)
