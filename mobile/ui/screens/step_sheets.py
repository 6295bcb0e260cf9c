"""What can be done at any step, each as a panel from below."""

from __future__ import annotations

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from logic.checklist.run import StageProgress
from logic.records.outcomes import answer_words
from logic.words.names import counted
from mobile.jobs import reasons
from mobile.jobs.language import said
from mobile.jobs.walk import StepView
from mobile.ui.widgets import fields  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.buttons import Chip
from mobile.ui.widgets.cards import RowCard
from mobile.ui.widgets.sheets import BottomSheet

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class StepActionsSheet(BottomSheet):
    """Note, photo, leave out, explain (where there is an ``exception``), stages, stop here."""

    screen = ObjectProperty()
    exception = BooleanProperty(False)

    def pick(self, what: str) -> None:
        """Close and open what was picked."""
        screen = self.screen
        self.dismiss(animation=False)
        if what == "photo":
            screen.take_photo()
        elif what == "glossary":
            screen.navigator.show("glossary")
        elif what == "stop":
            screen.navigator.go_back()
        else:
            _SHEETS[what](screen=screen).open(animation=False)


class NoteSheet(BottomSheet):
    """A note on the step."""

    screen = ObjectProperty()
    kind = StringProperty("note")
    prompt = StringProperty("Note on this step")
    save = StringProperty("Save the note")
    complaint = StringProperty("")
    text = StringProperty("")

    def on_kv_post(self, base_widget: object) -> None:
        self.text = self.screen.walk.draft(self.screen.walk.step.id, self.kind)

    def typed(self, text: str) -> None:
        """Keep what is typed, though nobody saved it yet."""
        self.text, self.complaint = text, ""
        self.screen.walk.keep(self.screen.walk.step.id, self.kind, text)

    def give(self) -> None:
        """Save it."""
        if not self.text.strip():
            self.complaint = "Nothing is written yet. Write a few words, or close this."
            return
        self._write(self.text.strip())
        self.dismiss(animation=False)
        self.screen.refresh()

    def _write(self, text: str) -> None:
        self.screen.walk.note(self.screen.walk.step.id, text)


class ExplainSheet(NoteSheet):
    """Why something out of range is accepted as it is."""

    kind = StringProperty("explanation")
    prompt = StringProperty("Why may this stand as it is?")
    save = StringProperty("Save the explanation")

    def _write(self, text: str) -> None:
        self.screen.walk.explain(self.screen.walk.step.id, text)


class SkipSheet(BottomSheet):
    """Leave the step out, with a reason."""

    screen = ObjectProperty()
    reasons = ListProperty(reasons.SKIPS)
    complaint = StringProperty("")
    text = StringProperty("")

    def on_kv_post(self, base_widget: object) -> None:
        self.text = self.screen.walk.draft(self.screen.walk.step.id, "skip")
        chips = [Chip(text=reason) for reason in self.reasons]
        for chip in chips:
            chip.bind(on_release=lambda chip: self._leave_out(chip.text))
        self.ids.reasons.show(chips)

    def typed(self, text: str) -> None:
        """Keep what is typed."""
        self.text, self.complaint = text, ""
        self.screen.walk.keep(self.screen.walk.step.id, "skip", text)

    def give(self) -> None:
        """Leave it out for the reason typed."""
        if self.text.strip():
            self._leave_out(self.text.strip())
        else:
            self.complaint = "A step can only be left out with a reason. Tap one, or write it."

    def _leave_out(self, reason: str) -> None:
        self.dismiss(animation=False)
        self.screen.leave_out(reason)


class StagesSheet(BottomSheet):
    """All stages with how far each is; a tap jumps there."""

    screen = ObjectProperty()

    def on_kv_post(self, base_widget: object) -> None:
        here = self.screen.walk.stage.id
        for number, progress in enumerate(self.screen.walk.progress(), 1):
            row = RowCard(
                text=f"{number}  {said(progress.stage.title)}",
                second=progress_words(progress, here=progress.stage.id == here),
                shape="done" if not progress.open else "open",
            )
            row.bind(on_release=lambda _, stage=progress.stage.id: self._jump(stage))
            self.stack.add_widget(row)

    def _jump(self, stage_id: str) -> None:
        self.dismiss(animation=False)
        self.screen.go_to_stage(stage_id)


_SHEETS = {"note": NoteSheet, "skip": SkipSheet, "explain": ExplainSheet, "stages": StagesSheet}


def progress_words(progress: StageProgress, *, here: bool = False) -> str:
    """Say how far a stage is."""
    parts = [said("{done} of {total} done", done=progress.done, total=progress.total)]
    if progress.skipped:
        parts.append(said("{count} left out", count=progress.skipped))
    if progress.open:
        parts.append(said("{count} open", count=progress.open))
    told = ", ".join(parts)
    return said("{progress} (you are here)", progress=told) if here else told


def kept_lines(view: StepView) -> list[tuple[str, str]]:
    """List what is on record for a step already: (shape, words) each."""
    lines = [("skipped", f"Left out: {view.skip_reason}")] if view.skip_reason else []
    if view.explanation:
        lines.append(("pencil", f"May stand: {view.explanation}"))
    lines += [("note", note) for note in view.notes]
    if view.photos:
        lines.append(("camera", counted(len(view.photos), "photo")))
    for entry in (entry for entry in view.history if entry not in view.clashes):
        was = "left out" if entry.skipped else answer_words(entry.answer, view.step)
        lines.append(("clock", f"Before, at {entry.at.astimezone():%H:%M}: {was}"))
    return lines
