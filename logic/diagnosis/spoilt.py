"""Readings that cannot be right: how likely one is spoilt, and in which usual way.

A reading is either good, with its noise, or spoilt: the decimal point slipped, the sign
turned, millivolts taken as volts, or the probes on a wrong post (anything at all).
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from logic.points import PROBES, Point

Array = NDArray[np.float64]

# Assumed: one reading in 250 is spoilt; half of those in one of the usual ways.
SPOILT_SHARE = 0.004
SLIPS: tuple[tuple[float, float, str], ...] = (
    (10.0, 0.3, "the decimal point slipped one place right"),
    (0.1, 0.3, "the decimal point slipped one place left"),
    (-1.0, 0.25, "the sign is the wrong way round: probes or clamp reversed"),
    (1000.0, 0.1, "millivolts typed as volts"),
    (0.001, 0.05, "volts typed as millivolts"),
)
# The span over which a reading of any other kind may lie, by unit.
_SPAN = {"V": 24.0, "A": 60.0, "°C": 80.0, "1": 2.0, "lit": 1.0}


class SpoiltModel:
    """The chance of each reading's value if it is spoilt."""

    def __init__(self, points: Sequence[Point], scale: float) -> None:
        """Prepare for the readings' points; ``scale`` is the nominal voltage over 12 V."""
        spans = [_SPAN[PROBES[point].unit] * scale for point in points]
        self._flat = np.array([0.5 / span for span in spans])
        self._slips = np.array([PROBES[point].unit in ("V", "A") for point in points]) * 0.5

    def density(self, value: Array, predicted: Array, spread: Array) -> Array:
        """Return the density of each value, if spoilt, under each prediction."""
        density = np.broadcast_to(self._flat, predicted.shape).copy()
        for factor, share, _ in SLIPS:
            density += self._slips * share * slip_density(value, predicted, spread, factor)
        return density


def slip_density(value: Array, predicted: Array, spread: Array, factor: float) -> Array:
    """Density of a value that is ``factor`` times what should have been read."""
    wide = abs(factor) * np.hypot(2 * spread, 0.04 * predicted)
    distance = np.minimum(np.abs(value - factor * predicted) / wide, 30.0)
    return np.asarray(np.exp(-0.5 * distance**2) / (wide * np.sqrt(2 * np.pi)))
