"""Page one of the record on the glass, as it will be printed: read before anybody signs."""

from pathlib import Path

from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from logic.case import Diagnosis
from logic.records.front_page import CircuitShown, FrontPage, Part, Signer
from mobile.jobs.signing import SigningForm, with_diagnosis, work_done
from mobile.ui.widgets.cards import Card
from mobile.ui.widgets.circuit import CircuitView
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Heading, Small, Words

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class PageRow(BoxLayout):
    """A row of a part: a label over its words, or an item of a list."""

    label = StringProperty("")
    words = StringProperty("")


class FrontPageScreen(Page):
    """``opened(job_id, diagnosis, then_signs)``: the customer signs after it where asked for.

    What it shows is :func:`logic.records.front_page.front_page`, which the paper prints.
    """

    title = StringProperty("")
    plate = StringProperty("")
    then_signs = BooleanProperty(False)

    def opened(
        self, job_id: str, diagnosis: Diagnosis | None = None, then_signs: bool = False
    ) -> None:
        self._job_id, self.then_signs = job_id, then_signs
        done = with_diagnosis(work_done(self.work, job_id, diagnosis))
        self.page = SigningForm(self.work.store, done).front_page(self.work.clock())
        self.title, self.plate = self.page.title, self.page.vehicle
        stack = self.ids.body.stack
        stack.clear_widgets()
        for widget in _widgets(self.page):
            stack.add_widget(widget)
        self.ids.body.to_top()

    def go_on(self) -> None:
        """Hand over to the glass to sign on, or go back."""
        if self.then_signs:
            self.navigator.replace("signature", job_id=self._job_id, who="customer")
        else:
            self.navigator.go_back()


def _widgets(page: FrontPage) -> list[Widget]:
    head = Card()
    head.add_widget(Words(text=page.headline, bold=True))
    head.add_widget(Words(text=page.outcome, bold=not page.headline))
    circuits = [widget for shown in page.circuits for widget in _circuit(shown)]
    parts = [widget for part in page.parts for widget in _part(part)]
    about = [PageRow(label=label, words=words) for label, words in page.about]
    signers = Part("Signatures", tuple((one.role, _signed_by(one)) for one in page.signers))
    return [Small(text=page.workshop), *about, head, *circuits, *parts, *_part(signers)]


def _signed_by(signer: Signer) -> str:
    drawn = signer.drawn
    how = "signed" if drawn and drawn.strokes else (drawn and drawn.absent) or "not signed yet"
    return f"{signer.name or 'no name given'}: {how}"


def _circuit(shown: CircuitShown) -> list[Widget]:
    height = dp(shown.picture.touch_height)
    return [Heading(text=shown.title), CircuitView(picture=shown.picture, height=height)]


def _part(part: Part) -> list[Widget]:
    rows = [PageRow(label=label, words=words) for label, words in part.rows]
    return [Heading(text=part.title), *rows]
