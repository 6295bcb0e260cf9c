import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from logic.vehicle import meter
from logic.vehicle.installation import Meter
from logic.vehicle.points import Point
from tests.golden.table import rows

VALUE = st.floats(-60, 60)


@pytest.mark.parametrize("row", rows("meter_accuracy"))
def test_percent_plus_counts_is_read_as_published(row):
    found = meter.accuracy_half_width(
        *(float(row[name]) for name in ("reading", "percent", "counts", "resolution"))
    )
    assert found == pytest.approx(float(row["expected_half_width"]), abs=float(row["tolerance"]))


# General meter tutorial's 1.755 V on ±(0.5 % + 1): a / √3 is 0.00564 V.
def test_a_rectangular_half_width_is_divided_by_root_three():
    assert meter.Contribution.rectangular(0.009775).standard == pytest.approx(0.00564, abs=5e-6)


def s9():
    """EA-4/02 example S9, hand-held multimeter at 100 V DC (input texts from memory)."""
    return [
        meter.Contribution(0.001, -1.0),
        meter.Contribution.rectangular(0.05),
        meter.Contribution.rectangular(0.011, -1.0),
    ]


# Standard uncertainty, k and U confirmed in lmbacelar/uncertain, measurement_manager_spec.rb.
def test_ea_4_02_s9_comes_out_as_published():
    assert meter.combined(s9()) == pytest.approx(0.030, abs=5e-4)
    assert meter.coverage_factor(s9()) == 1.65
    assert round(meter.coverage_factor(s9()) * meter.combined(s9()), 2) == 0.05


def test_ea_4_02_s9_fails_with_a_factor_of_two():
    assert round(meter.COVERAGE * meter.combined(s9()), 2) != 0.05


# EA-4/02: 1.65 only for one dominant rectangular contribution.
def test_several_alike_or_a_normal_one_take_a_factor_of_two():
    alike = [meter.Contribution.rectangular(0.05), meter.Contribution.rectangular(0.04)]
    assert meter.coverage_factor(alike) == 2.0
    assert meter.coverage_factor([meter.Contribution(0.05)]) == 2.0
    assert meter.coverage_factor([]) == 2.0


@given(st.lists(st.tuples(st.floats(1e-6, 10), st.floats(-5, 5)), min_size=1, max_size=6))
def test_combining_agrees_with_a_general_purpose_library(parts):
    ours = meter.combined(meter.Contribution(u, c) for u, c in parts)
    theirs = sum(c * ufloat(0, u) for u, c in parts)
    assert ours == pytest.approx(getattr(theirs, "std_dev", 0.0), rel=1e-9, abs=1e-12)


@given(VALUE, VALUE, st.floats(0.1, 5), st.floats(0.5, 10))
def test_comparing_two_readings_agrees_with_a_shared_gain_in_a_general_purpose_library(
    value, reference, percent, counts
):
    described = Meter(
        voltage_accuracy_percent=percent, voltage_counts=counts, voltage_resolution_v=0.01
    )
    gain = ufloat(1, percent / 100 / math.sqrt(3))
    fixed = [
        ufloat(0, half / math.sqrt(3)) for half in (counts * 0.01, 0.005, counts * 0.01, 0.005)
    ]
    theirs = value * gain + fixed[0] + fixed[1] - (reference * gain + fixed[2] + fixed[3])
    ours = meter.comparison_uncertainty(described, Point.CHARGER_INPUT_VOLTAGE, value, reference)
    assert ours == pytest.approx(theirs.std_dev, rel=1e-6, abs=1e-9)


@given(st.sampled_from(list(Point)), VALUE)
def test_expanded_is_twice_standard_at_every_point(point, value):
    standard = meter.standard_uncertainty(None, point, value)
    assert standard >= 0
    assert meter.expanded_uncertainty(None, point, value) == 2 * standard


