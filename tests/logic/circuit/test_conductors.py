import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit import conductors
from logic.errors import InputError
from logic.vehicle.installation import CableRun, StatedAs
from logic.vehicle.points import Run
from tests.golden.table import rows

FULL = CableRun(length_m=4.5, area_mm2=13.3, joints=3, fuse_a=40)


def test_bare_cable_lies_between_solid_copper_and_the_standards_greatest_resistance():
    cable = CableRun(length_m=10, area_mm2=16, joints=0)
    found = conductors.run_resistance(Run.HOUSE_FEED, cable, 20.0)
    # The copper is taken 15 K warmer than the air.
    assert 10 * conductors.resistance_per_metre(16, 35) < found.mean
    assert found.mean < 10 * conductors.greatest_resistance_per_metre(16, 35)


@pytest.mark.parametrize("missing", ["length_m", "area_mm2", "joints"])
def test_what_is_not_known_widens_the_spread(missing):
    unknown = FULL.model_copy(update={missing: None})
    known = conductors.run_resistance(Run.VEHICLE_FEED, FULL, 20.0)
    assert conductors.run_resistance(Run.VEHICLE_FEED, unknown, 20.0).spread > known.spread


def test_a_run_of_which_nothing_is_known_covers_both_a_short_thick_and_a_long_thin_one():
    found = conductors.run_resistance(Run.VEHICLE_FEED, CableRun(), 20.0)
    low, high = (found.mean * math.exp(s * 2 * found.spread) for s in (-1, 1))
    assert low < conductors.run_resistance(Run.VEHICLE_FEED, FULL, 20.0).mean < high
    thin = CableRun(length_m=6, area_mm2=8, joints=3, fuse_a=40)
    assert low < conductors.run_resistance(Run.VEHICLE_FEED, thin, 20.0).mean < high


def test_a_return_without_a_cable_goes_through_the_body():
    found = conductors.run_resistance(Run.VEHICLE_RETURN, CableRun(), 20.0)
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
    mean = conductors.run_resistance(Run.HOUSE_FEED, cable, 20.0).mean
    for change in ({"length_m": 2 * length}, {"joints": joints + 1}, {"fuse_a": fuse / 2}):
        other = cable.model_copy(update=change)
        assert conductors.run_resistance(Run.HOUSE_FEED, other, 20.0).mean > mean
    assert conductors.run_resistance(Run.HOUSE_FEED, cable, 60.0).mean > mean
    thicker = cable.model_copy(update={"area_mm2": 2 * area})
    assert conductors.run_resistance(Run.HOUSE_FEED, thicker, 20.0).mean < mean


@given(length=st.floats(0.1, 20), area=st.floats(1, 100))
def test_two_half_cables_make_one(length, area):
    whole = conductors.run_resistance(
        Run.HOUSE_FEED, CableRun(length_m=length, area_mm2=area, joints=0), 20
    )
    half = CableRun(length_m=length / 2, area_mm2=area, joints=0)
    assert 2 * conductors.run_resistance(Run.HOUSE_FEED, half, 20).mean == pytest.approx(whole.mean)


@pytest.mark.parametrize("row", rows("iec_60228_class_5"))
def test_flexible_copper_has_the_standards_greatest_resistance(row):
    found = conductors.greatest_resistance_per_metre(float(row["area_mm2"])) * 1000
    assert found == pytest.approx(
        float(row["expected_milliohm_per_m"]), abs=float(row["tolerance"])
    )


@pytest.mark.parametrize("row", rows("awg"))
def test_a_gauge_has_the_standards_area_and_resistance(row):
    area = conductors.area_of_awg(row["gauge"])
    assert area == pytest.approx(float(row["expected_area_mm2"]), rel=5e-4)
    resistance = conductors.resistance_per_metre(area) * 1000
    assert resistance == pytest.approx(float(row["expected_milliohm_per_m"]), rel=5e-4)


@pytest.mark.parametrize("row", rows("auto_cable"))
def test_auto_cable_holds_far_less_copper_than_its_diameter_says(row):
    area = conductors.area_of_auto_cable(row["diameter_mm"])
    assert float(row["lowest_area_mm2"]) <= area <= float(row["highest_area_mm2"])


