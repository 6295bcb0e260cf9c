"""The loop at one moment: where the unit works, and the voltage of every post.

Posts are measured against the start battery's negative.  The unit is settled by bisection,
slow and plain; nothing here is shared with the program's closed forms.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tests.simulator.field.conditions import Moment
from tests.simulator.field.sources import HouseSide, PanelSide, StartSide, largest
from tests.simulator.field.vehicle import RUNS, Vehicle

Law = Callable[[float], float]
# What one unit takes from the start side and gives to the house side, A.
Moved = tuple[float, float]

# Under this the unit leaves a panel alone (assumed).
_LEAST_PANEL_W = 3.0
# Above this a unit counts as left awake; a sound one draws less (assumed).
AWAKE_A = 0.2
_OPEN_FUSE_OHM = 50.0
# Two units are settled when the second moves by less than this from round to round.
_SETTLED_A, _MOST_LEAP_A, _ROUNDS = 1e-5, 40.0, 14


@dataclass(frozen=True)
class Working:
    """What the unit does: its currents in and out, its share of sun, and what holds it back."""

    running: bool = False
    input_a: float = 0.0
    output_a: float = 0.0
    solar_w: float = 0.0
    most_a: float = 0.0
    held_by: str | None = None


@dataclass(frozen=True)
class Nodes:
    """Posts and currents at one moment, the unit's own working beside them."""

    start_v: float
    input_v: float
    negative_v: float
    output_v: float
    house_plus_v: float
    house_minus_v: float
    feed_a: float  # as the clamp on the vehicle feed counts it
    house_a: float  # as the clamp on the house feed counts it
    signal_v: float
    load_a: float
    solar_v: float
    solar_a: float
    unit: Working
    battery_a: float  # into the house battery, from whatever gives it
    second: "Nodes | None" = None  # the same as the second unit has it

    @property
    def given_a(self) -> float:
        """What all units together put into the house side."""
        return self.house_a + (self.second.house_a if self.second else 0.0)

    @property
    def house_v(self) -> float:
        """Volts across the house battery's posts."""
        return self.house_plus_v - self.house_minus_v


@dataclass(frozen=True)
class Terminals:
    """What the unit sees: volts at its input and output terminals by its own current there."""

    input_v: Law
    output_v: Law


