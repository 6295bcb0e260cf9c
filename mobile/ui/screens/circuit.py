"""The circuit is the screen: touch two posts, or a clamp, to enter that reading."""

from dataclasses import replace
from pathlib import Path

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logic.diagram.layout import Target
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, Post, ReadingKey, State
from logic.words.figures import as_read, short
from logic.words.names import probe_lines, reading_name, short_reading_name
from mobile.jobs import callback_words, circuit_view, touch_targets
from mobile.jobs.callback import WantedReading
from mobile.jobs.typed_reading import Typed
from mobile.ui.screens.callback_page import CallbackPage
from mobile.ui.widgets.buttons import Chip, SideButton
from mobile.ui.widgets.cards import Notice, RowCard
from mobile.ui.widgets.circuit import CircuitView
from mobile.ui.widgets.entry_pane import EntryPane
from mobile.ui.widgets.findings import Said
from mobile.ui.widgets.sheets import BottomSheet

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_MORE = (
    ("ladder", "up", "Voltage ladder", "Where along the loop the volts are lost"),
    ("compared", "clock", "Then and now", "Against the commissioning, what changed most first"),
    ("review", "list", "Steps around the readings", "Questions, photos, notes"),
)
_REPAIR = ("repair", "pencil", "Put it right", "Say what was found and done; prove it; close")
_BY_EYE = ("repair", "pencil", "Found without the meter", "Say what was seen and done; close")


class NextPane(BoxLayout):
    """State, what is known so far, and the reading worth taking next.

    ``can_fail`` offers to say that this reading cannot be taken.
    """

    __events__ = ("on_state", "on_take", "on_cannot", "on_findings", "on_more", "on_how")

    summary = StringProperty("")
    reason = StringProperty("")
    take_words = StringProperty("")
    thinking = BooleanProperty(False)
    can_fail = BooleanProperty(False)
    has_findings = BooleanProperty(False)
    can_tell_how = BooleanProperty(False)
    has_cautions = BooleanProperty(False)

    def offer(self, states: tuple[State, ...], chosen: State, fitted: Installation) -> None:
        """Offer the states of what is fitted, the vehicle's own one chosen."""
        self.ids.states.clear_widgets()
        for state in states:
            words = state.short_name_on(fitted)
            chip = Chip(text=words, value=state, chosen=state is chosen)
            chip.padding = (dp(24), 0, dp(2), 0)  # four of them in a row: large type still fits
            chip.bind(on_release=lambda chip: self.dispatch("on_state", chip.value))
            self.ids.states.add_widget(chip)

    def on_state(self, state: str) -> None:
        """Say that the vehicle is now in another state."""

    def on_take(self) -> None:
        """Say that the suggested reading is to be taken."""

    def on_cannot(self) -> None:
        """Say that the suggested reading cannot be taken."""

    def on_findings(self) -> None:
        """Say that the findings are to be shown."""

    def on_more(self) -> None:
        """Say that the rest is to be offered."""

    def on_how(self) -> None:
        """Say that how the suggested reading is taken is to be shown, with its cautions."""


