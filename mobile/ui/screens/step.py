"""One screen of the walk: a step with what it is answered with, or a look at several things."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ColorProperty, NumericProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from logic.checklist.answers import Answer
from logic.checklist.run import Screen
from logic.checklist.step import AskReading
from logic.records.state import StepEntry
from logic.records.store.bookmark import Bookmark
from logic.words.names import capitalised, probe_lines
from mobile.jobs import look_view
from mobile.jobs.language import said
from mobile.jobs.look_view import LookLine
from mobile.jobs.signs import STATES
from mobile.jobs.walk import StepView, Walk
from mobile.jobs.workplace import Workplace
from mobile.ui import camera
from mobile.ui.screens import step_sheets
from mobile.ui.screens.step_panels import Panel, panel_for
from mobile.ui.theme import theme
from mobile.ui.widgets import stage_bar  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.cards import Card, RowCard
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.reading_panel import Remark
from mobile.ui.widgets.settling import SettleCard
from mobile.ui.widgets.swiping import Swiping
from mobile.ui.widgets.words import Small, Words

if TYPE_CHECKING:
    from logic.diagram.picture import CircuitPicture
    from mobile.ui.widgets.circuit import CircuitView

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


# Assumed: what the question above and the keys below leave for the picture on a phone.
_CIRCUIT_SHARE, _HIGHEST_CIRCUIT = 0.235, 260  # of the screen's height; dp
_MOVES = {"back": 0.22, "more": 0.26, "next": 0.52}  # share of the row's width


class CautionRow(ButtonBehavior, BoxLayout):
    """A caution; in full until it was read once, then its title, in full again on a tap."""

    title = StringProperty("")
    text = StringProperty("")
    open = BooleanProperty(True)

    def on_release(self) -> None:
        self.open = not self.open


class Fact(BoxLayout):
    """A small head over a sentence."""

    head = StringProperty("")
    text = StringProperty("")


class ProbeLine(BoxLayout):
    """A probe's tag, as it is on the drawing, with where it goes in words."""

    letter = StringProperty("")
    text = StringProperty("")
    colour = ColorProperty()
    round = NumericProperty(0)


