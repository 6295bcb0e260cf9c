"""What the technician sees when the app itself failed: the record is safe, and how to go on."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty
from kivy.uix.widget import Widget

from mobile.ui.widgets.cards import Card, Notice
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Small, Words

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class TroubleScreen(Page):
    """Shown for an unforeseen error, or with ``advice`` where the store cannot be opened."""

    what = StringProperty("")
    kept_in = StringProperty("")
    advice = StringProperty("")

    def opened(self, what: str = "", kept_in: str = "", advice: str = "") -> None:
        self.what, self.kept_in, self.advice = what, kept_in, advice
        stack = self.ids.body.stack
        stack.clear_widgets()
        for widget in self._advised() if advice else self._told():
            stack.add_widget(widget)

    def go_on(self) -> None:
        """Try again from the first screen."""
        self.navigator.restart("home")

    def _advised(self) -> tuple[Widget, ...]:
        return (Notice(kind="caution", text=self.advice),)

    def _told(self) -> tuple[Widget, ...]:
        safe = "Your record is safe. Every answer was on disk before the screen moved on."
        met = "The app met something it was not built for and stopped what it was doing."
        hand_in = "The details are kept in this file. Hand it to whoever looks after the app:"
        return (
            Notice(kind="saved", text=safe),
            _card(met, self.what),
            _card(hand_in, self.kept_in),
        )


def _card(words: str, small: str) -> Card:
    card = Card()
    card.add_widget(Words(text=words))
    card.add_widget(Small(text=small))
    return card
