"""Which reading another one hangs on: a drop says nothing without the current that makes it."""

from collections.abc import Sequence

from logic.case import Reading
from logic.limits.loop_state import LoopState
from logic.vehicle.installation import Installation
from logic.vehicle.points import ReadingKey


def read_first(
    installation: Installation, readings: Sequence[Reading], key: ReadingKey
) -> ReadingKey | None:
    """Return the current to read before a drop; None where it is known, or for another point.

    Parameters
    ----------
    installation
        What is fitted.
    readings
        Those taken so far.
    key
        The reading that is to be taken.
    """
    run, current = key.point.run, key.point.current
    if run is None or current is None:
        return None
    if LoopState.of(installation, readings, (), key).flow(run).is_known:
        return None
    return ReadingKey(current, key.state)
