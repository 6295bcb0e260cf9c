"""The panel under a step: what it is answered with, wired to the walk.

A panel has ``widget``; ``pending``, whether something is typed that Next would save;
``give()``, which saves it and says whether that went well; ``tick()`` for a countdown.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from kivy.metrics import dp
from kivy.uix.widget import Widget

from logic.case import Judgement
from logic.checklist.answers import Answer, PhotoAnswer, ReadingAnswer, TextAnswer
from logic.checklist.step import AskChoice, AskPhoto, AskReading, AskText, AskYesNo
from logic.vehicle.points import Unit
from logic.words.dates import countdown
from mobile.jobs import look_view, photo
from mobile.jobs.typed_reading import OVERLOAD_REASON
from mobile.jobs.walk import StepView
from mobile.ui.widgets.answers import (
    AnswerPanel,
    ChoicePanel,
    LookPanel,
    PhotoPanel,
    TextPanel,
    WaitPanel,
    YesNoPanel,
)
from mobile.ui.widgets.reading_panel import ReadingPanel

if TYPE_CHECKING:
    from logic.checklist.run import Screen
    from mobile.jobs.look_view import LookLine
    from mobile.jobs.walk import Walk
    from mobile.jobs.workplace import Workplace


class StepPage(Protocol):
    """What a panel asks of the screen it stands on."""

    walk: Walk
    work: Workplace
    look: Screen | None
    looked_at: tuple[LookLine, ...]
    height: float
    width: float

    def give(self, answer: Answer) -> None: ...

    def leave_out(self, reason: str) -> None: ...

    def take_photo(self, *, answers: bool = False) -> None: ...

    def refresh(self) -> None: ...

    def changed(self) -> None: ...

    def go_forward(self) -> None: ...

    def put_in_order(self) -> None: ...


class Panel(Protocol):
    """What the step's screen asks of a panel."""

    widget: Widget

    @property
    def pending(self) -> bool: ...

    def give(self) -> bool: ...

    def tick(self) -> None: ...


def panel_for(screen: StepPage, view: StepView) -> Panel:
    """Return the panel that fits what the step asks, or the countdown before it.

    At a look it is the one tap for all of it.
    """
    if screen.look is not None:
        return LookedAt(screen)
    if screen.walk.wait_left() and view.answer is None:
        return Waiting(screen, view)
    match view.step.ask:
        case AskReading() as reading if reading.point.unit is Unit.LIT:
            return LampInHand(screen, view, reading)
        case AskReading() as reading:
            return ReadingInHand(screen, view, reading)
        case AskText() as text:
            return TextInHand(screen, view, text)
    return Tapped(screen, view)


class Waiting:
    """A countdown: Next goes on and lets it run."""

    pending = False

    def __init__(self, screen: StepPage, view: StepView) -> None:
        self._screen = screen
        words = view.step.wait_for or "until it has settled"
        self.widget = WaitPanel(what_for=words, since=screen.walk.wait_words())
        self.widget.bind(on_cut=self._cut, on_waited=self._waited)
        self.tick()

    def tick(self) -> None:
        """Show the time left."""
        self.widget.left = countdown(self._screen.walk.wait_left())

    def give(self) -> bool:
        """Nothing is typed here."""
        return True

    def _cut(self, *_: object) -> None:
        self._screen.walk.cut_wait()
        self._screen.refresh()

    def _waited(self, *_: object) -> None:
        self._screen.walk.say_waited()
        self._screen.refresh()


class LookedAt:
    """All that is looked at together: one tap for what is in order."""

    pending = False

    def __init__(self, screen: StepPage) -> None:
        in_order = look_view.to_put_in_order(screen.walk, screen.looked_at)
        others = [line for line in screen.looked_at if line.step not in in_order]
        words = "The others are in order" if others else "All in order"
        self.widget = LookPanel(
            words=words if in_order else "",
            remark=_BY_ITSELF if any(line.fails_by_design for line in others) else "",
        )
        self.widget.bind(on_in_order=lambda _: screen.put_in_order())

    def give(self) -> bool:
        """Nothing waits to be given."""
        return True

    def tick(self) -> None:
        """Nothing runs here."""


_BY_ITSELF = "What fails its design check is answered by itself: tap it."


