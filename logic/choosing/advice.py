"""Which charger, battery, cable and fuses serve a wish, how its week comes out, what limits it.

By figures only. Everything is worked out, nothing measured: the papers of unit and battery win.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from logic.choosing import figures
from logic.choosing.week import Supply, Week, hours_to_charge, week
from logic.choosing.wish import Sun, Wish
from logic.circuit import batteries, tables
from logic.circuit.conductors import ampacity, cable_drop
from logic.circuit.standard_sizes import StandardCable, smallest_cable, smallest_fuse
from logic.quantities import Ampere, AmpereHour, Fraction, Volt
from logic.vehicle.installation import Control
from logic.words.equipment import from_to
from logic.words.figures import as_stated, number, percent, whole_amperes
from logic.words.names import CHEMISTRIES, capitalised

_WORKING_C = 60.0  # as the design check: copper at full load near an engine
_CLOSE = 0.02  # assumed: two ratings whose weeks differ by less are taken for as good
_FALLS = 0.02  # assumed: a second week that ends so much lower runs down


class Limit(StrEnum):
    """What keeps a week from coming out, or nothing."""

    NOTHING = "nothing"
    ALTERNATOR = "alternator"
    BATTERY = "battery"
    TIME = "time"
    SUN = "sun"
    RATING = "rating"


@dataclass(frozen=True)
class Advice:
    """The answer to a wish.

    ``most_rated_a`` is the largest rating that battery and alternator bear, None where even the
    smallest sold is over it. ``input_limit_a`` is what the unit's input has to be held to for
    the alternator's sake, None where it need not be. ``recharge_h`` is engine time from
    ``floor`` to nearly full with the loads on, None where it never gets there.
    ``vehicle_cable`` is meant out and back.
    """

    wish: Wish
    rated_a: Ampere
    capacity_ah: AmpereHour
    supply: Supply
    week: Week
    holds: bool
    floor: Fraction
    limit: Limit
    most_rated_a: Ampere | None
    input_a: Ampere
    input_limit_a: Ampere | None
    recharge_h: float | None
    vehicle_fuse_a: Ampere | None
    house_fuse_a: Ampere | None
    vehicle_cable: StandardCable
    house_cable: StandardCable
    what_limits: str
    remarks: tuple[str, ...]
    second_rated_a: Ampere | None = None
    """The rating of a second unit beside the first, where one of no usual size does it."""


def advise(wish: Wish) -> Advice:
    """Answer a wish."""
    capacity_ah = wish.capacity_ah or advised_capacity(wish)
    rated_a, second_a = _advised_units(wish, capacity_ah)
    supply = _supply(wish, capacity_ah, rated_a + (second_a or 0.0))
    first = week(supply)
    floor = 1 - batteries.usable_share(wish.chemistry)
    holds = _holds(supply, first, floor)
    most = _most_rated(wish, capacity_ah)
    limit = Limit.NOTHING if holds else _limit(wish, capacity_ah, rated_a, most)
    full = figures.number("recharge.full")
    vehicle_fuse, house_fuse = _fuses(wish, rated_a)
    recharge_h = hours_to_charge(supply, floor, full) if wish.driving_h else None
    return Advice(
        wish=wish,
        rated_a=rated_a,
        capacity_ah=capacity_ah,
        supply=supply,
        week=first,
        holds=holds,
        floor=floor,
        limit=limit,
        most_rated_a=most,
        input_a=_input_at_lowest(wish, rated_a),
        input_limit_a=_input_limit(wish, rated_a),
        recharge_h=recharge_h,
        vehicle_fuse_a=vehicle_fuse,
        house_fuse_a=house_fuse,
        vehicle_cable=_vehicle_cable(wish, rated_a, vehicle_fuse),
        house_cable=_house_cable(wish, rated_a, house_fuse),
        what_limits=_limit_words(wish, supply, first, floor, limit),
        remarks=(*_remarks(wish, capacity_ah, rated_a), *_of_two(wish, rated_a, second_a)),
        second_rated_a=second_a,
    )


# Sizes


def ratings_sold(wish: Wish) -> tuple[Ampere, ...]:
    """Return the ratings that chargers between these voltages are sold in, A, smallest first."""
    vehicle, house = wish.nominal_voltage_v, wish.house_nominal_voltage_v
    between = f"{vehicle}_to_{house}" if wish.has_two_voltages else f"{house}"
    return figures.sizes(f"rating.sold_{between}")


def advised_capacity(wish: Wish) -> AmpereHour:
    """Return the smallest battery sold that carries the loads over the days without charge.

    It also bears the smallest charger that is sold.

    Returns
    -------
    Ah
    """
    needed = figures.number("capacity.days_still") * wish.daily_ah
    needed /= batteries.usable_share(wish.chemistry)
    bears = ratings_sold(wish)[0] / batteries.usual_charge_current(wish.chemistry, 1.0)
    least = max(needed, bears)
    sold = figures.sizes("capacity.sold")
    return next((one for one in sold if one >= least - 1e-9), 100.0 * math.ceil(least / 100))


def spare_current(wish: Wish) -> Ampere:
    """Return what the vehicle's supply can spare, A at its own side; infinite if not known.

    As the design check has it: a warm alternator's share of its rating on the road, or a
    converter's, less the vehicle's use.

    Returns
    -------
    A
    """
    if wish.alternator_a is None:
        return math.inf
    share, used = (tables.number("supply", name) for name in supply_rows(wish))
    return max(0.0, share * wish.alternator_a - used / wish.scale)


def supply_rows(wish: Wish) -> tuple[str, str]:
    """Name the figures of the vehicle's supply: the share of its rating, and the vehicle's use."""
    if wish.control is Control.CONVERTER:
        return "converter.share", "converter.own_use"
    return "share.hot_alternator", "own_use.running"


def supply_words(wish: Wish) -> str:
    """Name the vehicle's supply within a sentence."""
    is_converter = wish.control is Control.CONVERTER
    return "the vehicle's DC-DC supply" if is_converter else "the alternator"


