"""How an installation and readings lie in a label: the tables behind ``label.md``.

The tables are the format. Once released they are never changed: a new field needs a new
version of the label.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from logic.case import Reading
from logic.records.label.wire_bytes import Reader, Writer
from logic.vehicle.installation import Chemistry, Control, Installation, Location
from logic.vehicle.points import Point, State

FIELDS: tuple[tuple[str, int], ...] = (
    ("alternator.rated_current_a", 10),
    ("start_battery.capacity_ah", 10),
    ("charger.rated_output_current_a", 10),
    ("charger.efficiency", 1000),
    ("charger.start_voltage_v", 100),
    ("charger.stop_voltage_v", 100),
    ("charger.ignition_start_voltage_v", 100),
    ("charger.ignition_stop_voltage_v", 100),
    ("charger.ignition_signal_min_v", 100),
    ("charger.absorption_voltage_v", 100),
    ("charger.float_voltage_v", 100),
    ("charger.input_current_limit_a", 10),
    ("charger.max_ambient_c", 10),
    ("charger.solar_max_voltage_v", 10),
    ("house_battery.capacity_ah", 10),
    ("house_battery.max_charge_current_a", 10),
    ("house_battery.absorption_voltage_v", 100),
    ("house_battery.min_charge_temperature_c", 10),
    *(
        (f"runs.{run}.{figure}", parts)
        for run in ("vehicle_feed", "vehicle_return", "house_feed", "house_return", "solar_feed")
        for figure, parts in (("length_m", 100), ("area_mm2", 100), ("joints", 1), ("fuse_a", 10))
    ),
    ("ambient_c", 10),
    ("solar.rated_power_w", 1),
    ("solar.open_circuit_voltage_v", 100),
    ("solar.short_circuit_current_a", 100),
    ("solar.max_power_voltage_v", 100),
    ("meter.voltage_accuracy_percent", 1000),
    ("meter.voltage_counts", 1),
    ("meter.voltage_resolution_v", 10000),
    ("meter.current_accuracy_percent", 1000),
    ("meter.current_zero_a", 1000),
    ("meter.current_resolution_a", 1000),
    ("fitted.second_charger_rated_output_current_a", 10),
)
"""Every number of the installation that a label holds, and into how many parts its unit is cut."""

NOMINAL = (12, 24)
CONTROLS = (Control.FIXED, Control.VARIABLE, Control.UNKNOWN)
START_CHEMISTRIES = (None, Chemistry.FLOODED, Chemistry.AGM, Chemistry.GEL)
CHEMISTRIES = (Chemistry.FLOODED, Chemistry.AGM, Chemistry.GEL, Chemistry.LIFEPO4)
LOCATIONS = (None, Location.ENGINE_BAY, Location.CABIN, Location.TRAY, Location.TRAILER)
YES_NO = (False, True)
OPTIONS = ("temperature_sensor", "reverse_charge", "battery_monitor", "existing_wiring")

CHOICES: tuple[tuple[str, Sequence[Any]], ...] = (
    ("nominal_voltage_v", NOMINAL),
    ("alternator.control", CONTROLS),
    ("start_battery.chemistry", START_CHEMISTRIES),
    ("house_battery.chemistry", CHEMISTRIES),
    ("location", LOCATIONS),
    ("solar", YES_NO),
    ("runs.solar_feed", YES_NO),
    ("meter", YES_NO),
    *((f"fitted.{option}", YES_NO) for option in OPTIONS),
)
"""What is one of a few, in mixed radix: the first counts ones, each next the product before it."""

POINTS = tuple(Point)
STATES = tuple(State)
_FINE = 128  # flag in a reading's first byte: thousandths instead of hundredths

_GROUPS = ("solar", "runs.solar_feed", "meter")


def write_installation(out: Writer, installation: Installation) -> None:
    """Write the choices, the numbers that are known, and the IP code."""
    data = installation.model_dump()
    mixed = 0
    for path, choices in reversed(CHOICES):
        value = _get(data, path)
        index = choices.index(value is not None if path in _GROUPS else value)
        mixed = mixed * len(choices) + index
    out.unsigned(mixed)
    values = [_get(data, path) for path, _ in FIELDS]
    present = sum(1 << place for place, value in enumerate(values) if value is not None)
    out.raw(present.to_bytes(-(-len(FIELDS) // 8), "little"))
    for value, (_, parts) in zip(values, FIELDS, strict=True):
        if value is not None:
            out.signed(_cut(value, parts))
    out.text((installation.charger.ingress_protection or "")[:12])


def _cut(value: float, parts: int) -> int:
    """Count the parts nearest to a value; a value above nothing never becomes nothing."""
    count = round(value * parts)
    return 1 if count == 0 and value > 0 else count


def read_installation(source: Reader) -> Installation:
    """Read an installation; raises ``ValueError`` where it cannot be one."""
    data: dict[str, Any] = {}
    mixed = source.unsigned()
    for path, choices in CHOICES:
        mixed, index = divmod(mixed, len(choices))
        value = choices[index]
        if path not in _GROUPS:
            _put(data, path, value)
        elif value:
            _put(data, path, {})
    if mixed:
        raise ValueError("it names a choice that this version does not know")
    present = int.from_bytes(source.raw(-(-len(FIELDS) // 8)), "little")
    for place, (path, parts) in enumerate(FIELDS):
        if present >> place & 1:
            count = source.signed()
            _put(data, path, count if parts == 1 else count / parts)
    _put(data, "charger.ingress_protection", source.text() or None)
    if data["start_battery"]["chemistry"] is None:
        data["start_battery"] = None
    return Installation.model_validate(data)


def _get(data: Any, path: str) -> Any:
    for name in path.split("."):
        if data is None:
            return None
        data = data[name]
    return data


def _put(data: dict[str, Any], path: str, value: Any) -> None:
    *above, name = path.split(".")
    for step in above:
        data = data.setdefault(step, {})
    data[name] = value


def by_importance(readings: Iterable[Reading]) -> list[Reading]:
    """Put first what a later job compares first: drops and currents under load."""
    return sorted(readings, key=_importance)


def _importance(reading: Reading) -> tuple[int, int, int]:
    name = reading.point.value
    kind = next(
        (rank for rank, part in enumerate(("_drop", "_current", "_voltage")) if part in name), 3
    )
    state = (State.IDLE, State.FAST_IDLE, State.REST, State.SOLAR).index(reading.state)
    return kind, state, POINTS.index(reading.point)


def write_readings(out: Writer, readings: Sequence[Reading]) -> None:
    """Write each reading's point and state, then its value in hundredths or thousandths."""
    out.unsigned(len(readings))
    for reading in readings:
        hundredths = round(reading.value * 100)
        fine = abs(reading.value * 100 - hundredths) > 1e-6
        place = POINTS.index(reading.point) | STATES.index(reading.state) << 5
        out.byte(place | (_FINE if fine else 0))
        out.signed(round(reading.value * 1000) if fine else hundredths)


def read_readings(source: Reader) -> tuple[Reading, ...]:
    """Read the readings; raises ``ValueError`` where one cannot be."""
    return tuple(_read_reading(source) for _ in range(source.unsigned()))


def _read_reading(source: Reader) -> Reading:
    first = source.byte()
    point = source.choice(POINTS, first & 31, "point")
    state = STATES[first >> 5 & 3]
    value = source.signed() / (1000 if first & _FINE else 100)
    return Reading(point=point, state=state, value=value)
