"""Voltages that follow from others by Kirchhoff's law: worked out, never recorded as readings.

The loop's voltages add up, so what the two drops of a side leave of one end is the other end; and
while no current flows nothing is lost on the way.
"""

from collections.abc import Iterable
from typing import NamedTuple

from logic.case import Reading
from logic.quantities import Volt
from logic.vehicle.points import Point, ReadingKey, State
from logic.words.figures import as_read
from logic.words.names import uncapitalised

# Each with the point it follows from and the drops taken off it.
_UNDER_LOAD = {
    Point.CHARGER_INPUT_VOLTAGE: (
        Point.START_BATTERY_VOLTAGE,
        (Point.VEHICLE_FEED_DROP, Point.VEHICLE_RETURN_DROP),
    ),
    Point.HOUSE_BATTERY_VOLTAGE: (
        Point.CHARGER_OUTPUT_VOLTAGE,
        (Point.HOUSE_FEED_DROP, Point.HOUSE_RETURN_DROP),
    ),
}
_AT_REST: dict[Point, tuple[Point, tuple[Point, ...]]] = {
    Point.START_BATTERY_VOLTAGE: (Point.CHARGER_INPUT_VOLTAGE, ()),
    Point.HOUSE_BATTERY_VOLTAGE: (Point.CHARGER_OUTPUT_VOLTAGE, ()),
}


class Followed(NamedTuple):
    """A voltage worked out of others."""

    key: ReadingKey
    value: Volt

    @property
    def words(self) -> str:
        """Its name and its value."""
        shown = _shown(self.key.point, self.value)
        return f"{uncapitalised(self.key.point.full_name)} follows: {shown}"


def follows(readings: Iterable[Reading], point: Point, state: State) -> Volt | None:
    """Work a voltage out of those that were read in the same state.

    Parameters
    ----------
    readings
        What was read.
    point, state
        The voltage asked for.

    Returns
    -------
    V
        None where it does not follow: another reading is missing, or it follows from none.
    """
    rule = (_AT_REST if state is State.REST else _UNDER_LOAD).get(point)
    if rule is None:
        return None
    read = {reading.point: reading.value for reading in readings if reading.state is state}
    origin, drops = rule
    if origin not in read or any(drop not in read for drop in drops):
        return None
    return round(read[origin] - sum(read[drop] for drop in drops), 3)


def all_followed(readings: Iterable[Reading], state: State) -> tuple[Followed, ...]:
    """List every voltage of a state that follows from what was read and was not read itself."""
    taken = tuple(readings)
    read = {reading.key for reading in taken}
    keys = (ReadingKey(point, state) for point in Point)
    worked_out = ((key, follows(taken, *key)) for key in keys if key not in read)
    return tuple(Followed(key, value) for key, value in worked_out if value is not None)


def follows_words(readings: Iterable[Reading], point: Point | None, state: State | None) -> str:
    """Say what a reading would be by the others, "" where it does not follow."""
    if point is None or state is None:
        return ""
    value = follows(readings, point, state)
    return "" if value is None else f"follows: {_shown(point, value)}"


def _shown(point: Point, value: Volt) -> str:
    """Say a sum of readings no finer than the coarsest of them, a hundredth of a volt."""
    return as_read(point, round(value, 2))
