"""What a reading costs: minutes by where the vehicle's parts sit."""

import pytest

from logic.diagnosis.reach import minutes, places
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, ReadingKey, State


def installation(**fields: object) -> Installation:
    described = {
        "charger": {"rated_output_current_a": 30},
        "house_battery": {"chemistry": "agm"},
        "location": "tray",
    }
    return Installation.model_validate(described | fields)


def key(point: str, state: str = "idle") -> ReadingKey:
    return ReadingKey(Point(point), State(state))


TRAY = installation()
UNDER_BONNET = installation(location="engine_bay")


def test_the_next_post_under_the_probe_costs_seconds() -> None:
    # Common practice, no published source: what costs is reach.
    taken = {key("charger_input_voltage")}
    output = minutes(key("charger_output_voltage"), taken, TRAY)
    start = minutes(key("start_battery_voltage"), taken, TRAY)
    assert output < 2
    assert start > output + 1


def test_a_drop_between_bonnet_and_tray_needs_a_long_lead() -> None:
    taken = {key("start_battery_voltage"), key("charger_input_voltage")}
    far = minutes(key("vehicle_feed_drop"), taken, TRAY)
    near = minutes(key("vehicle_feed_drop"), taken, UNDER_BONNET)
    assert far > near + 1
    # Two volts readings can replace it: dearer than either, the drop is not dearer than a lead.
    assert far > 2 * minutes(key("charger_input_voltage"), taken, TRAY) - 0.5


def test_once_the_long_lead_lies_it_is_cheaper() -> None:
    first = minutes(key("vehicle_feed_drop"), {key("start_battery_voltage")}, TRAY)
    taken = {key("vehicle_feed_drop"), key("start_battery_voltage")}
    assert minutes(key("vehicle_return_drop"), taken, TRAY) < first - 1


@pytest.mark.parametrize(
    ("point", "where"),
    [
        ("vehicle_feed_drop", {"engine_bay", "tray"}),
        ("charger_case_temperature", {"tray"}),
        ("house_battery_voltage", {"trailer"}),
        ("house_load_current", {"trailer"}),
        ("input_current", {"tray"}),
    ],
)
def test_a_reading_is_taken_where_its_parts_sit(point: str, where: set[str]) -> None:
    towed = installation(house_battery={"chemistry": "agm", "location": "trailer"})
    assert places(Point(point), towed) == where


def test_fast_idle_needs_a_second_person_and_rest_needs_patience() -> None:
    taken = {key("charger_input_voltage")}
    idle = minutes(key("charger_output_voltage"), taken, TRAY)
    fast = minutes(key("charger_output_voltage", "fast_idle"), taken, TRAY)
    rest = minutes(key("charger_output_voltage", "rest"), taken, TRAY)
    assert idle < fast < rest
