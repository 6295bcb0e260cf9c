"""Keeps the thumb's place while a page changes: what was above stays above."""

from collections.abc import Callable

from kivy.clock import Clock
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from mobile.ui.widgets.pages import PageBody


def change_in_place(view: ScrollView, content: Widget, change: Callable[[], None]) -> None:
    """Call ``change`` and then scroll to where the view was, counted from its top."""
    above = (1 - view.scroll_y) * max(0, content.height - view.height)
    change()

    def scroll(_: float) -> None:
        hidden = content.height - view.height
        view.scroll_y = 1 - min(1, above / hidden) if hidden > 0 else 1

    Clock.schedule_once(scroll, 0)


def rebuild_in_place(body: PageBody, build: Callable[[], None]) -> None:
    """Build a page anew with the thumb's place kept."""
    change_in_place(body, body.stack, build)
