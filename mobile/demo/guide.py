"""What every part of the tour does: touch, write, read a value, take a picture."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.uix.textinput import TextInput

from mobile.demo.finger import Finger

# For what a thread works out: an emulated processor takes minutes for a print.
_PATIENCE = 1200  # seconds


class Guide:
    """A finger on the app and the pictures it leaves, numbered in the order taken."""

    def __init__(self, finger: Finger, folder: Path) -> None:
        self.finger, self.folder = finger, folder
        self.count = 0

    @property
    def work(self) -> Any:
        """What the app's screens share."""
        return self.finger.app.work

    def picture(self, name: str) -> None:
        """Save what is on the screen."""
        self.count += 1
        self.finger.screenshot(self.folder / f"{self.count:02d}_{name}.png")

    def wait_until(self, condition: Callable[[], Any]) -> None:
        """Step the app until what a thread works out is there."""
        self.finger.until(condition, _PATIENCE)

    def home(self) -> None:
        """Go back to the list of vehicles."""
        while self.finger.app.navigator.current != "home":
            self.finger.press_back()

    def write(self, number: int, text: str) -> None:
        """Type into the screen's text field of this number, counted from the top."""
        fields = [widget for widget in self.finger.shown() if isinstance(widget, TextInput)]
        fields.sort(key=lambda field: -field.to_window(*field.center)[1])
        self.finger.tap(fields[number])
        self.finger.type(text)

    def open(self, plate: str) -> None:
        """Open a vehicle from the list."""
        self.home()
        line = self.finger.find(plate)
        self.finger.tap(line.to_window(*line.center))

    def read(self, value: float) -> None:
        """Give a value the way the screen asks for it."""
        words = [getattr(widget, "text", "") for widget in self.finger.shown()]
        if "Not lit" in words:
            self.finger.tap("Lit" if value else "Not lit")
            return
        if "No" in words:
            self.finger.tap("Yes" if value else "No")
            return
        for key in f"{value:g}":
            self.finger.tap("−" if key == "-" else key)