def _absorption(wish: Wish) -> Volt:
    """Return the middle of what the battery's chemistry commonly asks for, V."""
    return sum(batteries.absorption_window(wish.chemistry, wish.house_scale)) / 2


def _input_per_output(wish: Wish, at: Volt) -> float:
    """Return the amperes drawn for each given; the supply is stated as of 12 V nominal."""
    efficiency = tables.number("charger", "usual.efficiency")
    return _absorption(wish) / (efficiency * at * wish.scale)


def _input_running(wish: Wish, rated_a: Ampere) -> Ampere:
    return rated_a * _input_per_output(wish, tables.number("supply", "generator.nominal"))


def _input_at_lowest(wish: Wish, rated_a: Ampere) -> Ampere:
    return rated_a * _input_per_output(wish, tables.number("supply", "lowest.at_unit"))


def _input_limit(wish: Wish, rated_a: Ampere) -> Ampere | None:
    spare = spare_current(wish)
    return max(1.0, math.floor(spare)) if _input_running(wish, rated_a) > spare + 1e-9 else None


def _most_rated(wish: Wish, capacity_ah: AmpereHour) -> Ampere | None:
    """Return the largest rating sold that battery and alternator bear."""
    bears = batteries.usual_charge_current(wish.chemistry, capacity_ah)
    spare = spare_current(wish)
    fitting = (
        rated
        for rated in reversed(ratings_sold(wish))
        if rated <= bears + 1e-9 and _input_running(wish, rated) <= spare + 1e-9
    )
    return next(fitting, None)


