"""Sign-off: who signs, where and when, both signatures, then the seal."""

from pathlib import Path
from typing import Literal

from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty

from logic.case import Diagnosis
from logic.records.store.bookmark import Bookmark
from logic.words.dates import day_and_time
from mobile.jobs import reasons, signing
from mobile.jobs.set_up import OwnDetails
from mobile.jobs.signing import SigningForm, names_words
from mobile.jobs.workplace import Workplace
from mobile.ui.widgets import fields  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.reasons import ReasonSheet

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_SIGNED = "signed; tap to sign again"


class SigningScreen(Page):
    """Everything given here is on disk at once; the job is sealed by one tap at the end.

    A callback hands over its ``diagnosis``, for the record.
    """

    plate = StringProperty("")
    statement = StringProperty("")
    day = StringProperty("")
    technician_state = StringProperty("")
    customer_state = StringProperty("")
    has_technician = BooleanProperty(False)
    has_customer = BooleanProperty(False)
    absent = StringProperty("")
    missing = StringProperty("")
    notice = StringProperty("")
    names_left_out = StringProperty("")
    names_kept = StringProperty("")
    leave_out_words = StringProperty("")

    @classmethod
    def reopens(cls, work: Workplace, marked: Bookmark) -> bool:
        walk = work.resume_walk()
        return walk is not None and walk.is_open

    def opened(self, job_id: str = "", diagnosis: Diagnosis | None = None) -> None:
        store = self.work.store
        self.done = signing.work_done(self.work, job_id or store.bookmark().job_id, diagnosis)
        self.form = SigningForm(store, self.done)
        self.own = OwnDetails(store)
        described = self.done.vehicle.vehicle
        self.plate = described.registration if described else ""
        self.statement = self.form.statement()
        now = self.work.clock().astimezone()
        self.day = day_and_time(now)
        changed = "The job was changed after it was signed. Both sign again."
        self.notice = changed if self.form.was_changed else ""
        self.ids.name.text = self.own.draft["technician.name"]
        self.ids.licence.text = self.own.draft["technician.licence"]
        self.ids.place.text = self.form.place
        self.ids.customer_name.text = self.form.customer_name
        self._say_where_names_stand()
        self._refresh()

    def put_own(self, name: Literal["name", "licence"], text: str) -> None:
        """Take the technician's own detail, for this record and those to come."""
        self.ids[name].complaint = self.own.put(f"technician.{name}", text)
        self._refresh()

    def put(self, name: Literal["place", "customer_name"], text: str) -> None:
        """Take what was typed."""
        self.form.put(name, text)
        self._refresh()

    def leave_names_out(self) -> None:
        """Have parts of the customer's name left out of the record, or stay in it."""
        self.form.leave_parts_out(not self.form.leaves_parts_out)
        self._say_where_names_stand()
        self._refresh()

    def _say_where_names_stand(self) -> None:
        found = self.form.names_found(self.work.clock())
        self.names_left_out, self.names_kept, self.leave_out_words = names_words(
            found, parts_left_out=self.form.leaves_parts_out
        )

    def draw(self, who: Literal["technician", "customer"]) -> None:
        """Open the page to sign on; the customer reads first what is signed for."""
        if who == "customer":
            self.show_page_one(then_signs=True)
        else:
            self.navigator.show("signature", job_id=self.done.job.job_id, who=who)

    def show_page_one(self, *, then_signs: bool = False) -> None:
        """Show page one of the record as it would be printed now."""
        what = {"job_id": self.done.job.job_id, "diagnosis": self.done.diagnosis}
        self.navigator.show("front_page", **what, then_signs=then_signs)

    def say_absent(self) -> None:
        """Ask why the customer does not sign."""
        sheet = ReasonSheet(
            title="Customer not here",
            about="The reason goes into the record beside the box for the signature.",
            ready=list(reasons.ABSENCES),
            text=self.form.absent,
        )
        sheet.bind(on_given=self._is_absent)
        sheet.open()

    def seal(self) -> None:
        """Close the job for good, and show its record."""
        if self.missing:
            return
        sealed = signing.seal(self.work, self.done, self.form.built(self.work.clock().astimezone()))
        self.form.close()
        self.work.put_walk_away()
        self.navigator.restart("home")
        self.navigator.show("record", job_id=sealed.record.job_id)

    def _is_absent(self, _sheet: ReasonSheet, text: str) -> None:
        self.form.draw("customer", [])
        self.form.put("absent", text)
        self._refresh()

    def _refresh(self) -> None:
        self.has_technician = bool(self.form.strokes("technician"))
        self.has_customer = bool(self.form.strokes("customer"))
        self.absent = self.form.absent
        self.technician_state = (
            "signed; tap to sign again" if self.has_technician else "tap to sign"
        )
        self.customer_state = self._customer_state()
        missing = self.form.missing(self.work.clock())
        self.missing = missing[0] if missing else ""

    def _customer_state(self) -> str:
        if self.has_customer:
            return _SIGNED
        return f"not here: {self.absent}" if self.absent else "tap and hand over the phone"
