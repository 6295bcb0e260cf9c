"""Where the whole loop settles: start battery, charger, house battery and the runs between.

One state of the vehicle at a time, in closed form and without iteration, on arrays of any
shapes that broadcast together, so that thousands of variants cost one call.  Current is
positive towards the house battery.  The charger's behaviour is the one the case contract
describes; no number in here belongs to any unit.

Assumptions
-----------
* The start battery's post voltage is given as it is under the load that flows (its own
  source resistance is in it); the house loads are connected at the house battery's posts.
* Output power = efficiency x (vehicle + solar power) - self-consumption; solar goes first.
* Output terminals never exceed the voltage limit; input current never exceeds its limit;
  the input is never drawn under ``hold_voltage_v`` and never past the source's best power.
* Near its voltage limit a unit may taper: ``taper_ohm`` is how far under the limit each ampere
  keeps the terminals.
* Something else on the vehicle feed takes its current at the charger's input and returns it by
  the body, not by the charger's own return.
* Behind an open protection the loads hang on the unit alone.
* A run with infinite resistance is open.  An open terminal with nothing behind it reads 0 V.
* A charger whose own negative is off floats up towards the supply through its own input.
* With input and output leads on each other's terminals the loop is its own mirror image: what
  runs on the house battery charges the start battery, whose voltage is given as it then is.
* The signal voltage is given as it stands on the terminal, against the charger negative.
"""

from dataclasses import dataclass, fields, replace
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64] | float
Flags = NDArray[np.bool_] | bool
Array = NDArray[np.float64]


class Limit(IntEnum):
    """What sets the output current, or why there is none."""

    RATING = 0
    VOLTAGE = 1
    INPUT_HELD = 2
    INPUT_LIMIT = 3
    SOLAR_POWER = 4
    NOTHING_ON_OUTPUT = 5
    OFF_NO_SUPPLY = 6
    OFF_SUPPLY_LOW = 7
    OFF_UNIT_DEAD = 8


@dataclass(frozen=True)
class Circuit:
    """The loop in one state; every field is a number or an array, all broadcastable.

    ``vehicle_on`` overrides the start thresholds where it is given: whether the unit takes
    power from the vehicle.  ``hold_voltage_v`` is where it holds its input, the stop voltage
    where it is not given.  ``blocks_charging`` and ``blocks_all`` are the house battery's
    own protection; ``shows_absorption`` says what a unit does with nothing, or a blocked
    battery, on its output: absorption voltage (True) or nothing (False); ``open_posts_v`` is
    what stands at the posts of a battery whose protection blocks all and that nothing feeds.
    ``feed_consumer_a`` flows through the vehicle feed past the charger; ``exchanged`` says that
    input and output leads sit on each other's terminals.
    """

    supply_v: Values
    vehicle_feed_ohm: Values
    vehicle_return_ohm: Values
    house_feed_ohm: Values
    house_return_ohm: Values
    house_emf_v: Values
    house_battery_ohm: Values
    rated_output_a: Values
    voltage_limit_v: Values
    efficiency: Values = 0.92
    self_consumption_w: Values = 3.0
    output_fraction: Values = 1.0
    house_load_a: Values = 0.0
    input_limit_a: Values = np.inf
    solar_w: Values = 0.0
    start_voltage_v: Values = 13.2
    stop_voltage_v: Values = 12.7
    ignition_start_voltage_v: Values = 12.0
    ignition_stop_voltage_v: Values = 11.5
    ignition_signal_min_v: Values = 8.0
    ignition_signal_v: Values = 0.0
    hold_voltage_v: Values | None = None
    taper_ohm: Values = 0.0
    feed_consumer_a: Values = 0.0
    vehicle_on: Flags | None = None
    unit_dead: Flags = False
    shows_absorption: Flags = True
    blocks_charging: Flags = False
    blocks_all: Flags = False
    open_posts_v: Values = 0.0
    exchanged: Flags = False
    charger_negative_open: Flags = False
    floating_fraction: Values = 1.0


