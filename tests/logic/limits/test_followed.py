"""Voltages worked out by Kirchhoff's voltage law, summed by hand."""

import pytest

from logic.case import Reading
from logic.limits.followed import all_followed, follows, follows_words
from logic.vehicle.points import Point, State


def read(state: str, **values: float) -> list[Reading]:
    return [Reading(point=point, state=state, value=value) for point, value in values.items()]


# Kirchhoff: 14.10 - 0.31 - 0.18 = 13.61 and 13.90 - 0.21 - 0.12 = 13.57.
@pytest.mark.parametrize(
    ("values", "point", "expected"),
    [
        (
            {
                "start_battery_voltage": 14.10,
                "vehicle_feed_drop": 0.31,
                "vehicle_return_drop": 0.18,
            },
            Point.CHARGER_INPUT_VOLTAGE,
            13.61,
        ),
        (
            {"charger_output_voltage": 13.90, "house_feed_drop": 0.21, "house_return_drop": 0.12},
            Point.HOUSE_BATTERY_VOLTAGE,
            13.57,
        ),
    ],
)
def test_what_two_drops_leave_of_one_end_is_the_other(values, point, expected):
    readings = read("idle", **values)
    assert follows(readings, point, State.IDLE) == pytest.approx(expected, abs=1e-9)
    for left_out in range(3):
        rest = readings[:left_out] + readings[left_out + 1 :]
        assert follows(rest, point, State.IDLE) is None


def test_while_no_current_flows_the_units_terminals_show_both_batteries():
    readings = read("rest", charger_input_voltage=12.62, charger_output_voltage=13.11)
    assert follows(readings, Point.START_BATTERY_VOLTAGE, State.REST) == 12.62
    assert follows(readings, Point.HOUSE_BATTERY_VOLTAGE, State.REST) == 13.11
    assert follows(readings, Point.HOUSE_BATTERY_VOLTAGE, State.IDLE) is None


def test_what_was_read_itself_does_not_follow_and_a_sum_is_said_to_a_hundredth():
    readings = read("rest", charger_output_voltage=13.11, house_battery_voltage=13.10)
    assert [one.key.point for one in all_followed(readings, State.REST)] == []
    loaded = read(
        "idle", charger_output_voltage=13.90, house_feed_drop=0.2137, house_return_drop=0.12
    )
    [found] = all_followed(loaded, State.IDLE)
    assert found.words == "house battery voltage follows: 13.57 V"
    assert follows_words(loaded, *found.key) == "follows: 13.57 V"
    assert follows_words(loaded, None, None) == ""
