"""The unit's own lamps as evidence: lit or not, believed only softly.

What a lamp means differs from unit to unit, so a lamp never outweighs a meter.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from logic.case import Reading
from logic.diagnosis.hypotheses import Hypotheses
from logic.diagnosis.readout import Place
from logic.vehicle.points import Point, State

Array = NDArray[np.float64]

# Assumed: chance that the charging lamp is lit when the unit gives current, when it runs and
# gives none, and when it does not run.
_LIT_GIVING, _LIT_IDLING, _LIT_OFF = 0.92, 0.5, 0.1


LAMPS = frozenset({Point.CHARGING_INDICATOR, Point.FAULT_INDICATOR})
"""The lamps whose meaning is known; readings of others are left out."""


def lit_chance(rows: Hypotheses, place: Place) -> Array:
    """Return each row's chance that a lamp is lit."""
    point, state = place
    if point is Point.FAULT_INDICATOR:
        return rows.fault_lit
    on = rows.on[:, list(State).index(state)] & ~rows.dead
    nothing = rows.house_open | rows.blocks_charging | rows.blocks_all
    return np.where(on, np.where(nothing, _LIT_IDLING, _LIT_GIVING), _LIT_OFF)


def ln_lamps(rows: Hypotheses, readings: Sequence[Reading]) -> Array:
    """Return each row's log-probability of all lamp readings."""
    total = np.zeros(len(rows))
    for reading in readings:
        if not reading.state.engine_runs:
            continue
        lit = lit_chance(rows, (reading.point, reading.state))
        total += np.log(lit if reading.value >= 0.5 else 1 - lit)
    return total
