"""Readings that cannot be right: how likely one is spoilt, and in which usual way.

A reading is either good, with its noise, or spoilt: the decimal point slipped, the sign
turned, millivolts taken as volts, or the probes on a wrong post (anything at all).
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from logic.case import Reading

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
# A slip must be told from a dead reading: no closer than this, in the reading's unit (assumed).
_LEAST_WIDTH = 0.03
# Of the readings spoilt, how many are another post of the same state, and how close (12 V).
_WRONG_POST, _POST_SPREAD = 0.2, 0.08
# The span over which a reading of any other kind may lie, by unit.
_SPAN = {"V": 24.0, "A": 60.0, "°C": 80.0, "1": 2.0, "lit": 1.0}


class SpoiltModel:
    """The chance of each reading's value if it is spoilt."""

    def __init__(self, readings: Sequence[Reading], scale: float) -> None:
        """Prepare for some readings; ``scale`` is the nominal voltage over 12 V."""
        points = [reading.point for reading in readings]
        spans = [_SPAN[point.unit] * scale for point in points]
        self._flat = np.array([(0.5 - _WRONG_POST) / span for span in spans])
        self._flat += np.array([_other_post(reading, readings, scale) for reading in readings])
        self._slips = np.array([point.unit in ("V", "A") for point in points]) * 0.5

    def density(self, value: Array, predicted: Array, spread: Array) -> Array:
        """Return the density of each value, if spoilt, under each prediction."""
        density = np.broadcast_to(self._flat, predicted.shape).copy()
        for factor, share, _ in SLIPS:
            density += self._slips * share * slip_density(value, predicted, spread, factor)
        return density


def _other_post(reading: Reading, readings: Sequence[Reading], scale: float) -> float:
    """Density of a value as what another pair of posts shows in the same state."""
    if reading.point.red is None:
        return 0.0
    others = [
        other.value
        for other in readings
        if other.state is reading.state and other is not reading and other.point.red
    ]
    spread = _POST_SPREAD * scale
    away = [min(abs(reading.value - value) / spread, 30.0) for value in others]
    close = sum(math.exp(-0.5 * distance**2) for distance in away)
    return _WRONG_POST * close / (spread * math.sqrt(2 * math.pi)) / max(len(others), 1)


def slip_density(value: Array, predicted: Array, spread: Array, factor: float) -> Array:
    """Density of a value that is ``factor`` times what should have been read."""
    wide = np.maximum(abs(factor) * np.hypot(2 * spread, 0.04 * predicted), _LEAST_WIDTH)
    distance = np.minimum(np.abs(value - factor * predicted) / wide, 30.0)
    return np.asarray(np.exp(-0.5 * distance**2) / (wide * np.sqrt(2 * np.pi)))