class CircuitScreen(CallbackPage):
    """The picture above, the next reading or the keys below."""

    where = StringProperty("")
    count = StringProperty("")
    hint = StringProperty("")
    delay = StringProperty("")

    def __init__(self, **properties: object) -> None:
        super().__init__(**properties)
        self._tick = Clock.create_trigger(self._count_down, 1, interval=True)

    def closed(self) -> None:
        self._tick.cancel()
        super().closed()

    def begin(self) -> None:
        self._chosen: Post | None = None
        self.hint = ""
        if self.callback.entering is not None:
            self._enter(self.callback.entering)

    def goes_back(self) -> bool:
        if self.callback.entering is not None:
            self._leave()
            return True
        return super().goes_back()

    # Showing

    def answered(self) -> None:
        """Show what the diagnosis says, and leave the keys alone while something is typed."""
        if self.callback.entering is None:
            self.refresh()

    def refresh(self) -> None:
        callback = self.callback
        after = " · after the repair" if callback.phase == "after" else ""
        self.where = f"{callback.plate}{after}"
        number = len(callback.readings)
        self.count = "1 reading" if number == 1 else f"{number} readings"
        self._next = callback.next_reading()
        self._show_picture()
        if callback.entering is None:
            self._show_next()

    def _show_picture(self) -> None:
        from logic.limits.ladder import ladder  # not on the start path

        callback = self.callback
        wanted = self._next.key if self._next else None
        if callback.entering is not None:
            wanted = ReadingKey(callback.entering, callback.state)
        known = ladder(callback.installation, callback.readings, callback.state, callback.baseline)
        picture = circuit_view.of_callback(callback, known, wanted)
        self.ids.circuit.picture = replace(picture, chosen=self._chosen)

    def _show_next(self) -> None:
        callback, pane = self.callback, NextPane()
        pane.offer(callback.states, callback.state, callback.installation)
        pane.summary = callback_words.summary(callback)
        pane.thinking = callback.is_thinking
        pane.reason, pane.take_words = self._what_next()
        to_take = self._to_take()
        # What is doubted was read once: it can be reached.
        pane.can_fail = to_take is not None and to_take.asked_by != "doubt"
        pane.has_findings = bool(callback.readings)
        if to_take is not None:
            pane.can_tell_how = True
            pane.has_cautions = bool(callback.unread_cautions(to_take.key))
        pane.bind(
            on_state=lambda _, state: self.choose_state(State(state)),
            on_take=lambda _: self.take_next(),
            on_cannot=lambda _: self.cannot_reach(),
            on_findings=lambda _: self.show("findings"),
            on_more=lambda _: CircuitActionsSheet(screen=self).open(animation=False),
            on_how=lambda _: self._show_how(self._next.key if self._next else None),
        )
        self._put(pane)

    def _what_next(self) -> tuple[str, str]:
        found = self._next
        if found is None:
            way = "Close the visit" if self.callback.phase == "after" else "See the findings"
            return callback_words.enough(self.callback), way
        name = found.point.full_name
        if found.asked_by == "doubt":
            doubts = circuit_view.suspects(self.callback.diagnosis)
            reason = doubts[found.key]
            here = found.state is self.callback.state
            return reason, f"{'Take again' if here else self._state_words(found.state)}: {name}"
        if self._to_take() is None:
            return callback_words.enough_to_act_on(found), "See the findings"
        why = callback_words.reason(self.callback, found)
        if found.state is not self.callback.state:
            return why, f"{self._state_words(found.state)}: {name}"
        return why, f"Take: {name}"

    def _state_words(self, state: State) -> str:
        return state.full_name_on(self.callback.installation)

    def _show_how(self, key: ReadingKey | None) -> None:
        if key is not None:
            HowSheet(screen=self, key=key).open(animation=False)

    def cautions_read(self, key: ReadingKey) -> None:
        """Take note that the cautions of a reading were shown in full."""
        self.callback.read_cautions(key)
        for pane in self.ids.pane.children:
            pane.has_cautions = False

    def _count_down(self, *_: object) -> None:
        self.delay = callback_words.start_delay_left(self.callback)
        if not self.delay:
            self._tick.cancel()

    def _put(self, pane: BoxLayout) -> None:
        self.ids.pane.clear_widgets()
        self.ids.pane.add_widget(pane)
        self._tick()
        self._count_down()
        # Where it does not all fit, what to press comes first.
        self.ids.below.scroll_y = 0

    # Choosing

    def choose_state(self, state: State) -> None:
        """Say what the vehicle is doing now."""
        self._chosen, self.hint = None, ""
        self.callback.choose_state(state)
        self.refresh()

    def take_next(self) -> None:
        """Take the suggested reading; without one, go where it leads."""
        if to_take := self._to_take():
            self._enter(to_take.point, to_take.state)
        else:
            self.show("closing" if self.callback.phase == "after" else "findings")

    def _to_take(self) -> WantedReading | None:
        """Return the reading that the big button takes: none where the answer stands already."""
        settled = self.callback.is_settled and self._next and self._next.asked_by == "diagnosis"
        return None if settled else self._next

    def cannot_reach(self) -> None:
        """Leave the suggested reading out: it cannot be taken on this vehicle."""
        if left_out := self._to_take():
            self.leave_out(left_out.key)

    def leave_out(self, key: ReadingKey) -> None:
        """Leave a reading out: it cannot be taken on this vehicle."""
        self._chosen, self.hint = None, callback_words.left_out(key, self.callback.installation)
        if self.callback.entering is not None:
            self.callback.leave()
        self.callback.cannot_reach(*key)
        self.navigator.turned()
        self.refresh()

    def touched(self, target: Target) -> None:
        """Take a touch on the picture."""
        self.hint = ""
        if isinstance(target.what, Post):
            self._touch_post(target.what)
            return
        points = touch_targets.points_at(target, self.callback.installation, self.callback.state)
        if len(points) == 1:
            self._enter(points[0])
        elif points:
            PointsSheet(screen=self, points=points).open(animation=False)

    def _touch_post(self, post: Post) -> None:
        if self._chosen is None or self._chosen is post:
            self._chosen = None if self._chosen is post else post
            self._show_picture()
            return
        point = touch_targets.point_between(self._chosen, post)
        if point is not None:
            self._enter(point)
            return
        self.hint = touch_targets.no_reading(self._chosen, post)
        self._chosen = post
        self._show_picture()

    # Entering

    def enter(self, point: Point) -> None:
        """Begin to enter a reading in the state in hand."""
        self._enter(point)

    def _enter(self, point: Point, state: State | None = None) -> None:
        callback = self.callback
        self._chosen, self.hint = None, ""
        text = callback.enter(point, state)
        self._next = None
        self._show_picture()
        pane = EntryPane(title=short_reading_name(point, callback.state, callback.installation))
        value = callback.value(point)
        pane.before = f"Not {short(point, value)}" if value is not None else ""
        pane.has_cautions = bool(callback.unread_cautions(ReadingKey(point, callback.state)))
        pane.begin(callback.reading_context(), text)
        pane.bind(
            on_typed=lambda _, typed: callback.keep_digits(typed),
            on_save=lambda _, typed: self.save(typed),
            on_leave=lambda _: self._leave(),
            on_withdraw=lambda _: self._withdraw(),
            on_how=lambda _: self._show_how(ReadingKey(point, callback.state)),
        )
        self._put(pane)
        circuit: CircuitView = self.ids.circuit
        Clock.schedule_once(lambda _: circuit.show_marks(self.ids.scroll), 0.05)

    def save(self, typed: Typed) -> None:
        """Save the reading being entered."""
        if typed.value is not None:
            self.callback.take(typed.value, typed.text)
        self.refresh()

    def _leave(self) -> None:
        self.callback.leave()
        self.refresh()

    def _withdraw(self) -> None:
        callback = self.callback
        if callback.entering is not None:
            callback.withdraw(callback.entering, callback.state)
        self._leave()


