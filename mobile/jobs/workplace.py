"""What every screen may reach: the store, the checklists, the clock, the job in hand.

Plain Python. Opening the store and reading the checklists wait until first asked for, so that
the first picture comes at once.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logic.checklist.form import Library
    from logic.records.store.store import Store
    from mobile.jobs.callback import Background, Visit
    from mobile.jobs.walk import Session

Clock = Callable[[], datetime]


def system_clock() -> datetime:
    """Return the time now, with its zone."""
    return datetime.now(UTC)


class Workplace:
    """One technician's phone: folders, clock, the :class:`~mobile.jobs.walk.Session` in hand."""

    def __init__(
        self, store_folder: Path, checklists_folder: Path, clock: Clock = system_clock
    ) -> None:
        self.store_folder = store_folder
        self.checklists_folder = checklists_folder
        self.clock = clock
        self.session: Session | None = None
        self.visit: Visit | None = None

    @cached_property
    def store(self) -> "Store":
        """The store, opened and checked on first use."""
        from logic.records.store.store import Store

        return Store.open(self.store_folder)

    @cached_property
    def library(self) -> "Library":
        """The checklists with cautions, presets and symptoms, read on first use."""
        from logic.checklist.form import load

        return load(self.checklists_folder)

    def take_in_hand(self, job_id: str) -> "Session":
        """Return the session of a job: the one in hand if it is its, else a new one."""
        in_hand = self.session
        if in_hand is None or (job_id and in_hand.job.job_id != job_id):
            self.session = self.session_of(job_id)
        else:
            in_hand.reload()
        return self.session_of(job_id)

    def session_of(self, job_id: str) -> "Session":
        """Return the session of a job, without taking it in hand; "" is the one in hand."""
        from mobile.jobs.walk import Session

        if self.session is not None and job_id in ("", self.session.job.job_id):
            return self.session
        return Session(self.store, self.library, self.clock, job_id)

    def resume(self) -> "Session | None":
        """Take the job in hand that the bookmark is in, at its step with what was typed."""
        from mobile.jobs.walk import Session

        self.session = Session.resumed(self.store, self.library, self.clock)
        return self.session

    def mark_screen(self, name: str) -> None:
        """Mark the screen shown, and leave the rest of the bookmark as it is."""
        place = self.store.bookmark()
        if place.screen != name:
            self.store.set_bookmark(place.model_copy(update={"screen": name}))

    def take_visit(self, job_id: str, background: "Background") -> "Visit":
        """Return the callback of a job, as the store has it now; "" is the bookmark's."""
        from mobile.jobs.callback import Visit

        wanted = job_id or self.store.bookmark().job_id
        if self.visit is None or self.visit.job_id != wanted:
            self.visit = Visit(self.store, self.library, self.clock, wanted, background)
        else:
            self.visit.reload()
        return self.visit

    def close(self) -> None:
        """Close what was opened."""
        if "store" in self.__dict__:
            self.store.close()
            del self.__dict__["store"]
