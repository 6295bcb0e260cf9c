"""Two units on one house battery: against ngspice, and the sums that no circuit breaks."""

import random
from math import inf

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logic.circuit.operating_point import Circuit, solve
from logic.circuit.two_units import Held, HouseSide, UnitBeside, settle
from tests.logic.circuit.two_unit_spice import POINTS, settled

CASES = 100


def draw_unit(rng, scale, supply):
    """One random unit on its own runs, as plain numbers."""
    ohms = {
        name: scale * rng.uniform(0.001, 0.03)
        for name in (
            "vehicle_feed_ohm",
            "vehicle_return_ohm",
            "house_feed_ohm",
            "house_return_ohm",
        )
    }
    if rng.random() < 0.3:
        ohms["vehicle_feed_ohm"] = scale * rng.uniform(0.05, 0.2)
    return {
        "supply_v": supply,
        **ohms,
        "rated_output_a": rng.choice([20.0, 25.0, 40.0, 50.0]) * rng.choice([1.0, 1.08]),
        "voltage_limit_v": scale * rng.uniform(13.9, 14.7),
        "hold_v": scale * rng.uniform(11.5, 12.0),
        "efficiency": rng.uniform(0.85, 0.96),
        "own_use_w": rng.uniform(0, 6),
        "input_limit_a": rng.choice([inf, inf, rng.uniform(5, 40)]),
        "works": rng.random() > 0.08,
    }


def draw(rng):
    """Two units and a house battery."""
    scale = rng.choice([1, 1, 2])
    supply = scale * rng.uniform(12.2, 14.6)
    house = {
        "emf_v": scale * rng.uniform(11.8, 14.0),
        "ohm": scale * rng.uniform(0.002, 0.03),
        "load_a": rng.choice([0.0, rng.uniform(0, 30)]),
    }
    return [draw_unit(rng, scale, supply) for _ in range(2)], house


def ours(units, house):
    first, *others = (UnitBeside(**unit) for unit in units)
    return settle(first, others[0] if others else None, HouseSide(**house))


@pytest.mark.outside
def test_a_hundred_pairs_agree_with_ngspice_to_a_millivolt_and_ten_milliamperes(tmp_path):
    rng = random.Random(20261127)
    cases = [draw(rng) for _ in range(CASES)]
    theirs = settled(cases, tmp_path)
    ways = set()
    for (units, house), found in zip(cases, theirs, strict=True):
        assert set(found) == {name.replace(" ", "_") for name in POINTS}
        side = ours(units, house)
        assert found["posts_v"] == pytest.approx(side.posts_v, abs=0.001)
        for k, unit in enumerate(side.units):
            ways.add(unit.held_by)
            for name, allowed in (
                ("given_a", 0.01),
                ("drawn_a", 0.01),
                ("input_v", 0.001),
                ("output_v", 0.001),
            ):
                assert found[f"{name}_{k}"] == pytest.approx(getattr(unit, name), abs=allowed), name
    assert ways == set(Held), "every way in which a unit is held is among them"


seeds = st.integers(0, 2**32).map(random.Random)


@given(seeds)
def test_the_energy_balance_closes(rng):
    """Drawn from the vehicle = lost in runs and units + put into battery and loads, to 0.1 %."""
    units, house = draw(rng)
    side = ours(units, house)
    drawn = lost = 0.0
    for figures, unit in zip(units, side.units, strict=True):
        beside = UnitBeside(**figures)
        drawn += beside.supply_v * unit.drawn_a
        lost += unit.drawn_a**2 * beside.vehicle_feed_ohm
        lost += unit.given_a**2 * beside.house_feed_ohm
        lost += unit.vehicle_return_a**2 * beside.vehicle_return_ohm
        lost += unit.house_return_a**2 * beside.house_return_ohm
        if not beside.is_off:
            lost += (1 - beside.efficiency) * unit.input_v * unit.drawn_a + beside.own_use_w
    at_posts = side.posts_v * side.given_a
    assume(drawn > 1)
    assert drawn == pytest.approx(lost + at_posts, rel=0.001)


