"""Runs slow work off the drawing thread and hands the result back on it."""

from collections.abc import Callable
from threading import Thread
from typing import TypeVar

from kivy.clock import Clock

from mobile.ui import spare_memory

NAME = "voltwalk-background"  # of every thread that is started here

Result = TypeVar("Result")


def raised(error: BaseException) -> None:
    """Raise an error where the app's one handler takes it."""
    raise error


def run(
    work: Callable[[], Result],
    done: Callable[[Result], None],
    failed: Callable[[BaseException], None] = raised,
) -> None:
    """Run ``work`` in a thread, then ``done`` or ``failed`` on the drawing thread.

    The store belongs to the thread that opened it: work that needs one opens its own.
    """

    def body() -> None:
        try:
            result = work()
        except BaseException as error:  # noqa: BLE001 - carried over and raised on the other side
            Clock.schedule_once(lambda _, error=error: failed(error))
        else:
            Clock.schedule_once(lambda _: done(result))
        spare_memory.give_back()

    Thread(target=body, name=NAME, daemon=True).start()
