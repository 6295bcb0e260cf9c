"""The first screen's menu: how the app is to be, the technician's own details and own meter."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import ListProperty, ObjectProperty, StringProperty

from logic.checklist.depth import Depth
from logic.words.names import counted
from mobile.jobs import job_start, own_choices
from mobile.jobs.exchange import to_settle
from mobile.jobs.language import Language
from mobile.jobs.own_choices import Choice, Look, OwnChoices
from mobile.jobs.set_up import OwnDetails
from mobile.jobs.set_up_pages import PAGE_OF, page_summary
from mobile.ui import light_sensor, own_way, signals
from mobile.ui.widgets.pages import Page

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class OwnScreen(Page):
    """How the app is to be, two rows that lead to their forms, and the way to other phones."""

    choices = ObjectProperty(OwnChoices())
    languages = ListProperty([(one.value, one.words) for one in Language])
    looks = ListProperty([(one.value, one.words) for one in Look])

    technician = StringProperty("")
    meter = StringProperty("")
    exchange = StringProperty("")
    depth = StringProperty("")
    depth_says = StringProperty("")
    depths = ListProperty([(one.value, one.words) for one in Depth])

    def on_kv_post(self, base_widget: object) -> None:
        if not light_sensor.is_there():
            self.ids.by_light.parent.remove_widget(self.ids.by_light)

    def opened(self) -> None:
        self.choices = own_choices.chosen(self.work.store)
        draft = OwnDetails(self.work.store).draft
        self.technician = page_summary(PAGE_OF["technician"], draft)
        self.meter = page_summary(PAGE_OF["meter"], draft)
        self.exchange = self._exchange_words()
        self._show_depth()

    def choose_depth(self, value: str) -> None:
        """Take how much a commissioning asks for, and keep the choice."""
        job_start.choose_depth(self.work.store, Depth(value))
        self._show_depth()

    def _show_depth(self) -> None:
        depth = job_start.chosen_depth(self.work.store)
        self.depth, self.depth_says = depth.value, depth.says

    def edit(self, page_id: str) -> None:
        """Open one of the two forms."""
        self.navigator.show("particulars", page_id=page_id)

    def _exchange_words(self) -> str:
        open_ends = len(to_settle(self.work.store))
        if open_ends:
            return f"Answered on two phones: {counted(open_ends, 'step')} to settle"
        return "All vehicles as one file, or a file from another phone"

    def choose_look(self, value: str) -> None:
        """Take a look, and keep the choice."""
        self.choose("look", Look(value))

    def choose_language(self, value: str) -> None:
        """Take a language, and keep the choice."""
        self.choose("language", Language(value))

    def choose(self, name: str, value: Choice) -> None:
        """Keep a choice and have the app that way at once."""
        self.choices = own_choices.keep(self.work.store, name, value)
        own_way.take_on(self.choices)
        if name == "signals" and value:
            signals.give()  # so that it is known when it comes
