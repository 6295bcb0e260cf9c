"""Wishes for hypothesis, and one of the invented workshop's."""

from typing import get_args

from hypothesis import strategies as st

from logic.choosing.wish import Load, Sun, Wish
from logic.vehicle.installation import Chemistry, Control, HouseChemistry

FRIDGE = Load(name="Vaccine fridge", current_a=4.0, hours=10.0)
LIGHTS = Load(name="Lights", power_w=20.0, hours=5.0)
VETS_UTE = Wish(
    control=Control.VARIABLE,
    alternator_a=150.0,
    chemistry=Chemistry.AGM,
    capacity_ah=200.0,
    loads=(FRIDGE, LIGHTS),
    driving_h=2.0,
)
# The mobile library: a 24 V truck with a 12 V house side.
LIBRARY_TRUCK = Wish(
    nominal_voltage_v=24,
    output_nominal_voltage_v=12,
    control=Control.FIXED,
    alternator_a=80.0,
    chemistry=Chemistry.AGM,
    capacity_ah=200.0,
    loads=(Load(name="Reading lamps", power_w=60.0, hours=8.0),),
    driving_h=3.0,
    run_length_m=6.0,
)


def loads():
    return st.builds(
        Load,
        current_a=st.none() | st.floats(0.1, 12),
        power_w=st.none() | st.floats(1, 120),
        hours=st.floats(0, 24),
    )


def wishes():
    return st.builds(
        Wish,
        nominal_voltage_v=st.sampled_from([12, 24]),
        output_nominal_voltage_v=st.sampled_from([None, 12, 24]),
        control=st.sampled_from(list(Control)),
        alternator_a=st.none() | st.floats(60, 250),
        chemistry=st.sampled_from(get_args(HouseChemistry)),
        capacity_ah=st.none() | st.floats(40, 600),
        loads=st.lists(loads(), max_size=4).map(tuple),
        driving_h=st.floats(0, 24),
        driving_days=st.integers(0, 7),
        panel_w=st.just(0.0) | st.floats(50, 600),
        sun=st.sampled_from(list(Sun)),
        run_length_m=st.floats(0.5, 12),
        rated_output_current_a=st.none() | st.sampled_from([20.0, 25.0, 40.0, 50.0]),
    )