@dataclass(frozen=True)
class OperatingPoint:
    """Voltages and currents of the loop, one array per electrical point of the contract.

    Units are in the names.  ``limit`` holds :class:`Limit` values; ``vehicle_on`` says
    whether the vehicle feeds the unit.
    """

    start_battery_voltage_v: Array
    vehicle_feed_drop_v: Array
    vehicle_return_drop_v: Array
    charger_input_voltage_v: Array
    charger_output_voltage_v: Array
    house_feed_drop_v: Array
    house_return_drop_v: Array
    house_battery_voltage_v: Array
    input_current_a: Array
    output_current_a: Array
    house_load_current_a: Array
    solar_power_w: Array
    limit: NDArray[np.int64]
    vehicle_on: NDArray[np.bool_]


def solve(circuit: Circuit, smoothing: float = 0.0) -> OperatingPoint:
    """Settle the loop.

    Parameters
    ----------
    circuit : Circuit
        One state; arrays broadcast together.
    smoothing : A
        Width of the smooth minimum between the current limits; 0 is exact.

    Returns
    -------
    OperatingPoint
        Arrays of the broadcast shape.
    """
    straight = _solve_straight(circuit, smoothing)
    swapped = np.broadcast_to(circuit.exchanged, straight.limit.shape)
    return _with_exchanged(circuit, straight, swapped, smoothing) if swapped.any() else straight


def _solve_straight(circuit: Circuit, smoothing: float) -> OperatingPoint:
    """Settle the loop with each lead on its own terminal."""
    on = _vehicle_on(circuit)
    side = _OutputSide.of(circuit)
    candidates = _current_limits(circuit, on, side)
    current, which = _least(candidates, smoothing)
    dead = np.asarray(circuit.unit_dead) | ~(on | (np.asarray(circuit.solar_w) > 0))
    current = np.where(dead | side.nothing, 0.0, current)
    output, posts = side.voltages(circuit, current, dead)
    drawn, solar = _drawn(circuit, on, dead, output, current)
    limit = _limit(circuit, dead, side, which)
    return _points(circuit, (current, output, posts, drawn, solar), (on & ~dead, limit))


def _finite(resistance: Values) -> Array:
    value = np.asarray(resistance, dtype=np.float64)
    return np.where(np.isinf(value), 0.0, value)


def _with_exchanged(
    circuit: Circuit, straight: OperatingPoint, swapped: NDArray[np.bool_], smoothing: float
) -> OperatingPoint:
    """Put the loops with exchanged leads in the place of the straight ones.

    A current is negative where it flows back to the start battery.
    """
    part: dict[str, Any] = {
        one.name: np.broadcast_to(value, swapped.shape)[swapped]
        for one in fields(circuit)
        if (value := getattr(circuit, one.name)) is not None
    }
    posts_ohm = part["house_battery_ohm"]
    mirrored = replace(
        Circuit(**part),
        supply_v=part["house_emf_v"] - part["house_load_a"] * posts_ohm,
        vehicle_feed_ohm=part["house_feed_ohm"] + posts_ohm,
        vehicle_return_ohm=part["house_return_ohm"],
        house_feed_ohm=part["vehicle_feed_ohm"],
        house_return_ohm=part["vehicle_return_ohm"],
        house_emf_v=part["supply_v"],
        house_battery_ohm=0.0,
        house_load_a=0.0,
        feed_consumer_a=0.0,
        blocks_charging=False,
        blocks_all=False,
        exchanged=False,
    )
    back = _solve_straight(mirrored, smoothing)
    taken, given, start_v = back.input_current_a, back.output_current_a, part["supply_v"]
    posts_v = mirrored.supply_v - taken * posts_ohm
    found = {
        "vehicle_return_drop_v": -back.house_return_drop_v,
        "charger_input_voltage_v": back.charger_input_voltage_v,
        "charger_output_voltage_v": back.charger_output_voltage_v,
        "house_return_drop_v": -back.vehicle_return_drop_v,
        "house_battery_voltage_v": posts_v,
        "input_current_a": -given,
        "output_current_a": -taken,
        # From post to terminal, as it is measured: each feed ends on the other terminal.
        "vehicle_feed_drop_v": start_v - back.charger_input_voltage_v + back.house_return_drop_v,
        "house_feed_drop_v": back.charger_output_voltage_v - posts_v + back.vehicle_return_drop_v,
        "solar_power_w": back.solar_power_w,
        "limit": back.limit,
        "vehicle_on": back.vehicle_on,
    }
    whole = {name: getattr(straight, name).copy() for name in found}
    for name, values in found.items():
        whole[name][swapped] = values
    return replace(straight, **whole)


