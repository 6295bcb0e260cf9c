"""Two units, the monitor's shunt and parallel batteries: sound ones pass, each fault is named."""

import random

import pytest

from logic.case import Judgement, Reading
from logic.circuit.second_unit import as_second_unit
from logic.circuit.sound_installation import sound_installation
from logic.circuit.two_units import HouseSide, UnitBeside, settle
from logic.limits.verdict import expectation, judge
from logic.vehicle.installation import Chemistry, Fitted
from logic.vehicle.points import Point, Run, State
from tests.equipment import (
    plain,
    with_batteries_in_parallel,
    with_everything,
    with_fitted,
    with_second_unit,
)

IN_ITS_PLACE = {
    "given_a": (Point.OUTPUT_CURRENT, Point.SECOND_UNIT_OUTPUT_CURRENT),
    "drawn_a": (Point.INPUT_CURRENT, Point.SECOND_UNIT_INPUT_CURRENT),
    "input_v": (Point.CHARGER_INPUT_VOLTAGE, Point.SECOND_UNIT_INPUT_VOLTAGE),
    "output_v": (Point.CHARGER_OUTPUT_VOLTAGE, Point.SECOND_UNIT_OUTPUT_VOLTAGE),
}


def read(values, state=State.IDLE):
    return [Reading(point=point, state=state, value=value) for point, value in values.items()]


def verdicts(fitted, values, state=State.IDLE):
    readings = read(values, state)
    return {one.point: judge(fitted, readings, one) for one in readings}


def beside(fitted, rng, spread=0.15, **changes):
    """One unit of an installation as it really is: its runs somewhere about the expected."""
    sound = sound_installation(fitted)

    def ohm(run):
        return sound.run_ohm[run].mean * rng.uniform(1 - spread, 1 + spread)

    figures = {
        "supply_v": 14.0,
        "vehicle_feed_ohm": ohm(Run.VEHICLE_FEED),
        "vehicle_return_ohm": ohm(Run.VEHICLE_RETURN),
        "house_feed_ohm": ohm(Run.HOUSE_FEED),
        "house_return_ohm": ohm(Run.HOUSE_RETURN),
        "rated_output_a": sound.charger.rated_output_a * rng.uniform(0.98, 1.06),
        "voltage_limit_v": 14.4,
        "hold_v": sound.charger.ignition_stop_v + 0.3,
        "efficiency": rng.uniform(0.9, 0.94),
        "own_use_w": 4.0,
    }
    return UnitBeside(**figures | changes)


def on_the_meter(fitted, rng, first=None, second=None, load_a=3.0):
    """What the meter shows of two units on one battery, worked out by the circuit."""
    one = beside(fitted, rng, **(first or {}))
    other = beside(as_second_unit(fitted), rng, **(second or {}))
    house = sound_installation(fitted).house
    emf = house.rest_v.mean + house.rise_v.mean
    found = settle(one, other, HouseSide(emf, house.resistance_ohm.mean, load_a))
    values = {
        Point.START_BATTERY_VOLTAGE: 14.0,
        Point.HOUSE_BATTERY_VOLTAGE: found.posts_v,
        Point.HOUSE_LOAD_CURRENT: load_a,
        Point.VEHICLE_RETURN_DROP: found.units[0].vehicle_return_a * one.vehicle_return_ohm,
        Point.HOUSE_RETURN_DROP: found.units[0].house_return_a * one.house_return_ohm,
        Point.VEHICLE_FEED_DROP: found.units[0].drawn_a * one.vehicle_feed_ohm,
    }
    for name, points in IN_ITS_PLACE.items():
        values |= {
            point: getattr(unit, name) for point, unit in zip(points, found.units, strict=True)
        }
    return values


@pytest.mark.parametrize("seed", range(40))
def test_of_two_sound_units_nothing_is_out_of_range(seed):
    rng = random.Random(seed)
    fitted = with_second_unit(rng.choice([25.0, 40.0]))
    found = verdicts(fitted, on_the_meter(fitted, rng))
    out = [one for one in found.values() if one.verdict is Judgement.OUT_OF_RANGE]
    assert out == []


