"""The closed form against ngspice (Debian's package ngspice), an outside program."""

import random
from math import inf

import numpy as np
import pytest

from logic.circuit.operating_point import Circuit, Limit, solve
from logic.vehicle.points import State
from tests.logic.circuit.spice import POINTS, settled

CASES = 260
RUNS = ("vehicle_feed_ohm", "vehicle_return_ohm", "house_feed_ohm", "house_return_ohm")
pytestmark = pytest.mark.outside


def draw(rng):
    """One random installation in one state, as plain numbers."""
    scale, state = rng.choice([1, 1, 2]), rng.choice(list(State))
    running = state in (State.IDLE, State.FAST_IDLE)
    supply = rng.uniform(12.2, 14.8) if running else rng.uniform(12.0, 13.0)
    ohms = {run: scale * rng.uniform(0.001, 0.03) for run in RUNS}
    if rng.random() < 0.3:
        ohms["vehicle_feed_ohm"] = scale * rng.uniform(0.05, 0.2)
    if rng.random() < 0.15:
        ohms[rng.choice(RUNS)] = inf
    return {
        "supply_v": scale * supply,
        **ohms,
        "house_emf_v": scale * rng.uniform(11.5, 14.2),
        "house_battery_ohm": scale * rng.uniform(0.003, 0.05),
        "house_load_a": rng.choice([0.0, rng.uniform(0, 20)]),
        "rated_output_a": rng.choice([20.0, 25.0, 40.0, 50.0]),
        "output_fraction": rng.choice([1.0, rng.uniform(0.3, 1.08)]),
        "voltage_limit_v": scale * rng.uniform(13.5, 14.7),
        "efficiency": rng.uniform(0.85, 0.96),
        "self_consumption_w": rng.uniform(0, 6),
        "input_limit_a": rng.choice([inf, inf, rng.uniform(5, 40)]),
        "solar_w": rng.choice([0.0, rng.uniform(20, 400)]) if state is not State.REST else 0.0,
        "start_voltage_v": scale * 13.2,
        "stop_voltage_v": scale * 12.7,
        "ignition_start_voltage_v": scale * 12.0,
        "ignition_stop_voltage_v": scale * 11.5,
        "ignition_signal_min_v": 8.0,
        "ignition_signal_v": scale * rng.choice([0.0, 12.5]) if running else 0.0,
        "unit_dead": rng.random() < 0.04,
    }


def with_the_contracts_rules(case):
    """Add what the case contract says of starting and of holding the input."""
    signalled = case["ignition_signal_v"] >= case["ignition_signal_min_v"]
    start = case["ignition_start_voltage_v"] if signalled else case["start_voltage_v"]
    stop = case["ignition_stop_voltage_v"] if signalled else case["stop_voltage_v"]
    is_open = inf in (case["vehicle_feed_ohm"], case["vehicle_return_ohm"])
    return {**case, "vehicle_on": case["supply_v"] >= start and not is_open, "held_v": stop}


@pytest.fixture(scope="module")
def compared(tmp_path_factory):
    rng = random.Random(20261125)
    cases = [draw(rng) for _ in range(CASES)]
    columns = {name: np.array([case[name] for case in cases]) for name in cases[0]}
    ours = solve(Circuit(**columns))
    theirs = settled(
        [with_the_contracts_rules(case) for case in cases], tmp_path_factory.mktemp("spice")
    )
    return ours, theirs


def test_the_simulator_settled_every_installation(compared):
    _, theirs = compared
    assert [set(found) for found in theirs] == [set(POINTS)] * CASES


@pytest.mark.parametrize("point", list(POINTS))
def test_the_closed_form_agrees_to_a_millivolt_and_ten_milliamperes(compared, point):
    ours, theirs = compared
    allowed = 0.001 if point.endswith("_v") else 0.010
    difference = np.abs(getattr(ours, point) - [found[point] for found in theirs])
    assert difference.max() <= allowed, f"installation {difference.argmax()}"


def test_the_random_installations_reach_every_way_the_output_is_limited(compared):
    ours, _ = compared
    reached = set(ours.limit.tolist())
    assert reached == {int(limit) for limit in Limit}
