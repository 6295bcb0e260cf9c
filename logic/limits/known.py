"""What is known about one state: what was read, and what follows from it.

Each quantity comes as :class:`Worked`: a value, how far a sound installation may lie from it,
the meter's part in it, and in words where it came from. The reading being judged is left out.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from logic.case import Reading
from logic.circuit.healthy import Healthy, healthy
from logic.vehicle.assumed import DEAD_V, HIGHEST_LIVE_V
from logic.vehicle.installation import Installation
from logic.vehicle.meter import standard_uncertainty
from logic.vehicle.points import Point, Run, State
from logic.words.figures import volts

Values = Mapping[tuple[Point, State], float]


class Worked(NamedTuple):
    """A quantity with its two standard spreads (k = 1), in its own unit."""

    value: float
    spread: float  # of sound installations, before anything is read
    meter: float  # of the readings it was worked out from
    is_read: bool

    @property
    def in_volts(self) -> str:
        """A voltage in words: in the digits that were read, or rounded as worked out."""
        return volts(self.value, read=self.is_read)


@dataclass(frozen=True)
class Known:
    """One state of the vehicle as far as it has been read."""

    installation: Installation
    sound: Healthy
    values: Values
    baseline: Values
    state: State

    @classmethod
    def of(
        cls,
        installation: Installation,
        readings: Iterable[Reading],
        baseline: Iterable[Reading],
        judged: tuple[Point, State],
    ) -> "Known":
        """Gather what is known beside the reading at ``judged``."""
        values = {(r.point, r.state): r.value for r in readings}
        values.pop(judged, None)
        earlier = {(r.point, r.state): r.value for r in baseline}
        return cls(installation, healthy(installation), values, earlier, judged[1])

    @property
    def scale(self) -> float:
        """Nominal voltage over 12 V."""
        return self.installation.scale

    @property
    def is_running(self) -> bool:
        """Whether the engine runs."""
        return self.state.engine_runs

    @property
    def has_panel(self) -> bool:
        """Whether a panel is fitted."""
        return self.installation.solar is not None

    def read(self, point: Point, state: State | None = None) -> float | None:
        """Return what was read at a point, in this state unless another is named."""
        return self.values.get((point, state or self.state))

    def measured(self, point: Point, state: State | None = None) -> Worked | None:
        """Return a reading with its uncertainty, or ``None`` where there is none."""
        value = self.read(point, state)
        if value is None:
            return None
        return Worked(value, 0.0, self.uncertainty(point, value), True)

    def uncertainty(self, point: Point, value: float) -> float:
        """Return the standard uncertainty of a value read at a point."""
        return standard_uncertainty(self.installation.meter, point, value)

    def supply(self) -> Worked:
        """Return the volts at the start battery's posts, read or as a sound vehicle's, V."""
        usual = self.sound.supply_v[self.state]
        read = self.measured(Point.START_BATTERY_VOLTAGE)
        return read or Worked(usual.mean, usual.spread, 0.0, False)

    def sunlight(self) -> float | None:
        """Return the share of full sun that was judged, 0 to 1, or ``None``."""
        judged = self.read(Point.SUNLIGHT_FRACTION)
        return None if judged is None else min(max(judged, 0.0), 1.0)

    def live(self, point: Point) -> Worked | None:
        """Return a voltage read where something feeds it; ``None`` for a dead or absurd one, V."""
        read = self.measured(point)
        return read if read and DEAD_V <= read.value / self.scale <= HIGHEST_LIVE_V else None

    def live_supply(self) -> Worked:
        """Return the supply as for :meth:`supply`, but a dead or absurd reading is left out, V."""
        usual = self.sound.supply_v[self.state]
        read = self.live(Point.START_BATTERY_VOLTAGE)
        return read or Worked(usual.mean, usual.spread, 0.0, False)

    def charging_house_voltage(self) -> Worked:
        """Return the volts at the house battery while it is charged, read or reckoned, V."""
        for point in (Point.HOUSE_BATTERY_VOLTAGE, Point.CHARGER_OUTPUT_VOLTAGE):
            if read := self.live(point):
                return read
        house, unit = self.sound.house, self.sound.charger
        ohm = house.resistance_ohm
        ohmic = unit.rated_output_a * ohm.mean
        rest = self.rested_house()
        middle = rest.value + house.rise_v.mean + ohmic
        spread = math.hypot(rest.spread, house.rise_v.spread, ohmic * ohm.spread)
        return Worked(min(middle, unit.absorption_v), spread, rest.meter, False)

    def rested_house(self) -> Worked:
        """Return the house battery's rest voltage, read or usual, V."""
        usual = self.sound.house.rest_v
        read = self.measured(Point.HOUSE_BATTERY_VOLTAGE, State.REST)
        if read and read.value / self.scale < DEAD_V:
            read = None
        return read or Worked(usual.mean, usual.spread, 0.0, False)

    def loop_ohm(self) -> Worked:
        """Return the resistance of the vehicle side's feed and return together, Ω."""
        feed, back = (self.sound.run_ohm[run] for run in (Run.VEHICLE_FEED, Run.VEHICLE_RETURN))
        spread = math.hypot(feed.mean * feed.spread, back.mean * back.spread)
        return Worked(feed.mean + back.mean, spread, 0.0, False)
