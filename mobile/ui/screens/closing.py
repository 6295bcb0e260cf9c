"""The end of a callback: what it was, its check before and after, what is open, signatures."""

from collections.abc import Iterator
from pathlib import Path

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from logic.case import Diagnosis
from logic.records import sign_off
from logic.records.review import review
from logic.vehicle.points import ReadingKey
from logic.words.equipment import identity_in_brief
from logic.words.names import RESPONSIBILITIES, capitalised
from mobile.jobs import job_start, repair_check, signs
from mobile.jobs.callback import PLATE, TEXTS
from mobile.ui.screens.callback_page import CallbackPage
from mobile.ui.widgets import fields
from mobile.ui.widgets.cards import Card, Notice, RowCard
from mobile.ui.widgets.findings import Said
from mobile.ui.widgets.scrolling import change_above
from mobile.ui.widgets.step_cards import StepCards
from mobile.ui.widgets.words import Heading, Small

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_STAGES = (
    ("before_readings", "Asked and looked at first"),
    ("before_repair", "Before the repair"),
    ("after_repair", "After the repair"),
)
_LAST_STAGE = _STAGES[-1][0]


class Stack(BoxLayout):
    """Widgets under one another, as high as they are."""


class CheckRow(ButtonBehavior, BoxLayout):
    """A reading before and after; a tap takes it again."""

    shape = StringProperty("open")
    colour = StringProperty("faint")
    text = StringProperty("")
    second = StringProperty("")


class ClosingScreen(CallbackPage):
    """Everything the record of the callback will say, in the order in which it happened."""

    plate = StringProperty("")
    clear = BooleanProperty(False)

    def begin(self) -> None:
        self.ids.body.to_top()

    def refresh(self) -> None:
        self.plate = self.callback.plate
        stack = self.ids.body.stack
        stack.clear_widgets()
        self._missing = Stack()
        self._standing: tuple[sign_off.Blocker, ...] | None = None
        self._cards: list[StepCards] = []
        stack.add_widget(self._missing)
        for widget in self._widgets():
            stack.add_widget(widget)
        self._look_for_missing()

    def answered(self) -> None:
        """Nothing here waits for the diagnosis."""

    def sign(self) -> None:
        """Go on to the signatures, with what the readings said before the repair."""
        self.callback.give_texts()
        self.callback.give_plate()
        self._look_for_missing()
        if self.clear:
            self.callback.diagnosis_before(self._to_signatures)

    def _to_signatures(self, found: Diagnosis) -> None:
        self.navigator.show("signing", job_id=self.callback.job_id, diagnosis=found)

    def _look_for_missing(self) -> None:
        work = self.callback.work_done
        # A text that is typed is given on the way to the signatures.
        standing = tuple(
            one
            for one in sign_off.blockers(work, review(work))
            if not self.callback.draft(TEXTS, one.step_id).strip()
        )
        self.clear = not standing
        if standing != self._standing:
            self._standing = standing
            body = self.ids.body
            change_above(body, body.stack, self._list_missing)

    def _list_missing(self) -> None:
        self._missing.clear_widgets()
        if self._standing:
            self._missing.add_widget(Heading(text="Before it can be signed"))
        for one in self._standing or ():
            title, _, trouble = one.text.partition(": ")
            row = RowCard(shape="open", text=title, second=trouble)
            row.bind(on_release=lambda _, blocker=one: self._go_to(blocker))
            self._missing.add_widget(row)

    def _go_to(self, blocker: sign_off.Blocker) -> None:
        """Show where a thing that stands in the way is given."""
        cards = (found for shown in self._cards if (found := shown.card_of(blocker.step_id)))
        card = next(cards, None)
        if blocker.kind == "conclusion":
            self.show("repair")
        elif blocker.kind == "unexplained":
            self.show("review")
        elif card is not None:
            self.ids.body.scroll_to(card, padding=dp(24), animate=False)
        else:
            job_id = self.callback.job_id
            self.navigator.show("step", job_id=job_id, step_id=blocker.step_id)

    # What is shown

    def _widgets(self) -> Iterator[Widget]:
        if job_start.goes_without_plate(self.callback.vehicle.vehicle):
            yield self._plate_field()
        yield self._story()
        rows = repair_check.lines(self.callback)
        if rows:
            yield Heading(text="The proof")
            text, kind = repair_check.standing(rows)
            yield Notice(text=text, kind=kind or "information")
            yield from (self._row(line) for line in rows if line.is_check)
        also = [line for line in rows if not line.is_check]
        if also:
            yield Heading(text="Touched as well")
            yield Small(text="The repair touches these too; take what it may have changed.")
            yield from map(self._row, also)
        for stage_id, title in _STAGES:
            is_past = self.callback.phase == "after" and stage_id != _LAST_STAGE
            cards = StepCards(
                callback=self.callback, stage_id=stage_id, brief=True, is_past=is_past
            )
            if cards.children:
                self._cards.append(cards)
                cards.bind(on_answered=self._answered)
                yield Heading(text=title)
                yield cards
        every = RowCard(shape="list", text="Every step", second="Reasons, notes, what was left out")
        every.bind(on_release=lambda _: self.show("review"))
        yield every

    def _answered(self, _cards: StepCards) -> None:
        Clock.schedule_once(lambda _: self._look_for_missing(), 0)

    def _story(self) -> Card:
        job, card = self.callback.job, Card()
        complaint = ". ".join(text for text in (", ".join(job.symptoms), job.complaint) if text)
        card.add_widget(Said.of("Complaint", [complaint or "none written down"], "note"))
        if unit := identity_in_brief(self.callback.installation):
            card.add_widget(Said.of("The unit", [unit], "list"))
        if job.conclusion:
            whose = capitalised(RESPONSIBILITIES[job.conclusion.responsibility])
            card.add_widget(Said.of("Cause", [job.conclusion.cause], "search"))
            card.add_widget(Said.of("Put right", [job.conclusion.repair], "pencil"))
            card.add_widget(Said.of("Whose matter", [whose], "information"))
        return card

    def _row(self, line: repair_check.CheckLine) -> CheckRow:
        row = CheckRow(text=line.name, second=line.words)
        if line.verdict is not None:
            sign = signs.of_verdict(line.verdict)
            row.shape, row.colour = sign.shape, sign.colour
        row.bind(on_release=lambda _: self._take(line.key))
        return row

    def _take(self, key: ReadingKey) -> None:
        self.callback.enter(*key)
        self.to_circuit()

    def _plate_field(self) -> Card:
        card = Card()
        field = fields.TextField(
            label="Registration plate",
            hint=f"Until it is given, the vehicle goes by {self.callback.plate}.",
            capitals=True,
            text=self.callback.draft(TEXTS, PLATE),
        )
        field.bind(on_edited=lambda field: self.callback.keep(TEXTS, PLATE, field.text))
        card.add_widget(field)
        return card
