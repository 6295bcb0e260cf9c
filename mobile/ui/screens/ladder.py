"""The voltage ladder: where along the loop the volts are lost, and where they were before."""

from collections import Counter
from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from logic.vehicle.points import State
from mobile.jobs.ladder_view import ladder_view
from mobile.ui.screens.callback_page import CallbackPage
from mobile.ui.widgets import ladder as _picture  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.buttons import Chip

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_ADVICE = "Volts against start battery −. Where a step is too big, the fault is."
_NOTHING = "Nothing was read in this state yet: the boxes show where each post should be."


class LadderScreen(CallbackPage):
    """One state at a time."""

    where = StringProperty("")
    advice = StringProperty("")

    def begin(self) -> None:
        self._state = self._most_read()
        self.ids.body.to_top()

    def refresh(self) -> None:
        from logic.limits.ladder import ladder  # not on the start path

        callback = self.callback
        self.where = callback.plate
        self._offer_states()
        now = ladder(callback.installation, callback.readings, self._state, callback.baseline)
        earlier = [r for r in callback.baseline if r.state is self._state]
        then = ladder(callback.installation, callback.baseline, self._state) if earlier else None
        self.ids.picture.view = ladder_view(now, then)
        read = any(reading.state is self._state for reading in callback.readings)
        self.advice = _ADVICE if read else _NOTHING

    def _offer_states(self) -> None:
        self.ids.states.clear_widgets()
        fitted = self.callback.installation
        for state in self.callback.states:
            words, here = state.short_name_on(fitted), state is self._state
            chip = Chip(text=words, value=state, chosen=here)
            chip.bind(on_release=lambda chip: self._choose(State(chip.value)))
            self.ids.states.add_widget(chip)

    def _choose(self, state: State) -> None:
        self._state = state
        self.refresh()

    def _most_read(self) -> State:
        """The state in hand, or where it tells nothing, the one that was read most."""
        read = Counter(reading.state for reading in self.callback.readings)
        return (
            self.callback.state
            if read[self.callback.state] > 1 or not read
            else max(read, key=read.__getitem__)
        )
