import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit.operating_point import Circuit, solve
from logic.circuit.sound_installation import sound_installation
from logic.vehicle.installation import Charger, Fitted, HouseBattery, Installation, Meter
from logic.vehicle.points import Run, State
from tests.installations import installations


def sound_circuit(installation: Installation, state: State, sunlight: float = 0.0) -> Circuit:
    """The sound installation's loop in a state, every unknown at its middle."""
    sound = sound_installation(installation)
    unit, house = sound.charger, sound.house
    running = state.engine_runs
    charging = running or (state is State.SOLAR and sound.panel.current_a.mean * sunlight > 0)
    wired = running and sound.ignition_wired > 0.5
    return Circuit(
        supply_v=sound.supply_v[state].mean,
        vehicle_feed_ohm=sound.run_ohm[Run.VEHICLE_FEED].mean,
        vehicle_return_ohm=sound.run_ohm[Run.VEHICLE_RETURN].mean,
        house_feed_ohm=sound.run_ohm[Run.HOUSE_FEED].mean,
        house_return_ohm=sound.run_ohm[Run.HOUSE_RETURN].mean,
        house_emf_v=house.rest_v.mean + (house.rise_v.mean if charging else 0.0),
        house_battery_ohm=house.resistance_ohm.mean,
        house_load_a=house.load_a.mean,
        rated_output_a=unit.rated_output_a,
        output_fraction=unit.rating_share.mean,
        voltage_limit_v=unit.absorption_v,
        efficiency=unit.efficiency.mean,
        self_consumption_w=unit.own_use_w.mean,
        input_limit_a=unit.input_limit_a,
        solar_w=sound.panel.current_a.mean * sound.panel.working_v.mean * sunlight,
        start_voltage_v=unit.start_v,
        stop_voltage_v=unit.stop_v,
        ignition_start_voltage_v=unit.ignition_start_v,
        ignition_stop_voltage_v=unit.ignition_stop_v,
        ignition_signal_min_v=unit.ignition_signal_min_v,
        ignition_signal_v=(sound.supply_v[state].mean - sound.signal_drop_v.mean if wired else 0.0),
    )


def test_with_next_to_nothing_known_everything_still_has_a_middle_and_a_spread():
    bare = Installation(
        charger=Charger(rated_output_current_a=25), house_battery=HouseBattery(chemistry="agm")
    )
    sound = sound_installation(bare)
    assert set(sound.run_ohm) == set(Run) - {Run.SOLAR_FEED}
    assert all(ohm.mean > 0 and ohm.spread > 0 for ohm in sound.run_ohm.values())
    assert sound.charger.input_limit_a == math.inf
    assert sound.charger.stop_v < sound.charger.start_v < sound.charger.absorption_v
    assert sound.panel.current_a.mean == 0


@given(installations())
def test_what_is_entered_is_what_is_used(installation):
    sound, unit = sound_installation(installation), installation.charger
    for found, entered in (
        (sound.charger.absorption_v, unit.absorption_voltage_v),
        (sound.charger.start_v, unit.start_voltage_v),
        (sound.charger.ignition_stop_v, unit.ignition_stop_voltage_v),
        (sound.charger.efficiency.mean, unit.efficiency),
        (sound.ambient_c.mean, installation.ambient_c),
    ):
        assert entered is None or found == entered


@given(installations())
def test_a_sound_installation_settles_and_charges_with_the_engine_running(installation):
    point = solve(sound_circuit(installation, State.FAST_IDLE))
    assert point.output_current_a > 0
    assert point.house_battery_voltage_v > sound_installation(installation).house.rest_v.mean
    assert solve(sound_circuit(installation, State.REST)).output_current_a == 0


@given(installations())
def test_neither_the_meter_nor_the_checklists_extras_change_what_is_sound(installation):
    other = installation.model_copy(
        update={
            "meter": Meter(voltage_accuracy_percent=5),
            "fitted": Fitted(reverse_charge=True, battery_monitor=True),
        }
    )
    assert sound_installation(other) == sound_installation(installation)


@given(installations(), st.sampled_from(list(State)))
def test_the_panel_feeds_only_a_sunlit_circuit(installation, state):
    assert sound_circuit(installation, state, 0.0).solar_w == 0
    lit = sound_circuit(installation, state, 1.0).solar_w
    assert (lit > 0) == (installation.solar is not None)


# Contract: null is "not known", and must widen what is expected, never stop it.
@pytest.mark.parametrize("missing", ["efficiency"])
def test_an_unknown_efficiency_is_less_certain(missing):
    known = Installation(
        charger=Charger(rated_output_current_a=25, efficiency=0.92),
        house_battery=HouseBattery(chemistry="agm", capacity_ah=100),
    )
    unknown = known.model_copy(update={"charger": known.charger.model_copy(update={missing: None})})
    assert (
        sound_installation(unknown).charger.efficiency.spread
        > sound_installation(known).charger.efficiency.spread
    )
