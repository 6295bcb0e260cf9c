"""The steps around a callback's readings, answered on the page where they matter."""

from pathlib import Path

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logic.checklist import run
from logic.checklist.answers import Answer, TextAnswer
from logic.checklist.step import AskChoice, AskText, AskYesNo, Step
from mobile.jobs.callback import TEXTS, Callback
from mobile.ui.widgets.answers import AnswerPanel, ChoicePanel, TextPanel, YesNoPanel
from mobile.ui.widgets.cards import Card, Notice
from mobile.ui.widgets.words import Small, Words

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class StepCards(BoxLayout):
    """One card for each step of a stage that applies; dispatches ``on_answered``.

    ``brief`` shows what was still open when it was made, and of cautions the titles only. Of a
    stage that ``is_past`` it is only asked how it was, and not said how to do it.
    Photos are left to the walk: none of these steps needs one.
    """

    __events__ = ("on_answered",)

    callback: Callback = ObjectProperty(None)
    stage_id = StringProperty("")
    brief = BooleanProperty(False)
    is_past = BooleanProperty(False)

    def __init__(self, **properties: object) -> None:
        super().__init__(**properties)
        steps = self.callback.steps_of(self.stage_id) if self.brief else ()
        self._settled = {step.id for step in steps if not self.callback.is_step_open(step)}
        self._build()

    def on_answered(self) -> None:
        """Say that a step was answered."""

    def _build(self) -> None:
        self.clear_widgets()
        self._cards: dict[str, Card] = {}
        for step in self.callback.steps_of(self.stage_id):
            panel = None if step.id in self._settled else self._panel(step)
            if panel is not None:
                self._cards[step.id] = self._card(step, panel)
                self.add_widget(self._cards[step.id])

    def card_of(self, step_id: str) -> Card | None:
        """Return the card of a step, None where it is not shown here."""
        return self._cards.get(step_id)

    def _card(self, step: Step, panel: AnswerPanel) -> Card:
        card = Card()
        card.add_widget(Words(text=step.title, bold=True))
        if not self.is_past:
            card.add_widget(Small(text=step.how))
            for text in self._cautions(step):
                card.add_widget(Notice(kind="caution", text=text))
        card.add_widget(panel)
        return card

    def _cautions(self, step: Step) -> list[str]:
        found = run.cautions(self.callback.library, step.cautions, self.callback.facts)
        if self.brief:
            titles = ". ".join(caution.title for caution in found)
            return [f"{titles}."] if titles else []
        return [caution.in_full for caution in found]

    def _panel(self, step: Step) -> AnswerPanel | None:
        match step.ask:
            case AskYesNo(question=question):
                panel: AnswerPanel = YesNoPanel(question=question)
            case AskChoice(question=question, choices=choices):
                options = [(choice.id, choice.text) for choice in choices]
                panel = ChoicePanel(question=question, options=options)
            case AskText(prompt=prompt):
                return self._text_panel(step, prompt)
            case _:
                return None
        entry = self.callback.job.answers.get(step.id)
        answer = entry.answer if entry else None
        panel.show(answer, answer is None or run.is_acceptable(step, answer))
        panel.bind(on_given=lambda _, given: self._give(step, given))
        return panel

    def _text_panel(self, step: Step, prompt: str) -> TextPanel:
        entry = self.callback.job.answers.get(step.id)
        given = entry.answer.text if entry and isinstance(entry.answer, TextAnswer) else ""
        panel = TextPanel(question=prompt, text=self.callback.draft(TEXTS, step.id) or given)
        panel.bind(on_typed=lambda _, text: self._keep(step, text))
        return panel

    def _keep(self, step: Step, text: str) -> None:
        self.callback.keep(TEXTS, step.id, text)
        self.dispatch("on_answered")

    def _give(self, step: Step, answer: Answer) -> None:
        self.callback.answer(step.id, answer)
        # The tapped button is still at work: the cards are built anew after it.
        Clock.schedule_once(lambda _: self._build(), 0)
        self.dispatch("on_answered")
