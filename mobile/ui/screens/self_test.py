"""The app measured on this phone, and what a person must try on it, in one file to be sent back."""

import time
from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty

from logic.errors import AppError
from mobile.jobs import self_test
from mobile.ui import background, device, device_key
from mobile.ui.widgets.pages import Page
from mobile.ui.widgets.words import Small

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_ON_A_PHONE = "This is tried on a phone."
_HOW_ENDED = (
    "Writes to a store of its own. Meanwhile end the app: swipe it away. Then open it again."
)


class SelfTestScreen(Page):
    """``found`` is what was measured and tried; it is in the file as soon as it is known."""

    doing = StringProperty("")
    photo = StringProperty("")
    file = StringProperty("")
    written = StringProperty("")
    is_writing = BooleanProperty(False)

    def opened(self) -> None:
        folder = self.work.store_folder
        self.found: dict[str, Any] = self_test.found_before(folder)
        if after := self_test.after_a_kill(folder):
            self.found["ended_while_writing"] = after
        self.written = str(self.found.get("ended_while_writing", _HOW_ENDED))
        self.photo = str(self.found.get("photo", "Opens the camera app"))
        self.file = str(self.found.get("file", "Opens the phone's file picker"))
        self._show()
        self.ids.body.to_top()

    def closed(self) -> None:
        self.is_writing = False

    def measure(self) -> None:
        """Measure, off the drawing thread."""
        if self.doing:
            return
        self.doing = "Measuring"
        folder, key_store = self.work.store_folder, device_key.of_this_phone()
        background.run(
            lambda: self_test.measured(folder, key_store), self._measured, self._not_measured
        )

    def take_photo(self) -> None:
        """Try the camera app, and take its photo away again."""
        if not device.HAS_CAMERA:
            raise AppError(_ON_A_PHONE)
        uri, begun = device.place_for_picture(), time.monotonic()

        def is_back(taken: bool) -> None:
            size = len(device.read_picture(uri)) if taken else 0
            device.forget_picture(uri)
            took = time.monotonic() - begun
            self.photo = f"{size} bytes, {took:.0f} s" if taken else "No photo was taken"
            self._keep(photo=self.photo)

        device.ask_camera(uri, is_back)

    def choose_file(self) -> None:
        """Try the phone's file picker."""
        if not device.HAS_PICKER:
            raise AppError(_ON_A_PHONE)

        def chosen(uri: str) -> None:
            with device.open_chosen(uri) as stream:
                self.file = f"{len(stream.read())} bytes read"
            self._keep(file=self.file)

        device.ask_file(chosen)

    def write_on(self) -> None:
        """Begin to write until the app is ended; or stop."""
        self.is_writing = not self.is_writing
        if self.is_writing:
            self.written = _HOW_ENDED
            folder = self.work.store_folder
            background.run(
                lambda: self_test.keep_writing(folder, lambda: self.is_writing), self._stopped
            )

    def share(self) -> None:
        """Share the one file."""
        path = self_test.write(self.work.store_folder, self.found)
        device.share(self.work.store_folder, path, "application/json")

    def _measured(self, found: dict[str, Any]) -> None:
        from kivy.core.window import Window
        from kivy.metrics import Metrics

        self.doing = ""
        drawn = f"{Window.width} x {Window.height} pixels, {Metrics.density:g} a dp"
        type_size = f"{Metrics.fontscale:g} times"
        self._keep(**device.phone_facts(), **found, drawn_in=drawn, type_size=type_size)

    def _not_measured(self, error: BaseException) -> None:
        self.doing = ""
        raise error

    def _stopped(self, number: int) -> None:
        self.written = f"{number} entries written; the app was not ended."

    def _keep(self, **found: object) -> None:
        self.found |= found
        self_test.write(self.work.store_folder, self.found)
        self._show()

    def _show(self) -> None:
        self.ids.lines.clear_widgets()
        for name, said in self_test.in_words(self.found):
            self.ids.lines.add_widget(Small(text=f"{name}: {said}"))
