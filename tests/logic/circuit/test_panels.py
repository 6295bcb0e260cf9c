import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit import panels, tables
from logic.vehicle.installation import Solar
from tests.golden.table import rows


@pytest.mark.parametrize("row", rows("cold_panel"))
def test_the_cold_panels_voltage_is_the_codes(row):
    found = panels.cold_open_circuit_voltage(float(row["open_circuit_v"]), float(row["coldest_c"]))
    assert found == pytest.approx(float(row["expected_v"]))


# Textbook rule, worked through: 22.0 V, -0.32 %/°C, -10 °C is 24.464 V.
def test_the_straight_rule_gives_its_worked_example():
    assert panels.open_circuit_voltage(22.0, -10.0, -0.0032) == pytest.approx(24.464)


@given(volts=st.floats(10, 100), celsius=st.floats(-40, 24))
def test_the_table_is_never_under_the_usual_coefficient(volts, celsius):
    by_table = panels.cold_open_circuit_voltage(volts, celsius)
    assert by_table >= panels.open_circuit_voltage(volts, celsius, -0.0032) - 1e-9


def test_below_the_tables_coldest_row_that_row_holds():
    assert panels.cold_open_circuit_voltage(20, -60) == pytest.approx(25.0)


@given(sun=st.floats(0, 1), more=st.floats(0, 1))
def test_more_light_never_lowers_the_open_circuit_voltage(sun, more):
    assert panels.light_factor(min(1.0, sun + more)) >= panels.light_factor(sun)


def test_no_light_makes_no_voltage_and_full_sun_the_plates():
    assert panels.light_factor(0.0) == 0.0
    assert panels.light_factor(1.0) == 1.0


@pytest.mark.parametrize(
    ("solar", "amperes"),
    [
        (None, 0.0),
        (Solar(rated_power_w=180, max_power_voltage_v=18), 10.0),
        (Solar(short_circuit_current_a=10), 9.4),
        (Solar(), 6.0),
    ],
)
def test_the_panels_current_comes_from_the_best_figure_its_plate_has(solar, amperes):
    assert panels.plate_current(solar) == pytest.approx(amperes)


@pytest.mark.parametrize(
    ("solar", "volts"),
    [
        (None, 44.0),
        (Solar(open_circuit_voltage_v=40), 40.0),
        (Solar(max_power_voltage_v=36), 44.0),
        (Solar(), 44.0),
    ],
)
def test_the_panels_voltage_comes_from_the_best_figure_its_plate_has(solar, volts):
    assert panels.plate_open_circuit(solar, 2.0) == pytest.approx(volts)


# Common practice, no published source: 200 W of panel gives about 10 A into the battery.
def test_two_hundred_watts_make_about_ten_amperes():
    working = panels.plate_working(Solar(rated_power_w=200))
    amperes = panels.plate_current(Solar(rated_power_w=200)) * 0.85 * working / 14.0
    assert 9 < amperes < 13


@pytest.fixture(scope="module")
def cec_panels():
    """Return the 36-cell crystalline panels of the CEC list that pvlib carries, and their model."""
    pvlib = pytest.importorskip("pvlib")
    listed = pvlib.pvsystem.retrieve_sam("CECMod").T
    crystalline = listed.Technology.isin(["Mono-c-Si", "Multi-c-Si"])
    chosen = listed[(listed.N_s == 36) & crystalline]
    names = ("alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_sh_ref", "R_s", "Adjust")
    figures = [chosen[name].astype(float).to_numpy() for name in names]

    def open_circuit_share(cells_c, watts_per_m2=1000.0):
        model = pvlib.pvsystem.calcparams_cec(watts_per_m2, cells_c, *figures)
        cold = np.asarray(pvlib.pvsystem.singlediode(*model)["v_oc"])
        return cold / chosen.V_oc_ref.astype(float).to_numpy()

    return open_circuit_share


# pvlib's single-diode model in full sun with the cells as cold as the air: the most that can be.
@pytest.mark.outside
@pytest.mark.parametrize("coldest_c", [0, -5, -10, -15, -20, -25, -30, -35, -40])
def test_the_table_holds_for_the_usual_panel_and_its_margin_for_nearly_all(cec_panels, coldest_c):
    shares = cec_panels(float(coldest_c))
    by_table = panels.cold_open_circuit_voltage(1.0, coldest_c)
    assert len(shares) > 200
    assert np.median(shares) <= by_table <= 1.03 * np.median(shares)
    margin = tables.number("solar", "cold.margin")
    assert np.quantile(shares, 0.95) <= margin * by_table
    # The first sun of a morning is no full sun.
    assert np.quantile(cec_panels(float(coldest_c), 400.0), 0.9) <= by_table


@pytest.mark.outside
def test_hot_cells_lose_the_voltage_that_the_straight_rule_takes_off(cec_panels):
    shares = cec_panels(60.0)
    assert np.median(shares) == pytest.approx(panels.open_circuit_voltage(1.0, 60.0), abs=0.015)