class Circuit:
    """One vehicle at one moment of one state."""

    def __init__(self, vehicle: Vehicle, moment: Moment, state: str) -> None:
        self.vehicle, self.moment, self.state = vehicle, moment, state
        self.start = StartSide(vehicle, moment, state)
        self.house = HouseSide(vehicle, moment, state)
        self.panel = PanelSide(vehicle, moment, state)
        contact = vehicle.outside.contact
        loose = contact if contact and moment.chance < contact.share_of_time else None
        self.ohm = {
            run: vehicle.ohm(run) + (loose.ohm if loose and loose.run == run else 0.0)
            for run in RUNS
        }
        consumer = vehicle.consumer
        self.consumer_a = 0.0
        fed = not vehicle.vehicle_fuse_open  # the consumer hangs behind the fuse
        if consumer is not None and fed and (state != "rest" or consumer.at_rest):
            self.consumer_a = consumer.amps
        beside = vehicle.of_the_second()
        self.second = None if beside is None else Circuit(beside, moment, state)
        self._fed: tuple[bool, float] | None = None

    def settled(self) -> Nodes:
        """Return the settled loop, whatever runs beside it."""
        outside = self.vehicle.outside
        if self.second is not None:
            return self._with_the_second(self.second)
        if outside.parallel_ohm is not None and self.start.engine:
            return self._beside(outside.parallel_ohm)
        if outside.hidden_return_ohm is not None:
            return self._through_the_house_side()
        return self._nodes()

    def _beside(self, ohm: float) -> Nodes:
        """Settle with a path from start battery to house battery past the unit."""

        def left_v(amps: float) -> float:
            nodes = self._nodes(amps)
            return nodes.start_v - nodes.house_v - ohm * amps

        return self._nodes(largest(left_v, 0.0, 150.0, steps=22) if left_v(0) >= 0 else 0.0)

    def _through_the_house_side(self) -> Nodes:
        """Settle with both currents in the house return."""
        input_a = output_a = 0.0
        for _ in range(11):
            nodes = self._nodes(0.0, input_a, output_a)
            input_a = 0.3 * input_a + 0.7 * nodes.unit.input_a
            output_a = 0.3 * output_a + 0.7 * nodes.house_a
        return self._nodes(0.0, input_a, output_a)

    def _with_the_second(self, second: "Circuit") -> Nodes:
        """Settle both units in turn, each with what the other takes and gives.

        They start together, on a supply that neither loads yet.
        """
        for unit in (self, second):
            unit._fed = unit._is_fed(unit._terminals(0.0, 0.0, 0.0), 0.0)

        def answers(moved: Moved) -> tuple[Working, Working, Moved]:
            self._meets(moved)
            mine = self._working(self._terminals(0.0, 0.0, 0.0), 0.0)
            second._meets(self._moves(mine))
            its = second._working(second._terminals(0.0, 0.0, 0.0), 0.0)
            return mine, its, second._moves(its)

        moved: Moved = (0.0, 0.0)
        for _ in range(_ROUNDS):
            *_, once = answers(moved)
            mine, its, twice = answers(once)
            if max(abs(new - old) for new, old in zip(twice, once, strict=True)) < _SETTLED_A:
                break
            # Where the answers creep towards an end, go there at once.
            moved = (
                _where_it_ends(moved[0], once[0], twice[0]),
                _where_it_ends(moved[1], once[1], twice[1]),
            )
        self._meets(second._moves(its))
        beside = second._placed(its, 0.0)
        return replace(self._placed(mine, 0.0), second=beside)

    def _meets(self, moved: Moved) -> None:
        """Take in what the other unit takes from the start side and gives to the house side."""
        self.start.also_taken_a, self.house.also_given_a = moved

    def _moves(self, working: Working) -> Moved:
        """Return what leaves the start side and what enters the house side."""
        vehicle = self.vehicle
        if vehicle.exchanged:
            return -working.output_a, -working.input_a
        taken = 0.0 if vehicle.vehicle_fuse_open else working.input_a + self.consumer_a
        given = 0.0 if vehicle.house_fuse_open else working.output_a
        return taken, given

    def _nodes(self, beside_a: float = 0.0, input_a: float = 0.0, output_a: float = 0.0) -> Nodes:
        working = self._working(self._terminals(beside_a, input_a, output_a), beside_a)
        return self._placed(working, beside_a)

    def _placed(self, working: Working, beside_a: float) -> Nodes:
        if self.vehicle.exchanged:
            return self._exchanged(working)
        return self._connected(working, beside_a)

    # What the unit sees

    def _terminals(self, beside_a: float, input_a: float, output_a: float) -> Terminals:
        """``input_a`` and ``output_a`` are what the house return carries for the other side."""
        vehicle, ohm = self.vehicle, self.ohm
        vehicle_ohm = ohm["vehicle_feed"] + ohm["vehicle_return"]
        house_ohm = ohm["house_feed"] + ohm["house_return"]
        if vehicle.exchanged:
            return Terminals(
                lambda amps: self.house.posts_v(-amps) - house_ohm * amps,
                lambda amps: self.start.posts_v(-amps) + vehicle_ohm * amps,
            )
        hidden, shared = vehicle.outside.hidden_return_ohm, ohm["house_return"]
        if hidden is not None:
            loop = ohm["vehicle_feed"] + hidden + shared
            return Terminals(
                lambda amps: self.start.posts_v(amps + beside_a) + shared * output_a - loop * amps,
                lambda amps: (
                    self.house.posts_v(amps + beside_a) - shared * input_a + house_ohm * amps
                ),
            )
        drop_v, consumer_a = self._consumers_drop(), self.consumer_a
        tapped = vehicle.outside.tapped_a
        return Terminals(
            lambda amps: (
                self.start.posts_v(amps + beside_a + consumer_a)
                - drop_v
                - vehicle_ohm * amps
                - self._diode_v(amps)
            ),
            lambda amps: self.house.posts_v(amps - tapped + beside_a) + house_ohm * (amps - tapped),
        )

    def _consumers_drop(self) -> float:
        consumer, ohm = self.vehicle.consumer, self.ohm
        if consumer is None:
            return 0.0
        shared = ohm["vehicle_feed"] * consumer.along_feed
        return self.consumer_a * (
            shared + (ohm["vehicle_return"] if consumer.returns_at_unit else 0.0)
        )

    def _diode_v(self, amps: float) -> float:
        forward = self.vehicle.outside.diode_v
        return forward * (1 + 0.06 * math.log(max(amps, 0.02) / 20)) if forward else 0.0

    def _signal_v(self, start_v: float) -> float:
        signal = self.vehicle.signal
        if not signal.fitted:
            return 0.0
        if signal.dead:
            return signal.stray_v
        live = self.start.engine or signal.live
        return max(0.0, start_v - signal.drop_v) if live else 0.0

    # What the unit does

    @property
    def _cut(self) -> bool:
        return self.vehicle.vehicle_fuse_open or self.vehicle.negative_open is not None

    @property
    def _set_v(self) -> float:
        unit = self.vehicle.unit
        chosen = unit.float_v if unit.in_float else unit.absorption_v
        chosen += unit.profile_shift_v + unit.absorption_error_v
        return chosen + self.vehicle.compensation_v

    def _working(self, sees: Terminals, beside_a: float) -> Working:
        vehicle, unit = self.vehicle, self.vehicle.unit
        reverse = vehicle.outside.reverse_a
        if reverse is not None:
            volts = self.house.posts_v(-reverse) / max(self.start.posts_v(0), 5)
            return Working(output_a=-reverse, input_a=-reverse * 0.88 * volts)
        fed, stop_v = self._fed or self._is_fed(sees, beside_a)
        lit = self.panel.most_w > _LEAST_PANEL_W and vehicle.negative_open != "all"
        quiet = 0.0 if vehicle.exchanged or self._cut else unit.quiet_a
        refuses = vehicle.sensor is not None and vehicle.sensor.stops_charge
        if unit.dead or refuses or not (fed or lit):
            return Working(input_a=quiet)
        working = self._converts(sees, stop_v if fed else None)
        input_a = working.input_a
        if self.state == "rest" and quiet > AWAKE_A:
            input_a += quiet
        if self.state == "solar" and not fed:
            input_a = max(input_a, quiet)
        return Working(
            True, input_a, working.output_a, working.solar_w, working.most_a, working.held_by
        )

    def _is_fed(self, sees: Terminals, beside_a: float) -> tuple[bool, float]:
        """Return whether the vehicle's supply starts the unit, and its stop voltage."""
        unit, pulses = self.vehicle.unit, self.vehicle.outside.pulses
        drawn = 0.0 if self.vehicle.exchanged else beside_a + self.consumer_a
        signalled = self._signal_v(self.start.posts_v(drawn)) >= unit.signal_min_v
        start_v = unit.signalled_start_v if signalled else unit.start_v
        stop_v = unit.signalled_stop_v if signalled else unit.stop_v
        paused = pulses is not None and self.moment.chance > pulses
        if self._cut or paused:
            return False, stop_v
        return start_v <= sees.input_v(0.0) <= unit.overvoltage_cut_v, stop_v

    def _converts(self, sees: Terminals, stop_v: float | None) -> Working:
        """Return the running unit's balance; without a stop voltage it lives on the panel."""
        vehicle, unit, set_v = self.vehicle, self.vehicle.unit, self._set_v
        tapped = vehicle.outside.tapped_a
        most = unit.rating_a * unit.share * unit.derated_to * unit.limited_to
        input_most, input_w, held_by = self._input_limit(sees, stop_v)

        def output_v(amps: float) -> float:
            if vehicle.house_fuse_open:
                return set_v + _OPEN_FUSE_OHM * (amps - tapped)
            return sees.output_v(amps)

        def needed_w(amps: float) -> float:
            short_of_full = max(0.0, 1 - amps / unit.rating_a)
            efficiency = unit.efficiency - unit.part_load_loss * short_of_full**2
            return (output_v(amps) * amps + unit.own_use_w) / efficiency

        def by_voltage(amps: float) -> float:
            return most * min(1.0, max(0.0, (set_v - output_v(amps)) / unit.softness_v)) - amps

        def by_power(amps: float) -> float:
            return input_w + self.panel.most_w - needed_w(amps)

        output_a, limit = 0.0, None
        if not self._gives_nothing():
            voltage_a, power_a = largest(by_voltage, 0.0, most), largest(by_power, 0.0, most)
            output_a = min(voltage_a, power_a)
            limit = "voltage" if voltage_a <= power_a else held_by
            limit = "rating" if output_a > 0.9 * most else limit
        needed = needed_w(output_a) if output_a > 0 else unit.own_use_w / unit.efficiency
        solar = min(self.panel.most_w, needed)
        input_a = 0.0
        if input_most > 0:
            left = max(0.0, needed - solar)
            input_a = largest(lambda amps: left - amps * sees.input_v(amps), 0.0, input_most)
        return Working(True, input_a, output_a, solar, most, limit)

    def _input_limit(self, sees: Terminals, stop_v: float | None) -> tuple[float, float, str]:
        """Return the most current and power the unit takes from the vehicle, and why no more."""
        unit = self.vehicle.unit
        if stop_v is None:
            return 0.0, 0.0, "input"
        holds = max(stop_v, unit.holds_at_v) if unit.holds_fixed else stop_v + unit.holds_over_v
        holds += unit.holds_extra_v
        if sees.input_v(0.0) <= holds:
            return 0.0, 0.0, "input"
        most, held_by = largest(lambda amps: sees.input_v(amps) - holds, 0.0, 400.0), "input"
        if unit.input_limit_a is not None and most > unit.input_limit_a:
            most, held_by = unit.input_limit_a, "input limit"
        # Power peaks somewhere along the way: it never works beyond the top of it.
        amps = np.linspace(0, most, 60)
        watts = [float(one) * sees.input_v(float(one)) for one in amps]
        peak = int(np.argmax(watts))
        return float(amps[peak]), watts[peak], held_by

    def _gives_nothing(self) -> bool:
        vehicle, unit = self.vehicle, self.vehicle.unit
        if vehicle.house_fuse_open:
            return not vehicle.outside.tapped_a
        protection = vehicle.house.protection
        return (protection == "cold" and not unit.works_into_blocked) or (
            protection == "tripped" and not unit.wakes_tripped
        )

    # Where every post lies

    def _exchanged(self, working: Working) -> Nodes:
        """Input and output leads on each other's terminals: the house side feeds the start side."""
        ohm, input_a, output_a = self.ohm, working.input_a, working.output_a
        start_v = self.start.posts_v(-output_a)
        negative = -ohm["vehicle_return"] * output_a
        house_minus = negative - ohm["house_return"] * input_a
        house_plus = house_minus + self.house.posts_v(-input_a)
        at_terminal = self.vehicle.clamp_at_terminal
        return self._with_the_rest(
            working,
            start_v=start_v,
            input_v=house_plus - ohm["house_feed"] * input_a,
            negative_v=negative,
            output_v=start_v + ohm["vehicle_feed"] * output_a,
            house_plus_v=house_plus,
            house_minus_v=house_minus,
            feed_a=input_a if at_terminal else -output_a,
            house_a=output_a if at_terminal else -input_a,
        )

    def _connected(self, working: Working, beside_a: float) -> Nodes:
        vehicle, ohm, consumer_a = self.vehicle, self.ohm, self.consumer_a
        input_a = working.input_a
        house_a = 0.0 if vehicle.house_fuse_open else working.output_a - vehicle.outside.tapped_a
        start_v = self.start.posts_v(input_a + beside_a + consumer_a)
        along = vehicle.consumer.along_feed if vehicle.consumer else 0.0
        input_v = start_v - ohm["vehicle_feed"] * (input_a + along * consumer_a)
        input_v -= self._diode_v(input_a)
        hidden = vehicle.outside.hidden_return_ohm
        if hidden is not None:
            house_minus = hidden * input_a
            negative = house_minus + ohm["house_return"] * (input_a - house_a)
        else:
            returns = vehicle.consumer is not None and vehicle.consumer.returns_at_unit
            negative = ohm["vehicle_return"] * (input_a + (consumer_a if returns else 0.0))
            house_minus = negative + ohm["house_return"] * house_a
        house_v = self.house.posts_v(house_a + beside_a)
        if self._nothing_feeds_the_loads(house_a):
            house_v = vehicle.house.tripped_v
        output_v = house_minus + house_v + ohm["house_feed"] * house_a
        feed_a = input_a + consumer_a
        if vehicle.house_fuse_open:
            output_v = negative + self._shown_unloaded(working.running)
        if vehicle.vehicle_fuse_open:
            start_v = self.start.posts_v(beside_a)
            input_v, feed_a = negative + vehicle.unit.floating_v, 0.0
        if vehicle.negative_open is not None:
            input_v = start_v
            if vehicle.negative_open == "all":
                lifts = 0.3 + vehicle.unit.floating_v
                negative = min(start_v - lifts, house_v + lifts)
                house_minus, output_v = 0.0, house_v
            else:
                negative = start_v - 0.3 - vehicle.unit.floating_v * 2
                house_minus = negative + ohm["house_return"] * house_a
                output_v = house_minus + house_v + ohm["house_feed"] * house_a
        return self._with_the_rest(
            working,
            start_v=start_v,
            input_v=input_v,
            negative_v=negative,
            output_v=output_v,
            house_plus_v=house_minus + house_v,
            house_minus_v=house_minus,
            feed_a=feed_a,
            house_a=house_a,
        )

    def _nothing_feeds_the_loads(self, house_a: float) -> bool:
        """Whether the battery has cut itself off and no charger stands in for it."""
        tripped = self.vehicle.house.protection == "tripped"
        given_a = house_a + self.house.also_given_a
        return tripped and given_a <= 1e-9 and not self.house.other_works

    def _shown_unloaded(self, running: bool) -> float:
        unit = self.vehicle.unit
        if not running or unit.unloaded_shows == "nothing":
            return unit.floating_v
        return self._set_v if unit.unloaded_shows == "absorption" else unit.float_v

    def _with_the_rest(self, working: Working, **posts: float) -> Nodes:
        solar_v, solar_a = self.panel.plugged(working.solar_w)
        load = self.house.load_a
        house_v = posts["house_plus_v"] - posts["house_minus_v"]
        given_a = -working.input_a if self.vehicle.exchanged else posts["house_a"]
        battery_a = given_a + self.house.also_given_a + self.house.helped_a(house_v) - load
        if self.vehicle.house.protection == "tripped":
            battery_a = 0.0
            dead = self._nothing_feeds_the_loads(posts["house_a"])
            load = 0.0 if dead else house_v / self.house.load_ohm
        return Nodes(
            **posts,
            signal_v=self._signal_v(posts["start_v"]),
            load_a=load,
            solar_v=solar_v,
            solar_a=solar_a,
            unit=working,
            battery_a=battery_a,
        )


def _where_it_ends(first: float, once: float, twice: float) -> float:
    """Return where a row goes whose steps shrink by one ratio (Aitken's delta-squared)."""
    bend = twice - 2 * once + first
    if abs(bend) < 1e-9:
        return twice
    end = first - (once - first) ** 2 / bend
    # A far end is a row that does not shrink: half a step is safe there.
    return end if abs(end - twice) < _MOST_LEAP_A else 0.5 * (once + twice)