@pytest.mark.parametrize("row", rows("copper_temperature"))
def test_copper_follows_the_standards_temperature_factors(row):
    found = 1 / conductors.temperature_factor(float(row["temperature_c"]))
    assert found == pytest.approx(float(row["expected_factor_to_20c"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("published_drops"))
def test_published_worked_examples_come_out_once_their_resistivity_is_used(row):
    ours = conductors.resistance_per_metre(float(row["area_mm2"])) * 58 * float(row["resistivity"])
    drop = ours * float(row["length_m"]) * float(row["current_a"])
    assert drop == pytest.approx(float(row["expected_v"]), rel=1e-3)


# ASTM B258: 39 steps multiply the diameter by 92.
@pytest.mark.parametrize(("steps", "area_ratio"), [(3, 2.0), (6, 4.0), (10, 10.0)])
def test_gauges_step_in_the_known_ratios(steps, area_ratio):
    for gauge in range(1, 30):
        ratio = conductors.area_of_awg(str(gauge)) / conductors.area_of_awg(str(gauge + steps))
        assert ratio == pytest.approx(92 ** (2 * steps / 39))
        assert ratio == pytest.approx(area_ratio, rel=0.03)


@pytest.mark.parametrize("words", ["6", "6 AWG", "6 B&S", "6b & s", "AWG 6", "#6"])
def test_awg_and_bs_are_one_gauge_however_they_are_written(words):
    assert conductors.area_of_awg(words) == conductors.area_of_awg("6")


@pytest.mark.parametrize("words", ["00", "2/0", "2/0 AWG"])
def test_aughts_are_written_two_ways(words):
    assert conductors.area_of_awg(words) == conductors.area_of_awg("2/0")


@pytest.mark.parametrize(
    ("stated", "size", "wanted"),
    [
        (StatedAs.AWG, "5/0", "whole number"),
        (StatedAs.AWG, "41", "whole number"),
        (StatedAs.AWG, "-1", "whole number"),
        (StatedAs.AWG, "16 mm", "whole number"),
        (StatedAs.AWG, "", "whole number"),
        (StatedAs.AUTO_CABLE, "8", "It is sold as 2, 2.5, 3, 4, 5, 6 mm"),
        (StatedAs.AUTO_CABLE, "x", "copper area in mm²"),
        (StatedAs.SQUARE_MILLIMETRES, "0", "from 0.2 to 300"),
        (StatedAs.SQUARE_MILLIMETRES, "1e3", "such as 16"),
        (StatedAs.SQUARE_MILLIMETRES, "16,,5", "such as 16"),
        (StatedAs.SQUARE_MILLIMETRES, "500", "from 0.2 to 300"),
    ],
)
def test_a_size_that_is_none_says_what_to_type(stated, size, wanted):
    with pytest.raises(InputError, match=wanted) as caught:
        conductors.conductor(stated, size)
    assert caught.value.field == "size"


@pytest.mark.parametrize(
    ("stated", "size", "area"),
    [
        (StatedAs.SQUARE_MILLIMETRES, " 16 mm² ", 16.0),
        (StatedAs.SQUARE_MILLIMETRES, "13,3", 13.3),
        (StatedAs.AUTO_CABLE, "6 mm", 4.595),
    ],
)
def test_the_words_a_size_was_stated_in_are_kept(stated, size, area):
    found, stated_size = conductors.conductor(stated, size)
    assert found == pytest.approx(area)
    assert stated_size.stated_as is stated
    assert stated_size.size == size.strip()


@given(area=st.floats(0.3, 300), thicker=st.floats(1.0, 5.0), warmer=st.floats(0, 80))
def test_thicker_or_colder_copper_never_has_more_resistance(area, thicker, warmer):
    for law in (conductors.resistance_per_metre, conductors.greatest_resistance_per_metre):
        assert law(min(area * thicker, 300)) <= law(area) * (1 + 1e-12)
        assert law(area, 20 + warmer) >= law(area, 20)


@given(area=st.floats(0.3, 300))
def test_stranded_copper_has_at_least_the_resistance_of_solid_copper(area):
    ratio = conductors.greatest_resistance_per_metre(area) / conductors.resistance_per_metre(area)
    assert 1.0 < ratio < 1.2 or math.isclose(ratio, 1.0)


@pytest.mark.parametrize("row", rows("ampacity"))
def test_a_cable_carries_what_the_regulation_says(row):
    found = conductors.ampacity(
        conductors.area_of_awg(row["gauge"]), row["in_engine_space"] == "yes"
    )
    assert found == pytest.approx(float(row["expected_a"]), abs=0.5)


# Automotive handbook, trade journal reprint: 16 mm² 96 A, 35 mm² 140 A.
@pytest.mark.parametrize(("area", "amperes"), [(16, 96), (35, 140), (4, 40), (95, 285)])
def test_the_handbooks_current_density_is_kept(area, amperes):
    assert conductors.handbook_ampacity(area) == pytest.approx(amperes)


def test_beyond_the_handbooks_table_nothing_is_claimed():
    assert conductors.handbook_ampacity(120) is None


# 33 CFR 183.455 (c): 150 % of 120 A.
def test_the_us_rule_allows_a_six_gauge_cable_a_fuse_of_180():
    assert conductors.greatest_fuse(conductors.area_of_awg("6")) == pytest.approx(180)


@pytest.mark.parametrize("row", rows("cable_drop"))
def test_a_cables_loss_is_the_standards(row):
    found = conductors.cable_drop(
        float(row["length_m"]),
        float(row["area_mm2"]),
        float(row["current_a"]),
        float(row["temperature_c"]),
    )
    assert found == pytest.approx(float(row["expected_v"]), abs=float(row["tolerance_v"]))


# Assumed: a link loses 0.05 to 0.1 V at its rating.
@pytest.mark.parametrize("rating", [30, 40, 60, 100])
def test_a_fuse_loses_some_hundredths_of_a_volt_at_its_rating(rating):
    assert 0.05 <= rating * conductors.fuse_resistance(rating) <= 0.1


@given(rating=st.floats(1, 500))
def test_a_larger_fuse_never_has_more_resistance(rating):
    assert conductors.fuse_resistance(2 * rating) < conductors.fuse_resistance(rating)
