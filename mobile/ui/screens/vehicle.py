"""One vehicle: what is fitted, what its design check says, its jobs and their records."""

from itertools import chain
from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty
from kivy.uix.widget import Widget

from logic.records.state import JobState
from logic.words.dates import day
from logic.words.names import counted
from mobile.jobs import design_view
from mobile.jobs.erasure import can_be_erased
from mobile.jobs.job_in_hand import commissioned
from mobile.jobs.job_start import begin_commissioning
from mobile.jobs.set_up import SetUp
from mobile.jobs.set_up_pages import PAGE_OF, page_summary
from mobile.jobs.under_way import unfinished_set_ups
from mobile.ui.widgets.buttons import BareButton
from mobile.ui.widgets.cards import Notice, RowCard
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Heading

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_KINDS = {"commissioning": "Commissioning", "callback": "Fault-finding"}
_FIND = "Find a fault"
_OVERVIEW = ("charger", "house_battery", "vehicle_feed")


class VehicleScreen(Page):
    """``opened(vehicle_id)``; ``callback`` is offered where the app has such a screen."""

    plate = StringProperty("")
    about = StringProperty("")
    main_words = StringProperty("")
    aside_words = StringProperty("")

    def opened(self, vehicle_id: str) -> None:
        self._vehicle_id = vehicle_id
        if vehicle_id in unfinished_set_ups(self.work.store):
            SetUp.of(self.work, vehicle_id).finish()
        self.state = self.work.store.vehicle(vehicle_id)
        described = self.state.vehicle
        self.plate = described.registration if described else "No plate yet"
        texts = (described.description if described else "", self.state.customer.name)
        self.about = " · ".join(text for text in texts if text)
        # On a commissioned vehicle it is a fault that brings somebody here.
        self._faults_first = self._is_commissioned() and self._can_find_faults()
        self.main_words = _FIND if self._faults_first else self._main_words()
        self.aside_words = "Commission again" if self._faults_first else _FIND
        self.ids.callback.disabled = not self._can_find_faults()
        self._build()
        self.ids.body.to_top()

    def go_on(self) -> None:
        """Do what comes next: describe, commission, go on with that, or find a fault."""
        if self._faults_first:
            self.find_fault()
        else:
            self._go_on()

    def go_aside(self) -> None:
        """Do the other one of commissioning and fault-finding."""
        if self._faults_first:
            self._go_on()
        else:
            self.find_fault()

    def _go_on(self) -> None:
        open_job = self.state.open_job
        if self.state.installation is None:
            self.navigator.show("equipment", vehicle_id=self._vehicle_id)
        elif open_job is not None:
            self.open_job(open_job)
        else:
            work = self.work
            job_id = begin_commissioning(work.store, work.library, self._vehicle_id, work.clock())
            self.navigator.show("stage", job_id=job_id)

    def find_fault(self) -> None:
        """Begin or go on with fault-finding on this vehicle."""
        self.navigator.show("callback", vehicle_id=self._vehicle_id)

    def open_job(self, job: JobState) -> None:
        """Open a job: its record once it is signed, else where it was left."""
        if job.is_signed:
            self.navigator.show("record", job_id=job.job_id)
        elif job.kind == "callback":
            self.navigator.show("callback", vehicle_id=self._vehicle_id, job_id=job.job_id)
        else:
            self.work.put_walk_away()
            self.navigator.show("step", job_id=job.job_id)

    def _main_words(self) -> str:
        if self.state.installation is None:
            return "Describe the equipment"
        job = self.state.open_job
        if job is None:
            return "Start commissioning"
        return "Go on"

    def _is_commissioned(self) -> bool:
        """Whether commissioning readings are there, by a record or a label, and no job runs."""
        has_readings = bool(commissioned(self.work.store, self._vehicle_id))
        return self.state.open_job is None and has_readings

    def _can_find_faults(self) -> bool:
        return self.state.installation is not None and self.navigator.knows("callback")

    def _build(self) -> None:
        stack = self.ids.body.stack
        stack.clear_widgets()
        parts = (self._fitted(), self._design(), self._jobs(), self._exchange(), self._privacy())
        for widget in chain.from_iterable(parts):
            stack.add_widget(widget)

    def _exchange(self) -> list[Widget]:
        what = {"vehicle_id": self._vehicle_id}
        return [
            self._row(
                "Send to another phone",
                "This vehicle with its jobs, records and photos",
                "share",
                lambda _: self.navigator.show("exchange", **what),
            )
        ]

    def _privacy(self) -> list[Widget]:
        if not can_be_erased(self.work.store, self.state):
            return []
        button = BareButton(text="Erase the customer's data")
        what = {"vehicle_id": self._vehicle_id}
        button.bind(on_release=lambda _: self.navigator.show("erasure", **what))
        return [button]

    def _fitted(self) -> list[Widget]:
        draft = SetUp.of(self.work, self._vehicle_id, self.state).draft
        lines = [page_summary(PAGE_OF[page_id], draft) for page_id in _OVERVIEW]
        known = [line for line in lines if line != "not known"]
        what = {"vehicle_id": self._vehicle_id}
        return [
            self._row(
                "Equipment",
                "; ".join(known) or "not described yet",
                "pencil",
                lambda _: self.navigator.show("equipment", **what),
            ),
            self._row(
                "Plate, customer, VIN",
                page_summary(PAGE_OF["vehicle"], draft),
                "pencil",
                lambda _: self.navigator.show("particulars", page_id="vehicle", **what),
            ),
        ]

    def _row(self, text: str, second: str, shape: str, tapped: object) -> RowCard:
        row = RowCard(text=text, second=second, shape=shape)
        row.bind(on_release=tapped)
        return row

    def _design(self) -> list[Widget]:
        if self.state.installation is None:
            return []
        groups = design_view.rules_of(self.state.installation)
        wrong = (rule for group in groups for rule in group.rules if rule.sign == "out_of_range")
        every = self._row(
            "Every rule and its figures",
            design_view.standing(self.state.installation),
            "list",
            lambda _: self.navigator.show("design", vehicle_id=self._vehicle_id),
        )
        notices = (
            Notice(kind="out_of_range", text=f"{one.title}: {one.text} {one.right}".rstrip())
            for one in wrong
        )
        return [Heading(text="Design check"), *notices, every]

    def _jobs(self) -> list[Widget]:
        if not self.state.jobs:
            return []
        rows = [self._job(job) for job in reversed(self.state.jobs)]
        return [Heading(text="Jobs"), *rows]

    def _job(self, job: JobState) -> RowCard:
        begun = day(job.opened_at) if job.opened_at else "no date"
        if job.is_signed:
            second = f"signed, revision {job.revision}"
        elif job.reopened:
            second = f"reopened after revision {job.revision}: {job.reopen_reason}"
        else:
            second = f"{len(job.answers) + len(job.skipped)} steps done"
        shape = "done" if job.is_signed else "clock"
        if job.clashes:
            second += f"; answered on two phones: {counted(len(job.clashes), 'step')} to settle"
            shape = "question"
        return self._row(
            f"{_KINDS[job.kind]}, {begun}", second, shape, lambda _: self.open_job(job)
        )