@pytest.mark.parametrize("seed", range(10))
def test_a_dead_second_unit_is_out_of_range_and_named_and_the_first_is_not(seed):
    rng, fitted = random.Random(seed), with_second_unit()
    found = verdicts(fitted, on_the_meter(fitted, rng, second={"works": False}))
    dead = found[Point.SECOND_UNIT_OUTPUT_CURRENT]
    assert dead.verdict is Judgement.OUT_OF_RANGE
    assert "second unit" in dead.reason
    assert "the first unit gives" in dead.reason
    out = {point for point, one in found.items() if one.verdict is Judgement.OUT_OF_RANGE}
    assert Point.OUTPUT_CURRENT not in out
    # Some of the first one's current goes round by the dead one's returns: no fault of either.
    assert not out & {Point.VEHICLE_RETURN_DROP, Point.HOUSE_RETURN_DROP}


@pytest.mark.parametrize("seed", range(10))
def test_a_lazy_unit_is_named_whichever_it_is(seed):
    rng, fitted = random.Random(seed), with_second_unit()
    lazy = {"rated_output_a": 18.0}
    second = verdicts(fitted, on_the_meter(fitted, rng, second=lazy))
    assert second[Point.SECOND_UNIT_OUTPUT_CURRENT].verdict is Judgement.OUT_OF_RANGE
    assert "look at the second unit alone" in second[Point.SECOND_UNIT_OUTPUT_CURRENT].reason
    first = verdicts(fitted, on_the_meter(fitted, rng, first=lazy))
    assert first[Point.OUTPUT_CURRENT].verdict is Judgement.OUT_OF_RANGE
    assert "the other unit gives" in first[Point.OUTPUT_CURRENT].reason
    assert first[Point.SECOND_UNIT_OUTPUT_CURRENT].verdict is not Judgement.OUT_OF_RANGE


def test_a_resistive_feed_of_the_second_unit_shows_at_its_own_input():
    fitted = with_second_unit()
    values = on_the_meter(fitted, random.Random(3), second={"vehicle_feed_ohm": 0.04})
    found = verdicts(fitted, values)
    assert found[Point.SECOND_UNIT_INPUT_VOLTAGE].verdict is Judgement.OUT_OF_RANGE
    assert found[Point.CHARGER_INPUT_VOLTAGE].verdict is not Judgement.OUT_OF_RANGE


def test_two_units_may_lift_a_flat_battery_further_than_one():
    one = expectation(plain(), [], Point.HOUSE_BATTERY_VOLTAGE, State.IDLE)
    two = expectation(with_second_unit(), [], Point.HOUSE_BATTERY_VOLTAGE, State.IDLE)
    assert two.high >= one.high
    loads = [
        expectation(fitted, [], Point.HOUSE_LOAD_CURRENT, State.IDLE).high
        for fitted in (plain(), with_second_unit())
    ]
    assert loads == [pytest.approx(loads[0]), pytest.approx(2 * loads[0])]


# The monitor: Kirchhoff's current law at the battery

WITH_MONITOR = with_fitted(battery_monitor=True)
SOUND = {Point.OUTPUT_CURRENT: 40.0, Point.HOUSE_LOAD_CURRENT: 6.0}


def test_a_monitor_shows_what_is_left_for_the_battery():
    right = verdicts(WITH_MONITOR, {**SOUND, Point.MONITOR_CURRENT: 34.0})[Point.MONITOR_CURRENT]
    assert right.verdict is Judgement.IN_RANGE
    assert right.expected_low < 34.0 < right.expected_high


@pytest.mark.parametrize(
    ("shown", "words"),
    [
        (0.0, "34.0 A of charge does not go through the shunt"),  # the charger's return bypasses
        (-6.0, "40.0 A of charge"),
        (40.0, "6.0 A of load does not go through the shunt"),
        (-34.0, "the shunt's two sides are not exchanged"),
    ],
)
def test_a_lead_round_the_shunt_shows_as_just_its_current(shown, words):
    values = {**SOUND, Point.MONITOR_CURRENT: shown}
    found = verdicts(WITH_MONITOR, values)[Point.MONITOR_CURRENT]
    assert found.verdict is Judgement.OUT_OF_RANGE
    assert words in found.reason
    assert "battery's own negative post" in found.reason


