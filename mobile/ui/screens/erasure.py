"""A customer's data erased: first what goes and what is asked about, then what was done."""

from functools import partial
from pathlib import Path

from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty

from logic.errors import AppError
from logic.records.store.erasure import Erased
from logic.records.store.traces import Trace
from mobile.jobs import erasure, shared_copies
from mobile.ui import background, device
from mobile.ui.widgets.cards import Notice, RowCard
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Heading, Small, Words

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_STAYS, _GOES = "stays; tap to erase it as well", "is erased as well; tap to leave it"


class ErasureScreen(Page):
    """``opened(vehicle_id)``; back leads to the vehicle."""

    plate = StringProperty("")
    working = BooleanProperty(False)
    is_done = BooleanProperty(False)
    main_words = StringProperty("Leave")
    side_words = StringProperty("Erase")

    def opened(self, vehicle_id: str) -> None:
        self._vehicle_id, self._also, self._text = vehicle_id, set[str](), ""
        described = self.work.store.vehicle(vehicle_id).vehicle
        self.plate = described.registration if described else ""
        self.working = self.is_done = False
        self.main_words, self.side_words = "Leave", "Erase"
        self._ask()

    def goes_back(self) -> bool:
        """Stay while it is being erased."""
        return bool(self.working)

    def go_on(self) -> None:
        """Go back to the vehicle."""
        self.navigator.go_back()

    def go_aside(self) -> None:
        """Erase; once that is done, copy the list."""
        if self.is_done:
            self._copy()
            return
        self.working = True
        erasure.forget_what_is_in_hand(self.work, self._vehicle_id)
        task = partial(erasure.erase, self.work.store_folder, self._vehicle_id, self._also)
        background.run(task, self._erased, self._failed)

    def _ask(self) -> None:
        stack = self.ids.body.stack
        stack.clear_widgets()
        found = self.work.store.customer_traces(self._vehicle_id)
        stack.add_widget(Notice(kind="caution", text=erasure.goes_words(found)))
        self._list("Erased with it", [erasure.line(trace) for trace in found.sure])
        if found.possible:
            stack.add_widget(Heading(text="Do these name the customer?"))
            stack.add_widget(Small(text="A part of the name stands in them, or a word like it."))
        for trace in found.possible:
            row = RowCard(text=trace.text, shape="open", leads_on=False)
            row.second = f"{erasure.line(trace)}: {_STAYS}"
            row.bind(on_release=partial(self._turn, trace))
            stack.add_widget(row)
        self._list("Cannot be changed", [erasure.line(trace) for trace in found.fixed])
        self.ids.body.to_top()

    def _turn(self, trace: Trace, row: RowCard) -> None:
        self._also ^= {trace.event_id}
        goes = trace.event_id in self._also
        row.shape = "done" if goes else "open"
        row.second = f"{erasure.line(trace)}: {_GOES if goes else _STAYS}"

    def _list(self, heading: str, lines: list[str]) -> None:
        stack = self.ids.body.stack
        if lines:
            stack.add_widget(Heading(text=heading))
        for line in lines:
            stack.add_widget(Small(text=line))

    def _erased(self, erased: Erased) -> None:
        self.working, self.is_done = False, True
        erased = self._without_copies(erased)
        self.main_words, self.side_words = "Done", "Copy the list"
        self._text = f"{self.plate}\n{erased.summary}\n\n{erased.text}"
        stack = self.ids.body.stack
        stack.clear_widgets()
        stack.add_widget(Notice(kind="saved", text=erased.summary))
        for heading, lines in erased.lines:
            self._list(heading, list(lines))
        self.ids.body.to_top()

    def _without_copies(self, erased: Erased) -> Erased:
        """Delete what sharing left in the Downloads folder, and say so."""
        copies = shared_copies.of_vehicle(self.work.store, self._vehicle_id)
        kept = []
        for copy in copies:
            try:
                device.forget_shared(copy.uri)
            except AppError:
                kept.append(copy)
        gone = [copy for copy in copies if copy not in kept]
        shared_copies.forget(self.work.store, gone)
        return erased.with_copies((one.name for one in gone), (one.name for one in kept))

    def _failed(self, error: BaseException) -> None:
        self.working = False
        raise error

    def _copy(self) -> None:
        from kivy.core.clipboard import Clipboard

        Clipboard.copy(self._text)
        self.ids.body.stack.add_widget(
            Words(text="Copied: paste it into a message or a note."),
            len(self.ids.body.stack.children) - 1,
        )
        self.side_words = "Copied"