@given(seeds)
def test_kirchhoffs_current_law_holds_at_the_house_batterys_posts(rng):
    units, house = draw(rng)
    side = ours(units, house)
    into = (side.posts_v - house["emf_v"]) / house["ohm"]
    assert into == pytest.approx(side.given_a - house["load_a"], abs=1e-6)


@given(seeds)
def test_one_unit_alone_is_what_the_loop_of_one_unit_gives(rng):
    units, house = draw(rng)
    unit = {**units[0], "works": True}
    side = ours([unit], house)
    loop = solve(
        Circuit(
            **{run: unit[run] for run in unit if run.endswith("_ohm")},
            supply_v=unit["supply_v"],
            house_emf_v=house["emf_v"],
            house_battery_ohm=house["ohm"],
            house_load_a=house["load_a"],
            rated_output_a=unit["rated_output_a"],
            voltage_limit_v=unit["voltage_limit_v"],
            efficiency=unit["efficiency"],
            self_consumption_w=unit["own_use_w"],
            input_limit_a=unit["input_limit_a"],
            hold_voltage_v=unit["hold_v"],
            vehicle_on=True,
        )
    )
    assert side.units[0].given_a == pytest.approx(float(loop.output_current_a), abs=1e-6)
    assert side.units[0].drawn_a == pytest.approx(float(loop.input_current_a), abs=1e-6)
    assert side.posts_v == pytest.approx(float(loop.house_battery_voltage_v), abs=1e-6)


@given(seeds)
def test_a_second_unit_never_lowers_the_battery_nor_what_is_given_together(rng):
    units, house = draw(rng)
    alone, beside = ours(units[:1], house), ours(units, house)
    assert beside.posts_v >= alone.posts_v - 1e-9
    assert beside.given_a >= alone.given_a - 1e-9


def test_in_bulk_the_currents_add():
    units, house = draw(random.Random(1))
    soft = {"vehicle_feed_ohm": 0.003, "vehicle_return_ohm": 0.002, "house_feed_ohm": 0.002}
    both = [
        {**unit, **soft, "supply_v": 13.9, "rated_output_a": rating, "input_limit_a": inf}
        | {"works": True, "voltage_limit_v": 14.4, "hold_v": 11.5, "house_return_ohm": 0.002}
        for unit, rating in zip(units, (40.0, 25.0), strict=True)
    ]
    side = ours(both, {**house, "emf_v": 12.8, "ohm": 0.005, "load_a": 5.0})
    assert side.given_a == 65.0


def test_a_dead_units_returns_carry_some_of_the_others_current():
    """Two ways back in parallel share by their resistances: Ohm's law, by hand."""
    units, house = draw(random.Random(2))
    same = {name: 0.01 for name in units[0] if name.endswith("_ohm")}
    figures = {**same, "supply_v": 13.9, "hold_v": 11.5, "voltage_limit_v": 14.4}
    figures |= {"rated_output_a": 20.0, "input_limit_a": inf, "efficiency": 0.9, "own_use_w": 0.0}
    side = ours(
        [{**figures, "works": True}, {**figures, "works": False}],
        {"emf_v": 12.8, "ohm": 0.005, "load_a": 0.0},
    )
    works, dead = side.units
    round_a = -dead.vehicle_return_a
    # Round the ring: 0.02 Ω x what stays = 0.02 Ω x what goes round, of both returns' current.
    lost = 0.01 * works.vehicle_return_a + 0.01 * works.house_return_a
    assert lost == pytest.approx(-0.02 * round_a)
    assert works.vehicle_return_a == pytest.approx(works.drawn_a + round_a)
    assert dead.given_a == dead.drawn_a == 0.0


def test_in_bulk_the_batterys_volts_follow_from_the_sum():
    units, house = draw(random.Random(1))
    soft = {name: 0.002 for name in units[0] if name.endswith("_ohm")}
    both = [
        {**unit, **soft, "supply_v": 13.9, "rated_output_a": 20.0, "input_limit_a": inf}
        | {"works": True, "voltage_limit_v": 14.4, "hold_v": 11.5}
        for unit in units
    ]
    side = ours(both, {"emf_v": 12.8, "ohm": 0.005, "load_a": 5.0})
    assert side.posts_v == pytest.approx(12.8 + 0.005 * 35.0)
