"""A sheet that says what is about to happen and asks once more."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from mobile.ui.widgets.sheets import BottomSheet

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class ConfirmSheet(BottomSheet):
    """``on_confirmed`` is dispatched when the technician says so."""

    __events__ = ("on_confirmed",)

    about = StringProperty("")
    confirm_words = StringProperty("")

    def confirm(self) -> None:
        """Close, then let it happen."""
        self.dismiss(animation=False)
        self.dispatch("on_confirmed")

    def on_confirmed(self) -> None:
        """Say that it shall happen."""
