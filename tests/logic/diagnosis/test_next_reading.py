import numpy as np
import pytest

from logic.case import Case
from logic.diagnosis.catalogue import faults
from logic.diagnosis.engine import diagnose
from logic.diagnosis.next_reading import separated_faults
from logic.diagnosis.reach import minutes
from logic.vehicle.points import Point, ReadingKey, State

FEED, RETURN, FUSE = (
    "vehicle_feed_resistive",
    "vehicle_return_resistive",
    "vehicle_fuse_open",
)
INSTALLATION = {
    "alternator": {"control": "variable", "rated_current_a": 140},
    "charger": {"rated_output_current_a": 25, "ignition_signal_min_v": 8.0},
    "house_battery": {"chemistry": "agm", "capacity_ah": 100},
    "runs": {
        "vehicle_feed": {"length_m": 4.5, "area_mm2": 13.3, "joints": 4, "fuse_a": 40},
        "vehicle_return": {"length_m": 1.2, "area_mm2": 13.3, "joints": 3},
    },
}


def case(**idle):
    readings = [{"point": "house_battery_voltage", "state": "rest", "value": 12.31}]
    readings += [{"point": p, "state": "idle", "value": value} for p, value in idle.items()]
    return Case.model_validate({"installation": INSTALLATION, "readings": readings})


SAGGING = {
    "start_battery_voltage": 13.94,
    "house_battery_voltage": 12.83,
    "charger_input_voltage": 12.42,
}


def test_a_reading_separates_the_faults_that_predict_it_differently():
    mean = np.array([[0.2, 5.0], [1.4, 5.0], [0.2, 5.0]])
    spread = np.full((3, 2), 0.05)
    first, second = separated_faults((FEED, RETURN, FUSE), np.eye(3) / 3, mean, spread)
    assert set(first[:2]) in ({FEED, RETURN}, {RETURN, FUSE})
    assert second == ()


def test_the_reading_asked_for_names_faults_that_still_fit():
    found = diagnose(case(**SAGGING))
    best = found.next_readings[0]
    assert 2 <= len(best.tells_apart) <= 4
    assert all(found.marginals[one] > 0 for one in best.tells_apart)


@pytest.mark.parametrize("trigger_v", [12.5, 13.2, 13.8])
def test_the_trigger_alone_never_decides_between_feed_and_return(trigger_v):
    # The black probe may sit on the unit's lifted negative or on any earth beside it.
    found = diagnose(case(**SAGGING, ignition_signal_voltage=trigger_v))
    assert min(found.marginals[FEED], found.marginals[RETURN]) > 0.05
    # A drop needs the long lead, so what is read at the unit's own posts may come before it.
    first = {reading.point for reading in found.next_readings[:3]}
    assert first & {"vehicle_feed_drop", "vehicle_return_drop"}


def test_every_fault_has_a_name_short_enough_for_a_reason():
    assert all(0 < len(one.short) <= 22 for one in faults().values())


def test_going_back_to_rest_costs_the_five_minutes_it_takes():
    at_rest = ReadingKey(Point.HOUSE_BATTERY_VOLTAGE, State.REST)
    first = minutes(at_rest, set())
    back = minutes(at_rest, {ReadingKey(Point.INPUT_CURRENT, State.IDLE)})
    assert back - first >= 5


def test_a_reading_that_wants_the_key_off_alone_waits_for_no_rest():
    driven = {ReadingKey(Point.OUTPUT_CURRENT, State.IDLE)}
    signal = ReadingKey(Point.IGNITION_SIGNAL_VOLTAGE, State.REST)
    # The key is off at once: no more than getting at the unit and reading it there.
    assert minutes(signal, driven) <= minutes(signal, set()) < 4


@pytest.mark.parametrize("state", State)
def test_every_state_says_what_it_takes_to_come_into_it(state):
    assert state.minutes_first > 0
    assert state.minutes_again >= 0


def panel_case(beyond=()):
    return Case.model_validate(
        {
            "installation": INSTALLATION | {"solar": {"rated_power_w": 200}},
            "readings": [
                {"point": "sunlight_fraction", "state": "solar", "value": 1.0},
                {"point": "solar_input_voltage", "state": "solar", "value": -0.03},
            ],
            "out_of_reach": [{"point": point, "state": "solar"} for point in beyond],
        }
    )


def test_what_is_out_of_reach_is_worth_reaching_where_nothing_else_tells():
    # An open lead and a reversed panel look alike at the unit; unplugged, its polarity shows.
    open_v, current = Point.SOLAR_OPEN_CIRCUIT_VOLTAGE, Point.SOLAR_CURRENT
    assert diagnose(panel_case()).worth_reaching == ()
    assert diagnose(panel_case()).next_readings[0].point is open_v
    left_out = diagnose(panel_case(beyond=[open_v]))
    assert left_out.next_readings == ()
    assert [one.point for one in left_out.worth_reaching] == [open_v]
    assert set(left_out.worth_reaching[0].tells_apart) >= {"solar_open", "solar_reversed"}
    assert diagnose(panel_case(beyond=[current])).worth_reaching == ()
