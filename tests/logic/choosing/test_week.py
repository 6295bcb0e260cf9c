import math
from typing import get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.choosing.advice import _supply, advise, panel_current
from logic.choosing.week import HOURS, STEPS_AN_HOUR, Supply, hours_to_charge, week
from logic.choosing.wish import Sun, Wish
from logic.circuit.batteries import charge_acceptance, charge_efficiency
from logic.vehicle.installation import Chemistry, HouseChemistry
from tests.golden.table import rows
from tests.logic.choosing.wishes import VETS_UTE, wishes

SUPPLY = Supply(
    chemistry=Chemistry.AGM,
    capacity_ah=100.0,
    rated_a=40.0,
    vehicle_a=math.inf,
    loads_a=2.0,
    driving_h=2.0,
    driving_days=7,
    panel_a=0.0,
    peak_sun_h=4.5,
)


def supply(**update):
    return Supply(**(vars(SUPPLY) | update))


@settings(max_examples=40)
@given(wishes(), st.floats(0, 1))
def test_what_came_in_was_used_lost_or_stored(wish, start):
    found = week(advise(wish).supply, start)
    came_in = found.vehicle_ah + found.solar_ah
    went = found.served_ah + found.lost_ah + found.stored_ah
    turned_over = max(came_in, found.served_ah, 1.0)
    assert abs(came_in - went) <= 0.001 * turned_over
    assert all(0 <= charge <= 1 for charge in found.charge)
    assert found.unserved_ah >= 0
    assert found.lost_ah >= -1e-9
    assert len(found.by_the_hour()) == HOURS + 1


# The same laws by an integrator from outside (scipy's), which knows nothing of steps.
@pytest.mark.outside
@pytest.mark.parametrize(
    "changed",
    [
        {},
        {"driving_h": 1.3, "driving_days": 5, "loads_a": 1.0},
        {"chemistry": Chemistry.LIFEPO4, "loads_a": 3.0},
        {"driving_h": 0.0, "panel_a": 12.0, "loads_a": 1.5},
        {"chemistry": Chemistry.FLOODED, "panel_a": 6.0, "rated_a": 20.0, "loads_a": 2.4},
        {"vehicle_a": 15.0, "driving_h": 4.0, "loads_a": 2.2},
    ],
)
def test_the_week_is_that_of_an_integrator_from_outside(changed):
    from scipy.integrate import solve_ivp

    given_supply = supply(**changed)
    capacity = given_supply.capacity_ah

    def into(hour, held):
        charge = min(1.0, max(0.0, held / capacity))
        want = charge_acceptance(given_supply.chemistry, charge) * capacity + given_supply.loads_a
        of_day, day = hour % 24, hour // 24
        height = math.sin(math.pi * (of_day - 6) / 12) if 6 < of_day < 18 else 0.0
        sun = given_supply.panel_a * given_supply.peak_sun_h * math.pi / 24 * height
        sun = min(sun, given_supply.rated_a, want)
        drives = day < given_supply.driving_days and 8 <= of_day < 8 + given_supply.driving_h
        engine = min(given_supply.vehicle_a, given_supply.rated_a - sun, want - sun) * drives
        net = sun + engine - given_supply.loads_a
        stored = net * charge_efficiency(given_supply.chemistry, charge) if net > 0 else net
        if charge >= 1.0 and net > 0:
            stored = 0.0
        return [stored, engine, sun]

    times = np.linspace(0, HOURS, HOURS + 1)
    solved = solve_ivp(
        lambda hour, state: into(hour, state[0]),
        (0, HOURS),
        [capacity, 0.0, 0.0],
        max_step=0.02,
        t_eval=times,
        method="RK23",
    )
    found = week(given_supply)
    assert found.by_the_hour() == pytest.approx(solved.y[0] / capacity, abs=0.004)
    assert found.vehicle_ah == pytest.approx(solved.y[1][-1], rel=0.01, abs=0.5)
    assert found.solar_ah == pytest.approx(solved.y[2][-1], rel=0.01, abs=0.5)


