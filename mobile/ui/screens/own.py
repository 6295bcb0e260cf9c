"""The first screen's menu: the look of the app, the technician's own details and own meter."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import ListProperty, StringProperty

from logic.checklist.depth import Depth
from logic.words.names import counted
from mobile.jobs import job_start
from mobile.jobs.exchange import to_settle
from mobile.jobs.set_up import OwnDetails
from mobile.jobs.set_up_pages import PAGE_OF, page_summary
from mobile.ui.theme import theme
from mobile.ui.widgets.pages import Page

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class OwnScreen(Page):
    """The look of the app, two rows that lead to their forms, and the way to other phones."""

    technician = StringProperty("")
    meter = StringProperty("")
    exchange = StringProperty("")
    depth = StringProperty("")
    depth_says = StringProperty("")
    depths = ListProperty([(one.value, one.words) for one in Depth])

    def opened(self) -> None:
        draft = OwnDetails(self.work.store).draft
        self.technician = page_summary(PAGE_OF["technician"], draft)
        self.meter = page_summary(PAGE_OF["meter"], draft)
        self.exchange = self._exchange_words()
        self._show_depth()

    def choose_depth(self, value: str) -> None:
        """Take how much a commissioning asks for, and keep the choice."""
        job_start.choose_depth(self.work.store, Depth(value))
        self._show_depth()

    def _show_depth(self) -> None:
        depth = job_start.chosen_depth(self.work.store)
        self.depth, self.depth_says = depth.value, depth.says

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

    def set_large(self, large: bool) -> None:
        """Set all type large or as the phone has it, and keep the choice."""
        theme.large = large
        self.work.store.set_setting("large_type", large)