class LampInHand:
    """Whether something is lit or shown: yes or no, given by the tap itself."""

    pending = False

    def __init__(self, screen: StepPage, view: StepView, ask: AskReading) -> None:
        self._screen = screen
        self.widget = YesNoPanel(question=ask.question or f"{ask.point.full_name}: lit?")
        if isinstance(view.answer, ReadingAnswer):
            self.widget.value = "yes" if view.answer.value else "no"
        if view.verdict is not None and view.verdict.verdict is Judgement.OUT_OF_RANGE:
            self.widget.remark = view.verdict.reason
        self.widget.bind(on_given=lambda _, answer: self._give(answer.yes))

    def _give(self, yes: bool) -> None:
        self._screen.give(ReadingAnswer(value=float(yes), typed="yes" if yes else "no"))

    def give(self) -> bool:
        """Nothing waits to be given."""
        return True

    def tick(self) -> None:
        """Nothing runs here."""


class ReadingInHand:
    """A reading being typed."""

    def __init__(self, screen: StepPage, view: StepView, ask: AskReading) -> None:
        self._screen, self._walk, self._step_id = screen, screen.walk, view.step.id
        self._given = ""
        if isinstance(view.answer, ReadingAnswer):
            self._given = view.answer.typed or f"{view.answer.value:g}"
        draft = self._walk.draft(self._step_id, "value")
        self.widget = ReadingPanel(
            self._walk.reading_context(ask),
            draft or self._given,
            is_given=bool(self._given) and not draft,
            key_height=_key_height(screen),
            remark_room=max(dp(62), screen.height * 0.13),
        )
        self.widget.bind(on_typed=self._keep)
        self.widget.bind(on_enter=lambda _: screen.go_forward())
        self.widget.bind(on_overload=lambda _: screen.leave_out(OVERLOAD_REASON))

    @property
    def pending(self) -> bool:
        """Whether the field holds something other than what was given."""
        return self.widget.text not in ("", self._given)

    def give(self) -> bool:
        """Save the value; a text that is none gets its complaint and stays."""
        typed = self.widget.typed
        if typed.value is None:
            self.widget.insist()
            return False
        self.widget.taken()
        self._walk.answer(self._step_id, ReadingAnswer(value=typed.value, typed=typed.text))
        return True

    def tick(self) -> None:
        """Nothing runs here."""

    def _keep(self, _panel: ReadingPanel, text: str) -> None:
        self._walk.keep(self._step_id, "value", text)
        self._screen.changed()


def _key_height(screen: StepPage) -> float:
    if screen.width > screen.height:
        # Held sideways, value, remark and four rows of keys share the whole height.
        return max(dp(48), min(dp(56), (screen.height - dp(168)) / 4))
    return max(dp(56), min(dp(70), screen.height * 0.068))


class TextInHand:
    """A text being typed."""

    def __init__(self, screen: StepPage, view: StepView, ask: AskText) -> None:
        self._screen, self._step_id = screen, view.step.id
        self._given = view.answer.text if isinstance(view.answer, TextAnswer) else ""
        text = screen.walk.draft(self._step_id, "text") or self._given
        self.widget = TextPanel(question=ask.prompt, text=text)
        self.widget.bind(on_typed=self._keep)

    @property
    def pending(self) -> bool:
        """Whether the field holds something other than what was given."""
        return self.widget.text.strip() not in ("", self._given)

    def give(self) -> bool:
        """Save the text."""
        self._screen.walk.answer(self._step_id, self.widget.answer)
        return True

    def tick(self) -> None:
        """Nothing runs here."""

    def _keep(self, _panel: TextPanel, text: str) -> None:
        self._screen.walk.keep(self._step_id, "text", text)
        self._screen.changed()


class Tapped:
    """Yes or no, a choice, a photo: given by the tap itself."""

    pending = False

    def __init__(self, screen: StepPage, view: StepView) -> None:
        self._screen = screen
        self.widget = self._built(view)
        self.widget.show(view.answer, view.acceptable)

    def _built(self, view: StepView) -> AnswerPanel:
        match view.step.ask:
            case AskYesNo(question=question):
                panel: AnswerPanel = YesNoPanel(question=question)
            case AskChoice(question=question, choices=choices):
                options = [(choice.id, choice.text) for choice in choices]
                panel = ChoicePanel(question=question, options=options)
            case AskPhoto(prompt=prompt):
                return self._photo(prompt, view)
        panel.bind(on_given=lambda _, answer: self._screen.give(answer))
        return panel

    def _photo(self, prompt: str, view: StepView) -> PhotoPanel:
        panel = PhotoPanel(question=prompt)
        if isinstance(view.answer, PhotoAnswer):
            path = self._screen.work.store.photo_path(view.answer.sha256)
            panel.not_shown = photo.why_not_shown(path)
            panel.source = "" if panel.not_shown else str(path)
        panel.bind(on_wanted=lambda _: self._screen.take_photo(answers=True))
        return panel

    def give(self) -> bool:
        """Nothing waits to be given."""
        return True

    def tick(self) -> None:
        """Nothing runs here."""
