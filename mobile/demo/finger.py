"""A simulated finger on the running app: for the tour and for the tests.

Touches go through Kivy's own input pipeline, as a finger's would. Every wait steps the app's
loop, and goes by Kivy's clock, which is simulated: a wait takes no longer than its frames.
"""

import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.base import EventLoop, ExceptionManager, stopTouchApp
from kivy.clock import Clock
from kivy.graphics.opengl import glFinish
from kivy.input.motionevent import MotionEvent
from kivy.input.provider import MotionEventProvider
from kivy.uix.modalview import ModalView
from kivy.uix.widget import Widget

from mobile.demo.simulated_time import simulated_time
from mobile.ui import background

Position = tuple[float, float]

# A list takes a shorter touch for a beginning scroll, and answers it only 0.2 s later.
_DOUBLE_TAP = (0.35, 45)  # seconds and pixels: what is nearer may be taken for a bounce
_LIST_DELAY = 0.07  # seconds; Kivy's widgets.scroll_timeout is 55 ms

_FRAME = 1 / 60  # seconds
_PAUSE = 0.002  # seconds


class _Touch(MotionEvent):
    """A finger on the glass; sx and sy run from 0 to 1."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("is_touch", True)
        kwargs.setdefault("type_id", "touch")
        super().__init__(*args, **kwargs)
        self.profile = ["pos"]

    def depack(self, args: Position) -> None:
        self.sx, self.sy = args
        super().depack(args)


class _TouchProvider(MotionEventProvider):
    """Plays queued touches, one phase a frame."""

    def __init__(self) -> None:
        super().__init__("finger", "")
        self.queue: deque[tuple[str, _Touch, Position]] = deque()

    def start(self) -> None:
        pass

    def stop(self) -> None:
        self.queue.clear()

    def update(self, dispatch_fn: Callable[[str, MotionEvent], None]) -> None:
        if self.queue:
            phase, touch, position = self.queue.popleft()
            if phase != "begin":
                touch.move(position)
            dispatch_fn(phase, touch)


class NotShownError(LookupError):
    """What is to be touched is not on the screen."""


class Finger:
    """Taps, swipes, types, waits and takes pictures. Get one from :func:`finger_on`."""

    def __init__(
        self, app: App, provider: _TouchProvider, let_pass: Callable[[float], None]
    ) -> None:
        self.app = app
        self._provider = provider
        self._let_pass = let_pass
        self._count = 0
        self._last_tap: tuple[float, Position] = (0.0, (0.0, 0.0))

    # Waiting

    def frames(self, count: int = 2) -> None:
        """Let the app draw a few frames."""
        for _ in range(count):
            self._frame(_FRAME)

    def rest(self, seconds: float) -> None:
        """Let so much time pass."""
        end = Clock.time() + seconds
        self._frame(seconds)
        while Clock.time() < end:
            self._frame(end - Clock.time())

    def until(self, condition: Callable[[], Any], timeout: float = 5.0) -> Any:
        """Step the app until the condition holds and return what it gave.

        Raises
        ------
        TimeoutError
            After ``timeout`` seconds of real time: threads work by no other.
        """
        end = time.monotonic() + timeout
        while not (result := condition()):
            if time.monotonic() > end:
                raise TimeoutError(f"still waiting after {timeout} s")
            _let_threads_work()
            self._frame(_FRAME)
        return result

    def _frame(self, seconds: float) -> None:
        """Draw one frame, so many seconds after the last where time is simulated."""
        self._let_pass(seconds)
        try:
            EventLoop.idle()
            # Offscreen no buffer is swapped: what is not finished piles up, by 0.7 MB a redraw of
            # 100 lines in an empty window.
            glFinish()
        except Exception as error:
            # As Kivy's own loop does: the app's handler says whether it ends.
            if ExceptionManager.handle_exception(error) == ExceptionManager.RAISE:
                raise

    # Finding

    def shown(self) -> Iterator[Widget]:
        """Yield every widget on the screen, those on top first."""
        for top in EventLoop.window.children:
            yield from _visible(top)

    def find(self, text: str) -> Widget:
        """Return the topmost widget on the screen with exactly this text, tappable ones first.

        Raises
        ------
        NotShownError
            Lists the texts that are on the screen.
        """
        found = [w for w in self.shown() if getattr(w, "text", None) == text]
        found.sort(key=lambda w: not hasattr(w, "on_release"))
        if not found:
            texts = sorted({w.text for w in self.shown() if getattr(w, "text", "")})
            raise NotShownError(f"{text!r} is not on the screen; these are: {texts}")
        return found[0]

    def sees(self, text: str) -> bool:
        """Tell whether some text on the screen contains this one."""
        return any(text in (getattr(w, "text", "") or "") for w in self.shown())

    # Touching

    def tap(self, what: Widget | str | Position) -> None:
        """Tap a widget, the widget with this text, or a position in window pixels."""
        if isinstance(what, str):
            what = self.find(what)
        held = not isinstance(what, Widget) or self.bring_into_view(what)
        position = what.to_window(*what.center) if isinstance(what, Widget) else what
        self._lift_off(position)
        self._play([position, position], held=held)
        self._last_tap = Clock.time(), position

    def double_tap(self, what: Widget) -> None:
        """Tap twice as fast as a bouncing glove does."""
        position = what.to_window(*what.center)
        self._play([position, position])
        self._play([position, position])

    def swipe(self, start: Position, end: Position, steps: int = 8) -> None:
        """Draw a finger from one position to another, in window pixels."""
        (x0, y0), (x1, y1) = start, end
        parts = [i / steps for i in range(steps + 1)]
        self._play([(x0 + (x1 - x0) * part, y0 + (y1 - y0) * part) for part in parts])

    def draw(self, positions: list[Position]) -> None:
        """Draw a finger along positions in window pixels, as for a signature."""
        self._play(positions)

    def bring_into_view(self, widget: Widget) -> bool:
        """Scroll the list that holds the widget until it can be seen; False if none holds it."""
        from kivy.uix.scrollview import ScrollView

        parent = widget.parent
        while parent is not None and parent is not EventLoop.window:
            if isinstance(parent, ScrollView):
                parent.scroll_to(widget, padding=20, animate=False)
                self.frames(3)
                return True
            parent = parent.parent
        return False

    def _lift_off(self, position: Position) -> None:
        """Take the time that a finger needs between two taps at one position."""
        at, (x, y) = self._last_tap
        seconds, pixels = _DOUBLE_TAP
        if abs(position[0] - x) + abs(position[1] - y) < pixels:
            left = at + seconds - Clock.time()
            if left > 0:
                self.rest(left)

    def _play(self, positions: list[Position], *, held: bool = False) -> None:
        scaled = [self._scaled(position) for position in positions]
        touch = self._touch(scaled[0])
        self._feed("begin", touch, scaled[0])
        for position in scaled[1:-1]:
            self._feed("update", touch, position)
        if held:
            self.rest(_LIST_DELAY)
            self.frames(3)  # a list hands a touch on after its delay and three frames
        self._feed("end", touch, scaled[-1])
        self.frames(2)

    def _touch(self, position: Position) -> _Touch:
        self._count += 1
        return _Touch("finger", self._count, position)

    @staticmethod
    def _scaled(position: Position) -> Position:
        width, height = EventLoop.window.size
        return position[0] / max(1, width - 1), position[1] / max(1, height - 1)

    def _feed(self, phase: str, touch: _Touch, position: Position) -> None:
        self._provider.queue.append((phase, touch, position))
        self.until(lambda: not self._provider.queue)

    # Typing

    def type(self, text: str) -> None:
        """Type into the focused text field, as a phone's keyboard does."""
        window = EventLoop.window
        for character in text:
            window.dispatch("on_textinput", character)
            self.frames(1)

    def press_back(self) -> None:
        """Press the phone's back key."""
        window = EventLoop.window
        if not window.dispatch("on_keyboard", 27, 41, None, []):
            window.dispatch("on_key_up", 27, 41)
        self.frames(3)

    # Looking

    def screenshot(self, path: Path) -> Path:
        """Save what is on the screen as a PNG under exactly this path."""
        self.frames(3)
        path.parent.mkdir(parents=True, exist_ok=True)
        written = Path(EventLoop.window.screenshot(name=str(path.with_suffix(".part.png"))))
        written.replace(path)
        return path


