"""The signal for hand and ear that a reading is out of range, for eyes that are on the engine.

It says only what the screen says too, and is given once for one value.
"""

from typing import TYPE_CHECKING

from kivy.clock import Clock

from mobile.ui import device

if TYPE_CHECKING:
    from logic.case import Verdict

wanted = True
"""Whether the technician wants it; set by :mod:`mobile.ui.own_way`."""

_SETTLED = 0.9  # seconds without a key; assumed: gloved keys of one value follow faster


class OutOfRange:
    """Watches one reading while it is typed.

    At each key the verdict is that of half a number, so it waits until the keys rest or the value
    is taken. ``before`` is the verdict on what stood there already, signalled when it was typed.
    """

    def __init__(self, before: "Verdict | None" = None) -> None:
        self._told = before.value if before else None
        self._verdict = before
        self._wait = Clock.create_trigger(lambda _: self.taken(), _SETTLED)

    def shown(self, verdict: "Verdict | None") -> None:
        """Take note of the verdict that is shown now, ``None`` for none."""
        self._wait.cancel()
        self._verdict = verdict
        if _is_out(verdict):
            self._wait()

    def taken(self) -> None:
        """Signal what is shown, unless that was done: the value is taken, or the keys rest."""
        self._wait.cancel()
        if self._verdict is None or not _is_out(self._verdict):
            return
        if self._verdict.value != self._told:
            self._told = self._verdict.value
            give()

    def end(self) -> None:
        """Signal nothing any more: the reading has left the screen."""
        self._wait.cancel()


def give() -> None:
    """Give the signal, where it is wanted."""
    if wanted:
        device.signal()


def _is_out(verdict: "Verdict | None") -> bool:
    from logic.case import Judgement  # not on the start path

    return verdict is not None and verdict.verdict is Judgement.OUT_OF_RANGE
