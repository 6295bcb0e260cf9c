"""What every part of the tour does: touch, write, read a value, take a picture."""

from pathlib import Path
from typing import Any

from kivy.uix.textinput import TextInput

from mobile.demo.finger import Hand


class Guide:
    """A finger on the app and the pictures it leaves, numbered in the order taken."""

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

    def read(self, value: float) -> None:
        """Give a value the way the screen asks for it."""
        words = [getattr(widget, "text", "") for widget in self.hand.shown()]
        if "Not lit" in words:
            self.hand.tap("Lit" if value else "Not lit")
            return
        for key in f"{value:g}":
            self.hand.tap("−" if key == "-" else key)
