"""The technician's own details and own meter, for every record from here on."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from mobile.setup import OwnDetails
from mobile.setup_overview import summary
from mobile.setup_pages import BY_ID
from mobile.theme import theme
from mobile.widgets.pages import Page

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class OwnScreen(Page):
    """Two rows that lead to their forms, and the look of the app."""

    technician = StringProperty("")
    meter = StringProperty("")

    def opened(self) -> None:
        draft = OwnDetails(self.work.store).draft
        self.technician = summary(BY_ID["technician"], draft)
        self.meter = summary(BY_ID["meter"], draft)

    def edit(self, page_id: str) -> None:
        """Open one of the two forms."""
        self.navigator.show("particulars", page_id=page_id)

    def set_dark(self, dark: bool) -> None:
        """Take the dark or the light look, and keep the choice."""
        theme.dark = dark
        self.work.store.set_setting("dark", dark)
