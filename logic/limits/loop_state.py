"""One state of the loop as far as it has been read: what was read, and what follows from it.

    output volts x output amps = efficiency x (input volts x input amps + panel's power) - own use

Every quantity is read, or worked out from what was read, or a sound installation's; it carries
how far a sound installation may lie from it, and the meter's part in it. The reading that is
being judged is left out.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from logic.case import Reading
from logic.circuit import tables
from logic.circuit.sound_installation import SoundInstallation, sound_installation
from logic.limits.impossible import possible_only
from logic.quantities import Ampere, Fraction, Ohm, Volt
from logic.vehicle.assumed import (
    DEAD_V,
    HIGHEST_LIVE_V,
    JOINT_AGEING,
    QUOTIENT_CURRENT_A,
    TELLING_CURRENT_A,
    TELLING_SHARE,
)
from logic.vehicle.installation import Extra, Installation
from logic.vehicle.meter import standard_uncertainty
from logic.vehicle.points import (
    CURRENT_THROUGH,
    DROP_ACROSS,
    FEEDS,
    HOUSE_SIDE,
    VEHICLE_SIDE,
    Point,
    ReadingKey,
    Run,
    State,
)
from logic.words.figures import amperes, volts

# How many standard spreads a sound installation may lie from its middle.
SIGMAS = 2.0

_INPUT_OVER_OUTPUT = 1.2  # assumed: at one voltage a unit draws a fifth more than it gives
_MOST_LOST = 0.25  # assumed: share of the supply that sound runs never lose
_LIMIT_KEPT = 1.05  # assumed: how exactly a unit keeps its set input limit
_REMADE_OHM = 0.0003  # assumed: what undoing and remaking a joint may add


class Quantity(NamedTuple):
    """A value in its own unit, with its two standard spreads (k = 1)."""

    value: float
    spread: float
    """Of sound installations, before anything is read."""
    uncertainty: float
    """Of the meter, in the readings that it was worked out from."""
    is_read: bool

    @property
    def in_volts(self) -> str:
        """A voltage in words: in the digits that were read, or rounded as worked out."""
        return volts(self.value, read=self.is_read)


class Flow(NamedTuple):
    """A current, and the range where a sound installation's may lie."""

    low: Ampere
    likely: Ampere
    high: Ampere
    uncertainty: Ampere
    """Standard (k = 1), of the meter."""
    is_known: bool
    """Whether it was read, or follows from what was read."""

    @property
    def in_amperes(self) -> str:
        """The current in words: in the digits that were read, or the most that it may be."""
        if self.is_known:
            return amperes(self.likely, read=True)
        return f"up to {amperes(self.high)}"


class Basis(StrEnum):
    """What a run's greatest resistance goes by."""

    DESCRIPTION = "description"
    COMMISSIONING = "commissioning"
    PRACTICE = "practice"


@dataclass(frozen=True)
class RunResistance:
    """What a run's resistance should be: likely, least and most."""

    likely: Ohm
    least: Ohm
    most: Ohm
    basis: Basis
    uncertainty: Ohm = 0.0
    """Standard (k = 1), of the meter at commissioning."""