def _advised_rating(wish: Wish, capacity_ah: AmpereHour) -> Ampere:
    """Return the smallest rating whose week comes out as well as the largest one's that fits."""
    most = _most_rated(wish, capacity_ah)
    sold = ratings_sold(wish)
    if most is None:
        return sold[0]
    fitting = [rated for rated in sold if rated <= most]
    floor = 1 - batteries.usable_share(wish.chemistry)

    def holds(rated: Ampere) -> bool:
        supply = _supply(wish, capacity_ah, rated)
        return _holds(supply, week(supply), floor)

    def brought_ah(rated: Ampere) -> AmpereHour:
        return week(_supply(wish, capacity_ah, rated), floor).brought_ah

    # A larger unit never does worse: where the largest does not last, none does.
    if holds(most):
        return _least(fitting, holds) or most
    enough_ah = brought_ah(most) * (1 - _CLOSE)
    return _least(fitting, lambda rated: brought_ah(rated) >= enough_ah) or most


def _advised_units(wish: Wish, capacity_ah: AmpereHour) -> tuple[Ampere, Ampere | None]:
    """Return the rating of the unit, and of a second one like it where one alone cannot do it, A.

    Two are advised only where the largest unit sold falls short, and battery and alternator bear
    the sum: then the smallest two of a kind whose week comes out as well as the largest two's.
    """
    if wish.rated_output_current_a:
        return wish.rated_output_current_a, None
    alone, sold = _advised_rating(wish, capacity_ah), ratings_sold(wish)
    most = _most_of_two(wish, capacity_ah)
    floor = 1 - batteries.usable_share(wish.chemistry)
    if most is None or _most_rated(wish, capacity_ah) != sold[-1]:
        return alone, None
    supply = _supply(wish, capacity_ah, sold[-1])
    if _holds(supply, week(supply), floor):
        return alone, None

    def brought_ah(rated: Ampere) -> AmpereHour:
        return week(_supply(wish, capacity_ah, rated), floor).brought_ah

    if brought_ah(2 * most) < brought_ah(sold[-1]) * (1 + _CLOSE):
        return alone, None

    def does(rated: Ampere) -> bool:
        supply = _supply(wish, capacity_ah, 2 * rated)
        holds = _holds(supply, week(supply), floor)
        return holds or brought_ah(2 * rated) >= brought_ah(2 * most) * (1 - _CLOSE)

    each = _least([one for one in sold if 2 * one > sold[-1] and one <= most], does)
    return (each, each) if each else (alone, None)


def _most_of_two(wish: Wish, capacity_ah: AmpereHour) -> Ampere | None:
    """Return the largest rating sold of which battery and alternator bear two.

    None where there is none, and where the alternator's rating is not known.
    """
    if wish.alternator_a is None:
        return None
    bears = batteries.usual_charge_current(wish.chemistry, capacity_ah)
    spare = spare_current(wish)
    fitting = (
        rated
        for rated in reversed(ratings_sold(wish))
        if 2 * rated <= bears + 1e-9 and _input_running(wish, 2 * rated) <= spare + 1e-9
    )
    return next(fitting, None)


def _supply(wish: Wish, capacity_ah: AmpereHour, rated_a: Ampere) -> Supply:
    running = _input_per_output(wish, tables.number("supply", "generator.nominal"))
    return Supply(
        chemistry=wish.chemistry,
        capacity_ah=capacity_ah,
        rated_a=rated_a,
        vehicle_a=spare_current(wish) / running,
        loads_a=wish.daily_ah / 24,
        driving_h=wish.driving_h,
        driving_days=wish.driving_days,
        panel_a=panel_current(wish),
        peak_sun_h=wish.sun.peak_hours,
    )


def panel_current(wish: Wish) -> Ampere:
    """Return what the panel gives at the unit's output in full sun.

    Its rated power, less what heat, dust and angle take, through the unit.

    Returns
    -------
    A
    """
    gives = tables.number("solar", "panel.yield") * tables.number("charger", "usual.efficiency")
    return wish.panel_w * gives / _absorption(wish)


# How the week comes out


def _holds(supply: Supply, first: Week, floor: Fraction) -> bool:
    """Tell whether it stays over its floor, and week after week at that."""
    if first.lowest < floor or first.unserved_ah > 0:
        return False
    second = week(supply, first.charge[-1])
    return second.lowest >= floor and second.charge[-1] >= first.charge[-1] - _FALLS