@settings(max_examples=25)
@given(wishes())
def test_eight_steps_an_hour_are_fine_enough(wish):
    given_supply = advise(wish).supply
    coarse, fine = week(given_supply), week(given_supply, steps_an_hour=4 * STEPS_AN_HOUR)
    hours = fine.charge[:: 4 * STEPS_AN_HOUR]
    assert coarse.by_the_hour() == pytest.approx(hours, abs=0.006)


MORE = ("driving_h", "panel_w", "alternator_a")


@settings(max_examples=40)
@given(wishes(), st.sampled_from(MORE), st.floats(1.0, 2.0))
def test_more_driving_sun_or_alternator_never_leaves_less_in_the_battery(wish, name, factor):
    value = getattr(wish, name)
    if not value:
        return
    value *= factor
    more = wish.model_copy(update={name: min(24.0, value) if name == "driving_h" else value})
    # Begun at midnight, a longer drive only ends later; one that must begin earlier is another.
    if name == "driving_h" and more.driving_h > 16:
        return
    before, after = (week(_supply(one, 100.0, 30.0)) for one in (wish, more))
    assert after.charge[-1] >= before.charge[-1] - 0.003
    assert after.lowest >= before.lowest - 0.003


@settings(max_examples=40)
@given(wishes(), st.floats(1.0, 3.0))
def test_larger_loads_never_leave_more(wish, factor):
    more = wish.model_copy(update={"load_factor": factor})
    before, after = (week(_supply(one, 100.0, 30.0)) for one in (wish, more))
    assert after.charge[-1] <= before.charge[-1] + 0.003
    assert after.lowest <= before.lowest + 0.003


# By hand: 100 Ah full, 2 A for 24 h less 8 h until the engine runs: 84 Ah at eight o'clock.
def test_the_loads_draw_the_battery_down_until_the_engine_runs():
    assert week(SUPPLY).by_the_hour()[8] == pytest.approx(0.84, abs=1e-9)


# By hand: 2 A for a week are 336 Ah; 100 are there.
def test_a_battery_that_nothing_charges_runs_empty_and_the_rest_goes_unserved():
    found = week(supply(driving_h=0.0))
    assert found.served_ah == pytest.approx(100.0)
    assert found.unserved_ah == pytest.approx(236.0)
    assert found.lowest == 0.0


# By hand: half a sine wave of twelve hours with 4.5 peak-sun hours holds 4.5 h at full sun.
@pytest.mark.parametrize("sun", list(Sun))
def test_a_day_has_the_sun_that_was_asked_for(sun):
    found = week(supply(driving_h=0.0, panel_a=1.0, loads_a=50.0, peak_sun_h=sun.peak_hours))
    assert found.solar_ah == pytest.approx(7 * sun.peak_hours, rel=0.001)


# An independent writer's test of AGM: C/5 from 50 % reaches 14.4 V after 76 min, C/2.5 after 20.
@pytest.mark.parametrize(("rated", "end", "minutes"), [(20.0, 0.767, 76.0), (40.0, 0.635, 20.0)])
def test_a_lead_battery_comes_up_to_its_knee_as_a_published_test_has_it(rated, end, minutes):
    found = hours_to_charge(supply(rated_a=rated, loads_a=0.0), 0.5, end)
    assert 60 * found == pytest.approx(minutes, rel=0.15)


# Common practice, no published source: the last fifth of a lead battery takes hours.
def test_the_last_fifth_of_a_lead_battery_takes_longer_than_the_three_before_it():
    quiet = supply(loads_a=0.0)
    last = hours_to_charge(quiet, 0.8, 0.99)
    assert last > hours_to_charge(quiet, 0.2, 0.8)
    lithium = supply(loads_a=0.0, chemistry=Chemistry.LIFEPO4)
    assert hours_to_charge(lithium, 0.8, 0.99) < last / 3


def test_a_unit_that_gives_less_than_the_loads_take_never_charges():
    assert hours_to_charge(supply(vehicle_a=1.5), 0.5, 0.95) is None


