"""To and from other phones: vehicles as one file to send, a file of theirs to take in."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.widget import Widget

from logic.records.bundle.importing import Imported
from logic.words.figures import percent
from logic.words.names import counted
from mobile.jobs import exchange, exchange_words, shared_copies
from mobile.jobs.exchange_words import ClashLine, VehicleLine
from mobile.jobs.shared_copies import SharedCopy
from mobile.ui import background, device
from mobile.ui.widgets import fields  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.cards import Notice, RowCard
from mobile.ui.widgets.file_sheet import FileSheet
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Heading, Small

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_LOOKS = 0.2  # seconds between two looks at how far the work is


class WorkBar(Widget):
    """How far work behind the screen is: ``part`` runs from 0 to 1."""

    part = NumericProperty(0)
    shown = BooleanProperty(False)


class ExchangeScreen(Page):
    """``opened(vehicle_id)`` sends one vehicle; without one all of them, and receives.

    ``came`` is what a file brought: the screen shows itself again with it, so that the way back
    from a vehicle or a step leads to what is still to be settled.
    """

    title = StringProperty("")
    about = StringProperty("")
    send_title = StringProperty("")
    send_about = StringProperty("")
    ready = StringProperty("")
    missing = StringProperty("")
    saying = StringProperty("")
    working = BooleanProperty(False)
    has_vehicles = BooleanProperty(False)
    receives = BooleanProperty(False)
    part = NumericProperty(0)

    def opened(self, vehicle_id: str = "", came: Imported | None = None) -> None:
        self._vehicle_id = vehicle_id
        self._watch = Clock.create_trigger(self._look, _LOOKS, interval=True)
        self.ids.customer.value = "without"
        self.forget_file()
        self._name_subject()
        self._show_receiving(came)
        self.ids.body.to_top()

    def closed(self) -> None:
        self._watch.cancel()

    def goes_back(self) -> bool:
        """Stay while work is under way: it would go on unseen."""
        return bool(self.working)

    # Sending

    def send(self) -> None:
        """Make the file."""
        with_customer = self.ids.customer.value == "with"
        folder, now = self.work.store_folder, self.work.clock()
        self._run(
            "Making the file",
            lambda told: exchange.send(folder, self._vehicle_id, with_customer, now, told),
            self._file_is_there,
        )

    def share(self) -> None:
        """Hand the file to another app."""
        uri = device.share(self._path, exchange.MIME_TYPE)
        shared_copies.note(self.work.store, SharedCopy(uri, self._path.name, self._vehicle_id))

    def forget_file(self) -> None:
        """Take the file that is ready off the screen: another one is wanted now."""
        self.ready = self.missing = self.saying = ""

    def _file_is_there(self, sent: exchange.Sent) -> None:
        self._path = sent.path
        self.ready = f"Ready: {sent.path.name}. {sent.words}"
        self.missing = sent.missing
        self.saying = f"It lies in {sent.path.parent}"

    def _name_subject(self) -> None:
        store = self.work.store
        if self._vehicle_id:
            described = store.vehicle(self._vehicle_id).vehicle
            count, self.title = 1, "Send to another phone"
            self.about = described.registration if described else ""
            self.send_title = ""
        else:
            count, self.title = store.count_vehicles(), "Send and receive"
            self.about = ""
            self.send_title = f"Send all: {counted(count, 'vehicle')}" if count else "Send"
        self.has_vehicles = count > 0
        what = "One file for another phone or the desk, with jobs, signed records and photos."
        self.send_about = what if count else "There is no vehicle on this phone yet."

    # Receiving

    def choose(self) -> None:
        """Let a file be chosen: by the phone's own picker, or from the desk's folders."""
        if device.HAS_PICKER:
            device.ask_file(self.take_chosen)
            return
        endings = [exchange.ENDING, ".zip"]
        sheet = FileSheet(title="Choose the file", endings=endings, shape="share")
        sheet.bind(on_chosen=lambda _, path: self.take(Path(path)))
        sheet.open(animation=False)

    def take(self, path: Path) -> None:
        """Look at a file of the desk."""
        self._look_at(partial(exchange.look, self.work.store_folder, path))

    def take_chosen(self, uri: str) -> None:
        """Look at what the phone's picker chose."""
        stream = device.open_chosen(uri)
        self._look_at(partial(exchange.look_at_stream, self.work.store_folder, stream))

    def _look_at(self, task: Callable[[exchange.Progress], exchange.Incoming]) -> None:
        self.forget_file()
        self._run("Looking at it", task, self._show_incoming)

    def _show_incoming(self, incoming: exchange.Incoming) -> None:
        if self.navigator.page is self:
            self.navigator.show("incoming", incoming=incoming)

    def _show_receiving(self, came: Imported | None) -> None:
        box, self.receives = self.ids.came, not self._vehicle_id
        box.clear_widgets()
        if self.receives:
            for widget in (*self._came(came), *self._to_settle()):
                box.add_widget(widget)

    def _came(self, came: Imported | None) -> list[Widget]:
        if came is None:
            return []
        kind = "information" if came.brought_nothing else "saved"
        lines, more = exchange_words.vehicle_lines(self.work.store, came)
        widgets: list[Widget] = [Notice(kind=kind, text=exchange_words.came_words(came))]
        return [*widgets, *(self._vehicle_row(line) for line in lines), *_small(more)]

    def _vehicle_row(self, line: VehicleLine) -> RowCard:
        row = RowCard(shape="done", text=line.plate, second=line.second)
        row.bind(on_release=lambda _: self.navigator.show("vehicle", vehicle_id=line.vehicle_id))
        return row

    def _to_settle(self) -> list[Widget]:
        clashes = exchange.to_settle(self.work.store)
        if not clashes:
            return []
        lines, more = exchange_words.clash_lines(self.work.store, self.work.library, clashes)
        rows = [self._clash_row(line) for line in lines]
        return [Heading(text="Answered on two phones: to settle"), *rows, *_small(more)]

    def _clash_row(self, line: ClashLine) -> RowCard:
        row = RowCard(shape="question", text=line.text, second=line.second)
        row.bind(on_release=lambda _: self._settle(line))
        return row

    def _settle(self, line: ClashLine) -> None:
        if line.is_signed:
            self.navigator.show("record", job_id=line.job_id)
        else:
            self.navigator.show("step", job_id=line.job_id, step_id=line.step_id)

    # Work behind the screen

    def _run(
        self, doing: str, task: Callable[[exchange.Progress], Any], done: Callable[[Any], None]
    ) -> None:
        self._doing, self._progress = doing, exchange.Progress()
        self.working = True
        self._look()
        self._watch()

        def over(result: Any) -> None:
            self._put_down()
            done(result)

        background.run(partial(task, self._progress), over, self._failed)

    def _failed(self, error: BaseException) -> None:
        self._put_down()
        raise error

    def _put_down(self) -> None:
        self._watch.cancel()
        self.working, self.saying = False, ""

    def _look(self, *_: object) -> None:
        self.part = self._progress.part
        self.saying = f"{self._doing}: {percent(self.part)}. Stay on this page until it is done."


def _small(text: str) -> list[Widget]:
    return [Small(text=text)] if text else []
