"""Before the sale: what a vehicle has and is to carry, asked in one page, no vehicle needed."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import StringProperty
from kivy.uix.widget import Widget

from mobile.jobs import choosing
from mobile.jobs.choosing import Choosing, Field, LoadFields, Quote
from mobile.jobs.set_up_pages import BOATS, HOUSE_VOLTAGE, label_of
from mobile.ui.widgets.buttons import BareButton, ButtonRow, ChipGrid, SideButton
from mobile.ui.widgets.cards import Card, RowCard
from mobile.ui.widgets.confirm import ConfirmSheet
from mobile.ui.widgets.fields import ChoiceField, FormField, NumberField, TextField
from mobile.ui.widgets.form import columns_for
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.scrolling import rebuild_in_place
from mobile.ui.widgets.words import Heading, Small, Words

if TYPE_CHECKING:
    from logic.records.store.bookmark import Bookmark
    from mobile.jobs.workplace import Workplace

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class ChooseScreen(Page):
    """Everything that is typed is on disk at once; "Advise me" says what is missing first."""

    trouble = StringProperty("")

    @classmethod
    def reopens(cls, work: "Workplace", marked: "Bookmark") -> bool:
        return True

    def opened(self) -> None:
        self.choosing = Choosing(self.work.store)
        self.trouble = ""
        self._build()
        self.ids.body.to_top()

    def advise(self) -> None:
        """Go on to the advice, or go to what keeps it back."""
        path, self.trouble = self.choosing.trouble()
        if not self.trouble:
            self.navigator.show("advice")
            return
        at = self._fields.get(path, self._loads_end)
        if isinstance(at, FormField):
            at.complaint = self.choosing.complaint(path)
        Clock.schedule_once(lambda _: self.ids.body.scroll_to(at, animate=False), 0.1)

    def begin_anew(self) -> None:
        """Ask once more before everything that was typed goes."""
        sheet = ConfirmSheet(
            title="Begin anew?",
            about="What is typed here is cleared. Quotes that were saved stay.",
            confirm_words="Clear it",
        )
        sheet.bind(on_confirmed=lambda _: self._begin_anew())
        sheet.open()

    def _begin_anew(self) -> None:
        self.choosing.clear()
        self.opened()

    # The form

    def _build(self) -> None:
        stack = self.ids.body.stack
        stack.clear_widgets()
        self._fields: dict[str, Widget] = {}
        self._add(Heading(text="Vehicle"))
        self._add(Small(text=f"{BOATS}."))
        self._add_choice("nominal_voltage_v", "System voltage")
        self._add_choice(HOUSE_VOLTAGE, label_of(HOUSE_VOLTAGE), columns=3)
        self._add_choice("control", "Alternator or DC-DC supply")
        self._add_number(choosing.ALTERNATOR)
        self._add(Heading(text="House battery"))
        self._add_choice("chemistry", "Chemistry")
        self._add_number(choosing.CAPACITY)
        self._add(Heading(text="Loads"))
        for load in self.choosing.loads:
            self._add(self._load(load))
        self._daily = Words(text=self.choosing.daily_words())
        self._add(self._daily)
        self._loads_end = self._adders()
        self._add(self._loads_end)
        self._add(Heading(text="What charges it"))
        self._add_number(choosing.DRIVING)
        self._add_number(choosing.DAYS)
        self._add_number(choosing.PANEL)
        self._add_choice("sun", "Full sun a day, by season")
        self._add(Heading(text="Cable"))
        self._add_number(choosing.RUN)
        self._add(BareButton(text="Begin anew", on_release=lambda _: self.begin_anew()))
        self._add_quotes()

    def _add(self, widget: Widget) -> None:
        self.ids.body.stack.add_widget(widget)

    def _add_choice(self, path: str, label: str, columns: int = 0) -> None:
        options = list(choosing.CHOICES[path])
        field = ChoiceField(
            label=label,
            options=options,
            value=self.choosing.typed[path],
            columns=columns or columns_for(options),
        )
        field.bind(on_edited=partial(self._chosen, path))
        self._fields[path] = field
        self._add(field)

    def _add_number(self, field: Field) -> None:
        self._add(self._number(field))

    def _number(self, field: Field) -> NumberField:
        text = self.choosing.typed.get(field.path, "")
        widget = NumberField(
            label=field.label,
            hint=field.help_text,
            text=text,
            unit=field.unit,
            empty_words=field.empty or "needed",
        )
        widget.complaint = self.choosing.complaint(field.path) if text.strip() else ""
        widget.bind(on_edited=partial(self._typed, field.path))
        self._fields[field.path] = widget
        return widget

    def _chosen(self, path: str, field: ChoiceField) -> None:
        self.choosing.put(path, field.value)
        self._changed()

    def _typed(self, path: str, field: FormField) -> None:
        field.complaint = self.choosing.put(path, field.text)
        self._changed()

    def _changed(self) -> None:
        self.trouble = ""
        self._daily.text = self.choosing.daily_words()

    # Loads

    def _load(self, load: LoadFields) -> Card:
        card = Card()
        name = TextField(label="Load", text=self.choosing.typed.get(load.name, ""))
        name.bind(on_edited=lambda field: self.choosing.put(load.name, field.text))
        card.add_widget(name)
        card.add_widget(self._number(load.amount))
        in_watts = f"load/{load.place}/in"
        unit = ChoiceField(options=[("A", "Amperes"), ("W", "Watts")], value=load.in_watts)
        unit.bind(on_edited=lambda field: self._rebuilt(self.choosing.put, in_watts, field.value))
        card.add_widget(unit)
        card.add_widget(self._number(load.hours))
        remove = BareButton(text="Remove this load")
        remove.bind(on_release=lambda _: self._rebuilt(self.choosing.remove_load, load.place))
        card.add_widget(remove)
        return card

    def _adders(self) -> Widget:
        """Offer the usual loads, and one of the technician's own."""
        if not self.choosing.may_add:
            return Small(text="The list is full: add the loads up by their hours.")
        buttons = ChipGrid(columns=2)
        made = []
        for usual, words in choosing.USUAL_LOADS:
            button = SideButton(text=f"Add: {words.lower()}")
            button.bind(
                on_release=lambda _, usual=usual: self._rebuilt(self.choosing.add_load, usual)
            )
            made.append(button)
        buttons.show(made)
        return buttons

    def _rebuilt(self, change: Any, *what: Any) -> None:
        """Change the list of loads and show it, where the page was."""
        change(*what)
        rebuild_in_place(self.ids.body, self._build)

    # Quotes

    def _add_quotes(self) -> None:
        saved = choosing.quotes(self.work.store)
        if saved:
            self._add(Heading(text="Saved quotes"))
        for quote in saved:
            row = RowCard(text=quote.title, second=f"Saved on {quote.saved}", shape="list")
            row.bind(on_release=lambda _, quote=quote: self._take_up(quote))
            forget = BareButton(text="Throw it away")
            forget.bind(on_release=lambda _, quote=quote: self._ask_to_forget(quote))
            self._add(row)
            box = ButtonRow()
            box.add_widget(Widget())
            box.add_widget(forget)
            self._add(box)

    def _take_up(self, quote: Quote) -> None:
        choosing.take_up(self.work.store, quote)
        self.navigator.show("advice")

    def _ask_to_forget(self, quote: Quote) -> None:
        sheet = ConfirmSheet(
            title="Throw this quote away?",
            about=f"{quote.title}, saved on {quote.saved}. A vehicle that was made of it stays.",
            confirm_words="Throw it away",
        )
        sheet.bind(
            on_confirmed=lambda _: self._rebuilt(choosing.throw_away, self.work.store, quote)
        )
        sheet.open()