@dataclass(frozen=True)
class LoopState:
    """One state of the vehicle as far as it has been read."""

    installation: Installation
    sound: SoundInstallation
    readings: Mapping[ReadingKey, float]
    baseline: Mapping[ReadingKey, float]
    state: State

    @classmethod
    def of(
        cls,
        installation: Installation,
        readings: Iterable[Reading],
        baseline: Iterable[Reading],
        judged: ReadingKey,
    ) -> "LoopState":
        """Gather what is known in a state beside the reading that is judged in it.

        What the circuit cannot show is not known by having been read.
        """
        read = {ReadingKey(r.point, r.state): r.value for r in readings}
        values = possible_only(read, installation.scale)
        values.pop(judged, None)
        earlier = {ReadingKey(r.point, r.state): r.value for r in baseline}
        return cls(installation, sound_installation(installation), values, earlier, judged.state)

    @property
    def scale(self) -> float:
        """The vehicle's nominal voltage over 12 V."""
        return self.sound.scale

    @property
    def house_scale(self) -> float:
        """The house side's nominal voltage over 12 V."""
        return self.sound.house_scale

    def scale_of(self, run: Run) -> float:
        """Nominal voltage over 12 V of the side that a run belongs to."""
        return self.house_scale if run in HOUSE_SIDE else self.scale

    @property
    def has_converter(self) -> bool:
        """Whether the vehicle's supply is a converter, so that no engine need run for it."""
        return self.installation.has(Extra.CONVERTER)

    @property
    def when_off(self) -> str:
        """What the vehicle does while nothing supplies it: "with the engine off"."""
        return "with the vehicle switched off" if self.has_converter else "with the engine off"

    @property
    def has_panel(self) -> bool:
        """Whether a panel is fitted."""
        return self.installation.solar is not None

    # Readings

    def read(self, point: Point, state: State | None = None) -> float | None:
        """Return what was read at a point, in this state unless another is named.

        Returns
        -------
        the point's unit
        """
        return self.readings.get(ReadingKey(point, state or self.state))

    def measured(self, point: Point, state: State | None = None) -> Quantity | None:
        """Return a reading with its uncertainty, or ``None`` where there is none."""
        value = self.read(point, state)
        if value is None:
            return None
        return Quantity(value, 0.0, self.uncertainty(point, value), True)

    def uncertainty(self, point: Point, value: float) -> float:
        """Standard uncertainty (k = 1) of a value read at a point.

        Parameters
        ----------
        point
            Where it was read.
        value : unit of the point
            As read.

        Returns
        -------
        unit of the point
        """
        return standard_uncertainty(self.installation.meter, point, value)

    def live(self, point: Point) -> Quantity | None:
        """Voltage read where something feeds it; ``None`` for a dead or an absurd one.

        Returns
        -------
        V
        """
        read = self.measured(point)
        scale = point.scale_on(self.installation)
        return read if read and DEAD_V <= read.value / scale <= HIGHEST_LIVE_V else None

    def sunlight(self) -> Fraction | None:
        """Share of full sun that was judged, or ``None``.

        Returns
        -------
        1
        """
        judged = self.read(Point.SUNLIGHT_FRACTION)
        return None if judged is None else min(max(judged, 0.0), 1.0)

    def has_signal(self) -> bool:
        """Tell whether the ignition input is live, or likely to be where it was not read."""
        signal = self.read(Point.IGNITION_SIGNAL_VOLTAGE)
        if signal is None:
            return self.sound.ignition_wired > 0.5
        return signal >= self.sound.charger.ignition_signal_min_v

    # Voltages

    def supply(self) -> Quantity:
        """Voltage at the start battery's posts: as read, else a sound vehicle's.

        Returns
        -------
        V
        """
        return self.measured(Point.START_BATTERY_VOLTAGE) or self._usual_supply()

    def live_supply(self) -> Quantity:
        """Voltage as of :meth:`supply`, but a dead or an absurd reading is left out.

        Returns
        -------
        V
        """
        return self.live(Point.START_BATTERY_VOLTAGE) or self._usual_supply()

    def _usual_supply(self) -> Quantity:
        usual = self.sound.supply_v[self.state]
        return Quantity(usual.mean, usual.spread, 0.0, False)

    def input_voltage(self) -> Quantity:
        """Voltage at the charger's input: as read, else the supply less a sound loop's drop.

        Returns
        -------
        V
        """
        if read := self.live(Point.CHARGER_INPUT_VOLTAGE):
            return read
        supply, ohm = self.live_supply(), self.loop_resistance()
        ratio = self.house_scale / self.scale
        current = _INPUT_OVER_OUTPUT * ratio * self.sound.charger.rated_output_a
        drop = min(ohm.value * current, _MOST_LOST * supply.value)
        spread = math.hypot(supply.spread, ohm.spread * current)
        return Quantity(supply.value - drop, spread, supply.uncertainty, False)

    def output_voltage(self, current: Ampere) -> Quantity:
        """Voltage at the charger's output: as read, else the battery's and the house runs' loss.

        Parameters
        ----------
        current : A
            Through the house runs.

        Returns
        -------
        V
        """
        if read := self.live(Point.CHARGER_OUTPUT_VOLTAGE):
            return read
        posts = self.charging_house_voltage()
        runs = [self.sound.run_ohm[run] for run in HOUSE_SIDE]
        lost = max(current, 0.0) * sum(run.mean for run in runs)
        spread = max(current, 0.0) * math.hypot(*(run.mean * run.spread for run in runs))
        both = math.hypot(posts.spread, spread)
        return Quantity(posts.value + lost, both, posts.uncertainty, False)

    def charging_house_voltage(self) -> Quantity:
        """Voltage at the house battery while it is charged: as read, else by its rest voltage.

        Returns
        -------
        V
        """
        for point in (Point.HOUSE_BATTERY_VOLTAGE, Point.CHARGER_OUTPUT_VOLTAGE):
            if read := self.live(point):
                return read
        house, unit = self.sound.house, self.sound.charger
        ohmic = (unit.rated_output_a + self.beside().value) * house.resistance_ohm.mean
        rest = self.rested_house_voltage()
        middle = rest.value + house.rise_v.mean + ohmic
        spread = math.hypot(rest.spread, house.rise_v.spread, ohmic * house.resistance_ohm.spread)
        return Quantity(min(middle, unit.absorption_v), spread, rest.uncertainty, False)

    def rested_house_voltage(self) -> Quantity:
        """Rest voltage of the house battery: as read, else a sound one's.

        Returns
        -------
        V
        """
        usual = self.sound.house.rest_v
        read = self.measured(Point.HOUSE_BATTERY_VOLTAGE, State.REST)
        if read and read.value / self.house_scale >= DEAD_V:
            return read
        return Quantity(usual.mean, usual.spread, 0.0, False)

    # Resistances

    def loop_resistance(self) -> Quantity:
        """Resistance of a sound vehicle feed and return together.

        Returns
        -------
        Ω
        """
        feed, back = (self.sound.run_ohm[run] for run in VEHICLE_SIDE)
        spread = math.hypot(feed.mean * feed.spread, back.mean * back.spread)
        return Quantity(feed.mean + back.mean, spread, 0.0, False)

    def run_resistance(self, run: Run) -> RunResistance:
        """Resistance that a run should have: by its commissioning, else by its description.

        Where a run is not described, practice decides if it is stricter than not knowing, but
        never under a usual run.

        Returns
        -------
        Ω
        """
        usual, least = self.sound.run_ohm[run], self.sound.run_least_ohm[run]
        most = usual.mean * math.exp(SIGMAS * usual.spread)
        permitted = self.practice_limit(run) / self.sound.full_load_a[run]
        commissioned = self._commissioned(run)
        if commissioned is not None:
            likely, uncertainty = commissioned
            aged = likely * math.exp(SIGMAS * JOINT_AGEING) + _REMADE_OHM
            most = min(aged, max(most, permitted))
            least = min(least, 0.5 * likely)
            return RunResistance(likely, least, most, Basis.COMMISSIONING, uncertainty)
        least, basis = min(least, 0.5 * usual.mean), Basis.DESCRIPTION
        cable = getattr(self.installation.runs, run.value)
        if cable.length_m is None or cable.area_mm2 is None:
            most = min(most, max(permitted, usual.mean * math.exp(usual.spread)))
            basis = Basis.PRACTICE if most == permitted else basis
        return RunResistance(usual.mean, least, most, basis)

    def practice_limit(self, run: Run) -> Volt:
        """Loss at full load that practice permits along a run, its joints included.

        Returns
        -------
        V
        """
        scale = self.scale_of(run)
        if run in FEEDS:
            return tables.number("conductors", "drop_limit.charging_cable") * scale
        cable = tables.number("conductors", "drop_limit.return_cable")
        return (cable + 2 * tables.number("conductors", "drop_limit.joint")) * scale

    def _commissioned(self, run: Run) -> tuple[Ohm, Ohm] | None:
        """Return the resistance measured at commissioning and the meter's part in it, Ω."""
        across, through = DROP_ACROSS[run], CURRENT_THROUGH[run]
        for state in dict.fromkeys((self.state, State.FAST_IDLE, State.IDLE, State.SOLAR)):
            drop = self.baseline.get(ReadingKey(across, state))
            current = self.baseline.get(ReadingKey(through, state))
            if drop is None or current is None or current < QUOTIENT_CURRENT_A or drop <= 0:
                continue
            ohm = drop / current
            uncertainty = math.hypot(
                self.uncertainty(across, drop), ohm * self.uncertainty(through, current)
            )
            return ohm, uncertainty / current
        return None

    # Currents

    def flow(self, run: Run) -> Flow:
        """Current through a run: read, or worked out by power, or what it may be.

        Returns
        -------
        A
        """
        return self._input_flow() if run in VEHICLE_SIDE else self._output_flow()

    def beside(self) -> Quantity:
        """Output current of a second unit: as read, else up to its rating while the engine runs.

        Returns
        -------
        A
            Nothing where one unit is fitted.
        """
        if read := self.measured(Point.SECOND_UNIT_OUTPUT_CURRENT):
            return read
        rating = self.installation.fitted.second_charger_rated_output_current_a or 0.0
        most = rating * self.state.engine_runs
        return Quantity(most / 2, most / 2 / SIGMAS, 0.0, False)

    def within_input_limit(self, current: Ampere) -> Ampere:
        """An input current, or the most that the unit's set limit lets through.

        Parameters
        ----------
        current : A
            Without a limit.

        Returns
        -------
        A
        """
        return min(current, self.sound.charger.input_limit_a * _LIMIT_KEPT)

    def input_for(self, output: Quantity, with_panel: bool = True) -> Quantity:
        """Current the unit draws from the vehicle to give an output current.

        Parameters
        ----------
        output : A
            Into the house feed.
        with_panel
            Whether the panel, where one is fitted, gives its part.

        Returns
        -------
        A
        """
        unit, at_input = self.sound.charger, self.input_voltage()
        at_output = self.output_voltage(output.value)
        given = max(at_output.value * output.value, 0.0)
        needed = (given + unit.own_use_w.mean) / unit.efficiency.mean
        panel = self.panel_power() if with_panel and self.has_panel else _NO_POWER
        drawn = max((needed - panel.value) / at_input.value, 0.0)
        watts = math.hypot(
            needed * unit.efficiency.spread / unit.efficiency.mean,
            unit.own_use_w.spread,
            needed * at_output.spread / at_output.value,
            panel.spread,
        )
        spread = math.hypot(watts, at_input.spread * drawn) / at_input.value
        uncertainty = needed * output.uncertainty / max(output.value, 1.0) / at_input.value
        return Quantity(drawn, spread, uncertainty, False)

    def panel_power(self) -> Quantity:
        """Power of the panel: read volts by amps, else by the sunlight, else anything it can.

        Returns
        -------
        W
        """
        current = self.measured(Point.SOLAR_CURRENT)
        at_panel = self.measured(Point.SOLAR_INPUT_VOLTAGE)
        usual = self.sound.panel
        voltage = at_panel.value if at_panel else usual.working_v.mean
        if current:
            spread = 0.0 if at_panel else current.value * usual.working_v.spread
            uncertainty = current.uncertainty * voltage
            return Quantity(abs(current.value * voltage), spread, uncertainty, True)
        light = self.sunlight()
        full = usual.current_a.mean * usual.working_v.mean
        if light is None:
            return Quantity(full / 2, full / 2, 0.0, False)
        by_eye = self.uncertainty(Point.SUNLIGHT_FRACTION, light)
        relative = usual.current_a.spread / max(usual.current_a.mean, 1e-9)
        return Quantity(full * light, full * math.hypot(by_eye, light * relative), 0.0, False)

    def _input_flow(self) -> Flow:
        if read := self.measured(Point.INPUT_CURRENT):
            return _certain(read)
        if not self.state.engine_runs:
            return Flow(0.0, 0.0, 0.0, 0.0, True)
        given = self.measured(Point.OUTPUT_CURRENT)
        if given:
            drawn = self.input_for(given)
            if not self.has_panel or self.read(Point.SOLAR_CURRENT) is not None:
                return _certain(drawn)
            return Flow(0.0, drawn.value, drawn.value + SIGMAS * drawn.spread, 0.0, False)
        over = tables.number("charger", "usual.rating_over")
        full = Quantity(self.sound.charger.rated_output_a * over, 0.0, 0.0, False)
        most = self.input_for(full, with_panel=False)
        high = self.within_input_limit(most.value + SIGMAS * most.spread)
        return Flow(0.0, high / over, high, 0.0, False)

    def _output_flow(self) -> Flow:
        if read := self.measured(Point.OUTPUT_CURRENT):
            return _certain(read)
        if self.state is State.REST:
            return Flow(0.0, 0.0, 0.0, 0.0, True)
        drawn = self.measured(Point.INPUT_CURRENT)
        if self.state.engine_runs and drawn and not self.has_panel:
            return _certain(self._output_for(drawn))
        likely = self.sound.charger.rated_output_a
        high = likely * tables.number("charger", "usual.rating_over")
        if not self.state.engine_runs:
            panel, posts = self.panel_power(), self.charging_house_voltage().value
            likely = panel.value / posts
            high = (panel.value + SIGMAS * panel.spread) / posts
        return Flow(0.0, likely, high, 0.0, False)

    def _output_for(self, drawn: Quantity) -> Quantity:
        """Return the output current that an input current makes, A."""
        unit, at_input = self.sound.charger, self.input_voltage()
        taken = at_input.value * drawn.value
        posts = self.charging_house_voltage()
        at_output = self.output_voltage(unit.efficiency.mean * taken / posts.value)
        given = max(unit.efficiency.mean * taken - unit.own_use_w.mean, 0.0)
        spread = math.hypot(
            taken * unit.efficiency.spread,
            unit.own_use_w.spread,
            given * at_output.spread / at_output.value,
            given * at_input.spread / at_input.value,
        )
        uncertainty = drawn.uncertainty * at_input.value / at_output.value
        return Quantity(given / at_output.value, spread / at_output.value, uncertainty, False)


_NO_POWER = Quantity(0.0, 0.0, 0.0, False)


def telling_current(rated_output_a: Ampere) -> Ampere:
    """Current from which a drop says something about a run's joints.

    Parameters
    ----------
    rated_output_a : A
        Of the unit.

    Returns
    -------
    A
    """
    return max(TELLING_CURRENT_A, TELLING_SHARE * rated_output_a)


def _certain(current: Quantity) -> Flow:
    reach = SIGMAS * current.spread
    return Flow(
        current.value - reach, current.value, current.value + reach, current.uncertainty, True
    )
