"""Two or more phones' answers to one step, one below the other, to choose the one that stands."""

from collections.abc import Iterable
from typing import Any

from logic.checklist.step import Step
from logic.records.state import StepEntry
from logic.words.dates import day_and_time
from mobile.jobs.exchange_words import entry_words
from mobile.ui.widgets.cards import Card, Notice, RowCard

_ASK = "Answered on two phones, neither knowing of the other. Tap what stands, or do it again."


class SettleCard(Card):
    """``on_chosen(entry)`` is dispatched for the answer that was tapped; ``here`` is this phone."""

    __events__ = ("on_chosen",)

    def __init__(
        self, step: Step, entries: Iterable[StepEntry], here: str, **properties: Any
    ) -> None:
        super().__init__(**properties)
        self.add_widget(Notice(kind="question", text=_ASK))
        for entry in entries:
            self.add_widget(self._row(step, entry, here))

    def on_chosen(self, entry: StepEntry) -> None:
        """Say which answer shall stand."""

    def _row(self, step: Step, entry: StepEntry, here: str) -> RowCard:
        at = entry.at.astimezone()
        where = "this phone" if entry.device == here else "another phone"
        row = RowCard(
            shape="open",
            text=entry_words(step, entry),
            second=f"{where}, {day_and_time(at)}",
            leads_on=False,
        )
        row.bind(on_release=lambda _: self.dispatch("on_chosen", entry))
        return row
