"""Keeps the thumb's place while a page is built anew: what was above stays above."""

from collections.abc import Callable

from kivy.clock import Clock

from mobile.widgets.pages import PageBody


def rebuild_in_place(body: PageBody, build: Callable[[], None]) -> None:
    """Call ``build`` and then scroll to where the page was, counted from its top."""
    above = (1 - body.scroll_y) * max(0, body.stack.height - body.height)
    build()

    def scroll(_: float) -> None:
        hidden = body.stack.height - body.height
        body.scroll_y = 1 - min(1, above / hidden) if hidden > 0 else 1

    Clock.schedule_once(scroll, 0)
