import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit import copper
from logic.errors import InputError
from logic.vehicle.installation import StatedAs
from tests.golden.table import rows


@pytest.mark.parametrize("row", rows("iec_60228_class_5"))
def test_flexible_copper_has_the_standards_greatest_resistance(row):
    found = copper.greatest_resistance_per_metre(float(row["area_mm2"])) * 1000
    assert found == pytest.approx(
        float(row["expected_milliohm_per_m"]), abs=float(row["tolerance"])
    )


@pytest.mark.parametrize("row", rows("awg"))
def test_a_gauge_has_the_standards_area_and_resistance(row):
    area = copper.area_of_awg(row["gauge"])
    assert area == pytest.approx(float(row["expected_area_mm2"]), rel=5e-4)
    resistance = copper.resistance_per_metre(area) * 1000
    assert resistance == pytest.approx(float(row["expected_milliohm_per_m"]), rel=5e-4)


@pytest.mark.parametrize("row", rows("auto_cable"))
def test_auto_cable_holds_far_less_copper_than_its_diameter_says(row):
    area = copper.area_of_auto_cable(row["diameter_mm"])
    assert float(row["lowest_area_mm2"]) <= area <= float(row["highest_area_mm2"])


@pytest.mark.parametrize("row", rows("copper_temperature"))
def test_copper_follows_the_standards_temperature_factors(row):
    found = 1 / copper.temperature_factor(float(row["temperature_c"]))
    assert found == pytest.approx(float(row["expected_factor_to_20c"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("published_drops"))
def test_published_worked_examples_come_out_once_their_resistivity_is_used(row):
    ours = copper.resistance_per_metre(float(row["area_mm2"])) * 58 * float(row["resistivity"])
    drop = ours * float(row["length_m"]) * float(row["current_a"])
    assert drop == pytest.approx(float(row["expected_v"]), rel=1e-3)


# ASTM B258: 39 steps multiply the diameter by 92.
@pytest.mark.parametrize(("steps", "area_ratio"), [(3, 2.0), (6, 4.0), (10, 10.0)])
def test_gauges_step_in_the_known_ratios(steps, area_ratio):
    for gauge in range(1, 30):
        ratio = copper.area_of_awg(str(gauge)) / copper.area_of_awg(str(gauge + steps))
        assert ratio == pytest.approx(92 ** (2 * steps / 39))
        assert ratio == pytest.approx(area_ratio, rel=0.03)


@pytest.mark.parametrize("words", ["6", "6 AWG", "6 B&S", "6b & s", "AWG 6", "#6"])
def test_awg_and_bs_are_one_gauge_however_they_are_written(words):
    assert copper.area_of_awg(words) == copper.area_of_awg("6")


@pytest.mark.parametrize("words", ["00", "2/0", "2/0 AWG"])
def test_aughts_are_written_two_ways(words):
    assert copper.area_of_awg(words) == copper.area_of_awg("2/0")


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
        copper.conductor(stated, size)
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
    found, stated_size = copper.conductor(stated, size)
    assert found == pytest.approx(area)
    assert stated_size.stated_as is stated
    assert stated_size.size == size.strip()


@given(area=st.floats(0.3, 300), thicker=st.floats(1.0, 5.0), warmer=st.floats(0, 80))
def test_thicker_or_colder_copper_never_has_more_resistance(area, thicker, warmer):
    for law in (copper.resistance_per_metre, copper.greatest_resistance_per_metre):
        assert law(min(area * thicker, 300)) <= law(area) * (1 + 1e-12)
        assert law(area, 20 + warmer) >= law(area, 20)


@given(area=st.floats(0.3, 300))
def test_stranded_copper_has_at_least_the_resistance_of_solid_copper(area):
    ratio = copper.greatest_resistance_per_metre(area) / copper.resistance_per_metre(area)
    assert 1.0 < ratio < 1.2 or math.isclose(ratio, 1.0)
