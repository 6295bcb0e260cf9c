"""One page of a form: its usual presets as chips, its fields, each checked as it is typed."""

from functools import partial
from pathlib import Path

from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty

from logic.vehicle.installation import StatedBy
from logic.vehicle.points import LOOP, Run
from mobile.jobs.form_entry import copper_text
from mobile.jobs.set_up import FormOwner, OwnDetails, SetUp
from mobile.jobs.set_up_pages import (
    PAGE_OF,
    FormLine,
    SetUpQuestion,
    lines_shown,
    page_after,
    questions_of,
    ready_answers,
)
from mobile.ui import camera
from mobile.ui.widgets.buttons import BareButton, SideButton
from mobile.ui.widgets.fields import ChoiceField, FormField, NumberField, PhotoField
from mobile.ui.widgets.form import REDRAWS, Options, columns_for, content, field_widget, usual_first
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.sheets import BottomSheet
from mobile.ui.widgets.words import Small

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class ParticularsScreen(Page):
    """Shows one page of a vehicle's set-up, or of the technician's own details."""

    title = StringProperty("")
    plate = StringProperty("")
    onward = StringProperty("")
    trouble = StringProperty("")
    more = BooleanProperty(False)

    def opened(self, page_id: str, vehicle_id: str = "", then: str = "", path: str = "") -> None:
        """``then`` names the screen to go on to, for the vehicle's own page; ``path`` a field.

        The field is brought into view, with what is wrong with it.
        """
        store = self.work.store
        self.owner: FormOwner = SetUp.of(self.work, vehicle_id) if vehicle_id else OwnDetails(store)
        self._vehicle_id, self._then = vehicle_id, then
        self._form = PAGE_OF[page_id]
        self.title, self.trouble = self._form.title, ""
        self.plate = self.owner.draft.get("vehicle.registration", "").strip()
        self.onward = self._onward()
        self.more = any(self.owner.draft.get(field.path) for field in self._form.rest)
        self.more |= path in [line.path for line in self._form.rest]
        self._build()
        self.ids.body.to_top()
        if path in self._shown:
            self._go_to(path)

    def _go_to(self, path: str) -> None:
        widget, body = self._shown[path], self.ids.body
        widget.complaint = self.owner.put(path, self.owner.draft.get(path, ""))

        def show(_: float) -> None:
            if body.stack.height > body.height:
                body.scroll_to(widget, animate=False)

        # Heights settle with the first frames.
        Clock.schedule_once(show, 0.1)

    def closed(self) -> None:
        self.owner.finish()

    def go_on(self) -> None:
        """Go to the next page of the set-up, or to the screen that follows."""
        if self._then:
            self.trouble = self._what_is_missing()
            if not self.trouble:
                self.navigator.replace(self._then, vehicle_id=self._vehicle_id)
            return
        page = page_after(self._form, self.owner.draft)
        if page is not None:
            what = {"page_id": page.page_id, "vehicle_id": self._vehicle_id}
            self.navigator.replace("particulars", **what)

    def show_rest(self, *_: object) -> None:
        """Show the figures that a usual job leaves as they are."""
        self.more = True
        self._build()

    def throw_away(self, *_: object) -> None:
        """Give up a new vehicle whose set-up was only begun."""
        if isinstance(self.owner, SetUp):
            self.owner.discard()
        self.navigator.go_back()

    def _what_is_missing(self) -> str:
        plate = self.owner.draft.get("vehicle.registration", "")
        return self.owner.put("vehicle.registration", plate)

    def _onward(self) -> str:
        if self._then:
            return "Next: equipment"
        page = page_after(self._form, self.owner.draft) if self._vehicle_id else None
        return f"Next: {page.title.lower()}" if page and self._form.page_id != "vehicle" else ""

    def _build(self) -> None:
        stack = self.ids.body.stack
        stack.clear_widgets()
        self._shown: dict[str, FormField] = {}
        self._copper: dict[str, Small] = {}
        if self._vehicle_id:
            for question in questions_of(self._form.page_id):
                self._add_usual(question)
        fields = lines_shown(self._form, self.owner.draft)
        for field in (*fields, *(self._form.rest if self.more else ())):
            self._add(field)
        if self._form.rest and not self.more:
            stack.add_widget(BareButton(text=self._form.rest_words, on_release=self.show_rest))
        if self._then and isinstance(self.owner, SetUp) and self.owner.known is None:
            stack.add_widget(BareButton(text="Throw this away", on_release=self.throw_away))

    def _add_usual(self, question: SetUpQuestion) -> None:
        answers = ready_answers(question, self.work.library.presets, self.owner.draft)
        button = SideButton(text=question.usual)
        button.bind(on_release=lambda _: self._show_usual(question, answers))
        self.ids.body.stack.add_widget(button)

    def _show_usual(self, question: SetUpQuestion, answers: Options) -> None:
        sheet = BottomSheet(title=question.words)
        chips = ChoiceField(options=usual_first(answers), columns=columns_for(answers))
        chips.bind(on_edited=lambda chosen: self._take(question, chosen.value))
        chips.bind(on_edited=lambda _: sheet.dismiss(animation=False))
        sheet.add_widget(chips)
        sheet.open()

    def _take(self, question: SetUpQuestion, preset_id: str) -> None:
        runs = (Run(self._form.run),) if self._form.run else LOOP
        presets = self.work.library.presets[question.group]
        preset = next(preset for preset in presets if preset.id == preset_id)
        if isinstance(self.owner, SetUp):  # one's own details have no presets
            self.owner.take(preset, runs)
        self._build()

    def _add(self, field: FormLine) -> None:
        widget = field_widget(field, self.owner.draft)
        text = self.owner.draft.get(field.path, "")
        widget.complaint = self.owner.put(field.path, text) if text.strip() else ""
        widget.hint = self.owner.second_look(field.path) or field.help_text
        widget.bind(on_edited=partial(self._edited, field))
        self._shown[field.path] = widget
        if isinstance(widget, PhotoField):
            self._show_photo(widget)
            widget.bind(on_wanted=lambda _: self.take_photo(field.path))
        if isinstance(widget, NumberField) and isinstance(self.owner, SetUp):
            widget.bind(on_known_by=partial(self._stated, self.owner, field.path))
        self.ids.body.stack.add_widget(widget)
        if field.path.endswith(".size"):
            self._copper[field.path] = Small(text=self._copper_text(field.path))
            self.ids.body.stack.add_widget(self._copper[field.path])

    def take_photo(self, path: str) -> None:
        """Take the photo that a field asks for; it is in the draft as soon as it is kept."""
        camera.take_for_set_up(self.work, self._vehicle_id, path, self._photo_is_in)

    def _photo_is_in(self) -> None:
        # It lies in the vehicle's draft on disk: whoever holds that draft now must not miss it.
        self.navigator.page.reread()

    def reread(self) -> None:
        """Show a photo that came into the vehicle's draft."""
        if self._vehicle_id:
            self.owner = SetUp.of(self.work, self._vehicle_id)
            self._build()

    def _show_photo(self, widget: PhotoField) -> None:
        path = self.work.store.photo_path(widget.text) if widget.text else None
        widget.source = str(path) if path else ""

    def _edited(self, field: FormLine, widget: FormField) -> None:
        widget.complaint = self.owner.put(field.path, content(widget))
        widget.hint = self.owner.second_look(field.path) or field.help_text
        if isinstance(widget, NumberField):
            widget.stated = ""
        self.trouble = ""
        if field.path.endswith(REDRAWS):
            self._build()
            self.onward = self._onward()
        elif field.path.endswith(".size"):
            self._copper[field.path].text = self._copper_text(field.path)

    def _stated(self, owner: SetUp, path: str, widget: NumberField) -> None:
        owner.state(path, StatedBy(widget.stated) if widget.stated else None)

    def _copper_text(self, path: str) -> str:
        text = copper_text(self.owner.draft, path)
        return f"That is {text}." if text else ""
