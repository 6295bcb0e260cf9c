"""Where a meter is put and in which state of the vehicle: the fixed words of a reading.

The ids are part of every stored and exchanged record and are never renamed or reused.
"""

from dataclasses import dataclass
from enum import StrEnum


class State(StrEnum):
    """What the vehicle is doing while the reading is taken."""

    REST = "rest"
    IDLE = "idle"
    FAST_IDLE = "fast_idle"
    SOLAR = "solar"


class Point(StrEnum):
    """What is read; for voltages, between which two posts (see :data:`PROBES`)."""

    START_BATTERY_VOLTAGE = "start_battery_voltage"
    VEHICLE_FEED_DROP = "vehicle_feed_drop"
    VEHICLE_RETURN_DROP = "vehicle_return_drop"
    CHARGER_INPUT_VOLTAGE = "charger_input_voltage"
    IGNITION_SIGNAL_VOLTAGE = "ignition_signal_voltage"
    CHARGER_OUTPUT_VOLTAGE = "charger_output_voltage"
    HOUSE_FEED_DROP = "house_feed_drop"
    HOUSE_RETURN_DROP = "house_return_drop"
    HOUSE_BATTERY_VOLTAGE = "house_battery_voltage"
    SOLAR_OPEN_CIRCUIT_VOLTAGE = "solar_open_circuit_voltage"
    SOLAR_INPUT_VOLTAGE = "solar_input_voltage"
    INPUT_CURRENT = "input_current"
    OUTPUT_CURRENT = "output_current"
    HOUSE_LOAD_CURRENT = "house_load_current"
    SOLAR_CURRENT = "solar_current"
    CHARGER_CASE_TEMPERATURE = "charger_case_temperature"
    HOUSE_BATTERY_TEMPERATURE = "house_battery_temperature"
    PROFILE_SETTING_VOLTAGE = "profile_setting_voltage"
    SUNLIGHT_FRACTION = "sunlight_fraction"
    CHARGING_INDICATOR = "charging_indicator"
    FAULT_INDICATOR = "fault_indicator"


class Post(StrEnum):
    """A place on the circuit that a probe can touch."""

    START_BATTERY_POSITIVE = "start_battery_positive"
    START_BATTERY_NEGATIVE = "start_battery_negative"
    CHARGER_INPUT = "charger_input"
    CHARGER_NEGATIVE = "charger_negative"
    CHARGER_OUTPUT = "charger_output"
    IGNITION_TERMINAL = "ignition_terminal"
    SOLAR_TERMINAL = "solar_terminal"
    PANEL_LEAD_POSITIVE = "panel_lead_positive"
    PANEL_LEAD_NEGATIVE = "panel_lead_negative"
    HOUSE_BATTERY_POSITIVE = "house_battery_positive"
    HOUSE_BATTERY_NEGATIVE = "house_battery_negative"


class Run(StrEnum):
    """A conductor run, with its joints and fuse, between two posts."""

    VEHICLE_FEED = "vehicle_feed"
    VEHICLE_RETURN = "vehicle_return"
    HOUSE_FEED = "house_feed"
    HOUSE_RETURN = "house_return"
    SOLAR_FEED = "solar_feed"


@dataclass(frozen=True)
class Probe:
    """How a point is read.

    A voltage has a red and a black post. A clamped current has ``clamp_on``, the run or lead
    it goes round, and ``towards``, the end its arrow points to. The rest have neither.
    """

    unit: str
    red: Post | None = None
    black: Post | None = None
    clamp_on: str = ""
    towards: str = ""


_P = Post
PROBES: dict[Point, Probe] = {
    Point.START_BATTERY_VOLTAGE: Probe("V", _P.START_BATTERY_POSITIVE, _P.START_BATTERY_NEGATIVE),
    Point.VEHICLE_FEED_DROP: Probe("V", _P.START_BATTERY_POSITIVE, _P.CHARGER_INPUT),
    Point.VEHICLE_RETURN_DROP: Probe("V", _P.CHARGER_NEGATIVE, _P.START_BATTERY_NEGATIVE),
    Point.CHARGER_INPUT_VOLTAGE: Probe("V", _P.CHARGER_INPUT, _P.CHARGER_NEGATIVE),
    Point.IGNITION_SIGNAL_VOLTAGE: Probe("V", _P.IGNITION_TERMINAL, _P.CHARGER_NEGATIVE),
    Point.CHARGER_OUTPUT_VOLTAGE: Probe("V", _P.CHARGER_OUTPUT, _P.CHARGER_NEGATIVE),
    Point.HOUSE_FEED_DROP: Probe("V", _P.CHARGER_OUTPUT, _P.HOUSE_BATTERY_POSITIVE),
    Point.HOUSE_RETURN_DROP: Probe("V", _P.HOUSE_BATTERY_NEGATIVE, _P.CHARGER_NEGATIVE),
    Point.HOUSE_BATTERY_VOLTAGE: Probe("V", _P.HOUSE_BATTERY_POSITIVE, _P.HOUSE_BATTERY_NEGATIVE),
    Point.SOLAR_OPEN_CIRCUIT_VOLTAGE: Probe("V", _P.PANEL_LEAD_POSITIVE, _P.PANEL_LEAD_NEGATIVE),
    Point.SOLAR_INPUT_VOLTAGE: Probe("V", _P.SOLAR_TERMINAL, _P.CHARGER_NEGATIVE),
    Point.INPUT_CURRENT: Probe("A", clamp_on="vehicle_feed", towards="charger"),
    Point.OUTPUT_CURRENT: Probe("A", clamp_on="house_feed", towards="house_battery"),
    Point.HOUSE_LOAD_CURRENT: Probe("A", clamp_on="house_loads", towards="loads"),
    Point.SOLAR_CURRENT: Probe("A", clamp_on="solar_feed", towards="charger"),
    Point.CHARGER_CASE_TEMPERATURE: Probe("°C"),
    Point.HOUSE_BATTERY_TEMPERATURE: Probe("°C"),
    Point.PROFILE_SETTING_VOLTAGE: Probe("V"),
    Point.SUNLIGHT_FRACTION: Probe("1"),
    Point.CHARGING_INDICATOR: Probe("lit"),
    Point.FAULT_INDICATOR: Probe("lit"),
}
