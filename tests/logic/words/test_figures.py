import pytest

from logic.vehicle.points import Point
from logic.words import figures


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (12.6, "12.60 V"),
        (0.92, "0.92 V"),
        (0.085, "85 mV"),
        (-0.02, "-20 mV"),
        (0.0, "0.00 V"),
        (-0.0, "0.00 V"),
        (-0.0002, "0 mV"),
        (0.0996, "0.10 V"),
        (26.525, "26.525 V"),
        (13.2884549, "13.29 V"),
        (0.407, "0.407 V"),
    ],
)
def test_volts_are_told_to_the_hundredth_unless_read_to_the_millivolt(value, text):
    assert figures.volts(value) == text


@pytest.mark.parametrize(("value", "text"), [(0.03, "30 mΩ"), (0.0062, "6 mΩ"), (0.0014, "1.4 mΩ")])
def test_resistance_is_told_in_milliohms(value, text):
    assert figures.milliohms(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(31.24, "31.2 A"), (25.0, "25 A"), (-0.02, "0 A"), (12.5, "12.5 A"), (3.14, "3.1 A")],
)
def test_amperes_are_told_as_a_clamp_shows_them(value, text):
    assert figures.amperes(value) == text


@pytest.mark.parametrize(
    ("point", "value", "text"),
    [
        (Point.START_BATTERY_VOLTAGE, 13.94, "13.94 V"),
        (Point.INPUT_CURRENT, 28.94, "28.94 A"),
        (Point.INPUT_CURRENT, 28.9, "28.9 A"),
        (Point.INPUT_CURRENT, -0.001, "0.0 A"),
        (Point.CHARGER_CASE_TEMPERATURE, 41.6, "42 °C"),
        (Point.CHARGING_INDICATOR, 1, "Lit"),
        (Point.FAULT_INDICATOR, 0, "Not lit"),
        (Point.SUNLIGHT_FRACTION, 0.5, "0.50 of full sun"),
    ],
)
def test_every_kind_of_reading_is_told_with_its_unit(point, value, text):
    assert figures.quantity(point, value) == text


def test_a_range_is_told_in_one_unit():
    assert figures.volt_range(13.5, 14.5) == "13.50 to 14.50 V"
    assert figures.volt_range(0.01, 0.05) == "10 to 50 mV"
