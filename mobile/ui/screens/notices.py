"""What the app is built with: each part with its licence, and the licence's text at a tap."""

from functools import partial
from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from mobile.jobs.notices import ThirdParty, notices
from mobile.ui.widgets.cards import RowCard
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Small

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class NoticesScreen(Page):
    """The list of parts, or the text of the one that was tapped; back leads to the list."""

    subtitle = StringProperty("")

    def opened(self) -> None:
        self._list()

    def goes_back(self) -> bool:
        was_reading = bool(self.subtitle)
        if was_reading:
            self._list()
        return was_reading

    def _list(self) -> None:
        self.subtitle = ""
        stack = self.ids.body.stack
        stack.clear_widgets()
        for notice in notices():
            row = RowCard(text=notice.name, second=f"{notice.licence} · {notice.used_for}")
            row.bind(on_release=partial(self._read, notice))
            stack.add_widget(row)
        self.ids.body.to_top()

    def _read(self, notice: ThirdParty, _row: RowCard) -> None:
        self.subtitle = f"{notice.name}, {notice.licence}"
        stack = self.ids.body.stack
        stack.clear_widgets()
        for paragraph in notice.paragraphs():
            stack.add_widget(Small(text=paragraph))
        self.ids.body.to_top()
