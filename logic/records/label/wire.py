"""How a label's content lies in bytes: the tables and kinds of bytes that ``label.md`` describes.

The tables are the format. Once released they are never changed: what a later release knows more of
an installation is a row at the end of :data:`EXTRAS`, and lies behind the readings of a label that
needs it. A reading's point and state are written by their wire ids, which
:mod:`logic.vehicle.points` declares.
"""

from collections.abc import Iterable, Sequence
from typing import Any, TypeVar

from logic.case import Reading
from logic.vehicle.installation import Chemistry, Control, Installation, Joined, Location
from logic.vehicle.points import Point, State, Unit

T = TypeVar("T")


class NewerVersionError(ValueError):
    """A label names something that only a later version knows."""


# Kinds of bytes

_LONGEST = 5  # bytes of one number: 35 bits, far more than any figure here


class Writer:
    """Bytes being written, one item after another."""

    def __init__(self) -> None:
        self._parts = bytearray()

    def __bytes__(self) -> bytes:
        return bytes(self._parts)

    def byte(self, value: int) -> None:
        """Write a number from 0 to 255 as one byte."""
        self._parts.append(value)

    def raw(self, content: bytes) -> None:
        """Write bytes as they are."""
        self._parts += content

    def unsigned(self, value: int) -> None:
        """Write a number from 0 up, seven bits a byte, lowest first, bit 7 = more follows."""
        while value > 127:
            self._parts.append(value & 127 | 128)
            value >>= 7
        self._parts.append(value)

    def signed(self, value: int) -> None:
        """Write any whole number: 0, −1, 1, −2 ... become 0, 1, 2, 3 ..."""
        self.unsigned(2 * value if value >= 0 else -2 * value - 1)

    def text(self, text: str) -> None:
        """Write a short text in UTF-8 after its length in bytes."""
        content = text.encode()
        self.unsigned(len(content))
        self.raw(content)


class Reader:
    """Bytes being read; whatever does not fit raises ``ValueError`` with the reason."""

    def __init__(self, content: bytes) -> None:
        self._content, self._at = content, 0

    def raw(self, length: int) -> bytes:
        """Read bytes as they are."""
        found = self._content[self._at : self._at + length]
        if len(found) < length:
            raise ValueError("it ends too early")
        self._at += length
        return found

    def byte(self) -> int:
        """Read one byte as a number."""
        return self.raw(1)[0]

    def unsigned(self) -> int:
        """Read a number from 0 up."""
        value = 0
        for index in range(_LONGEST):
            part = self.byte()
            value |= (part & 127) << 7 * index
            if part < 128:
                return value
        raise ValueError("a number in it is too long")

    def signed(self) -> int:
        """Read any whole number."""
        value = self.unsigned()
        return -(value + 1) // 2 if value % 2 else value // 2

    def text(self) -> str:
        """Read a short text."""
        try:
            return self.raw(self.unsigned()).decode()
        except UnicodeDecodeError as error:
            raise ValueError("a text in it is no text") from error

    def choice(self, choices: Sequence[T], index: int, what: str) -> T:
        """Return the choice of that index."""
        if index >= len(choices):
            raise NewerVersionError(what)
        return choices[index]

    def end(self) -> None:
        """Make sure that nothing is left over."""
        if self._at != len(self._content):
            raise ValueError("it is longer than it should be")


# The installation

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

_GROUPS = ("solar", "runs.solar_feed", "meter")


EXTRAS: tuple[tuple[str, int | Sequence[Any]], ...] = (
    ("alternator.control", (Control.CONVERTER,)),
    ("start_battery.chemistry", (Chemistry.EFB, Chemistry.CALCIUM)),
    ("output_nominal_voltage_v", NOMINAL),
    ("start_battery.second", (Joined.PARALLEL, Joined.SERIES)),
    ("house_battery.in_parallel", 1),
    ("fitted.vehicle_isolator", (True,)),
    ("fitted.house_isolator", (True,)),
    ("fitted.solar_regulator", (True,)),
    ("fitted.mains_charger", (True,)),
    ("trailer", (True,)),
    ("trailer.plug_rated_current_a", 10),
    ("trailer.socket_dead_unhitched", YES_NO),
    ("second_unit_runs", (True,)),
    *(
        (f"second_unit_runs.{run}.{figure}", parts)
        for run in ("vehicle_feed", "vehicle_return", "house_feed", "house_return")
        for figure, parts in (("length_m", 100), ("area_mm2", 100), ("joints", 1), ("fuse_a", 10))
    ),
)
"""What the tables above have no word for: a number's parts, or the choices that need saying.

A label names each by its place in here, from 0, so a row is only ever added at the end. Where one
stands for a choice that an earlier table lacks, that table says ``FALLBACK``.
"""

FALLBACK = {"alternator.control": Control.UNKNOWN, "start_battery.chemistry": Chemistry.FLOODED}
_EXTRA_GROUPS = ("trailer", "second_unit_runs")


