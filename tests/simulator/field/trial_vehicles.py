"""A trial's vehicle: sound and at work without its fault, and the fault shows on the sheet."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tests.simulator.field import faults_put_in, further_faults, outside
from tests.simulator.field.circuit import Working
from tests.simulator.field.conditions import World
from tests.simulator.field.drawing import Wishes, draw_vehicle
from tests.simulator.field.equipment import fit, wishes_for
from tests.simulator.field.faults_put_in import NORMAL, PutIn, Ways, draw_ways
from tests.simulator.field.metering import Visit
from tests.simulator.field.sheets import full_sheet, further_sheet, shows, stands_out
from tests.simulator.field.vehicle import ENGINE_STATES, Key, Vehicle, undone

Generator = np.random.Generator

# How far the reading that tells most must lie off, in standard deviations of ``slack`` (assumed).
_SHOWS, _SHOWS_MILDLY, _SHOWS_BESIDE_ANOTHER = 5.0, 3.0, 6.0
# A wrong entry shows on no reading as such.
_NEED_NOT_SHOW = (*NORMAL, "wrong_chemistry_entered")


@dataclass(frozen=True)
class TrialVehicle:
    """A vehicle with its faults and the readings of a full sheet."""

    names: tuple[str, ...]
    visit: Visit
    sound: Visit
    without: Mapping[str, Visit]  # one fault taken out, the other left
    keys: list[Key]
    severity: Mapping[str, Mapping[str, object]]

    def shows_on(self, keys: Collection[Key], least: float = _SHOWS) -> bool:
        """Whether every fault shows on these readings, the other being there."""
        return all(
            name in _NEED_NOT_SHOW
            or (
                shows(self.visit, self.without[name], keys) >= least
                and stands_out(self.visit, name, keys)
            )
            for name in self.names
        )


def draw(
    rng: Generator,
    names: Sequence[str],
    world: World,
    mild: bool = False,
    tries: int = 400,
    extras: Sequence[str] = (),
) -> TrialVehicle | None:
    """Draw a vehicle on which these faults show; None when it will not come out."""
    ways = draw_ways(rng, mild)
    for _ in range(tries):
        found = _drawn(rng, tuple(names), world, ways, extras)
        if found is not None:
            return found
    return None


def _drawn(
    rng: Generator, names: tuple[str, ...], world: World, ways: Ways, extras: Sequence[str]
) -> TrialVehicle | None:
    wishes = Wishes()
    for name in names:
        wishes = wishes.joined(faults_put_in.wishes(rng, name))
    if extras:
        wishes = wishes.joined(wishes_for(rng, extras))
    vehicle = fit(rng, draw_vehicle(rng, wishes), wishes, extras)
    possible = all(faults_put_in.is_possible(name, vehicle) for name in names)
    if not possible or not all(further_faults.goes_with(name, vehicle) for name in names):
        return None
    seed = int(rng.integers(1, 2**31))
    sound = Visit(vehicle, world, seed)
    if not is_sound(sound):
        return None
    put_in: dict[str, PutIn] = {}
    for name in names:
        one = _put_in(rng, vehicle, name, ways)
        if one is None:
            return None
        put_in[name] = one
        vehicle = one.into(vehicle)
    visit = Visit(vehicle, world, seed)
    keys = full_sheet(rng, vehicle)
    if extras:
        keys += further_sheet(rng, visit, keys)
        if not further_faults.is_told_from_others(vehicle, [point for point, _ in keys]):
            return None
    if not _means_what_it_is_called(names, visit):
        return None
    least = _SHOWS_MILDLY if ways.mild else _SHOWS if len(names) == 1 else _SHOWS_BESIDE_ANOTHER
    without = {
        name: Visit(undone(vehicle, one.fault, sound.vehicle), world, seed)
        for name, one in put_in.items()
    }
    found = TrialVehicle(
        names, visit, sound, without, keys, {name: one.severity for name, one in put_in.items()}
    )
    return found if found.shows_on(keys, least) else None


def _put_in(rng: Generator, vehicle: Vehicle, name: str, ways: Ways) -> PutIn | None:
    """Draw how bad a fault is; None where it cannot go that way on this vehicle."""
    if name in further_faults.FURTHER_FAULTS:
        return further_faults.fault(rng, vehicle, name)
    if name not in faults_put_in.FAULTS:
        return outside.trouble(rng, vehicle, name)
    one = faults_put_in.fault(rng, vehicle, name, ways)
    # A limit that can be read and set is a fault of its own.
    if one is not None and vehicle.limit_fitted and "unit.input_limit_a" in one.fault:
        return None
    return one


def is_sound(sound: Visit) -> bool:
    """Whether a vehicle without fault is a sane one: rested at rest, and charging in bulk."""
    vehicle, fast = sound.vehicle, sound.nodes("fast_idle", 0)
    # An alternator too small even at fast idle is a wrong design, not a sound vehicle.
    if fast.start_v < vehicle.supply.set_v["fast_idle"] - 0.6 * vehicle.scale:
        return False
    resting = sound.nodes("rest", 0)
    running = resting.unit.running or (resting.second is not None and resting.second.unit.running)
    return not running and charges_in_bulk(sound, ENGINE_STATES)


def charges_in_bulk(visit: Visit, states: Sequence[str]) -> bool:
    """Whether the unit works in one of the states, and in none is held back by a full battery."""
    at, second = [visit.nodes(state, 0) for state in states], visit.vehicle.second
    if not _in_bulk([one.unit for one in at], visit.vehicle.unit.rating_a):
        return False
    beside = [one.second.unit for one in at if one.second is not None]
    return second is None or _in_bulk(beside, second.unit.rating_a)


def _in_bulk(works: Sequence[Working], rating_a: float) -> bool:
    return max(one.output_a for one in works) >= 0.3 * rating_a and not any(
        one.held_by == "voltage" and one.output_a < 0.6 * one.most_a for one in works
    )


def _means_what_it_is_called(names: Sequence[str], visit: Visit) -> bool:
    """Whether the battery takes little because it is full, or the loads really take the most."""
    at, rating = visit.nodes("idle", 2), visit.vehicle.rating_a
    if "house_battery_charged" in names:
        in_bulk = at.unit.held_by != "voltage" and at.given_a > 0.3 * rating
        return not in_bulk and at.given_a - at.load_a <= 0.3 * rating
    if "house_load_high" in names:
        return at.load_a >= 0.55 * max(at.given_a, 1)
    return True