def _visible(widget: Widget) -> Iterator[Widget]:
    """Yield a widget and what is in it, unless it is hidden or has no size."""
    if widget.opacity == 0 or (widget.width <= 0 or widget.height <= 0):
        return
    yield widget
    for child in widget.children:
        yield from _visible(child)


def _let_threads_work() -> None:
    """Wait a little for work in the background: drawing without a pause would starve it."""
    for thread in threading.enumerate():
        if thread.name == background.NAME:
            thread.join(_PAUSE)


def _sleep(_seconds: float) -> None:
    time.sleep(_PAUSE)


@contextmanager
def finger_on(app: App, *, real_time: bool = False) -> Iterator[Finger]:
    """Start the app, give a :class:`Finger` on it, and end the app cleanly afterwards.

    Time is simulated and passes with the frames, unless the speed of the app is measured.
    """
    with nullcontext(_sleep) if real_time else simulated_time() as let_pass:
        yield from _started(app, let_pass)


def _started(app: App, let_pass: Callable[[float], None]) -> Iterator[Finger]:
    app._run_prepare()
    window = EventLoop.window
    provider = _TouchProvider()
    EventLoop.add_input_provider(provider)
    finger = Finger(app, provider, let_pass)
    finger.frames(3)
    try:
        yield finger
    finally:
        EventLoop.remove_input_provider(provider)
        app.dispatch("on_stop")
        for child in window.children[:]:
            if isinstance(child, ModalView):
                child.dismiss(force=True, animation=False)
            window.remove_widget(child)
        app._app_window = None
        stopTouchApp()
        EventLoop.status = "idle"
