"""The set-up's front page: one question at a time on top, what is known so far below it."""

from functools import partial
from pathlib import Path

from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.widget import Widget

from mobile.jobs import form_entry
from mobile.jobs.field_limits import SOLAR_FITTED
from mobile.jobs.set_up import SetUp
from mobile.jobs.set_up_pages import (
    QUESTIONS,
    FormPage,
    SetUpQuestion,
    label_of,
    next_question,
    page_summary,
    page_with,
    pages_shown,
    questions_of,
    ready_answers,
    trouble_words,
)
from mobile.ui.widgets.buttons import SideButton
from mobile.ui.widgets.cards import RowCard
from mobile.ui.widgets.fields import ChoiceField
from mobile.ui.widgets.form import columns_for, usual_first
from mobile.ui.widgets.pages import Page

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


BY_HAND = "None of these: fill in"


class EquipmentScreen(Page):
    """A usual job is one tap a question; each line below leads to all of its figures."""

    plate = StringProperty("")
    question = StringProperty("")
    count = StringProperty("")
    otherwise = StringProperty("")
    trouble = StringProperty("")
    whole = BooleanProperty(False)
    asking = BooleanProperty(False)
    lacking = BooleanProperty(False)
    _vehicle_id = ""
    _passed: frozenset[str] = frozenset()

    def opened(self, vehicle_id: str) -> None:
        # Back from one of the forms, what was passed over is not asked again.
        passed = self._passed if vehicle_id == self._vehicle_id else frozenset()
        self._vehicle_id = vehicle_id
        self.setup = SetUp.of(self.work, vehicle_id)
        self.plate = self.setup.draft.get("vehicle.registration", "")
        known = self.setup.known
        begun = known is not None and bool(known.jobs)
        self._troubled = ""
        self._passed = frozenset(q.answered_by for q in QUESTIONS) if begun else passed
        self.refresh()

    def closed(self) -> None:
        self.setup.finish()

    def reread(self) -> None:
        """Go on with the draft as a late photo left it."""
        self.setup = SetUp.of(self.work, self._vehicle_id)
        self.refresh()

    def refresh(self) -> None:
        """Ask the next question and list what is known."""
        self.trouble = ""
        self.whole = not form_entry.troubles(self.setup.draft, form_entry.REQUIRED)
        self._ask(next_question(self.setup.draft, self._passed))
        self._list()
        self.ids.body.to_top()

    def done(self) -> None:
        """Leave to the vehicle, or say what is still needed."""
        found = self.setup.finish()
        self.trouble = trouble_words(found) if found else ""
        self._troubled = found.field if found else ""
        if not found:
            self.navigator.replace("vehicle", vehicle_id=self._vehicle_id)

    def go_to_trouble(self) -> None:
        """Go to the field that keeps the rest back."""
        if page := page_with(self._troubled):
            self._fill_in(page.page_id, self._troubled)

    def fill_in_by_hand(self) -> None:
        """None of the ready answers is right: open the form."""
        question = next_question(self.setup.draft, self._passed)
        if question is not None and question.page_ids:
            if question.answered_by == SOLAR_FITTED:
                self.setup.put(SOLAR_FITTED, "yes")
            self._fill_in(question.page_ids[0], question.answered_by)

    def _fill_in(self, page_id: str, path: str) -> None:
        what = {"page_id": page_id, "vehicle_id": self._vehicle_id, "path": path}
        self.navigator.show("particulars", **what)

    def pass_over(self) -> None:
        """Leave the question: the answer is not known, or not wanted."""
        question = next_question(self.setup.draft, self._passed)
        if question is not None:
            self._passed |= {question.answered_by}
        if question is not None and question.answered_by == SOLAR_FITTED:
            self.setup.put(SOLAR_FITTED, "no")
        self.refresh()

    def _ask(self, question: SetUpQuestion | None) -> None:
        box = self.ids.answers
        box.clear_widgets()
        self.asking = question is not None
        self.question = question.words if question else ""
        self.otherwise = question.otherwise if question else ""
        self._offer_no_ready_answer(question)
        if question is None:
            return
        self.count = f"Question {QUESTIONS.index(question) + 1} of {len(QUESTIONS)}"
        options = usual_first(ready_answers(question, self.work.library.presets, self.setup.draft))
        chips = ChoiceField(options=options, columns=columns_for(options))
        chips.bind(on_edited=partial(self._answered, question))
        box.add_widget(chips)

    def _offer_no_ready_answer(self, question: SetUpQuestion | None) -> None:
        """Offer the form on the left and "not known" on the right, at each question."""
        row = self.ids.no_ready_answer
        row.clear_widgets()
        if question is None:
            return
        by_hand = SideButton(text=BY_HAND, on_release=lambda _: self.fill_in_by_hand())
        pass_over = SideButton(text=self.otherwise, on_release=lambda _: self.pass_over())
        row.add_widget(by_hand if question.page_ids else Widget())
        row.add_widget(pass_over if self.otherwise else Widget())

    def _answered(self, question: SetUpQuestion, chips: ChoiceField) -> None:
        if question.group is None:
            self.setup.put(question.answered_by, chips.value)
        else:
            presets = self.work.library.presets[question.group]
            self.setup.take(next(preset for preset in presets if preset.id == chips.value))
        self.refresh()

    def _list(self) -> None:
        box = self.ids.known
        box.clear_widgets()
        self.lacking = False
        if not self.asking:
            box.add_widget(self._circuit())
        for page in pages_shown(self.setup.draft):
            if page.page_id != "vehicle":
                box.add_widget(self._row(page))

    def _circuit(self) -> Widget:
        """Draw the circuit as it is fitted, with what is not described yet lit."""
        # Not on the start path.
        from mobile.jobs.circuit_view import of_set_up
        from mobile.ui.widgets.circuit import CircuitView

        picture = of_set_up(self.setup.draft)
        self.lacking = bool(picture.lit)
        return CircuitView(picture=picture, height=dp(picture.least_height))

    def _row(self, page: FormPage) -> RowCard:
        wrong = form_entry.troubles(self.setup.draft, page.paths)
        draft = self.setup.draft
        complaints = [
            (path, f"{label_of(path)}: {text}")
            for path, text in wrong.items()
            if draft.get(path, "").strip() or path not in form_entry.REQUIRED
        ]
        known = page_summary(page, draft)
        asked = [question.answered_by for question in questions_of(page.page_id)]
        is_open = known == "not known" or any(not draft.get(path) for path in asked[:1])
        shape = "out_of_range" if complaints else "open" if is_open else "done"
        row = RowCard(
            text=page.title,
            second=complaints[0][1] if complaints else known,
            shape=shape,
            colour="out_of_range" if complaints else "main",
        )
        path = complaints[0][0] if complaints else ""
        row.bind(on_release=lambda _: self._fill_in(page.page_id, path))
        return row
