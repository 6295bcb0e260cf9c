"""The start of a stage: what it is for, what the vehicle must be doing, the cautions."""

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import StringProperty

from mobile.jobs.language import said
from mobile.jobs.walk import Walk
from mobile.ui.screens import step_sheets
from mobile.ui.widgets import stage_bar  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.cards import Notice
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.swiping import Swiping

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class StageScreen(Swiping, Page):
    """Shown whenever a stage is entered; the walk is at the stage's step already."""

    title = StringProperty("")
    where = StringProperty("")
    intro = StringProperty("")
    progress = StringProperty("")

    def opened(self, job_id: str = "", **_: Any) -> None:
        self.walk: Walk = self.work.open_walk(job_id)
        stages = self.walk.progress()
        [here] = [i for i, s in enumerate(stages) if s.stage.id == self.walk.stage.id]
        self.title, self.intro = self.walk.stage.title, self.walk.stage.intro
        self.where = said("Stage {number} of {count}", number=here + 1, count=len(stages))
        self.progress = step_sheets.progress_words(stages[here])
        self.ids.stages.parts = [((s.done + s.skipped) / s.total, s.total) for s in stages]
        self.ids.stages.here = here
        self.ids.cautions.clear_widgets()
        for caution in self.walk.cautions_of_stage():
            self.walk.reads_caution(caution.id)
            notice = Notice(kind="caution", text=caution.in_full)
            self.ids.cautions.add_widget(notice)
        self.ids.body.to_top()

    def paused(self) -> None:
        self.walk.mark()

    def go_forward(self) -> None:
        """Go on to the step in hand."""
        self.navigator.replace("step")

    def go_backward(self) -> None:
        """Go to the step before this stage; before the first stage, leave the walk."""
        if self.walk.backward():
            self.navigator.replace("step")
        else:
            self.navigator.go_back()

    def show_stages(self) -> None:
        """Offer all stages to jump to."""
        step_sheets.StagesSheet(screen=self).open(animation=False)

    def go_to_stage(self, stage_id: str) -> None:
        """Jump to a stage."""
        self.walk.go_to_stage(stage_id)
        if self.walk.stage.has_screen:
            self.opened()
        else:
            self.go_forward()
