"""Then and now: each reading beside the commissioning's, per ampere, what changed most first."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from logic.limits.then_and_now import Comparison
from logic.vehicle.installation import Installation
from logic.words.figures import as_read, milliohms
from logic.words.names import reading_name
from mobile.jobs import callback_words
from mobile.ui.screens.callback_page import CallbackPage
from mobile.ui.widgets import reading_panel  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.cards import Card, Notice
from mobile.ui.widgets.words import Small

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_NO_RECORD = (
    "There is no commissioning record of this vehicle here. Its label or a bundle from the other "
    "workshop would bring the readings."
)
_NOTHING_COMMON = "Nothing was read yet at a post and in a state that the commissioning has too."


class ChangeCard(Card):
    """One reading then and now."""

    name = StringProperty("")
    sign = StringProperty("")
    colour = StringProperty("ink")
    words = StringProperty("")
    then = StringProperty("")
    now = StringProperty("")
    then_each = StringProperty("")
    now_each = StringProperty("")


class ComparedScreen(CallbackPage):
    """Empty states say what would fill them."""

    where = StringProperty("")

    def begin(self) -> None:
        self.ids.body.to_top()

    def refresh(self) -> None:
        from logic.limits.then_and_now import compare  # not on the start path

        callback = self.callback
        self.where = callback.plate
        stack = self.ids.body.stack
        stack.clear_widgets()
        changes = compare(callback.installation, callback.readings, callback.baseline)
        if not changes:
            text = _NOTHING_COMMON if callback.baseline else _NO_RECORD
            stack.add_widget(Notice(text=text))
            return
        stack.add_widget(Small(text="What changed most comes first; drops count per ampere."))
        for change in changes:
            stack.add_widget(_card(change, callback.installation))


def _card(change: Comparison, fitted: Installation) -> ChangeCard:
    card = ChangeCard(name=reading_name(change.point, change.state, fitted))
    card.then, card.now = as_read(change.point, change.then), as_read(change.point, change.now)
    card.words, card.sign = callback_words.change(change)
    card.colour = card.sign
    if change.then_ohm is not None and change.now_ohm is not None:
        card.then_each = milliohms(change.then_ohm)
        card.now_each = milliohms(change.now_ohm)
    return card
