"""Then and now: each reading beside that of the commissioning, what changed most first.

A drop says nothing without its current, so drops are compared per ampere, as resistance. The
order is by change over what the meter and an ordinary day explain: 1 is where a change
begins to mean something.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from logic.case import Judgement, Reading
from logic.limits.loop_state import telling_current
from logic.limits.verdict import judge
from logic.quantities import Ohm
from logic.vehicle.assumed import JOINT_AGEING
from logic.vehicle.installation import Installation
from logic.vehicle.meter import COVERAGE, standard_uncertainty
from logic.vehicle.points import Point, ReadingKey, Run, State, Unit

# Standard deviations (k = 1) by which a sound vehicle differs from day to day. Assumed: no
# published figures are known. First volts, at 12 V but for the panel; then shares of a current,
# of half an ampere at least; then what is read in a unit of its own.
_SUPPLY_V, _HOUSE_V = 0.25, 0.35
_DAILY_VOLTS = {
    Point.START_BATTERY_VOLTAGE: _SUPPLY_V,
    Point.CHARGER_INPUT_VOLTAGE: _SUPPLY_V,
    Point.IGNITION_SIGNAL_VOLTAGE: _SUPPLY_V,
    Point.FIRST_SERIES_VOLTAGE: _SUPPLY_V,
    Point.CHARGER_OUTPUT_VOLTAGE: _HOUSE_V,
    Point.HOUSE_BATTERY_VOLTAGE: _HOUSE_V,
    Point.SOLAR_OPEN_CIRCUIT_VOLTAGE: 1.0,
    Point.SOLAR_INPUT_VOLTAGE: 1.5,
}
_DAILY_SHARE = {
    Point.INPUT_CURRENT: 0.1,
    Point.OUTPUT_CURRENT: 0.1,
    Point.HOUSE_LOAD_CURRENT: 0.5,
    Point.SOLAR_CURRENT: 0.4,
}
_LEAST_DAILY_A = 0.5
_DAILY_OTHER = {
    Point.CHARGER_CASE_TEMPERATURE: 10.0,
    Point.HOUSE_BATTERY_TEMPERATURE: 8.0,
    Point.SUNLIGHT_FRACTION: 0.3,
}
_DAILY_LAMP = 0.4  # lit against not lit is a change, but no measured one
_DAILY_REST_V = 0.02  # a drop whose current was not read, and a setting


@dataclass(frozen=True)
class Comparison:
    """One reading, then and now.

    ``then_ohm`` and ``now_ohm`` are given for drops whose current was read both times.
    ``weight`` is the change over its expanded uncertainty, an ordinary day's variation
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
    judgement: Judgement | None = None
    """Today's verdict; None where it was not asked for."""

    @property
    def is_explained(self) -> bool:
        """Whether today's value is right as things are today, however it has changed."""
        return self.judgement in (Judgement.IN_RANGE, Judgement.NO_LIMIT)

    @property
    def is_real(self) -> bool:
        """Whether the change is more than the meter and an ordinary day explain."""
        return self.weight > 1

    @property
    def run(self) -> Run | None:
        """The run that a drop belongs to."""
        return self.point.run


_Values = Mapping[ReadingKey, float]


def compare(
    installation: Installation, readings: Sequence[Reading], baseline: Sequence[Reading]
) -> tuple[Comparison, ...]:
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
    now, then = ({r.key: r.value for r in taken} for taken in (readings, baseline))
    compared = [
        replace(
            _compared(installation, key, then, now),
            judgement=_judgement(
                installation,
                readings,
                Reading(point=key.point, state=key.state, value=now[key]),
                baseline,
            ),
        )
        for key in now
        if key in then
    ]
    return tuple(sorted(compared, key=lambda comparison: -comparison.weight))


def _judgement(
    installation: Installation,
    readings: Sequence[Reading],
    reading: Reading,
    baseline: Sequence[Reading],
) -> Judgement:
    return judge(installation, readings, reading, baseline).verdict


def _compared(
    installation: Installation, key: ReadingKey, then: _Values, now: _Values
) -> Comparison:
    if key.point.current is not None:
        through = ReadingKey(key.point.current, key.state)
        telling = telling_current(installation.charger.rated_output_current_a)
        if min(then.get(through, 0.0), now.get(through, 0.0)) >= telling:
            return _per_ampere(installation, key, through, then, now)
    meter = installation.meter
    own = [standard_uncertainty(meter, key.point, values[key]) for values in (then, now)]
    spread = COVERAGE * math.hypot(*own, _daily(installation, key.point, then[key]))
    weight = abs(now[key] - then[key]) / max(spread, 1e-9)
    return Comparison(*key, then[key], now[key], then[key], weight)


def _per_ampere(
    installation: Installation, key: ReadingKey, through: ReadingKey, then: _Values, now: _Values
) -> Comparison:
    """Compare a drop's resistance: today's drop with that of then at today's current."""
    meter, ratio = installation.meter, now[through] / then[through]
    expected = then[key] * ratio
    clamped = [
        standard_uncertainty(meter, through.point, values[through]) / values[through]
        for values in (then, now)
    ]
    spread = COVERAGE * math.hypot(
        standard_uncertainty(meter, key.point, now[key]),
        standard_uncertainty(meter, key.point, then[key]) * ratio,
        expected * math.hypot(*clamped, JOINT_AGEING),
    )
    return Comparison(
        *key,
        then=then[key],
        now=now[key],
        expected_now=expected,
        weight=abs(now[key] - expected) / spread,
        then_ohm=then[key] / then[through],
        now_ohm=now[key] / now[through],
    )


def _daily(installation: Installation, point: Point, value: float) -> float:
    if point in _DAILY_SHARE:
        return max(_LEAST_DAILY_A, _DAILY_SHARE[point] * abs(value))
    if point in _DAILY_VOLTS:
        return _DAILY_VOLTS[point] * (1.0 if point.needs_panel else point.scale_on(installation))
    if point.unit is Unit.LIT:
        return _DAILY_LAMP
    return _DAILY_OTHER.get(point, _DAILY_REST_V * point.scale_on(installation))