def _limit(wish: Wish, capacity_ah: AmpereHour, rated_a: Ampere, most: Ampere | None) -> Limit:
    """Return what would bring most if there were half as much again of it.

    From a battery at its floor, so that what a larger one holds at first does not count; where
    the rating is left to the advice, with the largest that fits.
    """
    floor = 1 - batteries.usable_share(wish.chemistry)

    def brought(capacity: AmpereHour = capacity_ah, **update: object) -> AmpereHour:
        more = wish.model_copy(update=update)
        one, other = _advised_units(more, capacity)
        rated = one + other if other else _most_rated(more, capacity) or rated_a
        rated = wish.rated_output_current_a or rated
        return week(_supply(more, capacity, rated), floor).brought_ah

    drives = bool(wish.driving_h and wish.driving_days)
    found: dict[Limit, AmpereHour] = {}
    if drives:
        found[Limit.TIME] = brought(driving_h=min(24.0, 1.5 * wish.driving_h))
        found[Limit.BATTERY] = brought(1.5 * capacity_ah)
    if drives and wish.alternator_a is not None:
        found[Limit.ALTERNATOR] = brought(alternator_a=1.5 * wish.alternator_a)
    if drives and wish.rated_output_current_a and most and most > rated_a:
        found[Limit.RATING] = week(_supply(wish, capacity_ah, most), floor).brought_ah
    if wish.panel_w:
        found[Limit.SUN] = brought(panel_w=1.5 * wish.panel_w)
    # What can be bought is named before what asks for another way of life.
    order = (Limit.RATING, Limit.ALTERNATOR, Limit.BATTERY, Limit.SUN, Limit.TIME)
    most_ah = max(found.values(), default=0.0)
    near = (one for one in order if one in found and found[one] >= most_ah * (1 - _CLOSE))
    return next(near, Limit.TIME)


def enough(wish: Wish) -> tuple[float | None, float | None]:
    """Return how many hours of driving a day would do, and how large a panel, all else as it is.

    Returns
    -------
    h, W
        Each None where no reasonable one would: 12 h, 1000 W.
    """
    if not wish.driving_days:
        driving = None
    else:
        hours = [half / 2 for half in range(1, 25)]
        driving = _least(hours, lambda h: advise_holds(wish, driving_h=h))
    watts = [50.0 * step for step in range(1, 21)]
    return driving, _least(watts, lambda w: advise_holds(wish, panel_w=w))


def advise_holds(wish: Wish, **update: object) -> bool:
    """Tell whether a week comes out with something of a wish changed."""
    changed = wish.model_copy(update=update)
    capacity_ah = changed.capacity_ah or advised_capacity(changed)
    rated_a, second_a = _advised_units(changed, capacity_ah)
    supply = _supply(changed, capacity_ah, rated_a + (second_a or 0.0))
    return _holds(supply, week(supply), 1 - batteries.usable_share(changed.chemistry))


def _least(options: list[float], does: Callable[[float], bool]) -> float | None:
    """Return the first of rising options that does, found by halving: more never does worse."""
    low, high = 0, len(options)
    while low < high:
        middle = (low + high) // 2
        if does(options[middle]):
            high = middle
        else:
            low = middle + 1
    return options[low] if low < len(options) else None


# Fuses and cable


def _fuses(wish: Wish, rated_a: Ampere) -> tuple[Ampere | None, Ampere | None]:
    lasting = tables.number("fuses", "rule.lasting_share")
    return (
        smallest_fuse(_input_at_lowest(wish, rated_a) / lasting),
        smallest_fuse(rated_a / lasting),
    )


def _vehicle_cable(wish: Wish, rated_a: Ampere, fuse_a: Ampere | None) -> StandardCable:
    limits = ("drop_limit.charging_cable", "drop_limit.return_cable")
    allowed = sum(tables.number("conductors", name) for name in limits) * wish.scale
    load = _input_running(wish, rated_a)
    return _cable(2 * wish.run_length_m, load, allowed, fuse_a, in_engine_space=True)