def _isolated(circuit: Circuit) -> NDArray[np.bool_]:
    open_run = np.isinf(circuit.vehicle_feed_ohm) | np.isinf(circuit.vehicle_return_ohm)
    return np.asarray(open_run | np.asarray(circuit.charger_negative_open))


def _signalled(circuit: Circuit) -> NDArray[np.bool_]:
    return np.asarray(np.asarray(circuit.ignition_signal_v) >= circuit.ignition_signal_min_v)


def _vehicle_on(circuit: Circuit) -> NDArray[np.bool_]:
    """Whether the unit takes power from the vehicle; before it starts, no run drops anything."""
    if circuit.vehicle_on is None:
        threshold = np.where(
            _signalled(circuit), circuit.ignition_start_voltage_v, circuit.start_voltage_v
        )
        wanted = np.asarray(circuit.supply_v) >= threshold
    else:
        wanted = np.asarray(circuit.vehicle_on, dtype=np.bool_)
    return np.asarray(wanted & ~_isolated(circuit))


@dataclass(frozen=True)
class _OutputSide:
    """What the output terminals see: Thevenin voltage and resistance, or nothing at all."""

    emf_v: Array
    ohm: Array
    run_ohm: Array
    open: NDArray[np.bool_]
    blocked: NDArray[np.bool_]
    nothing: NDArray[np.bool_]

    @classmethod
    def of(cls, circuit: Circuit) -> "_OutputSide":
        run = _finite(circuit.house_feed_ohm) + _finite(circuit.house_return_ohm)
        battery = np.asarray(circuit.house_battery_ohm, dtype=np.float64)
        is_open = np.isinf(circuit.house_feed_ohm) | np.isinf(circuit.house_return_ohm)
        blocked = np.asarray(circuit.blocks_charging) | np.asarray(circuit.blocks_all)
        silent = blocked & ~np.asarray(circuit.shows_absorption)
        nothing = is_open | np.asarray(circuit.charger_negative_open) | silent
        emf = np.asarray(circuit.house_emf_v - circuit.house_load_a * battery)
        return cls(emf, battery + run, run, is_open, blocked, np.asarray(nothing))

    def voltages(
        self, circuit: Circuit, current: Array, dead: NDArray[np.bool_]
    ) -> tuple[Array, Array]:
        """Output terminal and house battery post voltage at an output current, V."""
        alone = np.where(circuit.blocks_all, circuit.open_posts_v, self.emf_v)
        posts = np.where(self.blocked, alone, self.emf_v + current * circuit.house_battery_ohm)
        carries = self.blocked & ~self.nothing & ~dead
        fed = _blocked_posts(circuit, current, self.run_ohm)
        posts = np.where(carries, fed, posts)
        terminal = posts + current * self.run_ohm
        shown = np.asarray(circuit.shows_absorption) & ~dead
        unloaded = np.where(shown, circuit.voltage_limit_v, 0.0)
        return np.where(self.open, unloaded, terminal), posts


def _blocked_posts(circuit: Circuit, current: Array, run_ohm: Array) -> Array:
    """Posts of a blocked battery: the unit feeds the loads alone, the battery lends the rest."""
    load = np.asarray(circuit.house_load_a, dtype=np.float64)
    short = load - current > 1e-6
    lent = circuit.house_emf_v - (load - current) * circuit.house_battery_ohm
    sagging = circuit.voltage_limit_v * current / np.maximum(load, 1e-9)
    alone = np.where(circuit.blocks_all, sagging, lent)
    return np.where(short, alone, circuit.voltage_limit_v - current * run_ohm)


