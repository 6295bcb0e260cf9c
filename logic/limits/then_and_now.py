"""Then and now: each reading beside that of the commissioning, what changed most first.

A drop says nothing without its current, so drops are compared per ampere, as resistance. The
order is by change over what the meter and an ordinary day explain: 1 is where a change
begins to mean something.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logic.case import Reading
from logic.quantities import Ohm
from logic.vehicle.assumed import JOINT_AGEING, telling_current
from logic.vehicle.installation import Installation, Meter
from logic.vehicle.meter import COVERAGE, standard_uncertainty
from logic.vehicle.points import Point, Run, State, Unit

# Standard deviations (k = 1) by which a sound vehicle differs from day to day. Assumed: no
# published figures are known. Volts at 12 V.
_SUPPLY_V, _HOUSE_V = 0.25, 0.35
_SHARE = {
    Point.INPUT_CURRENT: 0.1,
    Point.OUTPUT_CURRENT: 0.1,
    Point.HOUSE_LOAD_CURRENT: 0.5,
    Point.SOLAR_CURRENT: 0.4,
}
_VOLTS = {
    Point.START_BATTERY_VOLTAGE: _SUPPLY_V,
    Point.CHARGER_INPUT_VOLTAGE: _SUPPLY_V,
    Point.IGNITION_SIGNAL_VOLTAGE: _SUPPLY_V,
    Point.CHARGER_OUTPUT_VOLTAGE: _HOUSE_V,
    Point.HOUSE_BATTERY_VOLTAGE: _HOUSE_V,
    Point.SOLAR_OPEN_CIRCUIT_VOLTAGE: 1.0,
    Point.SOLAR_INPUT_VOLTAGE: 1.5,
}
_OTHER = {
    Point.CHARGER_CASE_TEMPERATURE: 10.0,
    Point.HOUSE_BATTERY_TEMPERATURE: 8.0,
    Point.SUNLIGHT_FRACTION: 0.3,
}


@dataclass(frozen=True)
class Change:
    """One point in one state, then and now.

    ``then_ohm`` and ``now_ohm`` are given for drops whose current was read both times.
    ``weight`` is the change over its expanded uncertainty, an ordinary day's wandering
    included; ``expected_now`` is what then means at today's current.
    """

    point: Point
    state: State
    then: float
    now: float
    expected_now: float
    weight: float
    then_ohm: Ohm | None = None
    now_ohm: Ohm | None = None

    @property
    def is_real(self) -> bool:
        """Whether it is more than the meter and an ordinary day explain."""
        return self.weight > 1

    @property
    def run(self) -> Run | None:
        """The run that a drop belongs to."""
        return self.point.run


_Values = Mapping[tuple[Point, State], float]


def compare(
    installation: Installation, readings: Sequence[Reading], baseline: Sequence[Reading]
) -> tuple[Change, ...]:
    """Compare every reading that was also taken at commissioning, what changed most first.

    Parameters
    ----------
    installation
        For the meter, and for the system voltage.
    readings
        Today's.
    baseline
        The commissioning's.
    """
    now = {(r.point, r.state): r.value for r in readings}
    then = {(r.point, r.state): r.value for r in baseline}
    common = [place for place in now if place in then]
    changes = [_change(installation, place, then, now) for place in common]
    return tuple(sorted(changes, key=lambda change: -change.weight))


def _change(
    installation: Installation, place: tuple[Point, State], then: _Values, now: _Values
) -> Change:
    point, state = place
    if point.current is not None:
        currents = (point.current, state)
        flowed, flows = then.get(currents, 0.0), now.get(currents, 0.0)
        if min(flowed, flows) >= telling_current(installation.charger.rated_output_current_a):
            amperes = (flowed, flows)
            return _per_ampere(installation.meter, place, point.current, (then, now), amperes)
    meter = installation.meter
    own = [standard_uncertainty(meter, point, values[place]) for values in (then, now)]
    spread = COVERAGE * math.hypot(*own, _wanders(installation, point, then[place]))
    weight = abs(now[place] - then[place]) / max(spread, 1e-9)
    return Change(point, state, then[place], now[place], then[place], weight)


def _per_ampere(
    meter: Meter | None,
    place: tuple[Point, State],
    clamp: Point,
    volts: tuple[_Values, _Values],
    amperes: tuple[float, float],
) -> Change:
    point, state = place
    (then, now), (flowed, flows) = (volts[0][place], volts[1][place]), amperes
    expected = then * flows / flowed
    relative = [standard_uncertainty(meter, clamp, amps) / amps for amps in amperes]
    spread = COVERAGE * math.hypot(
        standard_uncertainty(meter, point, now),
        standard_uncertainty(meter, point, then) * flows / flowed,
        expected * math.hypot(*relative, JOINT_AGEING),
    )
    weight = abs(now - expected) / spread
    return Change(point, state, then, now, expected, weight, then / flowed, now / flows)


def _wanders(installation: Installation, point: Point, value: float) -> float:
    if point in _SHARE:
        return max(0.5, _SHARE[point] * abs(value))
    if point in _VOLTS:
        return _VOLTS[point] * (1.0 if point.needs_panel else installation.scale)
    if point.unit is Unit.LIT:
        return 0.4  # lit against not lit is a change, but no measured one
    return _OTHER.get(point, 0.02 * installation.scale)
