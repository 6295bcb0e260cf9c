import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit.supply import dead_signal, fixed_set_point, signal_drop, supply_voltage
from logic.vehicle.installation import Alternator, Charger, HouseBattery, Installation, StartBattery
from logic.vehicle.points import State


def vehicle(control="fixed", nominal=12, chemistry="flooded"):
    return Installation(
        nominal_voltage_v=nominal,
        alternator=Alternator(control=control),
        start_battery=StartBattery(chemistry=chemistry, capacity_ah=70),
        charger=Charger(rated_output_current_a=25),
        house_battery=HouseBattery(chemistry="agm", capacity_ah=100),
    )


# One published vehicle service table of set-points; the regulator is taken 20 K over the air.
@pytest.mark.parametrize(
    ("ambient", "low", "high"), [(-40, 14.0, 15.1), (0, 13.7, 14.6), (40, 13.2, 14.3)]
)
def test_a_fixed_set_point_falls_with_temperature_as_published(ambient, low, high):
    assert fixed_set_point(ambient) == pytest.approx((low, high))


# A vehicle service manual's economy mode aims at 12.5 to 13.1 V with the engine running.
@pytest.mark.parametrize("volts", [12.5, 13.1])
@pytest.mark.parametrize("state", [State.IDLE, State.FAST_IDLE])
def test_economy_mode_is_within_a_variable_alternators_spread(volts, state):
    found = supply_voltage(vehicle("variable"), state, 20)
    assert abs(volts - found.mean) < 2.5 * found.spread


# BCI: a flooded battery rests at 12.24 V half charged and 12.65 V full.
@pytest.mark.parametrize("volts", [12.4, 12.65])
def test_a_start_battery_in_use_rests_between_half_and_full(volts):
    found = supply_voltage(vehicle(), State.REST, 25)
    assert abs(volts - found.mean) < 2 * found.spread


@given(
    control=st.sampled_from(["fixed", "variable", "unknown"]),
    state=st.sampled_from(list(State)),
    celsius=st.floats(-30, 60),
)
def test_twenty_four_volt_vehicles_have_twice_the_volts(control, state, celsius):
    small = supply_voltage(vehicle(control), state, celsius)
    large = supply_voltage(vehicle(control, 24), state, celsius)
    assert large == pytest.approx((2 * small.mean, 2 * small.spread))


def test_a_trigger_terminal_that_is_not_fed_is_dead():
    assert dead_signal().mean == 0.0


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_live_trigger_terminal_follows_the_supply(scale):
    assert 0 < signal_drop(scale).mean < scale


def test_an_unknown_start_battery_is_less_certain_than_a_known_one():
    known = supply_voltage(vehicle(), State.REST, 20)
    unknown = supply_voltage(vehicle().model_copy(update={"start_battery": None}), State.REST, 20)
    assert unknown.spread > known.spread
