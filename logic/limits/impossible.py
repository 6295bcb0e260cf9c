"""Values that this circuit cannot show, though a meter could.

They are asked about while they are typed; kept all the same, they are what was read, but no
other reading's limits are worked out from them.
"""

from collections.abc import Mapping

from logic.vehicle.assumed import HIGHEST_LIVE_V
from logic.vehicle.points import Point, ReadingKey, Run, State
from logic.words.figures import as_read, volts

# Assumed: under this, at 12 V, an engine's own electronics stop, and with them the engine.
_ENGINE_STOPS_V = 8.0
# Assumed: what the supply may move between the two readings, at 12 V.
_MOVED_V = 1.0
_VEHICLE_SIDE = (Run.VEHICLE_FEED, Run.VEHICLE_RETURN)


def why_impossible(
    key: ReadingKey, value: float, readings: Mapping[ReadingKey, float], scale: float
) -> str:
    """Say why the circuit cannot show a value, "" where it can.

    Parameters
    ----------
    key
        The reading.
    value : the point's unit
        As typed.
    readings : the point's unit
        The other readings.
    scale : 1
        Nominal voltage over 12 V.
    """
    point, state = key
    if point is Point.START_BATTERY_VOLTAGE:
        return _running(state, value, scale)
    if point.run in _VEHICLE_SIDE:
        return _more_than_the_supply(state, value, readings, scale)
    return ""


def possible_only(readings: Mapping[ReadingKey, float], scale: float) -> dict[ReadingKey, float]:
    """Leave out what the circuit cannot show.

    Parameters
    ----------
    readings : the point's unit
        As read.
    scale : 1
        Nominal voltage over 12 V.
    """
    return {
        key: value
        for key, value in readings.items()
        if not why_impossible(key, value, readings, scale)
    }


def _running(state: State, value: float, scale: float) -> str:
    if not state.engine_runs:
        return ""
    if value < _ENGINE_STOPS_V * scale:
        return f"no engine runs with its start battery under {volts(_ENGINE_STOPS_V * scale)}"
    if value > HIGHEST_LIVE_V * scale:
        return f"no vehicle runs with over {volts(HIGHEST_LIVE_V * scale)} on its start battery"
    return ""


def _more_than_the_supply(
    state: State, value: float, readings: Mapping[ReadingKey, float], scale: float
) -> str:
    supply = readings.get(ReadingKey(Point.START_BATTERY_VOLTAGE, state))
    if supply is None or _running(state, supply, scale) or value <= supply + _MOVED_V * scale:
        return ""
    read = as_read(Point.START_BATTERY_VOLTAGE, supply)
    return f"no run loses more than the {read} that were read at the start battery"
