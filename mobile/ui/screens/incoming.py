"""A file from another phone before it is taken in: who signed it, and what it would do."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import BooleanProperty, ListProperty, StringProperty

from logic.records.bundle.importing import Imported
from logic.records.store.exchange import Agreed
from mobile.jobs import exchange, exchange_words
from mobile.ui import background
from mobile.ui.widgets import fields
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Words

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class IncomingScreen(Page):
    """``opened(incoming)`` with what :func:`mobile.jobs.exchange.look` found."""

    sender = StringProperty("")
    compare = StringProperty("")
    is_strange = BooleanProperty(False)
    working = BooleanProperty(False)
    may_be_taken = BooleanProperty(False)
    agreed = ListProperty()
    saying = StringProperty("")

    def opened(self, incoming: exchange.Incoming) -> None:
        self._incoming = incoming
        self.agreed, self.working, self.saying = [], False, ""
        would = incoming.would
        said = exchange_words.sender_words(would)
        self.sender, self.compare, self.is_strange = said.text, said.compare, bool(said.compare)
        self._show_what(would)
        self._ask(would)
        self._weigh()
        self.ids.body.to_top()

    def goes_back(self) -> bool:
        """Stay while it is taken in; otherwise the file is left."""
        if not self.working:
            exchange.leave(self.work.store_folder)
        return bool(self.working)

    def trust_sender(self) -> None:
        """Take the sender's key for the workshop's, and look at the file again."""
        would = self._incoming.would
        exchange.trust(self.work.store_folder, would.sender.public, would.device)
        self._run(
            "Looking at it again",
            partial(exchange.look, self.work.store_folder, self._incoming.path),
            self.opened,
        )

    def agree(self, why: str, to_it: bool) -> None:
        """Take note of what is agreed to."""
        self.agreed = [one for one in self.agreed if one != why] + [why] * to_it
        self._weigh()

    def take_in(self) -> None:
        """Take the file in."""
        agreed = Agreed(
            unsigned="key" in self.agreed,
            erasures="erasure" in self.agreed,
            ahead="date" in self.agreed,
            keys="keys" in self.agreed,
            withdrawals="withdrawals" in self.agreed,
        )
        folder, path = self.work.store_folder, self._incoming.path
        looked_at = self._incoming.would.manifest
        task = partial(exchange.receive, folder, path, agreed, looked_at=looked_at)
        self._run("Taking it in", task, self._it_came)

    def _it_came(self, came: Imported) -> None:
        if self.navigator.page is self:
            self.navigator.back_to("exchange")
            self.navigator.replace("exchange", came=came)

    def _run(
        self, doing: str, task: Callable[[exchange.Progress], Any], done: Callable[[Any], None]
    ) -> None:
        self.working, self.saying = True, f"{doing}. Stay on this page until it is done."

        def over(result: Any) -> None:
            self.working, self.saying = False, ""
            done(result)

        background.run(partial(task, exchange.Progress()), over, self._failed)

    def _failed(self, error: BaseException) -> None:
        self.working, self.saying = False, ""
        raise error

    def _show_what(self, would: Imported) -> None:
        box = self.ids.what
        box.clear_widgets()
        for sentence in exchange_words.would_do(would):
            box.add_widget(Words(text=sentence))

    def _ask(self, would: Imported) -> None:
        box = self.ids.asked
        box.clear_widgets()
        for one in exchange_words.asked_for(would):
            switch = fields.SwitchField(label=one.label, hint=one.hint)
            switch.bind(on_edited=lambda it, why=one.why: self.agree(why, it.active))
            box.add_widget(switch)

    def _weigh(self) -> None:
        self.may_be_taken = not self._incoming.would.brought_nothing or bool(self.agreed)
