"""What no circuit can show: the bounds that the loop sets on a foretold reading.

The evidence's chain of Gaussians is a straight line and may run past them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logic.case import Reading
from logic.vehicle.points import Point, State, Unit

# No part of the vehicle side stands above the start battery, none under its negative post.
_VEHICLE_SIDE = frozenset(
    {
        Point.VEHICLE_FEED_DROP,
        Point.VEHICLE_RETURN_DROP,
        Point.CHARGER_INPUT_VOLTAGE,
        Point.IGNITION_SIGNAL_VOLTAGE,
    }
)
_PANEL = frozenset(point for point in Point if point.needs_panel and point.unit is Unit.VOLT)
_SIGNED = frozenset({Point.HOUSE_FEED_DROP, Point.HOUSE_RETURN_DROP})
# Less than this share of the supply, or of an ampere, past a bound is the meter's.
_SLACK = 0.01


@dataclass(frozen=True)
class LoopLimits:
    """The start battery's voltage by state, as read."""

    supply_v: Mapping[State, float]

    def held(self, reading: Reading, foretold: float) -> float | None:
        """Return the foretold value, or ``None`` where no circuit could show it."""
        least, most = self._bounds(reading)
        over = _SLACK * max(abs(most), 1.0) if most != float("inf") else _SLACK
        if foretold > most + over or foretold < least - over:
            return None
        return min(max(foretold, least), most)

    def _bounds(self, reading: Reading) -> tuple[float, float]:
        open_end = float("inf")
        unit = reading.point.unit
        if unit not in ("V", "A") or reading.point in _PANEL | _SIGNED:
            return -open_end, open_end
        # A clamp's zero lets a reading of nothing be a little under it.
        least = min(0.0, reading.value)
        if reading.point in _VEHICLE_SIDE:
            return least, self.supply_v.get(reading.state, open_end)
        return least, open_end


def loop_limits(readings: Sequence[Reading]) -> LoopLimits:
    """Return the limits that these readings set."""
    supply = (r for r in readings if r.point is Point.START_BATTERY_VOLTAGE)
    return LoopLimits({reading.state: reading.value for reading in supply})