def test_the_monitor_counts_a_second_unit_too():
    fitted = with_second_unit().model_copy(
        update={"fitted": Fitted(battery_monitor=True, second_charger_rated_output_current_a=40.0)}
    )
    values = {**SOUND, Point.SECOND_UNIT_OUTPUT_CURRENT: 39.0, Point.MONITOR_CURRENT: 73.0}
    found = verdicts(fitted, values)
    assert found[Point.MONITOR_CURRENT].verdict is Judgement.IN_RANGE


def test_at_rest_the_monitor_shows_what_the_loads_take():
    values = {Point.HOUSE_LOAD_CURRENT: 2.0, Point.MONITOR_CURRENT: -2.0}
    found = verdicts(WITH_MONITOR, values, State.REST)[Point.MONITOR_CURRENT]
    assert found.verdict is Judgement.IN_RANGE


def test_with_another_source_fitted_more_than_the_sum_is_no_fault_and_it_is_named():
    fitted = with_fitted(battery_monitor=True, mains_charger=True)
    found = verdicts(fitted, {**SOUND, Point.MONITOR_CURRENT: 60.0})[Point.MONITOR_CURRENT]
    assert found.verdict is Judgement.IN_RANGE
    assert "the mains charger may add to it" in found.reason


def with_agm(fitted):
    battery = fitted.house_battery.model_copy(update={"chemistry": Chemistry.AGM})
    return fitted.model_copy(update={"house_battery": battery})


@pytest.mark.parametrize("fitted", ["mains_charger", "solar_regulator"])
def test_a_house_battery_that_stands_too_high_at_rest_names_what_else_charges_it(fitted):
    values = {Point.HOUSE_BATTERY_VOLTAGE: 14.2}
    found = verdicts(with_agm(with_fitted(**{fitted: True})), values, State.REST)
    reason = found[Point.HOUSE_BATTERY_VOLTAGE].reason
    assert found[Point.HOUSE_BATTERY_VOLTAGE].verdict is Judgement.OUT_OF_RANGE
    assert fitted.split("_")[0].replace("solar", "separate regulator") in reason
    plainly = verdicts(with_agm(plain()), values, State.REST)[Point.HOUSE_BATTERY_VOLTAGE].reason
    assert "something still charges it" in plainly


# Batteries in parallel


@pytest.mark.parametrize(
    ("share", "verdict"),
    [
        (0.5, Judgement.IN_RANGE),
        (0.45, Judgement.IN_RANGE),
        (0.95, Judgement.OUT_OF_RANGE),  # the other one is left out
        (0.05, Judgement.OUT_OF_RANGE),  # this one is
    ],
)
def test_the_first_of_two_batteries_takes_about_half(share, verdict):
    values = {**SOUND, Point.FIRST_PARALLEL_CURRENT: share * 34.0}
    found = verdicts(with_batteries_in_parallel(2), values)[Point.FIRST_PARALLEL_CURRENT]
    assert found.verdict is verdict
    if share > 0.9:
        assert "left out" in found.reason


def test_a_share_of_hardly_any_current_proves_nothing():
    values = {
        Point.OUTPUT_CURRENT: 1.0,
        Point.HOUSE_LOAD_CURRENT: 0.0,
        Point.FIRST_PARALLEL_CURRENT: 0.5,
    }
    found = verdicts(with_batteries_in_parallel(2), values)[Point.FIRST_PARALLEL_CURRENT]
    assert found.proves_nothing


@pytest.mark.parametrize("point", [p for p in Point if p.needs])
@pytest.mark.parametrize("state", list(State))
def test_whatever_is_fitted_and_nothing_read_every_point_has_words(point, state):
    for fitted in (plain(), with_everything(), with_second_unit()):
        assert expectation(fitted, [], point, state).why
