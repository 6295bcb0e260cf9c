"""A signed record: what was signed, whether it is intact, its PDF, its label, its revisions."""

from functools import partial
from itertools import chain
from pathlib import Path

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.widget import Widget

from logic.records import verify
from logic.records.front_page import place_of
from logic.records.outcomes import answer_and_standing, summary
from logic.records.record import SealedRecord
from logic.words.dates import moment
from logic.words.digits import in_groups
from mobile.jobs import reasons, record_files, signing, signs, workshop_keys
from mobile.jobs.exchange_words import late_words
from mobile.ui import background
from mobile.ui.widgets.cards import Notice, RowCard
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.reasons import ReasonSheet
from mobile.ui.widgets.words import Heading, Small, Words

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_KINDS = {"commissioning": "Commissioning record", "callback": "Fault-finding record"}


class RecordScreen(Page):
    """``opened(job_id, revision)``: the latest revision unless another is asked for.

    The PDF is written when the record is first shown and lies ready from then on; should the
    phone die meanwhile, it is written the next time.
    """

    plate = StringProperty("")
    title = StringProperty("")
    pdf = StringProperty("")
    label = StringProperty("")
    writing = BooleanProperty(False)
    saying = StringProperty("")
    latest = BooleanProperty(True)

    def opened(self, job_id: str, revision: int = 0) -> None:
        self._job_id = job_id
        self.revisions = self.work.store.sealed(job_id)
        self.sealed: SealedRecord = self.revisions[revision - 1]
        record = self.sealed.record
        self.plate = record.vehicle.registration
        self.title = _KINDS[record.job_kind]
        self.latest = self.sealed is self.revisions[-1] and self._is_closed()
        self.pdf = self.label = ""
        self._build()
        self.ids.body.to_top()
        self._provide_pdf()

    def share(self) -> None:
        """Hand the PDF to another app."""
        from mobile.ui import device

        if self.pdf:
            device.share(self.work.store_folder, Path(self.pdf), "application/pdf")

    def show_label(self) -> None:
        """Draw the label for the unit and show it."""
        path = record_files.label_path(self.work.store_folder, self.sealed)
        if path.exists():
            self._label_is_there(path)
            return
        self.writing, self.saying = True, "Drawing the label…"
        task = partial(record_files.write_label, self.work.store_folder, self.sealed)
        background.run(task, self._label_is_there, self._failed)

    def reopen(self) -> None:
        """Ask why the job is opened again."""
        sheet = ReasonSheet(
            title="Why is it opened again?",
            about="This revision stays as it is. What follows belongs to the next one.",
            ready=list(reasons.REOPENINGS),
            give_words="Open again",
        )
        sheet.bind(on_given=self._reopened)
        sheet.open()

    def _reopened(self, _sheet: ReasonSheet, reason: str) -> None:
        record = self.sealed.record
        signing.reopen(self.work, record.vehicle_id, record.job_id, reason)
        self.navigator.restart("home")
        self.navigator.show("vehicle", vehicle_id=record.vehicle_id)
        self.work.put_walk_away()
        self.navigator.show("review", job_id=record.job_id)

    def _is_closed(self) -> bool:
        return self.work.store.job(self._job_id).is_signed

    def _provide_pdf(self) -> None:
        path = record_files.pdf_path(self.work.store_folder, self.sealed)
        if path.exists():
            self._pdf_is_there(path)
            return
        self.writing, self.saying = True, "Writing the record…"
        task = partial(record_files.write_pdf, self.work.store_folder, self.sealed)
        background.run(task, self._pdf_is_there, self._failed)

    def _pdf_is_there(self, path: Path) -> None:
        self.writing, self.pdf = False, str(path)
        self.saying = f"The PDF is ready: {path.name}"

    def _label_is_there(self, path: Path) -> None:
        self.writing, self.label = False, str(path)
        self.saying = f"Label: {path.name}"
        Clock.schedule_once(lambda _: self.ids.body.scroll_to(self.ids.picture), 0.1)

    def _failed(self, error: BaseException) -> None:
        self.writing = False
        self.saying = "The file could not be written; the record itself is safe in the store."
        raise error

    def _build(self) -> None:
        stack = self.ids.facts
        stack.clear_widgets()
        parts = (self._seal(), self._late(), self._signed(), self._exceptions(), self._others())
        for widget in chain.from_iterable(parts):
            stack.add_widget(widget)

    def _late(self) -> list[Widget]:
        told = late_words(self.work.store.job(self._job_id)) if self.latest else ""
        return [Notice(kind="question", text=told)] if told else []

    def _seal(self) -> list[Widget]:
        check = verify.check(self.sealed)
        if check.intact:
            return [Notice(kind="in_range", text="Intact: it is what was signed.")]
        told = " ".join(check.complaints)
        return [Notice(kind="out_of_range", text=f"Not what was signed. {told}")]

    def _signed(self) -> list[Widget]:
        record = self.sealed.record
        signed = f"Signed {moment(record.signed_at)}"
        place = place_of(record, self.sealed.private)
        where = f", {place}" if place else ""
        who = f"{record.technician.name}, {record.technician.workshop}".strip(", ")
        return [
            Words(text=f"Revision {record.revision}: {summary(record)}", bold=True),
            Small(text=f"{signed}{where}, by {who}."),
            Small(text=workshop_keys.signer_words(self.work.store, self.sealed)),
            Small(text=f"SHA-256: {in_groups(self.sealed.sha256)}"),
        ]

    def _exceptions(self) -> list[Widget]:
        steps = [step for step in self.sealed.record.steps if step.is_exception]
        if not steps:
            return []
        rows = [
            RowCard(
                shape=signs.of_step(step).shape,
                colour=signs.of_step(step).colour,
                text=f"{step.title}: {answer_and_standing(step)}",
                second=step.explanation,
                leads_on=False,
            )
            for step in steps
        ]
        return [Heading(text="Accepted as it is"), *rows]

    def _others(self) -> list[Widget]:
        if len(self.revisions) < 2:
            return []
        rows = [self._revision(sealed) for sealed in self.revisions if sealed is not self.sealed]
        return [Heading(text="Other revisions"), *rows]

    def _revision(self, sealed: SealedRecord) -> RowCard:
        record = sealed.record
        row = RowCard(
            shape="list",
            text=f"Revision {record.revision}",
            second=f"Signed {moment(record.signed_at)}",
        )
        what = {"job_id": record.job_id, "revision": record.revision}
        row.bind(on_release=lambda _: self.navigator.show("record", **what))
        return row