@given(st.sampled_from(list(Point)), VALUE, st.floats(1, 4))
def test_a_worse_meter_never_knows_better(point, value, factor):
    good = Meter(
        voltage_accuracy_percent=0.5,
        voltage_counts=2,
        voltage_resolution_v=0.01,
        current_accuracy_percent=2,
        current_zero_a=0.3,
        current_resolution_a=0.1,
    )
    worse = Meter(**{name: figure * factor for name, figure in good.model_dump().items()})
    assert meter.standard_uncertainty(worse, point, value) >= meter.standard_uncertainty(
        good, point, value
    )


# General meter tutorial: basic DC accuracy 0.1 % + 1 to 0.7 % + 1 count.
def test_a_meter_not_described_is_an_ordinary_one():
    expanded = meter.expanded_uncertainty(None, Point.START_BATTERY_VOLTAGE, 12.6)
    best = 2 * (0.001 * 12.6 + 0.01) / math.sqrt(3)
    worst = 2 * (0.007 * 12.6 + 0.03) / math.sqrt(3)
    assert best < expanded < worst


def test_a_small_drop_is_known_to_millivolts():
    assert meter.expanded_uncertainty(None, Point.VEHICLE_FEED_DROP, 0.12) < 0.005


# Trade: a clamp lies by its zero error at small currents.
def test_a_clamps_zero_error_rules_small_currents():
    small = meter.standard_uncertainty(None, Point.INPUT_CURRENT, 0.5)
    assert small / 0.5 > 0.3
    assert meter.standard_uncertainty(None, Point.INPUT_CURRENT, 50.0) / 50.0 < 0.02


@pytest.mark.parametrize(
    "point",
    [point for point in Point if point.unit == "lit"] + [Point.PROFILE_SETTING_VOLTAGE],
)
def test_a_lamp_and_a_setting_are_read_without_doubt(point):
    assert meter.standard_uncertainty(None, point, 1.0) == 0.0


def test_zero_percent_is_not_taken_for_not_known():
    exact = Meter(voltage_accuracy_percent=0, voltage_counts=0, voltage_resolution_v=0.001)
    found = meter.standard_uncertainty(exact, Point.START_BATTERY_VOLTAGE, 12.6)
    assert found == pytest.approx(0.0005 / math.sqrt(3))


@given(st.floats(0.1, 5), st.floats(0.5, 10), st.floats(0.1, 5), st.floats(0.05, 2))
def test_what_the_fit_shares_and_what_it_leaves_to_each_reading_make_one_readings_uncertainty(
    volt_percent, counts, clamp_percent, zero
):
    described = Meter(
        voltage_accuracy_percent=volt_percent,
        voltage_counts=counts,
        voltage_resolution_v=0.01,
        current_accuracy_percent=clamp_percent,
        current_zero_a=zero,
        current_resolution_a=0.1,
    )
    shared = meter.shared_spreads(described)
    own_volts = meter.own_spread(described, Point.CHARGER_INPUT_VOLTAGE)
    own_amperes = meter.own_spread(described, Point.INPUT_CURRENT)
    # JCGM 100, 5.1.2 on reading = true value x (1 + gain) + zero + own error, at 25 A.
    theirs = 25 * ufloat(1, shared.current_gain) + ufloat(0, shared.clamp_zero_a)
    theirs += ufloat(0, own_amperes.fixed)
    ours = meter.standard_uncertainty(described, Point.INPUT_CURRENT, 25.0)
    assert ours == pytest.approx(theirs.std_dev, rel=1e-9)
    # At no volts at all only counts and last digit are left.
    nothing = meter.standard_uncertainty(described, Point.CHARGER_INPUT_VOLTAGE, 0.0)
    assert nothing == pytest.approx(own_volts.fixed)


# A 6000-count display: millivolts on a drop, hundredths at a battery's posts.
def test_a_drop_is_read_to_millivolts_and_a_post_to_hundredths():
    drop = meter.own_spread(None, Point.VEHICLE_RETURN_DROP).fixed
    post = meter.own_spread(None, Point.HOUSE_BATTERY_VOLTAGE).fixed
    assert post == pytest.approx(10 * drop)
    assert 0.01 / math.sqrt(3) < post < 0.03 / math.sqrt(3)
