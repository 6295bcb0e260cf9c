"""The keys of the workshop: this phone's own, and those of the phones and desk it believes."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from mobile.jobs import workshop_keys
from mobile.jobs.workshop_keys import KeyLine
from mobile.ui.widgets import fields  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.cards import RowCard
from mobile.ui.widgets.confirm import ConfirmSheet
from mobile.ui.widgets.pages import Page

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class KeysScreen(Page):
    """What another phone compares with, and the list; a tap on a key withdraws it."""

    compare = StringProperty("")
    nobody = StringProperty("")
    held_back = StringProperty("")

    def opened(self) -> None:
        own = workshop_keys.own_key(self.work.store)
        self.compare = own.compare
        self.ids.name.text = own.name
        self._show_list()
        self.ids.body.to_top()

    def closed(self) -> None:
        workshop_keys.rename(self.work.store, self.ids.name.text)

    def paused(self) -> None:
        workshop_keys.rename(self.work.store, self.ids.name.text)

    def withdraw(self, line: KeyLine) -> None:
        """Ask, then withdraw a key; or believe a withdrawn one again."""
        about = (
            f"{line.text}: believe this key again? What its phone signs is then the workshop's."
            if line.withdrawn
            else f"{line.text}: was this phone lost, sold or given away? Its key then counts no "
            "more; look also at the keys that it vouched for. What it wrote before stays."
        )
        sheet = ConfirmSheet(
            title="Key of the workshop",
            about=about,
            confirm_words="Believe it again" if line.withdrawn else "Withdraw its key",
        )
        sheet.bind(on_confirmed=lambda _: self._say(line))
        sheet.open(animation=False)

    def _say(self, line: KeyLine) -> None:
        standing = "trusted" if line.withdrawn else "withdrawn"
        self.work.store.say_of_key(line.public, "", standing)
        self._show_list()

    def _show_list(self) -> None:
        box, lines = self.ids.others, workshop_keys.other_keys(self.work.store)
        box.clear_widgets()
        self.nobody = "" if lines else "None yet."
        self.held_back = workshop_keys.held_back_words(self.work.store)
        for line in lines:
            shape = "skipped" if line.withdrawn else "key"
            row = RowCard(shape=shape, text=line.text, second=line.second)
            row.bind(on_release=lambda _, line=line: self.withdraw(line))
            box.add_widget(row)
