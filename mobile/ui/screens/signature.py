"""The glass to sign on, under what is signed for; the glass itself never scrolls."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty

from mobile.jobs.signing import SigningForm, Who, work_done
from mobile.ui.widgets import signature_pad  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.cards import Notice
from mobile.ui.widgets.pages import Page

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_TITLES = {"technician": "Your signature", "customer": "Customer's signature"}


class SignatureScreen(Page):
    """Keeps each stroke as it is finished."""

    title = StringProperty("")
    name_words = StringProperty("")
    statement = StringProperty("")
    is_signed = BooleanProperty(False)

    def opened(self, job_id: str, who: Who) -> None:
        self._who: Who = who
        self.form = SigningForm(self.work.store, work_done(self.work, job_id))
        built = self.form.built(self.work.clock())
        names = {"technician": built.technician.name, "customer": self.form.customer_name}
        self.title, self.name_words = _TITLES[who], names[who] or "no name given"
        self.statement = self.form.statement()
        self.ids.accepted.clear_widgets()
        for text in self.form.accepted():
            self.ids.accepted.add_widget(Notice(kind="out_of_range", text=text))
        self.ids.pad.strokes = [list(map(tuple, stroke)) for stroke in self.form.strokes(who)]
        self._refresh()

    def keep(self) -> None:
        """Keep what is drawn."""
        self.form.draw(self._who, [list(stroke) for stroke in self.ids.pad.strokes])
        self._refresh()

    def clear(self) -> None:
        """Wipe the glass."""
        self.ids.pad.clear()
        self.keep()

    def _refresh(self) -> None:
        self.is_signed = any(len(stroke) > 1 for stroke in self.ids.pad.strokes)
