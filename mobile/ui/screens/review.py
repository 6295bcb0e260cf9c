"""Everything that was done, before it is signed: what stands in the way, and every step."""

from functools import partial
from pathlib import Path

from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.widget import Widget

from logic.records import sign_off
from logic.records.outcomes import answer_and_standing
from logic.records.record import NotAsked, StepRecord
from logic.records.review import not_asked, review
from logic.records.sign_off import Blocker
from logic.records.store.bookmark import Bookmark
from logic.vehicle.points import State
from logic.words.names import counted
from mobile.jobs import reasons, signs
from mobile.jobs.circuit_view import of_review
from mobile.jobs.review import needs_count, stage_lines
from mobile.jobs.workplace import Workplace
from mobile.ui.widgets.buttons import ButtonRow, Chip, MainButton, SideButton
from mobile.ui.widgets.cards import Card, Notice, RowCard
from mobile.ui.widgets.circuit import CircuitView
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.reasons import ReasonSheet
from mobile.ui.widgets.scrolling import rebuild_in_place
from mobile.ui.widgets.words import Heading, Small

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


_NOT_ASKED = "not asked"  # beside the stages' ids


class ReviewScreen(Page):
    """Shows the walk's job. Stages fold out; every line leads to its step."""

    plate = StringProperty("")
    standing = StringProperty("")
    clear = BooleanProperty(False)

    @classmethod
    def reopens(cls, work: Workplace, marked: Bookmark) -> bool:
        walk = work.resume_walk()
        return walk is not None and walk.is_open

    def opened(self, job_id: str = "") -> None:
        self.walk = self.work.open_walk(job_id)
        described = self.walk.vehicle.vehicle
        self.plate = described.registration if described else ""
        self._unfolded: set[str] = set()
        self._state: State | None = None
        self._read()
        self.ids.body.to_top()

    def go_to(self, step_id: str) -> None:
        """Show a step of the walk."""
        self.navigator.show("step", job_id=self.walk.job_id, step_id=step_id)

    def explain(self, step_id: str) -> None:
        """Ask why a step is accepted as it is; what is written stays, saved or not."""
        step = next(step for step in self._steps if step.step_id == step_id)
        self.walk.go_to(step_id)
        sheet = ReasonSheet(
            title="Why is it accepted?",
            about=_why_out(step),
            ready=list(reasons.EXPLANATIONS),
            text=self.walk.draft(step_id, "explanation") or step.explanation,
        )
        sheet.bind(on_given=self._explained, on_edited=self._keep)
        sheet.open()

    def sign(self) -> None:
        """Go on to the signatures, once nothing stands in the way."""
        if not self.clear:
            return
        job = self.walk.job
        # A callback's signatures come after the repair's check, and with what the readings said.
        to = "closing" if job.kind == "callback" else "signing"
        self.navigator.show(to, job_id=job.job_id)

    def _keep(self, sheet: ReasonSheet) -> None:
        self.walk.keep(self.walk.step.id, "explanation", sheet.text)
        self.work.mark_screen(self.name)

    def _explained(self, _sheet: ReasonSheet, text: str) -> None:
        self.walk.explain(self.walk.step.id, text)
        self.work.mark_screen(self.name)
        self._read()

    def _read(self) -> None:
        work = self.walk.work_done
        self._steps = review(work)
        self._pictures = of_review(work, self._steps)
        self._blockers = sign_off.blockers(work, self._steps)
        self.clear = not self._blockers
        self.standing = needs_count(self._blockers)
        self._build()

    def _build(self) -> None:
        stack = self.ids.body.stack
        stack.clear_widgets()
        for widget in (
            *self._circuit(),
            *self._in_the_way(),
            *self._accepted(),
            *self._stages(),
            *self._not_asked(),
        ):
            stack.add_widget(widget)

    def _circuit(self) -> list[Widget]:
        """The circuit with what was read in one state, and the other states to choose."""
        if not self._pictures:
            return []
        if self._state not in self._pictures:
            self._state = next(iter(self._pictures))
        picture = self._pictures[self._state]
        circuit = CircuitView(picture=picture, height=dp(picture.touch_height))
        states = ButtonRow(turns=False)  # in the order of the walk
        for state in (state for state in State if state in self._pictures):
            words = state.short_name_on(self.walk.installation)
            chip = Chip(text=words, value=state, chosen=state is self._state)
            chip.bind(on_release=lambda chip: self.choose_state(State(chip.value)))
            states.add_widget(chip)
        return [states, circuit]

    def choose_state(self, state: State) -> None:
        """Show the readings of a state on the circuit."""
        self._state = state
        rebuild_in_place(self.ids.body, self._build)

    def _in_the_way(self) -> list[Widget]:
        if self.clear:
            return [Notice(kind="in_range", text="Nothing stands in the way of signing.")]
        still_open = [one for one in self._blockers if one.kind == "open"]
        others = [one for one in self._blockers if one.kind != "open"]
        widgets: list[Widget] = [Heading(text="Before it can be signed")]
        if len(still_open) > 2:
            widgets.append(self._many_open(still_open))
        else:
            others = [*still_open, *others]
        return [*widgets, *(self._blocker(one) for one in others)]

    def _many_open(self, still_open: list[Blocker]) -> RowCard:
        first = still_open[0].text.partition(":")[0]
        row = RowCard(
            shape="open", text=f"{len(still_open)} steps still open", second=f"First: {first}"
        )
        row.bind(on_release=lambda _: self.go_to(still_open[0].step_id))
        return row

    def _blocker(self, blocker: Blocker) -> Card:
        card = Card()
        kind = "out_of_range" if blocker.kind == "unexplained" else "question"
        card.add_widget(Notice(kind=kind, text=blocker.text))
        buttons = ButtonRow()
        go = SideButton(text="Go to it")
        go.bind(on_release=lambda _: self.go_to(blocker.step_id))
        buttons.add_widget(go)
        if blocker.kind == "unexplained":
            explain = MainButton(text="Explain")
            explain.bind(on_release=lambda _: self.explain(blocker.step_id))
            buttons.add_widget(explain)
        card.add_widget(buttons)
        return card

    def _accepted(self) -> list[Widget]:
        accepted = [step for step in self._steps if step.is_exception and step.explanation]
        if not accepted:
            return []
        rows = [self._accepted_row(step) for step in accepted]
        return [Heading(text="Accepted as it is"), Small(text="Tap to change the reason."), *rows]

    def _accepted_row(self, step: StepRecord) -> RowCard:
        sign = signs.of_step(step)
        row = RowCard(
            shape=sign.shape,
            colour=sign.colour,
            text=f"{step.title}: {answer_and_standing(step)}",
            second=step.explanation,
        )
        row.bind(on_release=lambda _: self.explain(step.step_id))
        return row

    def _stages(self) -> list[Widget]:
        widgets: list[Widget] = [Heading(text="All steps")]
        checklist = self.walk.checklist
        titles = {stage.id: stage.title for stage in checklist.stages}
        for line in stage_lines(self._steps):
            row = RowCard(
                text=titles[line.stage_id],
                second=line.counts,
                shape="up" if line.stage_id in self._unfolded else "down",
                leads_on=False,
            )
            row.bind(on_release=partial(self._fold, line.stage_id))
            widgets.append(row)
            if line.stage_id in self._unfolded:
                widgets += [self._step_row(step) for step in line.steps]
        return widgets

    def _not_asked(self) -> list[Widget]:
        """What the depth left out, folded; a tap takes it in hand all the same."""
        left_out = not_asked(self.walk.work_done)
        if not left_out:
            return []
        row = RowCard(
            text="Not asked for",
            second=f"{self.walk.job.depth.words}: {counted(len(left_out), 'step')}, and the "
            "record says so",
            shape="up" if _NOT_ASKED in self._unfolded else "down",
            leads_on=False,
        )
        row.bind(on_release=partial(self._fold, _NOT_ASKED))
        if _NOT_ASKED not in self._unfolded:
            return [row]
        return [row, *(self._not_asked_row(one) for one in left_out)]

    def _not_asked_row(self, one: NotAsked) -> RowCard:
        row = RowCard(shape="open", colour="faint", text=one.title, second=one.follows)
        row.bind(on_release=lambda _: self.go_to(one.step_id))
        return row

    def _step_row(self, step: StepRecord) -> RowCard:
        sign, second = signs.of_step(step), answer_and_standing(step)
        row = RowCard(shape=sign.shape, colour=sign.colour, text=step.title, second=second)
        row.bind(on_release=lambda _: self.go_to(step.step_id))
        return row

    def _fold(self, stage_id: str, _row: RowCard) -> None:
        self._unfolded ^= {stage_id}
        rebuild_in_place(self.ids.body, self._build)


def _why_out(step: StepRecord) -> str:
    """Say a step's answer and how it came out, with the verdict's own reason."""
    reason = step.verdict.reason if step.verdict else ""
    return f"{step.title}: {answer_and_standing(step)}. {reason}".strip()
