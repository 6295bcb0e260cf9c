"""What every screen may reach: the store, the checklists, the clock, the job in hand.

Plain Python. Opening the store and reading the checklists wait until first asked for, so that
the first picture comes at once.
"""

from dataclasses import replace
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from mobile.jobs import phone_store

if TYPE_CHECKING:
    from logic.checklist.form import Library
    from logic.checklist.glossary import Term
    from logic.records.store.store import Store
    from logic.records.store.store_file import StoreFile
    from mobile.jobs.callback import Background, Callback
    from mobile.jobs.job_in_hand import Clock
    from mobile.jobs.walk import Walk


def system_clock() -> datetime:
    """Return the time now, with its zone."""
    return datetime.now(UTC)


class Workplace:
    """One technician's phone: folders, clock, the walk and the callback in hand."""

    def __init__(
        self, store_folder: Path, checklists_folder: Path, clock: "Clock" = system_clock
    ) -> None:
        self.store_folder = store_folder
        self.checklists_folder = checklists_folder
        self.clock = clock
        self.walk: Walk | None = None
        self.callback: Callback | None = None

    @cached_property
    def store_file(self) -> "StoreFile":
        """The store's file, opened and checked on first use: all that the first screen needs."""
        return phone_store.open_store_file(self.store_folder)

    @cached_property
    def store(self) -> "Store":
        """The whole store."""
        from logic.records.store.store import Store

        return Store.over(self.store_file)

    @cached_property
    def library(self) -> "Library":
        """The checklists with cautions, presets and symptoms, read on first use."""
        from logic.checklist.form import load

        return load(self.checklists_folder)

    @cached_property
    def glossary(self) -> "tuple[Term, ...]":
        """The trade's words with their meanings, read on first use."""
        from logic.checklist.glossary import load

        return load(self.checklists_folder)

    def open_walk(self, job_id: str = "") -> "Walk":
        """Take the walk of a job in hand as the store has it now; "" is the one in hand."""
        if self.walk is None or job_id not in ("", self.walk.job_id):
            self.walk = self.walk_of(job_id)
        else:
            self.walk.reload()
        return self.walk

    def walk_of(self, job_id: str) -> "Walk":
        """Return the walk of a job, without taking it in hand if another one is."""
        from mobile.jobs.walk import Walk

        if self.walk is not None and self.walk.job_id == job_id:
            return self.walk
        return Walk(self.store, self.library, self.clock, job_id)

    def resume_walk(self) -> "Walk | None":
        """Take the job in hand that the bookmark is in, at its step with what was typed."""
        from mobile.jobs.walk import Walk

        self.walk = Walk.resumed(self.store, self.library, self.clock)
        return self.walk

    def put_walk_away(self) -> None:
        """Take no walk in hand: the next one opens where the bookmark is."""
        self.walk = None

    def open_callback(self, job_id: str, background: "Background") -> "Callback":
        """Take the callback of a job in hand as the store has it now; "" is the bookmark's."""
        from mobile.jobs.callback import Callback

        wanted = job_id or self.store.bookmark().job_id
        if self.callback is None or self.callback.job_id != wanted:
            self.callback = Callback(self.store, self.library, self.clock, wanted, background)
        else:
            self.callback.reload()
        return self.callback

    def mark_screen(self, name: str) -> None:
        """Mark the screen shown, and leave the rest of the bookmark as it is."""
        marked = self.store_file.bookmark()
        if marked.screen != name:
            self.store_file.set_bookmark(replace(marked, screen=name))

    def put_away(self) -> None:
        """Have everything in the store's own file: the phone may end the app any moment."""
        if "store_file" in self.__dict__:
            self.store_file.put_away()

    def close(self) -> None:
        """Close what was opened."""
        if "store_file" in self.__dict__:
            self.store_file.close()
        for opened in ("store", "store_file"):
            self.__dict__.pop(opened, None)
