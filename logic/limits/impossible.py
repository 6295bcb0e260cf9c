"""Values that this circuit cannot show, though a meter could.

They are asked about while they are typed; kept all the same, they are what was read, but no
other reading's limits are worked out from them.
"""

from collections.abc import Mapping

from logic.quantities import Watt
from logic.vehicle.assumed import HIGHEST_LIVE_V
from logic.vehicle.installation import Installation, Meter
from logic.vehicle.meter import expanded_uncertainty
from logic.vehicle.points import VEHICLE_SIDE, Point, ReadingKey, State
from logic.words.figures import as_read, volts

# Assumed: under this, at 12 V, an engine's own electronics stop, and with them the engine.
_ENGINE_STOPS_V = 8.0
# Assumed: what the supply may move between the two readings, at 12 V.
_MOVED_V = 1.0
# Assumed: by what share the unit's power may move between the first and the last of its readings.
_MOVED_SHARE = 0.1
# Its voltages, and what else bounds them: the supply from above, the house battery from below.
_TAKES = (
    Point.INPUT_CURRENT,
    (Point.CHARGER_INPUT_VOLTAGE, Point.START_BATTERY_VOLTAGE),
)
_GIVES = (
    Point.OUTPUT_CURRENT,
    (Point.CHARGER_OUTPUT_VOLTAGE, Point.HOUSE_BATTERY_VOLTAGE),
)


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
    if point is Point.FIRST_SERIES_VOLTAGE:
        return _more_than_both(state, value, readings)
    if point.run in VEHICLE_SIDE:
        return _more_than_the_supply(state, value, readings, scale)
    return ""


def why_contradicted(
    key: ReadingKey,
    value: float,
    readings: Mapping[ReadingKey, float],
    installation: Installation,
) -> str:
    """Say which other readings a value cannot stand beside, "" where it can.

    A unit without a panel takes all that it gives from the vehicle. Which of the readings is
    wrong is not known, so none of them is left out of other limits.

    Parameters
    ----------
    key
        The reading.
    value : the point's unit
        As typed.
    readings : the point's unit
        The other readings.
    installation
        What is fitted, and the meter.
    """
    here = {one.point: read for one, read in readings.items() if one.state is key.state}
    here[key.point] = value
    taken = _power(_TAKES, here, installation.meter)
    given = _power(_GIVES, here, installation.meter)
    is_of_it = key.point in (_TAKES[0], *_TAKES[1], _GIVES[0], *_GIVES[1])
    if installation.solar is not None or not is_of_it or taken is None or given is None:
        return ""
    (takes, takes_off), (gives, gives_off) = taken, given
    if gives - gives_off <= (takes + takes_off) * (1 + _MOVED_SHARE):
        return ""
    return (
        f"no unit gives more than it takes: about {gives:.0f} W out "
        f"against {max(takes, 0.0):.0f} W in"
    )


def _power(
    side: tuple[Point, tuple[Point, ...]], here: Mapping[Point, float], meter: Meter | None
) -> tuple[Watt, Watt] | None:
    """Return one side's power and by how much the meter's error may falsify it, if it is known."""
    current, voltages = side
    voltage = next((point for point in voltages if point in here), None)
    if voltage is None or current not in here:
        return None
    amperes, volts_ = here[current], here[voltage]
    amperes_off = expanded_uncertainty(meter, current, amperes)
    volts_off = expanded_uncertainty(meter, voltage, volts_)
    return amperes * volts_, abs(volts_) * amperes_off + abs(amperes) * volts_off


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
        return f"no vehicle runs with its start battery under {volts(_ENGINE_STOPS_V * scale)}"
    if value > HIGHEST_LIVE_V * scale:
        return f"no vehicle runs with over {volts(HIGHEST_LIVE_V * scale)} on its start battery"
    return ""


def _more_than_both(state: State, value: float, readings: Mapping[ReadingKey, float]) -> str:
    both = readings.get(ReadingKey(Point.START_BATTERY_VOLTAGE, state))
    if both is None or value <= both + _MOVED_V:
        return ""
    read = as_read(Point.START_BATTERY_VOLTAGE, both)
    return f"one of two in series shows no more than the {read} that both show"


def _more_than_the_supply(
    state: State, value: float, readings: Mapping[ReadingKey, float], scale: float
) -> str:
    supply = readings.get(ReadingKey(Point.START_BATTERY_VOLTAGE, state))
    if supply is None or _running(state, supply, scale) or value <= supply + _MOVED_V * scale:
        return ""
    read = as_read(Point.START_BATTERY_VOLTAGE, supply)
    return f"no run loses more than the {read} that were read at the start battery"
