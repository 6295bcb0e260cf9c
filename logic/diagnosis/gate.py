"""Whether a unit runs where a hypothesis says it does: a soft gate on the supply voltage."""

from collections.abc import Callable

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

_SUPPLY = np.array(
    [INDEX[n] for n in ("supply_idle_v", "supply_fast_v", "supply_rest_v", "supply_sag_v")]
)


def running_gate(scale: float) -> Callable[[Hypotheses, Array], Gate]:
    """Return the gate for a system whose nominal voltage is ``scale`` times 12 V."""

    def gate(rows: Hypotheses, theta: Array) -> Gate:
        chance = np.zeros(len(theta))
        gradient = np.zeros((len(theta), len(NAMES)))
        bends = np.zeros((len(theta), len(_SUPPLY), len(_SUPPLY)))
        for engine_state in (0, 1):
            slope = _slope(rows, engine_state)
            supply = (slope * theta[:, _SUPPLY]).sum(axis=1)
            sign = rows.gate[:, engine_state]
            width = _WIDTH_V * scale
            over = sign * (supply - rows.threshold_v + _HYSTERESIS_V * scale) / width
            inside = 1 / (1 + np.exp(-np.clip(over, -60, 60)))
            used = sign != 0
            chance += np.where(used, np.log(inside + _UNRULY), 0.0)
            pull = np.where(used, sign * (1 - inside) / width, 0.0)
            gradient[:, _SUPPLY] += pull[:, None] * slope
            bend = np.where(used, inside * (1 - inside) / width**2, 0.0)
            bends += bend[:, None, None] * slope[:, :, None] * slope[:, None, :]
        return Gate(chance, gradient, bends, _SUPPLY)

    return gate


def _slope(rows: Hypotheses, engine_state: int) -> Array:
    """Return how the supply in an engine state hangs on its unknowns."""
    slope = np.zeros((len(rows), len(_SUPPLY)))
    battery = rows.on_battery
    slope[:, 0] = ~battery
    slope[:, 1] = engine_state
    slope[:, 2] = battery
    slope[:, 3] = -1.0 * battery
    return slope
