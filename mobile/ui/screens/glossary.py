"""What the trade's words mean: one list, searched as one types, without a connection."""

from pathlib import Path

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import StringProperty

from logic.checklist.glossary import Term, find
from mobile.ui.widgets import fields  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.cards import Card
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Small, Words

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class GlossaryScreen(Page):
    """The words that fit what is typed, those by name first."""

    fragment = StringProperty("")
    nothing = StringProperty("")

    def opened(self) -> None:
        self._search = Clock.create_trigger(self._list, 0.1)
        self._list()

    def closed(self) -> None:
        self._search.cancel()

    def on_fragment(self, *_: object) -> None:
        self._search()

    def _list(self, *_: object) -> None:
        found = find(self.work.glossary, self.fragment)
        stack = self.ids.words
        stack.clear_widgets()
        for term in found:
            stack.add_widget(_card(term))
        self.nothing = "" if found else "No such word here. Try fewer letters, or another word."
        self.ids.body.to_top()


def _card(term: Term) -> Card:
    card = Card()
    card.add_widget(Words(text=term.word, bold=True))
    if term.also:
        card.add_widget(Small(text=f"Also: {', '.join(term.also)}"))
    card.add_widget(Words(text=term.says))
    return card
