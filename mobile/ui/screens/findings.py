"""What the readings say: the likely faults, the evidence, what to do, whose matter it is."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path

from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.widget import Widget

from logic.case import SuspectReading
from logic.diagnosis.catalogue import Fault
from logic.vehicle.installation import Installation
from logic.words.names import RESPONSIBILITIES, capitalised, reading_name
from mobile.jobs import callback_words
from mobile.jobs.callback_words import FindingView
from mobile.ui.screens.callback_page import CallbackPage
from mobile.ui.widgets.buttons import SideButton
from mobile.ui.widgets.cards import Card, Notice
from mobile.ui.widgets.findings import FindingHead, Said
from mobile.ui.widgets.scrolling import rebuild_in_place
from mobile.ui.widgets.words import Small, Words

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class FindingsScreen(CallbackPage):
    """The most likely finding is open, the others fold out."""

    where = StringProperty("")
    still_takes = StringProperty("")
    may_act = BooleanProperty(False)

    def begin(self) -> None:
        self._open = {0}
        self.ids.body.to_top()

    def refresh(self) -> None:
        callback = self.callback
        number = len(callback.readings)
        self.where = f"{callback.plate} · {number} reading{'' if number == 1 else 's'}"
        self.still_takes = callback_words.what_it_takes(callback)
        self.may_act = callback.may_act
        self._build()

    def act(self) -> None:
        """Go on to the repair where a finding is likely enough, else to the next reading."""
        if self.may_act:
            self.show("repair")
        else:
            self.to_circuit()

    def _build(self) -> None:
        stack = self.ids.body.stack
        stack.clear_widgets()
        for widget in self._widgets():
            stack.add_widget(widget)

    def _widgets(self) -> Iterator[Widget]:
        found = self.callback.diagnosis
        if found is None:
            yield Small(text="Working it out ...")
            return
        if not self.callback.readings:
            yield Notice(text="Nothing is read yet. Take the first reading at the circuit.")
            return
        if self.callback.is_thinking:
            yield Notice(text="A newer reading is being worked in ...")
        if self.still_takes:
            yield Notice(kind="question", text=self.still_takes)
        yield from map(self._suspect, found.suspect_readings)
        for index, view in enumerate(callback_words.findings(found)):
            yield from self._finding(index, view)
        if beyond := self.callback.job.out_of_reach:
            card = Card()
            names = [reading_name(*one.key, self.callback.installation) for one in beyond]
            card.add_widget(Said.of("Could not be reached", names, "skipped"))
            yield card
        if excluded := callback_words.ruled_out(found):
            card = Card()
            card.add_widget(Said.of("Ruled out", [excluded], "skipped"))
            yield card
        yield Small(text="This advises; you decide. Local rules and licensed practice come first.")

    def _suspect(self, doubt: SuspectReading) -> Card:
        card = Card()
        card.add_widget(Notice(kind="question", text=doubt.reason))
        again = SideButton(text="Take it again")
        again.bind(on_release=lambda _: self._take_again(doubt))
        card.add_widget(again)
        return card

    def _take_again(self, doubt: SuspectReading) -> None:
        self.callback.enter(doubt.point, doubt.state)
        self.to_circuit()

    def _finding(self, index: int, view: FindingView) -> Iterator[Widget]:
        is_open = index in self._open
        head = FindingHead(
            text=view.title,
            sure=view.sure,
            percent=view.percent,
            part=view.probability,
            open=is_open,
        )
        head.bind(on_release=lambda _: self._fold(index))
        yield head
        if is_open:
            yield self._detail(view)

    def _detail(self, view: FindingView) -> Card:
        card = Card()
        if view.means:
            card.add_widget(Words(text=view.means))
        if view.not_explained:
            card.add_widget(Said.of("No listed fault explains", view.not_explained, "question"))
        if view.to_check:
            card.add_widget(Said.of("What to check", view.to_check, "next"))
        if view.evidence_for:
            card.add_widget(Said.of("What speaks for it", view.evidence_for, "plus"))
        if view.evidence_against:
            card.add_widget(Said.of("What speaks against it", view.evidence_against, "skipped"))
        if view.hides:
            card.add_widget(Said.of("What it may hide", view.hides, "search"))
        for fault in view.faults:
            for widget in _advice(fault, self.callback.installation):
                card.add_widget(widget)
        return card

    def _fold(self, index: int) -> None:
        self._open ^= {index}
        rebuild_in_place(self.ids.body, partial(self._build))


def _advice(fault: Fault, fitted: Installation) -> Iterator[Widget]:
    yield Said.of("What to do", fault.remedy, "next")
    for caution in fault.cautions_for(fitted.house_battery.chemistry):
        yield Notice(kind="caution", text=caution)
    yield Said.of("Whose matter", [capitalised(RESPONSIBILITIES[fault.responsibility])], "note")
    yield Said.of("For the customer", [f"“{fault.customer}”"], "information")
