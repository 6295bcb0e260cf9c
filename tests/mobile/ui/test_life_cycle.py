"""What the phone does to an app while somebody types: no input is ever lost.

Follows Android's activity life cycle as Kivy hands it on: a call, another app or the screen going
off pause the app and resume it; a paused app may be ended without another word, and so may one
that is not, by its battery; the screen turns, the type grows, the dark look is switched, memory
runs low, all without the app being asked.
"""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from kivy.core.window import Window
from kivy.metrics import Metrics
from kivy.uix.widget import Widget

from mobile.ui.theme import theme
from mobile.ui.widgets.reading_panel import ReadingPanel
from tests.mobile.ui.workshop import FRESH, READY, as_killed, turn_to, vehicle_row

WORDS = "FH 204"


@dataclass(frozen=True)
class Place:
    """A field of a page: how its page is opened, and the field's label; "" is the keypad."""

    screen: str
    what: Callable[[Any], dict[str, Any]]
    label: str

    def opened(self, finger: Any) -> Any:
        store = finger.app.work.store
        if self.screen == "step":
            if finger.app.navigator.current != "step":
                finger.app.work.open_walk(vehicle_row(store, READY).open_job)
            finger.app.work.walk.go_to("rest_start_battery_voltage")
        return turn_to(finger, self.screen, **self.what(store))

    def field(self, finger: Any) -> Any:
        return next(w for w in finger.shown() if getattr(w, "label", None) == self.label)

    def write(self, finger: Any) -> None:
        if not self.label:
            finger.tap("1")
            finger.tap("2")
        else:
            finger.tap(self.field(finger).ids.input)
            finger.type(WORDS)

    def typed_into(self, finger: Any) -> str:
        """Open the page, type, and return what stands there then."""
        self.opened(finger)
        untouched = self.written(finger)
        self.write(finger)
        assert self.written(finger) != untouched
        return self.written(finger)

    def written(self, finger: Any) -> str:
        """Return what stands there now."""
        if not self.label:
            page = finger.app.navigator.page
            return next(w for w in Widget.walk(page) if isinstance(w, ReadingPanel)).text
        return self.field(finger).ids.input.text


PLACES = {
    "plate": Place(
        "particulars",
        lambda store: {"page_id": "vehicle", "vehicle_id": vehicle_row(store, FRESH).vehicle_id},
        "Description",
    ),
    "place": Place(
        "signing", lambda store: {"job_id": vehicle_row(store, READY).open_job}, "Place"
    ),
    "customer": Place(
        "signing", lambda store: {"job_id": vehicle_row(store, READY).open_job}, "Customer's name"
    ),
    "technician": Place(
        "signing", lambda store: {"job_id": vehicle_row(store, READY).open_job}, "Your name"
    ),
    "complaint": Place(
        "callback",
        lambda store: {"vehicle_id": vehicle_row(store, READY).vehicle_id},
        "In the customer's words",
    ),
    "reading": Place("step", lambda store: {}, ""),
}


def call(finger: Any) -> None:
    assert finger.app.dispatch("on_pause")  # an app that says no is ended
    finger.app.dispatch("on_resume")


def turned(finger: Any) -> None:
    width, height = Window.size
    Window.size = (height, width)
    finger.frames(3)
    Window.size = (width, height)


def larger_type(finger: Any) -> None:
    before, Metrics.fontscale = Metrics.fontscale, 1.3
    finger.frames(3)
    Metrics.fontscale = before


def dark(finger: Any) -> None:
    theme.dark = True
    finger.frames(2)
    theme.dark = False


def low_memory(_finger: Any) -> None:
    Window.dispatch("on_memorywarning")


@pytest.mark.parametrize("event", [call, turned, larger_type, dark, low_memory])
@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES)
def test_what_is_typed_stays_on_the_screen(
    make_phone: Any, demo_store: Path, tmp_path: Path, place: Place, event: Any
) -> None:
    finger = make_phone(store=copied(demo_store, tmp_path))
    before = place.typed_into(finger)
    event(finger)
    finger.frames(4)
    assert place.written(finger) == before


@pytest.mark.parametrize("was_paused", [True, False])
@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES)
def test_what_is_typed_outlives_the_app(
    make_phone: Any, demo_store: Path, tmp_path: Path, place: Place, was_paused: bool
) -> None:
    finger = make_phone(store=copied(demo_store, tmp_path))
    before = place.typed_into(finger)
    if was_paused:
        finger.app.dispatch("on_pause")
    finger = make_phone(store=as_killed(finger, tmp_path))
    place.opened(finger)
    assert place.written(finger) == before


@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES)
def test_the_back_key_loses_nothing(
    make_phone: Any, demo_store: Path, tmp_path: Path, place: Place
) -> None:
    finger = make_phone(store=copied(demo_store, tmp_path))
    before = place.typed_into(finger)
    finger.press_back()
    finger.rest(0.4)
    place.opened(finger)
    assert place.written(finger) == before


def copied(demo_store: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_store, tmp_path / "store"))
