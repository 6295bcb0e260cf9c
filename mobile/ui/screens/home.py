"""The list of vehicles: search, a new one, the job that is under way, one's own details."""

from pathlib import Path

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from logic.records.store.vehicle_list import VehicleRow
from mobile.jobs import under_way
from mobile.jobs.language import said
from mobile.ui.widgets import text_field  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.scrolling import change_in_place

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_BATCH = 60
_NONE_FITS = "No vehicle fits '{fragment}'. Try fewer letters, or make a new one."
_KINDS = {"commissioning": "commissioning under way", "callback": "callback under way"}


class VehicleListRow(ButtonBehavior, BoxLayout):
    """One row of the list; everything it shows is set anew whenever it is used again."""

    home = ObjectProperty(None, allownone=True)
    vehicle_id = StringProperty("")
    plate = StringProperty("")
    about = StringProperty("")
    shape = StringProperty("")

    def on_release(self) -> None:
        self.home.open_vehicle(self.vehicle_id)


class HomeScreen(Page):
    """The first screen. Rows are read from the store in batches as the list is scrolled."""

    fragment = StringProperty("")
    going_on = StringProperty("")
    going_on_about = StringProperty("")
    nothing = StringProperty("")
    asks_workshop = BooleanProperty(False)

    def opened(self) -> None:
        own = self.work.store_file.setting("technician", {})
        self.asks_workshop = not own.get("workshop")
        self._search = Clock.create_trigger(self._list_anew, 0.1)
        self._show_open_job()
        self._list_anew()

    def closed(self) -> None:
        self._search.cancel()

    def on_fragment(self, *_: object) -> None:
        self._search()

    def make_new(self) -> None:
        """Begin a new vehicle."""
        from logic.records.events import new_id  # not on the start path

        self._open_set_up(new_id())

    def open_vehicle(self, vehicle_id: str) -> None:
        """Open a row: the vehicle, or the set-up that was left before its plate was whole."""
        if vehicle_id in self._half_made:
            self._open_set_up(vehicle_id)
        else:
            self.navigator.show("vehicle", vehicle_id=vehicle_id)

    def go_on(self) -> None:
        """Go on with the job under way where it was left."""
        if self._under_way is None:
            return
        vehicle_id, job_id = self._under_way.vehicle_id, self._under_way.job_id
        if self._under_way.job_kind == "callback":
            self.navigator.show("callback", vehicle_id=vehicle_id, job_id=job_id)
        else:
            self.work.put_walk_away()
            self.navigator.show("step", job_id=job_id)

    def load_more(self) -> None:
        """Read the next rows when the end of the list comes near."""
        rows = self.ids.list
        if not self._all_read and rows.scroll_y < 0.15:
            change_in_place(rows, rows.layout_manager, self._read_batch)

    def _open_set_up(self, vehicle_id: str) -> None:
        what = {"page_id": "vehicle", "vehicle_id": vehicle_id, "then": "equipment"}
        self.navigator.show("particulars", **what)

    def _show_open_job(self) -> None:
        self._under_way = job = under_way.job_under_way(self.work)
        self.going_on = said("Go on: {plate}", plate=job.plate) if job else ""
        self.going_on_about = job.about if job else ""

    def _list_anew(self, *_: object) -> None:
        self._all_read = False
        self._half_made = self._drafts_without_vehicle()
        self.ids.list.data = [] if self.fragment else list(self._half_made.values())
        self.ids.list.scroll_y = 1
        self._read_batch()
        empty = not self.ids.list.data
        searched = said(_NONE_FITS, fragment=self.fragment)
        none_yet = "No vehicle yet. Tap 'New vehicle' to set up the first one."
        self.nothing = (searched if self.fragment else none_yet) if empty else ""

    def _read_batch(self) -> None:
        shown = [line for line in self.ids.list.data if line["vehicle_id"] not in self._half_made]
        rows = self.work.store_file.find_vehicles(self.fragment, _BATCH, len(shown))
        self._all_read = len(rows) < _BATCH
        self.ids.list.data.extend(self._line(row) for row in rows)

    def _line(self, row: VehicleRow) -> dict[str, object]:
        under_way = _KINDS.get(row.open_job_kind or "", "")
        shape = "clock" if under_way else "done" if row.signed else "open"
        state_words = under_way or ("signed" if row.signed else "no job yet")
        told = (said(state_words), row.description, row.customer)
        return self._data(row.vehicle_id, row.registration, told, shape)

    def _drafts_without_vehicle(self) -> dict[str, dict[str, object]]:
        drafts = under_way.unfinished_set_ups(self.work.store_file)
        if not drafts:
            return {}
        from mobile.jobs.set_up import SetUp  # not on the start path

        lines = {}
        for vehicle_id, draft in drafts.items():
            if SetUp.of(self.work, vehicle_id).known is None:
                plate = draft.get("vehicle.registration", "").strip() or said("No plate yet")
                told = (said("not finished"), draft.get("vehicle.description", ""))
                lines[vehicle_id] = self._data(vehicle_id, plate, told, "pencil")
        return lines

    def _data(
        self, vehicle_id: str, plate: str, told: tuple[str, ...], shape: str
    ) -> dict[str, object]:
        return {
            "home": self.proxy_ref,
            "vehicle_id": vehicle_id,
            "plate": plate,
            "about": " · ".join(one for one in told if one),
            "shape": shape,
        }
