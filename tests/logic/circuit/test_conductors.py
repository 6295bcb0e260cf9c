import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit.conductors import run_resistance
from logic.circuit.copper import greatest_resistance_per_metre, resistance_per_metre
from logic.vehicle.installation import CableRun
from logic.vehicle.points import Run

FULL = CableRun(length_m=4.5, area_mm2=13.3, joints=3, fuse_a=40)


def test_bare_cable_lies_between_solid_copper_and_the_standards_greatest_resistance():
    cable = CableRun(length_m=10, area_mm2=16, joints=0)
    found = run_resistance(Run.HOUSE_FEED, cable, 20.0)
    # The copper is taken 15 K warmer than the air.
    assert 10 * resistance_per_metre(16, 35) < found.mean
    assert found.mean < 10 * greatest_resistance_per_metre(16, 35)


@pytest.mark.parametrize("missing", ["length_m", "area_mm2", "joints"])
def test_what_is_not_known_widens_the_spread(missing):
    unknown = FULL.model_copy(update={missing: None})
    known = run_resistance(Run.VEHICLE_FEED, FULL, 20.0)
    assert run_resistance(Run.VEHICLE_FEED, unknown, 20.0).spread > known.spread


def test_a_run_of_which_nothing_is_known_covers_both_a_short_thick_and_a_long_thin_one():
    found = run_resistance(Run.VEHICLE_FEED, CableRun(), 20.0)
    low, high = (found.mean * math.exp(s * 2 * found.spread) for s in (-1, 1))
    assert low < run_resistance(Run.VEHICLE_FEED, FULL, 20.0).mean < high
    thin = CableRun(length_m=6, area_mm2=8, joints=3, fuse_a=40)
    assert low < run_resistance(Run.VEHICLE_FEED, thin, 20.0).mean < high


def test_a_return_without_a_cable_goes_through_the_body():
    found = run_resistance(Run.VEHICLE_RETURN, CableRun(), 20.0)
    assert 0.001 < found.mean < 0.01
    assert found.spread > 0.4


@given(
    length=st.floats(0.1, 20),
    area=st.floats(1, 100),
    joints=st.integers(0, 10),
    fuse=st.floats(10, 200),
)
def test_more_of_anything_never_lowers_a_runs_resistance(length, area, joints, fuse):
    cable = CableRun(length_m=length, area_mm2=area, joints=joints, fuse_a=fuse)
    mean = run_resistance(Run.HOUSE_FEED, cable, 20.0).mean
    for change in ({"length_m": 2 * length}, {"joints": joints + 1}, {"fuse_a": fuse / 2}):
        other = cable.model_copy(update=change)
        assert run_resistance(Run.HOUSE_FEED, other, 20.0).mean > mean
    assert run_resistance(Run.HOUSE_FEED, cable, 60.0).mean > mean
    thicker = cable.model_copy(update={"area_mm2": 2 * area})
    assert run_resistance(Run.HOUSE_FEED, thicker, 20.0).mean < mean


@given(length=st.floats(0.1, 20), area=st.floats(1, 100))
def test_two_half_cables_make_one(length, area):
    whole = run_resistance(Run.HOUSE_FEED, CableRun(length_m=length, area_mm2=area, joints=0), 20)
    half = CableRun(length_m=length / 2, area_mm2=area, joints=0)
    assert 2 * run_resistance(Run.HOUSE_FEED, half, 20).mean == pytest.approx(whole.mean)
