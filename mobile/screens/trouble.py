"""What the technician sees when the app itself failed: the record is safe, and how to go on."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from mobile.widgets.pages import Page

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class TroubleScreen(Page):
    """Shown once per unforeseen error."""

    __events__ = ("on_go_on",)

    what = StringProperty("")
    kept_in = StringProperty("")

    def opened(self, what: str = "", kept_in: str = "") -> None:
        self.what, self.kept_in = what, kept_in

    def on_go_on(self) -> None:
        """Say that the technician wants to go on."""
        self.navigator.restart("home")
