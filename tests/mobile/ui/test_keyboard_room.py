"""The phone's keyboard takes the lower part of the screen: the field that is written in stays."""

from typing import Any

import pytest
from kivy.core.window import Window
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from mobile.ui import toolkit
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