class HowSheet(BottomSheet):
    """How a reading is taken, why, and its cautions in full; or that it cannot be taken."""

    def __init__(self, screen: CircuitScreen, key: ReadingKey, **properties: object) -> None:
        callback = screen.callback
        super().__init__(title=reading_name(*key, callback.installation), **properties)
        told = callback.how_to_take(key)
        probes = [line for _, line in probe_lines(key.point)]
        for head, lines, shape in (
            ("Where the meter goes", probes, "next"),
            ("How", [told.how], "information"),
            ("Why", [told.why], "question"),
        ):
            if said := [line for line in lines if line]:
                self.add_widget(Said.of(head, said, shape))
        for caution in told.cautions:
            self.add_widget(Notice(kind="caution", text=caution.in_full))
        if callback.value(*key) is None and key not in callback.job.beyond_reach:
            cannot = SideButton(text="Cannot take it: plan without it")
            cannot.bind(on_release=lambda _: self._leave_out(screen, key))
            self.add_widget(cannot)
        screen.cautions_read(key)

    def _leave_out(self, screen: CircuitScreen, key: ReadingKey) -> None:
        self.dismiss(animation=False)
        screen.leave_out(key)


class PointsSheet(BottomSheet):
    """The readings that one part of the picture offers."""

    def __init__(
        self, screen: CircuitScreen, points: tuple[Point, ...], **properties: object
    ) -> None:
        super().__init__(title="Which reading?", **properties)
        for point in points:
            value = screen.callback.value(point)
            second = as_read(point, value) if value is not None else "not read"
            row = RowCard(text=point.full_name, second=second)
            row.bind(on_release=lambda _, point=point: self._pick(screen, point))
            self.add_widget(row)

    def _pick(self, screen: CircuitScreen, point: Point) -> None:
        self.dismiss(animation=False)
        screen.enter(point)


class CircuitActionsSheet(BottomSheet):
    """The other views of the same readings, and the way to the end of the callback."""

    def __init__(self, screen: CircuitScreen, **properties: object) -> None:
        super().__init__(title="More", **properties)
        may_repair = screen.callback.readings or screen.callback.phase == "after"
        rows = (*_MORE, _REPAIR if may_repair else _BY_EYE, *_closing(screen))
        for name, shape, text, second in rows:
            row = RowCard(text=text, second=second, shape=shape)
            row.bind(on_release=lambda _, name=name: self._pick(screen, name))
            self.add_widget(row)

        if beyond := callback_words.beyond_reach(screen.callback):
            row = RowCard(text=beyond, second="See which, and take it back", shape="skipped")
            row.bind(on_release=lambda _: self._list_beyond_reach(screen))
            self.add_widget(row)

    def _pick(self, screen: CircuitScreen, name: str) -> None:
        self.dismiss(animation=False)
        screen.show(name)

    def _list_beyond_reach(self, screen: CircuitScreen) -> None:
        self.dismiss(animation=False)
        ReachSheet(screen=screen).open(animation=False)


class ReachSheet(BottomSheet):
    """What is left out as out of reach; a tap has it asked for again."""

    def __init__(self, screen: CircuitScreen, **properties: object) -> None:
        super().__init__(title="Tap what can be reached after all", **properties)
        fitted = screen.callback.installation
        for one in screen.callback.job.out_of_reach:
            row = RowCard(text=reading_name(*one.key, fitted), second="left out until now")
            row.bind(on_release=lambda _, key=one.key: self._pick(screen, key))
            self.add_widget(row)

    def _pick(self, screen: CircuitScreen, key: ReadingKey) -> None:
        self.dismiss(animation=False)
        screen.hint = ""
        screen.callback.can_reach(*key)
        screen.refresh()


def _closing(screen: CircuitScreen) -> tuple[tuple[str, str, str, str], ...]:
    if screen.callback.phase == "before":
        return ()
    return (("closing", "done", "Close the visit", "Before and after, what is open, signatures"),)
