"""The advice: which charger, cable and fuses, a week of it, what limits it, and "what if"."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logic.choosing import words
from logic.choosing.advice import Advice, enough
from logic.choosing.chart import chart
from logic.errors import InputError
from logic.words.figures import as_stated
from mobile.jobs import choosing
from mobile.jobs.choosing import Choosing, Slider
from mobile.jobs.set_up import technician
from mobile.ui import background, device
from mobile.ui.widgets import week_chart  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.play_slider import PlaySlider
from mobile.ui.widgets.reading_panel import Remark

if TYPE_CHECKING:
    from logic.records.store.bookmark import Bookmark
    from mobile.jobs.workplace import Workplace

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_SETTLED = 0.4  # seconds; assumed: nobody moves a slider so slowly


class AnswerRow(BoxLayout):
    """A line of the advice: its label and what serves."""

    label = StringProperty("")
    text = StringProperty("")


class AdviceScreen(Page):
    """Answers what was asked for; each move of a slider answers anew, at once."""

    headline = StringProperty("")
    brief = StringProperty("")
    limits = StringProperty("")
    enough = StringProperty("")
    saved = StringProperty("")
    holds = BooleanProperty(True)
    played = BooleanProperty(False)
    writing = BooleanProperty(False)
    chart = ObjectProperty(None, allownone=True)
    balance = StringProperty("")

    @classmethod
    def reopens(cls, work: "Workplace", marked: "Bookmark") -> bool:
        return not Choosing(work.store).trouble()[1]

    def opened(self) -> None:
        self.choosing = Choosing(self.work.store)
        self._answer_soon = Clock.create_trigger(self._answer, 0)
        self._look_for_enough = Clock.create_trigger(self._ask_what_is_enough, _SETTLED)
        self.saved = ""
        self._sliders: dict[str, PlaySlider] = {}
        self.ids.sliders.clear_widgets()
        self._answer()
        self.ids.body.to_top()

    def closed(self) -> None:
        self._answer_soon.cancel()
        self._look_for_enough.cancel()
        self.choosing.keep()

    def paused(self) -> None:
        self.choosing.keep()

    def back_to_entered(self) -> None:
        """Leave the playing: show what was entered."""
        self.choosing.back_to_entered()
        self._answer()

    def change(self) -> None:
        """Show the form again."""
        if not self.goes_back():
            self.navigator.go_back()

    def goes_back(self) -> bool:
        """Where the app was opened here, the form lies behind it all the same."""
        if "choose" in self.navigator.trail:
            return False
        self.navigator.replace("choose")
        return True

    def save(self) -> None:
        """Keep the quote and make its page."""
        work, now = self.work, self.work.clock().astimezone()
        quote = choosing.save_quote(work.store, self.choosing, self.advice, now)
        own = technician(work.store)
        self.writing = True
        task = partial(choosing.write_pdf, work.store_folder, self.advice, quote, own, now)
        background.run(task, self._page_is_there, self._page_failed)

    def _page_is_there(self, path: Path) -> None:
        self.writing = False
        self._pdf = path
        self.saved = "Saved. It is in the list of saved quotes, and its page is ready to share."

    def _page_failed(self, error: BaseException) -> None:
        self.writing = False
        raise error

    def share(self) -> None:
        """Hand the quote's page to another app."""
        device.share(self.work.store_folder, self._pdf, "application/pdf")

    def make_vehicle(self) -> None:
        """Begin a new vehicle with this as its equipment; its plate comes first."""
        vehicle_id = choosing.new_vehicle(self.work, self.advice)
        what = {"page_id": "vehicle", "vehicle_id": vehicle_id, "then": "equipment"}
        self.navigator.restart("home")
        self.navigator.show("particulars", **what)

    # The answer

    def _answer(self, *_: object) -> None:
        try:
            advice = choosing.answer(self.choosing)
        except InputError as error:
            # A later release's limits may refuse what was kept: it is put right where it is typed.
            self.headline, self.brief, self.holds = "", str(error), False
            return
        self._show(advice)

    def _show(self, advice: Advice) -> None:
        self.advice = advice
        self.headline = words.headline(advice)
        self.brief, self.limits = words.in_brief(advice), advice.what_limits
        self.holds = advice.holds
        self.chart = chart(advice)
        self.balance = words.balance(advice)
        self.played = self.choosing.is_played_with
        self.saved = ""
        self._set_sliders(advice)
        self._list(advice)
        self.enough = ""
        self._look_for_enough.cancel()
        if not advice.holds:
            self._look_for_enough()

    def _set_sliders(self, advice: Advice) -> None:
        for slider in self.choosing.sliders(advice):
            if slider.path not in self._sliders:
                made = PlaySlider(label=slider.label)
                made.bind(on_moved=partial(self._moved, slider.path))
                made.bind(on_left=lambda _: self.choosing.keep())
                self._sliders[slider.path] = made
                self.ids.sliders.add_widget(made)
            self._set(self._sliders[slider.path], slider)

    def _set(self, shown: PlaySlider, slider: Slider) -> None:
        self._setting = True  # a bar whose ends move may move its knob: that is nobody's wish
        shown.low, shown.high, shown.step = slider.low, slider.high, slider.step
        shown.value = slider.value
        self._setting = False
        shown.words = slider.words(slider.value)

    def _moved(self, path: str, shown: PlaySlider) -> None:
        if self._setting:
            return
        self.choosing.play(path, shown.value)
        self._answer_soon()

    def _list(self, advice: Advice) -> None:
        rows, remarks = self.ids.rows, self.ids.remarks
        rows.clear_widgets()
        remarks.clear_widgets()
        for label, text in words.answer_rows(advice):
            rows.add_widget(AnswerRow(label=label, text=text))
        for text in (*advice.remarks, words.DISCLAIMER):
            remarks.add_widget(Remark(shape="information", text=text))

    def _ask_what_is_enough(self, *_: object) -> None:
        wish = self.advice.wish
        background.run(lambda: enough(wish), partial(self._tell_what_is_enough, self.advice))

    def _tell_what_is_enough(
        self, advice: Advice, found: tuple[float | None, float | None]
    ) -> None:
        if self.navigator.page is not self or advice is not self.advice:
            return
        hours, watts = found
        ways = []
        if hours is not None:
            ways.append(f"{as_stated(hours, 'h')} of driving a day")
        if watts is not None:
            ways.append(f"a panel of {as_stated(watts, 'W')}")
        if ways:
            self.enough = f"Enough, all else as it is: {' or '.join(ways)}."
        else:
            self.enough = "More driving alone or more sun alone is not enough: change more."
