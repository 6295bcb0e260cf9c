"""Shows screens by name, builds each on its first show, and remembers the way back."""

from collections.abc import Callable, Mapping
from math import hypot
from typing import Any

from kivy.clock import Clock
from kivy.input.motionevent import MotionEvent
from kivy.metrics import dp
from kivy.uix.screenmanager import NoTransition, ScreenManager

from logic.records.store.bookmark import Bookmark
from mobile.jobs.workplace import Workplace
from mobile.ui.widgets.pages import Page

# Assumed: two taps at one position that are meant are slower, and a bounce lands nearer.
_BOUNCE, _BOUNCE_REACH = 0.3, 40  # seconds, dp

# How many screens off the way are kept built, the last ones shown. A screen takes 2 to 16 MB, some
# 60 kB a widget (tests/benchmarks/memory.py), and building one anew a few redraws.
_KEPT = 2

# What a bookmark of release 0.1.0 calls a screen that has another name now.
_FORMER_NAMES = {"loop": "circuit", "stranger": "quick_check"}

Catalogue = Mapping[str, Callable[[], type[Page]]]


class Navigator(ScreenManager):
    """``show(name, **what)`` goes on, ``go_back()`` returns, ``restart(name)`` forgets the way.

    ``on_shown(name, what)`` is dispatched after every move; ``on_root_left`` when there is no way
    back and the back key was pressed.
    """

    __events__ = ("on_shown", "on_root_left")

    def __init__(self, work: Workplace, catalogue: Catalogue, **properties: Any) -> None:
        self._work = work
        self._catalogue = catalogue
        self._trail: list[tuple[str, dict[str, Any]]] = []
        self._built_last: list[str] = []
        self._turned_at = 0.0
        self._touched = (0.0, 0.0)
        super().__init__(transition=NoTransition(), **properties)

    @property
    def page(self) -> Page | None:
        """The screen shown."""
        return self.current_screen

    @property
    def trail(self) -> tuple[str, ...]:
        """The names of the screens on the way here, this one last."""
        return tuple(name for name, _ in self._trail)

    def knows(self, name: str) -> bool:
        """Tell whether there is a screen of this name."""
        return name in self._catalogue

    def show(self, name: str, **what: Any) -> Page:
        """Show a screen on top of this one; ``what`` goes to its ``opened``."""
        self._trail.append((name, what))
        return self._enter(name, what)

    def reopen(self, marked: Bookmark) -> bool:
        """Start where the bookmark is, with the way back laid; False where that cannot be."""
        name = _FORMER_NAMES.get(marked.screen, marked.screen)
        if not self.knows(name) or not self._catalogue[name]().reopens(self._work, marked):
            return False
        vehicle = {"vehicle_id": marked.vehicle_id}
        self._trail = [("home", {}), ("vehicle", vehicle)] if marked.vehicle_id else [("home", {})]
        self.show(name)
        return True

    def replace(self, name: str, **what: Any) -> Page:
        """Show a screen in place of this one: back leads to where this one came from."""
        if self._trail:
            self._trail.pop()
        return self.show(name, **what)

    def restart(self, name: str, **what: Any) -> Page:
        """Show a screen as the first of a new way."""
        self._trail.clear()
        return self.show(name, **what)

    def go_back(self) -> bool:
        """Take one step back; the screen may take the key for itself. False at the root."""
        if self.page is not None and self.page.goes_back():
            return True
        if len(self._trail) < 2:
            self.dispatch("on_root_left")
            return False
        self._trail.pop()
        self._enter(*self._trail[-1])
        return True

    def back_to(self, name: str) -> Page:
        """Go back to the screen of this name, or start anew with it if it is not on the way."""
        while self._trail and self._trail[-1][0] != name:
            self._trail.pop()
        if not self._trail:
            return self.show(name)
        return self._enter(*self._trail[-1])

    def turned(self) -> None:
        """Take note that something else is shown from now on, on this screen or another."""
        self._turned_at = Clock.time()

    def on_touch_down(self, touch: MotionEvent) -> bool:
        # A glove that bounces must not answer the next question with the tap for this one.
        near = hypot(touch.x - self._touched[0], touch.y - self._touched[1]) < dp(_BOUNCE_REACH)
        self._touched = touch.pos
        if near and Clock.time() - self._turned_at < _BOUNCE:
            return True
        return bool(super().on_touch_down(touch))

    def on_shown(self, name: str, what: dict[str, Any]) -> None:
        """Say which screen is shown now."""

    def on_root_left(self) -> None:
        """Say that back was pressed on the first screen."""

    def _enter(self, name: str, what: dict[str, Any]) -> Page:
        if self.page is not None:
            self.page.closed()
        page = self._built(name)
        page.opened(**what)
        self.current = name
        self.turned()
        self._take_down(name)
        self.dispatch("on_shown", name, what)
        return page

    def _take_down(self, shown: str) -> None:
        """Take down the screens that were not shown for long and do not lie on the way back."""
        last = [name for name in self._built_last if name != shown]
        self._built_last = [*last, shown]
        off_the_way = [name for name in last if name not in self.trail]
        for name in off_the_way[:-_KEPT]:
            self._built_last.remove(name)
            self.remove_widget(self.get_screen(name))

    def _built(self, name: str) -> Page:
        if not self.has_screen(name):
            page = self._catalogue[name]()(name=name)
            page.work, page.navigator = self._work, self
            self.add_widget(page)
        return self.get_screen(name)
