"""What every screen of a callback has in common: the job in hand, and the way to the circuit."""

from typing import TYPE_CHECKING

from kivy.properties import ObjectProperty

from mobile.jobs.callback import SCREEN, Callback
from mobile.ui import background
from mobile.ui.widgets.pages import Page

if TYPE_CHECKING:
    from logic.records.store.bookmark import Bookmark
    from mobile.jobs.workplace import Workplace


def callback_of(work: "Workplace", job_id: str = "") -> Callback:
    """Take the callback of a job in hand, with the diagnosis in the background."""
    return work.open_callback(job_id, background.run)


class CallbackPage(Page):
    """``opened(job_id)``, without one the bookmark's; :meth:`refresh` shows what is known."""

    callback: Callback = ObjectProperty(None, allownone=True)

    @classmethod
    def reopens(cls, work: "Workplace", marked: "Bookmark") -> bool:
        """Open again at a callback that is not signed."""
        jobs = work.store.vehicle(marked.vehicle_id).jobs if marked.vehicle_id else ()
        return any(
            job.job_id == marked.job_id and job.kind == "callback" and not job.is_signed
            for job in jobs
        )

    def opened(self, job_id: str = "", **_: object) -> None:
        self.callback = callback_of(self.work, job_id)
        self.callback.changed = self.answered
        self.callback.shown(self.name)
        self.callback.ask()
        self.begin()
        self.refresh()

    def begin(self) -> None:
        """Get ready, before the first :meth:`refresh`."""

    def closed(self) -> None:
        self.callback.give_texts()
        self.callback.changed = _nobody

    def paused(self) -> None:
        self.callback.mark()

    def goes_back(self) -> bool:
        """Without the circuit on the way back, lead to it: the app was opened here."""
        if self.name == SCREEN or SCREEN in self.navigator.trail:
            return False
        self.to_circuit()
        return True

    def to_circuit(self) -> None:
        """Show the circuit again."""
        if SCREEN in self.navigator.trail:
            self.navigator.back_to(SCREEN)
        else:
            self.navigator.replace(SCREEN, job_id=self.callback.job_id)

    def answered(self) -> None:
        """Show what the diagnosis has to say."""
        self.refresh()

    def refresh(self) -> None:
        """Show the callback as it stands."""

    def show(self, screen: str) -> None:
        """Go to another screen of this callback."""
        self.navigator.show(screen, job_id=self.callback.job_id)


def _nobody() -> None:
    pass
