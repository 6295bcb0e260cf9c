"""Keeps the thumb's position while a page changes, and brings into view what matters."""

from collections.abc import Callable

from kivy.clock import Clock
from kivy.metrics import dp
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


def change_above(view: ScrollView, content: Widget, change: Callable[[], None]) -> None:
    """Call ``change``, which changes heights above what is seen, with that kept in its place."""
    below = view.scroll_y * max(0, content.height - view.height)
    was_at_top = view.scroll_y >= 1
    change()

    def scroll(_: float) -> None:
        hidden = content.height - view.height
        if not was_at_top:
            view.scroll_y = min(1, below / hidden) if hidden > 0 else 1

    Clock.schedule_once(scroll, 0)


class InView:
    """Keeps a widget in view when the page that it is on becomes lower: under a keyboard."""

    def __init__(self, widget: Widget) -> None:
        self._widget = widget
        self._page: ScrollView | None = None

    def begin(self) -> None:
        """Begin to keep it in view, if it is on a page that scrolls."""
        self.end()
        above = self._widget.parent
        while isinstance(above, Widget) and not isinstance(above, ScrollView):
            above = above.parent
        if isinstance(above, ScrollView):
            self._page = above
            above.bind(height=self._lower)

    def end(self) -> None:
        """Let it scroll out of view again."""
        if self._page is not None:
            self._page.unbind(height=self._lower)
            self._page = None

    def _lower(self, *_: object) -> None:
        Clock.schedule_once(self._scroll, 0)  # when what is on the page is laid out anew

    def _scroll(self, _: float) -> None:
        if self._page is not None:
            self._page.scroll_to(self._widget, padding=dp(24), animate=False)


def show_from_top(view: ScrollView, low: float, high: float) -> None:
    """Scroll to the top; what lies under two heights of the content only as far as need be."""
    hidden = view.children[0].height - view.height
    if hidden > 0 and low < hidden:
        view.scroll_y = min(1.0, max(0.0, (low + high - view.height) / 2 / hidden))
    else:
        view.scroll_y = 1


def rebuild_in_place(body: PageBody, build: Callable[[], None]) -> None:
    """Build a page anew with the thumb's position kept."""
    change_in_place(body, body.stack, build)