def _house_cable(wish: Wish, rated_a: Ampere, fuse_a: Ampere | None) -> StandardCable:
    allowed = tables.number("conductors", "drop_limit.house_side") * wish.house_nominal_voltage_v
    length = 2 * figures.number("run.house")
    return _cable(length, rated_a, allowed, fuse_a, in_engine_space=True)


def _cable(
    way_m: float, load: Ampere, allowed: Volt, fuse_a: Ampere | None, *, in_engine_space: bool
) -> StandardCable:
    """Return the smallest cable that loses little enough and carries its fuse."""
    insulation = figures.number("cable.insulation")
    bundled = int(figures.number("cable.bundled"))

    def does(area_mm2: float) -> bool:
        lost = cable_drop(way_m, area_mm2, load, _WORKING_C)
        carried = ampacity(area_mm2, in_engine_space, insulation, bundled)
        # Each of the two runs is rounded for itself in the design check.
        return lost <= allowed - 0.01 and carried >= (fuse_a or load)

    return smallest_cable(does)


# Words


def _limit_words(wish: Wish, supply: Supply, first: Week, floor: Fraction, limit: Limit) -> str:
    """Say in one sentence what limits it."""
    kind = CHEMISTRIES[wish.chemistry]
    brought = (first.vehicle_ah + first.solar_ah) / 7
    taken = wish.daily_ah
    a_day = f"{number(taken, 0)} Ah"
    match limit:
        case Limit.NOTHING:
            return (
                f"Nothing limits it: the battery stays over {percent(first.lowest)}, and {kind} "
                f"should not go under {percent(floor)}."
            )
        case Limit.ALTERNATOR:
            spare = whole_amperes(spare_current(wish))
            return (
                f"{capitalised(supply_words(wish))} limits it: it spares {spare} on the road; "
                f"{_would_use(wish, supply.rated_a)}."
            )
        case Limit.BATTERY:
            most = batteries.usual_charge_current(wish.chemistry, supply.capacity_ah)
            return (
                f"The battery limits it: {number(supply.capacity_ah, 0)} Ah of {kind} takes "
                f"{whole_amperes(most)} at most, and less and less towards full."
            )
        case Limit.SUN:
            return (
                f"The sun limits it: the panel brings {number(first.solar_ah / 7, 0)} Ah of the "
                f"{a_day} that the loads take a day."
            )
        case Limit.RATING:
            return (
                f"The unit's rating limits it: at {whole_amperes(supply.rated_a)} it brings "
                f"{number(brought, 0)} Ah a day, the loads take {a_day}."
            )
    if not (wish.driving_h and wish.driving_days):
        return f"The driving time limits it: there is none, and the loads take {a_day} a day."
    both = "driving and sun bring" if wish.panel_w else "driving brings"
    return (
        f"The driving time limits it: {both} {number(brought, 0)} Ah a day, the loads take {a_day}."
    )


def _of_two(wish: Wish, rated_a: Ampere, second_a: Ampere | None) -> Iterator[str]:
    """Say what two units ask for beside one."""
    if second_a is None:
        return
    both = rated_a + second_a
    drawn, spare = _input_running(wish, both), spare_current(wish)
    spares = f", the alternator spares {whole_amperes(spare)}" if math.isfinite(spare) else ""
    yield (
        f"One unit of a usual size does not bring enough: two of {as_stated(rated_a, 'A')} side "
        f"by side give {_out(wish, both)}. Both draw up to {whole_amperes(drawn)}{spares}."
    )
    yield (
        "Each unit has its own cables, and its own fuse at each battery; cable and fuses here are "
        "those of one unit, and all of it is needed twice."
    )


