"""The technician's own details and own meter, for every record from here on."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from logic.words.names import counted
from mobile.jobs.exchange import to_settle
from mobile.jobs.set_up import OwnDetails
from mobile.jobs.set_up_pages import PAGE_OF, page_summary
from mobile.ui.theme import theme
from mobile.ui.widgets.pages import Page

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class OwnScreen(Page):
    """Two rows that lead to their forms, the way to other phones, and the look of the app."""

    technician = StringProperty("")
    meter = StringProperty("")
    exchange = StringProperty("")

    def opened(self) -> None:
        draft = OwnDetails(self.work.store).draft
        self.technician = page_summary(PAGE_OF["technician"], draft)
        self.meter = page_summary(PAGE_OF["meter"], draft)
        self.exchange = self._exchange_words()

    def edit(self, page_id: str) -> None:
        """Open one of the two forms."""
        self.navigator.show("particulars", page_id=page_id)

    def _exchange_words(self) -> str:
        open_ends = len(to_settle(self.work.store))
        if open_ends:
            return f"Answered on two phones: {counted(open_ends, 'step')} to settle"
        return "All vehicles as one file, or a file from another phone"

    def set_dark(self, dark: bool) -> None:
        """Take the dark or the light look, and keep the choice."""
        theme.dark = dark
        self.work.store.set_setting("dark", dark)
