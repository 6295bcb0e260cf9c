"""The tour: a whole job played by a simulated finger, with a picture of every screen.

It types and taps what a technician would on the demo's vehicles and leaves the pictures, the
signed PDF and the record's JSON in a folder. Nothing in it goes round the screens.
"""

import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from kivy.uix.textinput import TextInput

from logic.checklist.step import AskChoice, AskPhoto, AskReading, AskText, AskYesNo, Step
from mobile.demo import stories
from mobile.demo.finger import Hand, holding
from mobile.demo.tour_callback import follow_a_callback
from mobile.ui.app import build_app

WAIT = "Go on now (the record will say so)"
NOT_TAKEN = "Cannot be reached"


def play(store_folder: Path, checklists: Path, folder: Path) -> int:
    """Play the tour on a demo store; returns the exit code."""
    folder.mkdir(parents=True, exist_ok=True)
    with holding(build_app(store_folder, checklists)) as hand:
        guide = Guide(hand, folder)
        guide.set_up_a_vehicle("HOP 729", "hop grower's van")
        guide.commission("BEE 338")
        follow_a_callback(guide, "SAW 051")
    print(f"The tour left {guide.count} pictures, the PDF and the JSON in {folder}", flush=True)
    return 0


class Guide:
    """Walks through the app; :meth:`picture` numbers the pictures in the order taken."""

    def __init__(self, hand: Hand, folder: Path) -> None:
        self.hand, self.folder = hand, folder
        self.count = 0

    @property
    def work(self) -> Any:
        """What the app's screens share."""
        return self.hand.app.work

    def picture(self, name: str) -> None:
        """Save what is on the screen."""
        self.count += 1
        self.hand.screenshot(self.folder / f"{self.count:02d}_{name}.png")

    def home(self) -> None:
        """Go back to the list of vehicles."""
        while self.hand.app.navigator.current != "home":
            self.hand.press_back()

    def write(self, number: int, text: str) -> None:
        """Type into the screen's text field of this number, counted from the top."""
        fields = [widget for widget in self.hand.shown() if isinstance(widget, TextInput)]
        fields.sort(key=lambda field: -field.to_window(*field.center)[1])
        self.hand.tap(fields[number])
        self.hand.type(text)

    def open(self, plate: str) -> None:
        """Open a vehicle from the list."""
        self.home()
        line = self.hand.find(plate)
        self.hand.tap(line.to_window(*line.center))

    # Set-up

    def set_up_a_vehicle(self, plate: str, description: str) -> None:
        """Make a vehicle from presets, one tap a question."""
        self.picture("vehicles")
        self.hand.tap("New vehicle")
        self.write(0, plate)
        self.write(1, description)
        self.picture("plate")
        self.hand.tap("Next: equipment")
        page = self.hand.app.navigator.page
        self.picture("first_question")
        while page.asking:
            self.hand.tap(self._usual_answer(page))
            if page.asking:
                self.picture("next_question")
        self.picture("equipment")
        self.hand.tap("Done")
        self.picture("vehicle_described")
        self.home()

    def _usual_answer(self, page: Any) -> str:
        chips = page.ids.answers.children[0]
        wanted: list[str] = [words for _, words in chips.options]
        return next((one for one in wanted if one in _USUAL), wanted[0])

    # Commissioning

    def commission(self, plate: str) -> None:
        """Walk every step of a fresh vehicle's commissioning and sign it."""
        told = next(v for v in stories.invented()["vehicles"] if v["registration"] == plate)
        self.open(plate)
        self.picture("vehicle")
        self.hand.tap("Start commissioning")
        self._walk(told["readings"])
        self.picture("review")
        self.hand.tap("Sign")
        self._sign(told["customer"])

    def _walk(self, readings: Mapping[str, Mapping[str, float]]) -> None:
        navigator = self.hand.app.navigator
        pictured: set[str] = set()
        while navigator.current != "review":
            if navigator.current == "stage":
                self.picture(f"stage_{self.work.session.stage.id}")
                self.hand.tap("Begin")
                continue
            step = self.work.session.step
            self._give(step, readings)
            if step.id in _PICTURED or step.ask.kind not in pictured:
                pictured.add(step.ask.kind)
                self.picture(f"step_{step.id}")
            self._go_on(step)

    def _give(self, step: Step, readings: Mapping[str, Mapping[str, float]]) -> None:
        if any(getattr(widget, "text", "") == WAIT for widget in self.hand.shown()):
            self.picture(f"wait_{step.id}")
            self.hand.tap(WAIT)
        match step.ask:
            case AskReading(point=point, state=state):
                self.read(float(readings[state][point]))
            case AskText():
                self.write(0, "As on the job card")

    def read(self, value: float) -> None:
        """Give a value the way the screen asks for it."""
        words = [getattr(widget, "text", "") for widget in self.hand.shown()]
        if "Not lit" in words:
            self.hand.tap("Lit" if value else "Not lit")
            return
        for key in f"{value:g}":
            self.hand.tap("−" if key == "-" else key)

    def _go_on(self, step: Step) -> None:
        match step.ask:
            case AskYesNo(acceptable=wanted):
                self.hand.tap(wanted.capitalize())
            case AskChoice(choices=choices):
                self.hand.tap(next(choice.text for choice in choices if choice.acceptable))
            case AskPhoto():
                self.hand.tap("More")
                self.picture("more")
                self.hand.tap("Leave out")
                self.picture("leave_out")
                self.hand.tap(NOT_TAKEN)
            case _:
                self.hand.tap(self.hand.app.navigator.page.ids.next)

    # Signing

    def _sign(self, customer: str) -> None:
        navigator = self.hand.app.navigator
        self.picture("signing")
        for whose in ("Your signature", "Customer's signature"):
            self.hand.tap(whose)
            self._scrawl(navigator.page.ids.pad)
            self.picture("signature")
            self.hand.tap("Done")
        self.picture("signed_by_both")
        self.hand.tap("Seal the record")
        self.hand.until(lambda: navigator.current == "record" and navigator.page.pdf, 60)
        self.picture("record")
        self._keep(Path(navigator.page.pdf))

    def _scrawl(self, pad: Any) -> None:
        x, y = pad.to_window(*pad.pos)
        for stroke in stories.scrawl(4):
            self.hand.draw([(x + a * pad.width, y + b * pad.height) for a, b in stroke])

    def _keep(self, pdf: Path) -> None:
        shutil.copy(pdf, self.folder / "record.pdf")
        newest = list(self.work.store.sealed_records())[-1]
        (self.folder / "record.json").write_text(newest.model_dump_json(indent=1), "utf-8")


_USUAL = {"12 V", "25 A, 12 V"}
_PICTURED = {"idle_vehicle_feed_drop", "rest_start_battery_voltage"}