def _current_limits(
    circuit: Circuit, on: NDArray[np.bool_], side: _OutputSide
) -> tuple[Array, Array, Array, Array]:
    """Output current by rating, by voltage limit, by held input, by input limit, A."""
    rating = np.asarray(circuit.rated_output_a * circuit.output_fraction, dtype=np.float64)
    across = np.maximum(side.ohm + circuit.taper_ohm, 1e-9)
    headroom = (circuit.voltage_limit_v - side.emf_v) / across
    voltage = np.where(side.blocked, circuit.house_load_a, headroom)
    loop = np.maximum(_finite(circuit.vehicle_feed_ohm) + _finite(circuit.vehicle_return_ohm), 1e-9)
    supply = _supply_at_full_feed(circuit)
    held = np.clip((supply - _hold(circuit)) / loop, 0.0, supply / (2 * loop))
    capped = np.minimum(circuit.input_limit_a, supply / (2 * loop))
    return (
        rating,
        voltage,
        _from_input(circuit, held * on, loop, side),
        _from_input(circuit, capped * on, loop, side),
    )


def _hold(circuit: Circuit) -> Array:
    """Return the volts at which the unit holds its input."""
    if circuit.hold_voltage_v is not None:
        return np.asarray(circuit.hold_voltage_v, dtype=np.float64)
    return np.where(_signalled(circuit), circuit.ignition_stop_voltage_v, circuit.stop_voltage_v)


def _supply_at_full_feed(circuit: Circuit) -> Array:
    """Return what the source offers the charger: less what another consumer drops in the feed."""
    drop = np.asarray(circuit.feed_consumer_a) * _finite(circuit.vehicle_feed_ohm)
    return np.asarray(circuit.supply_v - drop, dtype=np.float64)


def _from_input(circuit: Circuit, drawn: Array, loop: Array, side: _OutputSide) -> Array:
    """Output current that an input current can feed: the root of the power balance, A."""
    taken = (_supply_at_full_feed(circuit) - loop * drawn) * drawn + circuit.solar_w
    power = np.maximum(circuit.efficiency * taken - circuit.self_consumption_w, 0.0)
    blocked_v = np.asarray(circuit.voltage_limit_v, dtype=np.float64)
    emf = np.where(side.blocked, blocked_v, side.emf_v)
    ohm = np.where(side.blocked, 0.0, side.ohm)
    root = np.sqrt(np.maximum(emf * emf + 4 * ohm * power, 0.0))
    return np.asarray(2 * power / np.maximum(emf + root, 1e-3))


def _least(currents: tuple[Array, ...], smoothing: float) -> tuple[Array, NDArray[np.int64]]:
    stacked = np.stack(np.broadcast_arrays(*currents))
    least = stacked.min(axis=0)
    which = stacked.argmin(axis=0)
    if smoothing <= 0:
        return np.maximum(least, 0.0), which
    spread = np.exp(-np.minimum((stacked - least) / smoothing, 60.0)).sum(axis=0)
    soft = least - smoothing * np.log(spread)
    # Softplus: never negative, and still with a slope where the voltage limit is passed.
    scaled = np.clip(soft / smoothing, -60.0, 60.0)
    positive = smoothing * np.log1p(np.exp(scaled))
    return np.where(scaled > 30, soft, positive), which


def _drawn(
    circuit: Circuit,
    on: NDArray[np.bool_],
    dead: NDArray[np.bool_],
    output: Array,
    current: Array,
) -> tuple[Array, Array]:
    """Input current from the vehicle, A, and power taken from the panel, W."""
    needed = (output * current + circuit.self_consumption_w) / circuit.efficiency
    needed = np.where(dead, 0.0, needed)
    solar = np.minimum(np.asarray(circuit.solar_w, dtype=np.float64), needed)
    power = np.where(on, needed - solar, 0.0)
    loop = _finite(circuit.vehicle_feed_ohm) + _finite(circuit.vehicle_return_ohm)
    supply = _supply_at_full_feed(circuit)
    root = np.sqrt(np.maximum(supply * supply - 4 * loop * power, 0.0))
    return 2 * power / np.maximum(supply + root, 1e-3), solar