@pytest.mark.parametrize("row", rows("charge_acceptance"), ids=lambda row: row["source"][:40])
def test_what_a_battery_takes_near_full_falls_where_others_have_it_fall(row):
    chemistry, share = Chemistry(row["chemistry"]), float(row["current_share"])
    expected, tolerance = float(row["expected"]), float(row["tolerance"])
    grid = [step / 1000 for step in range(1001)]
    if row["quantity"] == "knee_charge":
        taken = [charge for charge in grid if charge_acceptance(chemistry, charge) >= share - 1e-9]
        assert max(taken) == pytest.approx(expected, abs=tolerance)
    else:
        knee = max(charge for charge in grid if charge_acceptance(chemistry, charge) >= share)
        tail = min(charge for charge in grid if charge_acceptance(chemistry, charge) <= 0.05)
        quiet = supply(loads_a=0.0, chemistry=chemistry, rated_a=100 * share)
        assert hours_to_charge(quiet, knee, tail) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize("chemistry", get_args(HouseChemistry))
def test_a_fuller_battery_never_takes_more_nor_stores_it_better(chemistry):
    grid = [step / 200 for step in range(201)]
    for law in (charge_acceptance, charge_efficiency):
        values = [law(chemistry, charge) for charge in grid]
        assert values == sorted(values, reverse=True)


# A battery seller's reference page: a lead battery gives back 85 % of the charge put in.
def test_a_whole_charge_of_a_lead_battery_takes_a_sixth_more():
    grid = [(step + 0.5) / 1000 for step in range(1000)]
    put_in = sum(1 / charge_efficiency(Chemistry.FLOODED, charge) for charge in grid) / 1000
    assert 1 / put_in == pytest.approx(0.85, abs=0.03)


@pytest.fixture(scope="module")
def clear_week():
    """Return a flat panel's clear-sky week by pvlib: its sun hours a day and its energy, Wh/W."""
    pandas = pytest.importorskip("pandas")
    pvlib = pytest.importorskip("pvlib")

    def made(day, latitude):
        # An invented place at sea level; whole days in its own solar time.
        times = pandas.date_range(day, periods=7 * 24 * 12, freq="5min", tz="Etc/GMT-10")
        place = pvlib.location.Location(latitude, 150.0, tz="Etc/GMT-10")
        sky = place.get_clearsky(times, model="simplified_solis")
        cells = pvlib.temperature.pvsyst_cell(sky["ghi"], 25.0, 1.0)
        power = pvlib.pvsystem.pvwatts_dc(sky["ghi"], cells, 1.0, -0.0045)
        losses = pvlib.pvsystem.pvwatts_losses() / 100
        hours = np.asarray(times.hour + times.minute / 60)
        return sky["ghi"].sum() / 12 / 7 / 1000, (1 - losses) * power.sum() / 12, hours, sky["ghi"]

    return made


# pvlib: simplified Solis sky, PVsyst cells, PVWatts panel with its usual losses of 14 %.
@pytest.mark.outside
@pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear")
@pytest.mark.parametrize(("day", "latitude"), [("2026-03-20", -27.0), ("2026-06-10", -33.0)])
def test_the_suns_share_of_a_week_is_pvlibs(clear_week, day, latitude):
    sun_hours, energy, _, _ = clear_week(day, latitude)
    panel = Wish(panel_w=100.0)
    given_supply = supply(
        driving_h=0.0, panel_a=panel_current(panel), loads_a=50.0, peak_sun_h=sun_hours
    )
    # Out of the unit, at the middle of AGM's absorption window and an efficiency of 0.9.
    watt_hours = week(given_supply).solar_ah * 14.45 / 0.9
    assert watt_hours == pytest.approx(100 * energy, rel=0.1)


@pytest.mark.outside
@pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear")
def test_the_sun_rises_and_sets_much_as_pvlibs(clear_week):
    _, _, hours, strength = clear_week("2026-03-20", -27.0)
    theirs = np.array([strength[hours < hour].sum() for hour in range(25)]) / strength.sum()
    found = week(supply(driving_h=0.0, panel_a=1.0, loads_a=50.0))
    ours = np.array([sum(found.sun[: hour * STEPS_AN_HOUR]) for hour in range(25)])
    assert ours / ours[24] == pytest.approx(theirs, abs=0.06)


def test_the_vets_ute_keeps_its_vaccines_cold():
    found = advise(VETS_UTE)
    assert found.holds
    assert found.week.lowest > 0.5
