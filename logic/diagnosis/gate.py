"""Soft gates on the supply voltage, which no Gaussian prior can say.

A unit runs where a hypothesis says it does; and an alternator that charges holds the start
battery no lower than it rests.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logic.diagnosis.hypotheses import Hypotheses
from logic.diagnosis.problem import Gate
from logic.diagnosis.unknowns import INDEX, NAMES

Array = NDArray[np.float64]

# Assumed, volts at 12 V: width of the gate, and how far under the start voltage a unit that
# ran before may still be found running.
_WIDTH_V = 0.1
_HYSTERESIS_V = 0.1
# Assumed: a unit does otherwise than its thresholds say in one case of 300.
_UNRULY = 0.003
# Assumed: a charging alternator is found under the resting voltage, by more than the width,
# in one case of ten; one saving fuel may let the battery stand at it.
_LAPSE = 0.1

_SUPPLY = np.array(
    [INDEX[n] for n in ("supply_idle_v", "supply_fast_v", "supply_rest_v", "supply_sag_v")]
)


def running_gate(scale: float) -> Callable[[Hypotheses, Array], Gate]:
    """Return the gate for a system whose nominal voltage is ``scale`` times 12 V."""

    width = _WIDTH_V * scale

    def gate(rows: Hypotheses, theta: Array) -> Gate:
        chance = np.zeros(len(theta))
        gradient = np.zeros((len(theta), len(NAMES)))
        bends = np.zeros((len(theta), len(_SUPPLY), len(_SUPPLY)))
        for soft in _soft_gates(rows, scale):
            volts = (soft.slope * theta[:, _SUPPLY]).sum(axis=1)
            over = soft.sign * (volts - soft.threshold_v) / width
            inside = 1 / (1 + np.exp(-np.clip(over, -60, 60)))
            used = soft.sign != 0
            chance += np.where(used, np.log(inside + soft.floor), 0.0)
            pull = np.where(used, soft.sign * (1 - inside) / width, 0.0)
            gradient[:, _SUPPLY] += pull[:, None] * soft.slope
            bend = np.where(used, inside * (1 - inside) / width**2, 0.0)
            bends += bend[:, None, None] * soft.slope[:, :, None] * soft.slope[:, None, :]
        return Gate(chance, gradient, bends, _SUPPLY)

    return gate


@dataclass(frozen=True)
class _Soft:
    """Volts, as ``slope`` over the supply's unknowns, over (+1) or under (-1) a threshold."""

    slope: Array
    sign: Array
    threshold_v: Array | float
    floor: float


def _soft_gates(rows: Hypotheses, scale: float) -> tuple[_Soft, ...]:
    over = rows.threshold_v - _HYSTERESIS_V * scale
    idle, fast = (_Soft(_slope(rows, k), rows.gate[:, k], over, _UNRULY) for k in (0, 1))
    above_rest = np.tile([1.0, 0.0, -1.0, 0.0], (len(rows), 1))
    charges = np.where(rows.on_battery, 0.0, 1.0)
    return idle, fast, _Soft(above_rest, charges, -_HYSTERESIS_V * scale, _LAPSE)


def _slope(rows: Hypotheses, engine_state: int) -> Array:
    """Return how the supply in an engine state hangs on its unknowns."""
    slope = np.zeros((len(rows), len(_SUPPLY)))
    battery = rows.on_battery
    slope[:, 0] = ~battery
    slope[:, 1] = engine_state
    slope[:, 2] = battery
    slope[:, 3] = -1.0 * battery
    return slope