class StepScreen(Swiping, Page):
    """Shows the walk's step; gives answers to it and moves on. Swipes move too."""

    title = StringProperty("")
    doing = StringProperty("")
    count = StringProperty("")
    state_shape = StringProperty("")
    next_words = StringProperty("Next")

    def __init__(self, **properties: Any) -> None:
        super().__init__(**properties)
        self.walk: Walk
        self.panel: Panel
        self.look: Screen | None = None
        self.looked_at: tuple[LookLine, ...] = ()
        self._circuit: CircuitView | None = None
        self.ids.body.fbind("height", self._marks_moved)
        self.ids.body.stack.fbind("height", self._marks_moved)
        self.ids.body.fbind("on_scroll_start", self._scrolled)
        self._tick = Clock.create_trigger(self._count_down, 0.25, interval=True)

    def _scrolled(self, *_: object) -> None:
        self._circuit = None

    @classmethod
    def reopens(cls, work: Workplace, marked: Bookmark) -> bool:
        walk = work.resume_walk()
        return walk is not None and walk.is_open

    def opened(self, job_id: str = "", step_id: str = "", **_: Any) -> None:
        self.walk = self.work.open_walk(job_id)
        self.walk.go_to(step_id or self.walk.step.id)
        self.refresh()

    def closed(self) -> None:
        self._tick.cancel()

    def paused(self) -> None:
        self.walk.mark()

    # Showing

    def on_size(self, *_: object) -> None:
        """Held sideways there is no height for all: the panel then stands beside the rest."""
        if "frame" not in self.ids:
            return
        sideways = self.width > self.height
        frame, footer, moves = self.ids.frame, self.ids.footer, self.ids.moves
        frame.orientation = "horizontal" if sideways else "vertical"
        footer.size_hint_y = 1 if sideways else None
        home = self.ids.left if sideways else footer
        moves.padding = (theme.pad, 0) if sideways and moves.children else 0
        if moves.parent is not home.__self__:
            moves.parent.remove_widget(moves)
            home.add_widget(moves)

    def refresh(self) -> None:
        """Show the walk's step, or the look that it belongs to, as it stands."""
        view = self.walk.view()
        self.look = self.walk.look
        self.looked_at = look_view.lines(self.walk, self.look) if self.look else ()
        self.title = self.look.look.title if self.look and self.look.look else view.step.title
        doing, fitted = view.step.state, self.walk.installation
        state = STATES.get(doing) if doing else None
        self.doing = doing.full_name_on(fitted) if doing else view.stage.title
        if view.step.second_person and doing:
            words = said(doing.short_name_on(fitted))
            self.doing = said("{state}, second person", state=words)
        self.state_shape = state.shape if state else ""
        self._show_progress(view)
        self._show_body(view)
        self._show_panel(view)
        self.ids.body.to_top()

    def _show_progress(self, view: StepView) -> None:
        stages = self.walk.progress()
        self.ids.stages.parts = [((s.done + s.skipped) / s.total, s.total) for s in stages]
        self.ids.stages.here = [s.stage.id for s in stages].index(view.stage.id)
        self.count = said("{number} of {count}", number=view.number, count=view.count)

    def _show_body(self, view: StepView) -> None:
        stack = self.ids.body.stack
        stack.clear_widgets()
        self._circuit = None
        for widget in self._body(view):
            stack.add_widget(widget)

    def _body(self, view: StepView) -> Iterator[Widget]:
        return self._body_of_look(self.look) if self.look else self._body_of_step(view)

    def _body_of_look(self, look: Screen) -> Iterator[Widget]:
        """Show every thing to look at, a tap away from its own page, and what to mind there."""
        if look.look is not None:
            yield Words(text=look.look.how)
        yield Small(text="Tap what is not in order.")
        for line in self.looked_at:
            row = RowCard(
                shape=line.sign.shape,
                colour=line.sign.colour,
                text=line.question,
                second=line.second,
            )
            row.bind(on_release=partial(self._take_out, line.step.id))
            yield row
        for caution in self.walk.cautions_of_look(look):
            fresh = self.walk.reads_caution(caution.id)
            yield CautionRow(title=caution.title, text=caution.in_full, open=fresh)

    def _take_out(self, step_id: str, _row: RowCard) -> None:
        self.walk.take_out(step_id)
        self.refresh()

    def _body_of_step(self, view: StepView) -> Iterator[Widget]:
        if view.clashes:
            yield self._settling(view)
        if isinstance(view.step.ask, AskReading):
            yield self._drawn_circuit(view.step.ask)
            yield from map(_probe_line, probe_lines(view.step.ask.point))
            for words in view.follows:
                yield Remark(shape="information", text=capitalised(words))
        yield from self._compared(view)
        for caution in view.cautions:
            fresh = self.walk.reads_caution(caution.id)
            yield CautionRow(title=caution.title, text=caution.in_full, open=fresh)
        step = view.step
        facts = (
            ("A second person", step.second_person),
            ("How", step.how),
            ("Why", step.why),
            ("For the customer", step.teaches),
        )
        for head, words in facts:
            if words:
                yield Fact(head=head, text=words)
        for shape, words in step_sheets.kept_lines(view):
            yield Remark(shape=shape, text=words)
        if not isinstance(step.ask, AskReading) and step.proves and not step.compare:
            yield self._circuit_of_question()

    def _compared(self, view: StepView) -> Iterator[Widget]:
        """Show what of the set-up the step asks to compare, and its design checks."""
        step = view.step
        if not step.compare and not step.design_checks:
            return
        from mobile.jobs import compared_figures  # not on the start path

        fitted, card = self.walk.installation, Card()
        for figure in compared_figures.figures(step, fitted):
            card.add_widget(Fact(head=f"{figure.head}, as set up", text=figure.text))
        for check in compared_figures.checks(step, fitted):
            card.add_widget(Remark(shape=check.sign, colour=check.sign, text=check.text))
        yield card

    def _circuit_of_question(self) -> Widget:
        from mobile.jobs.circuit_view import of_question
        from mobile.ui.widgets.circuit import CircuitView

        picture = of_question(self.walk)
        return CircuitView(picture=picture, height=self._circuit_height(picture))

    def _drawn_circuit(self, ask: AskReading) -> Widget:
        # Not on the start path: it brings the limits with it.
        from mobile.jobs.circuit_view import of_step
        from mobile.ui.widgets.circuit import CircuitView

        picture = of_step(self.walk.reading_context(ask))
        self._circuit = CircuitView(picture=picture, height=self._circuit_height(picture))
        return self._circuit

    def _circuit_height(self, picture: "CircuitPicture") -> float:
        wanted = min(dp(_HIGHEST_CIRCUIT), self.height * _CIRCUIT_SHARE)
        height: float = max(dp(picture.least_height), wanted)
        return height

    def _marks_moved(self, *_: object) -> None:
        """Show the marks now, and again once what lies under them has its place."""
        self._show_marks()
        Clock.schedule_once(self._show_marks, 0)

    def _show_marks(self, *_: object) -> None:
        """Keep the marks in sight while the heights settle, until a finger scrolls."""
        if self._circuit is not None:
            self._circuit.show_marks(self.ids.body)

    def _settling(self, view: StepView) -> SettleCard:
        card = SettleCard(step=view.step, entries=view.clashes, here=self.work.store.device)
        card.bind(on_chosen=lambda _, entry: self.settle(entry))
        return card

    def _show_panel(self, view: StepView) -> None:
        self._tick.cancel()
        box = self.ids.panel
        self._take_moves_back()
        box.clear_widgets()
        self.panel = panel_for(self, view)
        box.add_widget(self.panel.widget)
        self._hand_moves_on()
        self._say_next()
        if self.walk.wait_left():
            self._tick()

    def _hand_moves_on(self) -> None:
        """Let a keypad take the buttons into its corners: there is no height for a row of both."""
        keypad = getattr(self.panel.widget, "keypad", None)
        if keypad is not None:
            keypad.hold(back=self.ids.back, more=self.ids.more, onward=self.ids.next)
            self.on_size()

    def _take_moves_back(self) -> None:
        if self.ids.moves.children:
            return
        for name, share in _MOVES.items():
            button = self.ids[name]
            button.parent.remove_widget(button)
            button.size_hint_x = share
            self.ids.moves.add_widget(button)
        self.on_size()

    def _say_next(self) -> None:
        if self.walk.is_taken_out and not self.panel.pending:
            self.next_words = "Back to the list"
            return
        if look_view.still_open(self.walk, self.looked_at):
            self.next_words = "Leave open"
            return
        self.next_words = "Save, next" if self.panel.pending else "Next"

    def _count_down(self, *_: object) -> None:
        if self.walk.wait_left():
            self.panel.tick()
        else:
            self._show_panel(self.walk.view())

    # Giving and moving

    def give(self, answer: Answer, *, stay: bool = False) -> None:
        """Answer the step; then move on, unless the answer calls for a second look."""
        self.walk.answer(self.walk.step.id, answer)
        if stay or not self.walk.view().acceptable:
            self.refresh()
        else:
            self._move_on()

    def leave_out(self, reason: str) -> None:
        """Skip the step, or all that is open of the look, with a reason, and move on."""
        left_out = look_view.still_open(self.walk, self.looked_at) if self.look else ()
        for step in left_out or (self.walk.step,):
            self.walk.skip(step.id, reason)
        self._move_on()

    def put_in_order(self) -> None:
        """Answer what is open of the look as it should be; move on once nothing is open."""
        self.walk.put_in_order(look_view.to_put_in_order(self.walk, self.looked_at))
        if look_view.still_open(self.walk, self.looked_at):
            self.refresh()
        else:
            self._move_on()

    def settle(self, entry: StepEntry) -> None:
        """Let one of two phones' answers stand: it is given again, with the others in sight."""
        if entry.answer is None:
            self.walk.skip(self.walk.step.id, entry.reason)
        else:
            self.walk.answer(self.walk.step.id, entry.answer)
        self.refresh()

    def changed(self) -> None:
        """Take note that something was typed in the panel."""
        self._say_next()

    def go_forward(self) -> None:
        """Save what is typed, if it can be taken, and show the next step."""
        if self.panel.pending and not self.panel.give():
            return
        self._move_on()

    def _move_on(self) -> None:
        if self.walk.put_back():
            self.refresh()
            return
        stage = self.walk.stage
        if not self.walk.forward():
            self.navigator.show("review")
        elif self.walk.stage != stage:
            self._enter_stage()
        else:
            self.refresh()
        self.navigator.turned()

    def _enter_stage(self) -> None:
        """Show a stage's cautions before its first step, where it has any."""
        if self.walk.stage.has_screen:
            self.navigator.replace("stage")
        else:
            self.refresh()

    def go_backward(self) -> None:
        """Show the screen before; what is typed here is kept."""
        if self.walk.put_back() or self.walk.backward():
            self.refresh()
        else:
            self._enter_stage()

    def go_to_stage(self, stage_id: str) -> None:
        """Jump to a stage."""
        self.walk.go_to_stage(stage_id)
        self._enter_stage()

    def show_more(self) -> None:
        """Offer what can be done at any step."""
        exception = self.walk.view().is_exception
        step_sheets.StepActionsSheet(screen=self, exception=exception).open(animation=False)

    def take_photo(self, *, answers: bool = False) -> None:
        """Take a photo; it is the step's answer, or goes with the step."""
        camera.take(self.work, self.walk, answers, self.refresh)


def _probe_line(line: tuple[str, str]) -> ProbeLine:
    letter, text = line
    colours = {"R": theme.red_probe, "B": theme.black_probe, "C": theme.clamp}
    corner = 0 if letter == "B" else dp(11)
    return ProbeLine(letter=letter, text=text, round=corner, colour=colours[letter])
