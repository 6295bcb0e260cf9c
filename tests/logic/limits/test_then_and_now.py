"""Then and now by hand: a drop over its current is a resistance (Ohm's law)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.case import Reading
from logic.limits.then_and_now import compare
from logic.vehicle.installation import Charger, HouseBattery, Installation
from logic.vehicle.points import Point, Run, State

INSTALLATION = Installation(
    charger=Charger(rated_output_current_a=40),
    house_battery=HouseBattery(chemistry="agm"),
)


def taken(**values: float) -> tuple[Reading, ...]:
    return tuple(
        Reading(point=Point(point), state=State.IDLE, value=value)
        for point, value in values.items()
    )


def changes(now, then):
    return {c.point: c for c in compare(INSTALLATION, taken(**now), taken(**then))}


def test_a_drop_is_compared_per_ampere():
    found = changes(
        {"vehicle_return_drop": 0.060, "input_current": 20.0},
        {"vehicle_return_drop": 0.120, "input_current": 40.0},
    )[Point.VEHICLE_RETURN_DROP]
    # 0.120 V / 40 A = 0.060 V / 20 A = 3 milliohms: half the volts, and nothing changed.
    assert found.then_ohm == found.now_ohm == pytest.approx(0.003)
    assert found.expected_now == pytest.approx(0.060)
    assert not found.is_real
    assert found.run is Run.VEHICLE_RETURN


def test_what_changed_most_comes_first():
    found = compare(
        INSTALLATION,
        taken(vehicle_feed_drop=0.42, vehicle_return_drop=1.3, input_current=30, output_current=27),
        taken(vehicle_feed_drop=0.40, vehicle_return_drop=0.1, input_current=31, output_current=28),
    )
    assert found[0].point is Point.VEHICLE_RETURN_DROP
    assert found[0].is_real
    assert not any(change.is_real for change in found[1:])


def test_only_the_same_post_in_the_same_state_is_compared():
    then = (Reading(point=Point.OUTPUT_CURRENT, state=State.FAST_IDLE, value=40),)
    assert compare(INSTALLATION, taken(output_current=10), then) == ()


def test_a_drop_without_its_current_is_compared_in_volts():
    found = changes({"vehicle_feed_drop": 0.9}, {"vehicle_feed_drop": 0.3})
    assert found[Point.VEHICLE_FEED_DROP].then_ohm is None
    assert found[Point.VEHICLE_FEED_DROP].is_real


def test_with_hardly_any_current_nothing_is_divided_by_it():
    found = changes(
        {"vehicle_feed_drop": 0.001, "input_current": 0.0},
        {"vehicle_feed_drop": 0.3, "input_current": 40.0},
    )
    assert found[Point.VEHICLE_FEED_DROP].now_ohm is None


VALUES = st.fixed_dictionaries(
    {
        "vehicle_feed_drop": st.floats(-1, 14),
        "input_current": st.floats(-5, 80),
        "charger_input_voltage": st.floats(0, 15),
        "charger_case_temperature": st.floats(-20, 110),
        "fault_indicator": st.sampled_from([0.0, 1.0]),
    }
)


@given(now=VALUES, then=VALUES)
def test_the_order_is_by_weight_and_no_weight_is_negative(now, then):
    weights = [c.weight for c in compare(INSTALLATION, taken(**now), taken(**then))]
    assert weights == sorted(weights, reverse=True)
    assert all(weight >= 0 for weight in weights)


@given(values=VALUES)
def test_what_is_as_it_was_has_no_weight(values):
    found = compare(INSTALLATION, taken(**values), taken(**values))
    assert all(change.weight == pytest.approx(0, abs=1e-9) for change in found)


def test_a_load_that_was_switched_on_is_a_change_and_explained():
    found = changes({"house_load_current": 7.5}, {"house_load_current": 1.0})
    fridge = found[Point.HOUSE_LOAD_CURRENT]
    assert fridge.is_real
    assert fridge.is_explained


def test_a_run_that_went_bad_is_not_explained():
    found = changes(
        {"vehicle_return_drop": 1.3, "input_current": 30.0},
        {"vehicle_return_drop": 0.1, "input_current": 31.0},
    )[Point.VEHICLE_RETURN_DROP]
    assert found.is_real
    assert not found.is_explained
