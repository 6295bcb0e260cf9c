"""Laws that hold for any loop: Kirchhoff, power, and what more resistance may do."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit.operating_point import Circuit, solve

RUNS = ("vehicle_feed_ohm", "vehicle_return_ohm", "house_feed_ohm", "house_return_ohm")
OHM = st.floats(0.0005, 0.2)
VOLTS_OR_OHMS_OR_WATTS = {
    field.name
    for field in fields(Circuit)
    if field.name.endswith(("_v", "_ohm", "_w")) and field.default is not None
}


@st.composite
def circuits(draw, **fixed):
    parts = {
        "supply_v": draw(st.floats(11.0, 15.5)),
        **{run: draw(OHM | st.just(np.inf)) for run in RUNS},
        "house_emf_v": draw(st.floats(11.0, 15.0)),
        "house_battery_ohm": draw(st.floats(0.001, 0.2)),
        "house_load_a": draw(st.floats(0, 30)),
        "rated_output_a": draw(st.sampled_from([20.0, 25.0, 40.0, 50.0])),
        "output_fraction": draw(st.floats(0.2, 1.08)),
        "voltage_limit_v": draw(st.floats(13.0, 15.0)),
        "efficiency": draw(st.floats(0.8, 0.97)),
        "self_consumption_w": draw(st.floats(0, 8)),
        "input_limit_a": draw(st.floats(5, 60) | st.just(np.inf)),
        "solar_w": draw(st.just(0.0) | st.floats(1, 500)),
        "ignition_signal_v": draw(st.sampled_from([0.0, 12.5])),
        "unit_dead": draw(st.booleans()) and draw(st.booleans()),
    }
    return Circuit(**{**parts, **fixed})


@given(circuits())
def test_voltages_round_both_loops_add_up(circuit):
    point = solve(circuit)
    around_vehicle = (
        point.vehicle_feed_drop_v + point.charger_input_voltage_v + point.vehicle_return_drop_v
    )
    assert around_vehicle == pytest.approx(point.start_battery_voltage_v, abs=1e-9)
    around_house = (
        point.house_feed_drop_v + point.house_battery_voltage_v + point.house_return_drop_v
    )
    assert around_house == pytest.approx(point.charger_output_voltage_v, abs=1e-9)


@given(circuits())
def test_what_comes_out_is_what_went_in_less_losses_and_own_use(circuit):
    point = solve(circuit)
    given_out = point.charger_output_voltage_v * point.output_current_a
    taken = point.charger_input_voltage_v * point.input_current_a + point.solar_power_w
    if point.output_current_a > 1e-9:
        wanted = circuit.efficiency * taken - circuit.self_consumption_w
        assert given_out == pytest.approx(wanted, abs=1e-6, rel=1e-9)
    assert given_out <= circuit.efficiency * taken + 1e-9


@given(circuits())
def test_no_limit_of_the_unit_is_ever_passed(circuit):
    point = solve(circuit)
    assert point.output_current_a <= circuit.rated_output_a * circuit.output_fraction + 1e-9
    assert point.solar_power_w <= circuit.solar_w + 1e-9
    if point.output_current_a > 1e-9:
        assert point.charger_output_voltage_v <= circuit.voltage_limit_v + 1e-9
        assert point.input_current_a <= circuit.input_limit_a + 1e-6
    if point.vehicle_on and point.output_current_a > 1e-9 and point.input_current_a > 0:
        signalled = circuit.ignition_signal_v >= circuit.ignition_signal_min_v
        stop = circuit.ignition_stop_voltage_v if signalled else circuit.stop_voltage_v
        assert point.charger_input_voltage_v >= min(stop, circuit.supply_v) - 1e-6


@given(circuits(), st.sampled_from(RUNS), st.floats(1.0, 20.0))
def test_more_resistance_never_raises_the_house_batterys_voltage(circuit, run, factor):
    worse = replace(circuit, **{run: getattr(circuit, run) * factor})
    allowed = solve(circuit).house_battery_voltage_v + 1e-9
    assert solve(worse).house_battery_voltage_v <= allowed


@given(circuits(), st.sampled_from(RUNS))
def test_opening_a_run_never_raises_the_house_batterys_voltage(circuit, run):
    worse = replace(circuit, **{run: np.inf})
    allowed = solve(circuit).house_battery_voltage_v + 1e-9
    assert solve(worse).house_battery_voltage_v <= allowed


@given(circuits())
def test_a_loop_of_twice_the_volts_ohms_and_watts_has_the_same_amperes(circuit):
    doubled = {
        name: 2 * np.asarray(getattr(circuit, name), dtype=float) for name in VOLTS_OR_OHMS_OR_WATTS
    }
    one, two = solve(circuit), solve(replace(circuit, **doubled))
    for field in fields(one):
        factor = 2.0 if field.name.endswith(("_v", "_w")) else 1.0
        expected = factor * np.asarray(getattr(one, field.name), dtype=float)
        found = np.asarray(getattr(two, field.name), dtype=float)
        assert found == pytest.approx(expected, abs=1e-6), field.name


@given(st.lists(circuits(), min_size=2, max_size=5))
def test_many_loops_solved_at_once_are_each_solved_as_alone(loops):
    names = [f.name for f in fields(Circuit) if f.default is not None]
    batch = Circuit(**{n: np.array([getattr(loop, n) for loop in loops]) for n in names})
    together = solve(batch)
    for number, loop in enumerate(loops):
        alone = solve(loop)
        for field in fields(alone):
            assert getattr(together, field.name)[number] == pytest.approx(
                getattr(alone, field.name)
            )
