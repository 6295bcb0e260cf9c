"""Time that passes with the frames alone: waits are short, and come out the same anywhere."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from unittest.mock import patch

from kivy.clock import Clock
from kivy.effects import kinetic, scroll
from kivy.input import motionevent
from kivy.input.postproc import doubletap, tripletap
from kivy.uix.behaviors import button

# Whatever else of Kivy asks for the time asks its clock.
_READ_IT_THEMSELVES = (kinetic, scroll, motionevent, doubletap, tripletap, button)


@contextmanager
def simulated_time() -> Iterator[Callable[[float], None]]:
    """Put all of Kivy on a time of its own; yields what lets so many seconds of it pass."""
    now: float = max(Clock.time(), Clock.get_time())  # an earlier simulated time may have run ahead

    def time() -> float:
        return now

    def let_pass(seconds: float) -> None:
        nonlocal now
        now += seconds

    with ExitStack() as patched:
        patched.enter_context(patch.object(Clock, "time", time))
        # A frame is not held back until real time has caught up: it never would.
        patched.callback(setattr, Clock, "_max_fps", Clock._max_fps)
        Clock._max_fps = 0
        for module in _READ_IT_THEMSELVES:
            patched.enter_context(patch.object(module, "time", time))
        yield let_pass
