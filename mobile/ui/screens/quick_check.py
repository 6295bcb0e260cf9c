"""Quick check: a vehicle nobody here knows, from its label or from the two things one can see.

The label is read from a photo of it; its text can be pasted too.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty

from logic.errors import AppError, InputError
from logic.words.entry import parse_quantity
from mobile.jobs import job_start
from mobile.ui import camera, device
from mobile.ui.widgets import fields  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.pages import Page

if TYPE_CHECKING:
    from logic.records.store.bookmark import Bookmark
    from mobile.jobs.workplace import Workplace

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_DRAFT = "quick_check"
# The model's own limit; chargers for a second battery give 20 to 50 A (common practice).
_MOST_AMPERES = 200.0


class QuickCheckScreen(Page):
    """What is typed is kept until the check begins."""

    reading = BooleanProperty(False)
    about_photo = StringProperty("")

    @classmethod
    def reopens(cls, work: "Workplace", marked: "Bookmark") -> bool:
        return True

    def opened(self) -> None:
        self.reading = False
        where = "Opens the camera." if device.HAS_CAMERA else "Choose a photo of it."
        self.about_photo = f"{where} The whole code, sharp, with no light mirrored in it."
        self._draft: dict[str, str] = dict(self.work.store.setting(_DRAFT, {}))
        self.ids.label.text = self._draft.get("label", "")
        self.ids.rating.text = self._draft.get("rating", "")
        self.ids.chemistry.value = self._draft.get("chemistry", "")
        self.ids.nominal.value = self._draft.get("nominal", "12")
        self.ids.solar.active = self._draft.get("solar", "") == "yes"
        for name in ("label", "rating", "chemistry"):
            self.ids[name].complaint = ""
        self.ids.photo_complaint.text = ""
        self.ids.body.to_top()

    def photograph_label(self) -> None:
        """Photograph the label and take the vehicle from the code on it."""
        self.ids.photo_complaint.text = ""
        try:
            camera.take_label(
                self.work, self._reading_begins, self.label_is_read, self._label_unread
            )
        except AppError as error:
            self._label_unread(error)

    def label_is_read(self, text: str) -> None:
        """Take the vehicle from a label's text; it stands in the field if that cannot be."""
        self.reading = False
        self.ids.label.text = text
        self.kept("label", text)
        if self.navigator.page is self:
            self.take_label()

    def _reading_begins(self) -> None:
        self.reading = True

    def _label_unread(self, error: BaseException) -> None:
        self.reading = False
        if not isinstance(error, AppError):
            raise error
        self.ids.photo_complaint.text = str(error)
        self.ids.body.scroll_to(self.ids.photo_complaint)

    def kept(self, name: str, text: str) -> None:
        """Keep what is typed or chosen."""
        self._draft[name] = text
        self.work.store.set_setting(_DRAFT, self._draft)

    def take_label(self) -> None:
        """Take the vehicle over from its label, or say what is wrong with the text."""
        try:
            vehicle_id = job_start.add_from_label(
                self.work.store, self.ids.label.text, self.work.clock()
            )
        except AppError as error:
            self.ids.label.complaint = str(error)
            return
        self._go_on(vehicle_id)

    def begin_check(self) -> None:
        """Make the vehicle known with what can be seen on it, and ask for the complaint."""
        rating = self._rating()
        chemistry = self.ids.chemistry.value
        if not chemistry:
            self.ids.chemistry.complaint = "Tap the battery's chemistry: it is printed on its case."
        if rating is None or not chemistry:
            return
        store, nominal = self.work.store, int(self.ids.nominal.value or 12)
        fitted = job_start.least_known(store, rating, chemistry, nominal, self.ids.solar.active)
        self._go_on(job_start.add_without_plate(store, fitted, self.work.clock().astimezone()))

    def _rating(self) -> float | None:
        text = self.ids.rating.text
        if not text.strip():
            self.ids.rating.complaint = "Type the rated output: it is on the unit's rating plate."
            return None
        try:
            return parse_quantity(text, "A", 1.0, _MOST_AMPERES, "rating")
        except InputError as error:
            self.ids.rating.complaint = str(error)
            return None

    def _go_on(self, vehicle_id: str) -> None:
        self.work.store.set_setting(_DRAFT, {})
        self.navigator.replace("callback", vehicle_id=vehicle_id)