def _remarks(wish: Wish, capacity_ah: AmpereHour, rated_a: Ampere) -> Iterator[str]:
    """Say what else has to be known."""
    bears = batteries.usual_charge_current(wish.chemistry, capacity_ah)
    drawn, spare = _input_running(wish, rated_a), spare_current(wish)
    if wish.has_two_voltages:
        yield from _of_two_voltages(wish)
    if rated_a > bears + 1e-9:
        yield (
            f"{as_stated(rated_a, 'A')} is over the {whole_amperes(bears)} that "
            f"{as_stated(capacity_ah, 'Ah')} of {CHEMISTRIES[wish.chemistry]} commonly takes: a "
            "smaller unit, a larger battery, or its maker's word for it."
        )
    advised = advised_capacity(wish)
    if capacity_ah < advised:
        yield (
            f"Two days without charge take a battery of {as_stated(advised, 'Ah')}; "
            f"{as_stated(capacity_ah, 'Ah')} carry them for less."
        )
    if drawn > spare + 1e-9:
        yield (
            f"It draws up to {whole_amperes(drawn)}, {supply_words(wish)} spares "
            f"{whole_amperes(spare)}: take a unit whose input limit can be set to that."
        )
    if wish.control is Control.CONVERTER:
        yield from _of_a_converter(wish)
    else:
        yield from _of_an_alternator(wish, drawn)
    if wish.chemistry.value == "lifepo4":
        yield "A lithium battery is not charged under 0 °C, nor mounted under the bonnet."
    if wish.panel_w and wish.sun is not Sun.DULL:
        yield "Shade, or dull days, take the sun's part away."


def _would_use(wish: Wish, rated_a: Ampere) -> str:
    """Say what is more than the vehicle's supply spares: the unit, or else a larger one."""
    unit, spare = "the unit", spare_current(wish)
    larger = (one for one in ratings_sold(wish) if _input_running(wish, one) > spare)
    if _input_running(wish, rated_a) <= spare and (over := next(larger, None)):
        rated_a, unit = over, "a larger unit"
    gives = f" for {_out(wish, rated_a)}" if wish.has_two_voltages else ""
    return f"{unit} would use {whole_amperes(_input_running(wish, rated_a))} or more{gives}"


def _out(wish: Wish, current_a: Ampere) -> str:
    """Say a current out of the unit, and at which voltage where that is not the vehicle's."""
    at = f" at {as_stated(wish.house_nominal_voltage_v, 'V')}" if wish.has_two_voltages else ""
    return f"{as_stated(current_a, 'A')}{at}"


def _of_two_voltages(wish: Wish) -> Iterator[str]:
    """Say what a unit that steps up or down asks for."""
    vehicle = as_stated(wish.nominal_voltage_v, "V")
    between = from_to(wish.nominal_voltage_v, wish.house_nominal_voltage_v)
    yield f"It takes a unit made for {between}: one for a single voltage does not serve."
    if wish.nominal_voltage_v > wish.house_nominal_voltage_v:
        # Common practice, no published source.
        yield (
            f"Where two start batteries in series make the {vehicle}, the unit is fed across both: "
            "fed from one alone, it runs that one down, and the other is overcharged."
        )


def _of_an_alternator(wish: Wish, drawn: Ampere) -> Iterator[str]:
    if wish.alternator_a is None:
        yield "The alternator's rating is not known: read its plate before anything is ordered."
    if wish.control is Control.VARIABLE:
        yield "The vehicle's computer sets the alternator: the unit needs an ignition signal."
    elif wish.control is Control.UNKNOWN:
        yield "Unless the alternator holds a fixed voltage, the unit needs an ignition signal."
    at_idle = tables.number("supply", "share.alternator") * (wish.alternator_a or math.inf)
    at_idle -= tables.number("supply", "own_use.running") / wish.scale
    if wish.alternator_a is not None and drawn > at_idle:
        yield "Idling does not count as driving: at idle the alternator spares far less."


def _of_a_converter(wish: Wish) -> Iterator[str]:
    if wish.alternator_a is None:
        yield (
            "What the vehicle's DC-DC supply gives is not known: look it up in the vehicle's "
            "papers before anything is ordered."
        )
    yield (
        "A hybrid or electric vehicle charges while it is ready, not in accessory mode. Work near "
        "orange cables or a 48 V side is for who is qualified."
    )
