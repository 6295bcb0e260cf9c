"""The design check in full: each rule, what is fitted held against it, and what would be right."""

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from mobile.jobs import design_view
from mobile.ui.widgets.cards import Card
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Heading

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class RuleCard(Card):
    """One rule: its sign and title, the rule, the figures, what would be right, the source."""

    title = StringProperty("")
    sign = StringProperty("no_limit")
    rule = StringProperty("")
    text = StringProperty("")
    right = StringProperty("")
    source = StringProperty("")


class DesignScreen(Page):
    """``opened(vehicle_id)``: what fails first, then what has to be looked at, then the rest."""

    plate = StringProperty("")
    standing = StringProperty("")

    def opened(self, vehicle_id: str) -> None:
        state = self.work.store.vehicle(vehicle_id)
        self.plate = state.vehicle.registration if state.vehicle else ""
        stack = self.ids.rules
        stack.clear_widgets()
        if state.installation is None:
            return
        self.standing = design_view.standing(state.installation)
        for group in design_view.rules_of(state.installation):
            stack.add_widget(Heading(text=group.heading))
            for one in group.rules:
                stack.add_widget(RuleCard(**vars(one)))
        self.ids.body.to_top()