def _limit(
    circuit: Circuit, dead: NDArray[np.bool_], side: _OutputSide, which: NDArray[np.int64]
) -> NDArray[np.int64]:
    on = _vehicle_on(circuit)
    limit = np.where(~on & (which >= Limit.INPUT_HELD), int(Limit.SOLAR_POWER), which)
    limit = np.where(side.nothing, int(Limit.NOTHING_ON_OUTPUT), limit)
    reason = np.where(_isolated(circuit), int(Limit.OFF_NO_SUPPLY), int(Limit.OFF_SUPPLY_LOW))
    reason = np.where(circuit.unit_dead, int(Limit.OFF_UNIT_DEAD), reason)
    return np.asarray(np.where(dead, reason, limit), dtype=np.int64)


def _points(
    circuit: Circuit,
    settled: tuple[Array, Array, Array, Array, Array],
    status: tuple[NDArray[np.bool_], NDArray[np.int64]],
) -> OperatingPoint:
    current, output, posts, drawn, solar = settled
    feed, back, at_input = _vehicle_side(circuit, drawn)
    floating = np.asarray(circuit.charger_negative_open)
    lift = np.where(floating, circuit.floating_fraction * np.asarray(circuit.supply_v), 0.0)
    house_feed, house_return = _house_side(circuit, current, output - posts)
    load = np.where(circuit.blocks_all, current, np.asarray(circuit.house_load_a))
    shape = np.broadcast_shapes(current.shape, posts.shape, drawn.shape, at_input.shape)
    full = np.zeros(shape)
    return OperatingPoint(
        start_battery_voltage_v=np.asarray(circuit.supply_v, dtype=np.float64) + full,
        vehicle_feed_drop_v=feed + full,
        vehicle_return_drop_v=back + full,
        charger_input_voltage_v=at_input + full,
        charger_output_voltage_v=np.where(floating, posts - lift, output) + full,
        house_feed_drop_v=np.where(floating, 0.0, house_feed) + full,
        house_return_drop_v=np.where(floating, -lift, house_return) + full,
        house_battery_voltage_v=posts + full,
        input_current_a=drawn + full,
        output_current_a=current + full,
        house_load_current_a=load + full,
        solar_power_w=solar + full,
        limit=np.broadcast_to(status[1], shape),
        vehicle_on=np.broadcast_to(status[0], shape),
    )


def _vehicle_side(circuit: Circuit, drawn: Array) -> tuple[Array, Array, Array]:
    """Feed drop, return drop and input voltage, V; whatever is open takes the whole supply."""
    supply = np.asarray(circuit.supply_v, dtype=np.float64)
    floating = np.where(circuit.charger_negative_open, circuit.floating_fraction, 1.0) * supply
    feed_open = np.isinf(circuit.vehicle_feed_ohm)
    return_open = np.isinf(circuit.vehicle_return_ohm) | np.asarray(circuit.charger_negative_open)
    through = drawn + circuit.feed_consumer_a
    feed = np.where(feed_open, supply, through * _finite(circuit.vehicle_feed_ohm))
    lifted = np.where(feed_open, 0.0, floating)
    back = np.where(return_open, lifted, drawn * _finite(circuit.vehicle_return_ohm))
    return feed, back, supply - feed - back


def _house_side(circuit: Circuit, current: Array, across: Array) -> tuple[Array, Array]:
    """Drops of the house feed and return, V; ``across`` is all that lies between the ends."""
    feed_open = np.isinf(circuit.house_feed_ohm)
    return_open = np.isinf(circuit.house_return_ohm) & ~feed_open
    feed = np.where(return_open, 0.0, current * _finite(circuit.house_feed_ohm))
    back = np.where(feed_open, 0.0, current * _finite(circuit.house_return_ohm))
    return np.where(feed_open, across, feed), np.where(return_open, across, back)
