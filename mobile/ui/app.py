"""The app: opens the store, builds the screens, takes the back key, catches what goes wrong."""

import gc
import traceback
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.base import ExceptionHandler, ExceptionManager
from kivy.uix.boxlayout import BoxLayout

from logic.errors import AppError
from mobile.jobs import own_choices
from mobile.jobs.workplace import Workplace, system_clock
from mobile.ui import camera, device, own_way, spare_memory
from mobile.ui.navigation import Navigator
from mobile.ui.screens import PAGES
from mobile.ui.theme import theme
from mobile.ui.widgets.banner import Banner

BACK_KEY = 27
HOME = "home"
TROUBLE = "trouble"
# Hands are full there, and the meter is looked at longer than the phone: the screen stays on.
JOB_PAGES = frozenset(
    {"stage", "step", "callback", "circuit", "findings", "ladder", "compared", "repair"}
)


class _Catcher(ExceptionHandler):
    """Hands every exception that escapes a callback to the app."""

    def __init__(self, caught: Callable[[Exception], None]) -> None:
        self._caught = caught

    def handle_exception(self, exception: Exception) -> int:
        self._caught(exception)
        return ExceptionManager.PASS


class VoltwalkApp(App):
    """Root widget: a banner over the navigator. ``work`` is what the screens share."""

    title = "Voltwalk"
    use_kivy_settings = False

    def __init__(self, work: Workplace, first_page: str = HOME, **properties: Any) -> None:
        super().__init__(**properties)
        self.work = work
        self.first_page = first_page
        self.banner: Banner
        self.navigator: Navigator
        self._catcher = _Catcher(self.caught)
        self._notices_said = 0

    def run(self) -> None:
        """Open the app's window and run until it is closed.

        What is loaded by now stays, so the garbage collector need not walk through it between
        two readings and stop the picture. No widget is there yet: one that is frozen would
        never be freed.
        """
        gc.freeze()
        super().run()

    def build(self) -> BoxLayout:
        """Build the frame and show the first screen."""
        gc.disable()  # as main.app_on does: a test or the tour builds the app without it
        from kivy.core.window import Window

        Window.clearcolor = theme.ground
        Window.bind(on_keyboard=self._key)
        ExceptionManager.add_handler(self._catcher)
        root = BoxLayout(orientation="vertical")
        self.banner = Banner()
        self.navigator = Navigator(self.work, PAGES)
        root.add_widget(self.banner)
        root.add_widget(self.navigator)
        self.navigator.bind(on_shown=self._shown)
        self._show_first()
        return root

    def _show_first(self) -> None:
        """Show the screen that the technician was on when the app ended, else the first one."""
        try:
            own_way.take_on(own_choices.chosen(self.work.store_file))
        except AppError as error:
            self.navigator.restart(TROUBLE, advice=str(error))
            return
        self._say_notices()
        try:
            marked = self.work.store_file.bookmark()
            if self.first_page != HOME or not self.navigator.reopen(marked):
                self.navigator.restart(self.first_page)
        except AppError as error:
            self.navigator.restart(HOME)
            self.caught(error)

    def _shown(self, _navigator: Navigator, name: str, _what: dict[str, Any]) -> None:
        from kivy.core.window import Window

        Window.allow_screensaver = name not in JOB_PAGES
        if name != TROUBLE:
            self.work.mark_screen(name)
            self._say_notices()

    def _say_notices(self) -> None:
        """Say what the store has to tell and has not told yet: some of it comes after the start."""
        notices = self.work.store_file.notices
        if new := notices[self._notices_said :]:
            self.banner.say("\n".join(new), "caution")
        self._notices_said = len(notices)

    def on_start(self) -> None:
        """Paint the phone's bars, and bring in a photo if the app was ended while taking it."""
        gc.enable()
        theme.bind(dark=self._paint_bars)
        self._paint_bars()
        if self.navigator.current == TROUBLE:
            return
        try:
            camera.collect(self.work, self._photo_is_in, self._label_is_read, self._photo_failed)
        except AppError as error:  # Kivy's handler is not in charge yet
            self.caught(error)

    def _photo_is_in(self) -> None:
        self.banner.say("The photo was kept.", "saved")

    def _label_is_read(self, text: str) -> None:
        self.navigator.restart(HOME)
        self.navigator.show("quick_check").label_is_read(text)

    def _photo_failed(self, error: BaseException) -> None:
        if not isinstance(error, AppError):
            raise error
        self.caught(error)

    def _paint_bars(self, *_: object) -> None:
        from kivy.core.window import Window

        Window.clearcolor = theme.ground
        device.paint_bars(theme.ground, theme.dark)

    def caught(self, error: Exception) -> None:
        """Show an error: advice as a banner, anything else as the trouble screen."""
        if isinstance(error, AppError):
            self.banner.say(str(error), "caution")
            return
        if self.navigator.current == TROUBLE:
            return  # one error seldom comes alone; the first one tells most
        kept_in = self._keep(error)
        self.navigator.show(TROUBLE, what=f"{type(error).__name__}: {error}", kept_in=kept_in)

    def _keep(self, error: Exception) -> str:
        folder = self.work.store_folder
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"trouble-{self.work.clock():%Y%m%d-%H%M%S}.txt"
        path.write_text("".join(traceback.format_exception(error)), encoding="utf-8")
        return str(path)

    def _key(self, _window: object, key: int, *_: object) -> bool:
        return key == BACK_KEY and self.navigator.go_back()

    def on_pause(self) -> bool:
        """Put what is unfinished on disk; the phone may end the app without another word."""
        device.fall_silent()
        own_way.rest()
        if self.navigator.page is not None:
            self.navigator.page.paused()
        try:
            self.work.put_away()
        except AppError as error:
            self.caught(error)
        gc.collect()  # nobody waits for the picture now
        spare_memory.give_back()
        return True

    def on_resume(self) -> None:
        """Repaint: the picture may be black, and the phone's look another one."""
        from kivy.core.window import Window

        Window.update_viewport()
        if self.navigator.current != TROUBLE:
            own_way.take_on(own_choices.chosen(self.work.store_file))

    def on_stop(self) -> None:
        """Let go of the window and the store."""
        from kivy.core.window import Window

        self.on_pause()
        Window.unbind(on_keyboard=self._key)
        theme.unbind(dark=self._paint_bars)
        ExceptionManager.remove_handler(self._catcher)
        self.work.close()


def build_app(
    store_folder: Path,
    checklists_folder: Path,
    clock: Callable[[], datetime] = system_clock,
    first_page: str = HOME,
) -> VoltwalkApp:
    """Return the app on a store folder and a folder of checklists, not yet running."""
    return VoltwalkApp(Workplace(store_folder, checklists_folder, clock), first_page)
