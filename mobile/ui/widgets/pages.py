"""The frame of every screen: header above, a body that scrolls, actions below the thumb.

::

    <HomeScreen>:                      class HomeScreen(Page)
        PageFrame:
            PageHeader:
                title: 'Vehicles'
            PageBody:
                Card: ...
            PageFooter:
                MainButton: ...
"""

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.screenmanager import Screen
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from mobile.jobs.own_choices import Look, keep
from mobile.ui import own_way
from mobile.ui.theme import theme
from mobile.ui.widgets import buttons, cards, marks, words  # noqa: F401  (the kv builds on them)
from mobile.ui.widgets.handed import HandedRow

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class Page(Screen):
    """A screen of the app.

    ``work`` is the :class:`mobile.jobs.workplace.Workplace`, ``navigator`` the one that shows
    screens; both are set before the screen is first shown.
    """

    work = ObjectProperty(None, allownone=True)
    navigator = ObjectProperty(None, allownone=True)

    @classmethod
    def reopens(cls, work: Any, marked: Any) -> bool:
        """Tell whether the app may start on this screen, ``marked`` being the store's bookmark.

        Called before ``opened()``, which then gets no arguments: what it needs is in ``work``.
        """
        return False

    def opened(self, *_args: Any, **_what: Any) -> None:
        """Get ready to be shown; each screen names what ``navigator.show(name, ...)`` must give."""

    def closed(self) -> None:
        """Leave: unbind and put away what runs."""

    def goes_back(self) -> bool:
        """Take the back key for something inside the screen; say whether it was taken."""
        return False

    def reread(self) -> None:
        """Read the store again: a photo that was still being made ready was put into it."""

    def paused(self) -> None:
        """Put what is unfinished on disk: the phone may never come back."""

    def turn_look(self) -> None:
        """Change between the light look and the dark one, and keep that as chosen."""
        look = Look.LIGHT if theme.dark else Look.DARK
        own_way.take_look(look)
        keep(self.work.store_file, "look", look)


class PageFrame(HandedRow):
    """Header, body and footer one under the other, or side by side."""


class LookButton(ButtonBehavior, Widget):
    """One tap to the other look: a moon while it is light, a sun while it is dark."""

    def on_release(self) -> None:
        above = self.parent
        while not isinstance(above, Page):
            above = above.parent
        above.turn_look()


class PageHeader(BoxLayout):
    """Title and, smaller, where one is; at its end the tap for the sun or the night."""

    title = StringProperty("")
    subtitle = StringProperty("")


class PageBody(ScrollView):
    """The part that scrolls; children are stacked and keep their own heights."""

    ready = BooleanProperty(False)

    def on_kv_post(self, base_widget: object) -> None:
        self.ready = True
        self.bind(height=self._stay_on_top)
        self.ids.stack.bind(height=self._stay_on_top)

    def _stay_on_top(self, *_: object) -> None:
        # What is shorter than the screen can only be at its beginning.
        if self.ids.stack.height <= self.height:
            self.scroll_y = 1

    def update_from_scroll(self, *args: Any) -> None:
        # Kivy binds this once more at each scroll, and unbinds only one when it comes to rest.
        self.funbind("bar_color", self._change_bar_color)
        super().update_from_scroll(*args)

    def add_widget(self, widget: Widget, *args: Any, **kwargs: Any) -> None:
        if "stack" in self.ids and widget is not self.ids.stack.__self__:
            self.ids.stack.add_widget(widget, *args, **kwargs)
        else:
            super().add_widget(widget, *args, **kwargs)

    @property
    def stack(self) -> BoxLayout:
        """The box that holds the children."""
        return self.ids.stack

    def to_top(self) -> None:
        """Scroll back to the beginning."""
        self.scroll_y = 1


class PageFooter(BoxLayout):
    """The actions, within reach of the thumb that holds the phone."""
