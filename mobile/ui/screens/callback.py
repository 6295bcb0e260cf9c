"""The start of a callback: the symptoms in a few taps, the complaint, the cautions."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import StringProperty

from logic.checklist import run
from logic.checklist.answers import TextAnswer, YesNoAnswer
from logic.records.state import COMPLAINT_STEP
from logic.words.equipment import identity_in_brief
from mobile.jobs import job_start
from mobile.jobs.callback import SCREEN
from mobile.jobs.job_in_hand import commissioned
from mobile.ui.screens.callback_page import callback_of
from mobile.ui.widgets import fields  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.buttons import ButtonRow, Chip
from mobile.ui.widgets.cards import Notice
from mobile.ui.widgets.pages import Page

if TYPE_CHECKING:
    from logic.records.store.bookmark import Bookmark
    from mobile.jobs.workplace import Workplace

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_STAGE = "before_readings"
_SAFE_STEP = "callback_made_safe"


class CallbackScreen(Page):
    """``opened(vehicle_id)`` begins a callback, or goes on with the one that is open."""

    plate = StringProperty("")
    ask = StringProperty("")
    reference = StringProperty("")
    unit = StringProperty("")

    @classmethod
    def reopens(cls, work: "Workplace", marked: "Bookmark") -> bool:
        vehicle_id = job_start.ComplaintDraft.vehicle_asked(work.store)
        return bool(vehicle_id) and next(iter(work.store.events(vehicle_id)), None) is not None

    def opened(self, vehicle_id: str = "", job_id: str = "") -> None:
        store = self.work.store
        of_job = store.job(job_id).vehicle_id if job_id else ""
        asked = job_start.ComplaintDraft.vehicle_asked(store)
        self._vehicle_id = vehicle_id or of_job or asked
        state = store.vehicle(self._vehicle_id)
        self.plate = state.vehicle.registration if state.vehicle else ""
        open_job = job_id or _open_callback(state)
        if open_job:
            # Only once this page stands can another take its place.
            Clock.schedule_once(lambda _: self._go_on(open_job), 0)
            return
        self._draft = job_start.ComplaintDraft(store, self._vehicle_id)
        self.reference = self._reference()
        self.unit = identity_in_brief(state.installation) if state.installation else ""
        self._build()
        self.ids.body.to_top()

    def typed(self, text: str) -> None:
        """Keep what is typed."""
        self._draft.put(complaint=text)

    def begin(self) -> None:
        """Open the job, which says that the work was made safe, and show the circuit."""
        draft = self._draft
        job_id = job_start.begin_callback(
            self.work.store,
            self.work.library,
            self._vehicle_id,
            self.work.clock(),
            draft.symptoms,
            draft.complaint,
        )
        callback = callback_of(self.work, job_id)
        callback.answer(_SAFE_STEP, YesNoAnswer(yes=True))
        if draft.complaint.strip():
            callback.answer(COMPLAINT_STEP, TextAnswer(text=draft.complaint.strip()))
        draft.clear()
        callback.state = callback.first_state()
        callback.mark()
        self.navigator.replace(SCREEN, job_id=job_id)

    def _go_on(self, job_id: str) -> None:
        screen = callback_of(self.work, job_id).screen
        self.navigator.replace(screen, job_id=job_id)

    def _reference(self) -> str:
        readings = commissioned(self.work.store, self._vehicle_id)
        if readings:
            return f"{len(readings)} readings of its commissioning to compare with."
        return "No commissioning record of this vehicle here: limits are wider."

    def _build(self) -> None:
        chosen = self._draft.symptoms
        self.ids.symptoms.clear_widgets()
        row = ButtonRow(turns=False)
        for symptom in self.work.library.symptoms.values():
            if len(row.children) in (0, 2):
                row = ButtonRow(turns=False)
                self.ids.symptoms.add_widget(row)
            chip = Chip(text=symptom.words, value=symptom.id, chosen=symptom.id in chosen)
            chip.bind(on_release=self._tap)
            row.add_widget(chip)
        self.ids.complaint.text = self._draft.complaint
        self._show_question()
        self._show_cautions()

    def _tap(self, chip: Chip) -> None:
        chip.chosen = not chip.chosen
        kept = [one for one in self._draft.symptoms if one != chip.value]
        self._draft.put(symptoms=[*kept, chip.value] if chip.chosen else kept)
        self._show_question()

    def _show_question(self) -> None:
        symptoms = self.work.library.symptoms
        latest = self._draft.symptoms[-1:]
        self.ask = "".join(f"Ask: {symptoms[one].ask_customer}" for one in latest)

    def _show_cautions(self) -> None:
        checklist = self.work.library.checklists[job_start.CALLBACK]
        stage = next(stage for stage in checklist.stages if stage.id == _STAGE)
        safe = checklist.by_id[_SAFE_STEP]
        installation = self.work.store.vehicle(self._vehicle_id).installation
        facts = run.Facts(installation=installation, answers={}, skipped={})
        self.ids.cautions.clear_widgets()
        ids = dict.fromkeys((*stage.cautions, *safe.cautions))
        for caution in run.cautions(self.work.library, ids, facts):
            notice = Notice(kind="caution", text=caution.in_full)
            self.ids.cautions.add_widget(notice)


def _open_callback(state: Any) -> str:
    jobs = [job for job in state.jobs if job.kind == "callback" and not job.is_signed]
    return jobs[-1].job_id if jobs else ""
