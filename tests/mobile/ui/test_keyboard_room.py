"""The phone's keyboard takes the lower part of the screen: the field that is written in stays."""

from typing import Any

import pytest
from kivy.core.window import Window
from kivy.uix.modalview import ModalView
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from mobile.ui import toolkit
from mobile.ui.screens import step_sheets
from mobile.ui.widgets.fields import TextField
from tests.mobile.ui.looks import Look
from tests.mobile.ui.workshop import FRESH, READY, turn_to, vehicle_row

# A small phone, and a keyboard as high as is usual on one; common practice, no published source.
SCREEN, KEYBOARD = toolkit.SMALL_PHONE, 270


def text_fields(finger: Any) -> list[Any]:
    return [one for one in finger.shown() if isinstance(one, TextField)]


def assert_seen(field: Any) -> None:
    """The field lies in the part of its page that is seen: over the keyboard and the footer."""
    box, above = field.ids.input, field.parent
    while isinstance(above, Widget) and not isinstance(above, ScrollView):
        above = above.parent
    bottom, top = 0, Window.height
    if isinstance(above, ScrollView):
        _, bottom = above.to_window(above.x, above.y)
        top = bottom + above.height
    _, low = box.to_window(box.x, box.y)
    assert 0 <= bottom <= low, f"{field.label}: {low} under {bottom}"
    assert low + box.height <= top <= Window.height, f"{field.label}: over the page"


def open_and_close_keyboard(finger: Any, field: Any) -> None:
    finger.bring_into_view(field.ids.input)
    finger.frames(2)
    field.ids.input.focus = True
    finger.frames(2)
    Window.size = (SCREEN.width, SCREEN.height - KEYBOARD)
    finger.frames(4)
    assert Window.height == SCREEN.height - KEYBOARD
    assert_seen(field)
    field.ids.input.focus = False
    Window.size = (SCREEN.width, SCREEN.height)
    finger.frames(4)


@pytest.mark.parametrize("scale", [1.0, 1.3])
@pytest.mark.parametrize("name", ["home", "particulars", "signing", "callback", "quick_check"])
def test_the_keyboard_never_covers_the_field(make_phone: Any, demo_store: Any, name, scale) -> None:
    finger = make_phone(Look(SCREEN, scale), store=demo_store)
    store = finger.app.work.store
    what = {
        "particulars": {"page_id": "vehicle", "vehicle_id": vehicle_row(store, FRESH).vehicle_id},
        "signing": {"job_id": vehicle_row(store, READY).open_job},
        "callback": {"vehicle_id": vehicle_row(store, READY).vehicle_id},
    }
    turn_to(finger, name, **what.get(name, {}))
    fields = text_fields(finger)
    assert fields
    for field in fields:
        open_and_close_keyboard(finger, field)


def at_step(finger: Any) -> Any:
    walk = finger.app.work.open_walk(vehicle_row(finger.app.work.store, READY).open_job)
    walk.go_to("idle_vehicle_feed_drop")
    return turn_to(finger, "step")


def sheet_of_the_step(kind: type[Any]) -> Any:
    return lambda finger: kind(screen=at_step(finger)).open(animation=False)


def sheet_of_the_review(finger: Any) -> None:
    turn_to(finger, "review", job_id=vehicle_row(finger.app.work.store, READY).open_job)
    finger.tap("Explain")


SHEETS = {
    "note": sheet_of_the_step(step_sheets.NoteSheet),
    "leave_out": sheet_of_the_step(step_sheets.SkipSheet),
    "explain": sheet_of_the_step(step_sheets.ExplainSheet),
    "reason": sheet_of_the_review,
}


@pytest.mark.parametrize("scale", [1.0, 1.3])
@pytest.mark.parametrize("name", SHEETS)
def test_the_keyboard_never_covers_the_field_of_a_sheet(
    make_phone: Any, demo_store: Any, name: str, scale: float
) -> None:
    finger = make_phone(Look(SCREEN, scale), store=demo_store)
    SHEETS[name](finger)
    finger.frames(4)
    [sheet] = [one for one in Window.children if isinstance(one, ModalView)]
    fields = [one for one in sheet.walk() if isinstance(one, TextField)]
    assert fields
    for field in fields:
        open_and_close_keyboard(finger, field)