def write_installation(out: Writer, installation: Installation) -> None:
    """Write the choices, the numbers that are known, and the IP code."""
    data = installation.model_dump()
    mixed = 0
    for path, choices in reversed(CHOICES):
        value = _get(data, path)
        if path in FALLBACK and value not in choices:
            value = FALLBACK[path]
        index = choices.index(value is not None if path in _GROUPS else value)
        mixed = mixed * len(choices) + index
    out.unsigned(mixed)
    values = [_get(data, path) for path, _ in FIELDS]
    present = sum(1 << index for index, value in enumerate(values) if value is not None)
    out.raw(present.to_bytes(-(-len(FIELDS) // 8), "little"))
    for value, (_, parts) in zip(values, FIELDS, strict=True):
        if value is not None:
            out.signed(_cut(value, parts))
    out.text((installation.charger.ingress_protection or "")[:12])


def extras_of(installation: Installation) -> tuple[tuple[int, int], ...]:
    """Return what only the extras can say, as (place in :data:`EXTRAS`, count or choice)."""
    data = installation.model_dump()
    return tuple(
        (place, said)
        for place, (path, kind) in enumerate(EXTRAS)
        if (said := _extra(_get(data, path), path, kind)) is not None
    )


def _extra(value: Any, path: str, kind: int | Sequence[Any]) -> int | None:
    """Return the count or the choice that says a value, None where nothing needs saying."""
    if path in _EXTRA_GROUPS:
        return None if value is None else 0
    if isinstance(kind, int):
        return None if value is None else _cut(value, kind)
    return kind.index(value) if value in kind else None


def write_extras(out: Writer, extras: Sequence[tuple[int, int]]) -> None:
    """Write how many there are, then each one's place and what it says."""
    out.unsigned(len(extras))
    for place, said in extras:
        out.unsigned(place)
        out.signed(said)


def with_extras(source: Reader, installation: Installation) -> Installation:
    """Read the extras into an installation that was read without them.

    Raises
    ------
    NewerVersionError
        One is of a kind that a later version added.
    ValueError
        Together they are no installation.
    """
    data = installation.model_dump()
    for _ in range(source.unsigned()):
        path, kind = source.choice(EXTRAS, source.unsigned(), "part of the equipment")
        said = source.signed()
        if isinstance(kind, int):
            _put(data, path, said if kind == 1 else said / kind)
        elif said < 0:
            raise ValueError("a choice in it is none")
        else:
            value = source.choice(kind, said, "choice of equipment")
            _put(data, path, {} if path in _EXTRA_GROUPS else value)
    return Installation.model_validate(data)


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
        raise NewerVersionError("choice of equipment")
    present = int.from_bytes(source.raw(-(-len(FIELDS) // 8)), "little")
    for index, (path, parts) in enumerate(FIELDS):
        if present >> index & 1:
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
        data = data.get(name)  # a new field that says nothing is not dumped
    return data


def _put(data: dict[str, Any], path: str, value: Any) -> None:
    *above, name = path.split(".")
    for step in above:
        data = data.setdefault(step, {})
        if not isinstance(data, dict):
            raise ValueError("it says more of a part than it has")
    data[name] = value


# Readings

_POINTS = {point.wire_id: point for point in Point if point.wire_id is not None}
_STATES = {state.wire_id: state for state in State}
_POINT_BITS = 31
_STATE_SHIFT, _STATE_BITS = 5, 3
_FINE = 128  # flag in a reading's first byte: thousandths instead of hundredths

_UNDER_LOAD_FIRST = (State.IDLE, State.FAST_IDLE, State.REST, State.SOLAR)


def by_importance(readings: Iterable[Reading]) -> list[Reading]:
    """Put first what a later job compares first; what a label does not hold is left out."""
    return sorted((one for one in readings if one.point.wire_id is not None), key=_importance)


def _importance(reading: Reading) -> tuple[int, int, int]:
    point = reading.point
    kinds = (point.is_drop, point.unit is Unit.AMPERE, point.unit is Unit.VOLT, True)
    return kinds.index(True), _UNDER_LOAD_FIRST.index(reading.state), point.wire_id or 0


def write_readings(out: Writer, readings: Sequence[Reading]) -> None:
    """Write each reading's point and state, then its value in hundredths or thousandths."""
    out.unsigned(len(readings))
    for reading in readings:
        hundredths = round(reading.value * 100)
        fine = abs(reading.value * 100 - hundredths) > 1e-6
        which = (reading.point.wire_id or 0) | reading.state.wire_id << _STATE_SHIFT
        out.byte(which | (_FINE if fine else 0))
        out.signed(round(reading.value * 1000) if fine else hundredths)


def read_readings(source: Reader) -> tuple[Reading, ...]:
    """Read the readings.

    Raises
    ------
    NewerVersionError
        One was taken at a point that a later version declared.
    ValueError
        One cannot be.
    """
    return tuple(_read_reading(source) for _ in range(source.unsigned()))


def _read_reading(source: Reader) -> Reading:
    first = source.byte()
    point = _POINTS.get(first & _POINT_BITS)
    if point is None:
        raise NewerVersionError("reading point")
    state = _STATES[first >> _STATE_SHIFT & _STATE_BITS]
    value = source.signed() / (1000 if first & _FINE else 100)
    return Reading(point=point, state=state, value=value)
