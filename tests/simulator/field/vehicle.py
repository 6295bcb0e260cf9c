"""What is really under the bonnet: one vehicle of the field world, part by part.

True values only, volts as they are (24 V systems included). What the technician entered, where
it may differ, stands beside the truth as ``..._said``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

RUNS = ("vehicle_feed", "vehicle_return", "house_feed", "house_return")
ENGINE_STATES = ("idle", "fast_idle")
CURRENTS = ("input_current", "output_current", "house_load_current", "solar_current")
# What is read on further equipment only.
FURTHER_CURRENTS = (
    "second_unit_input_current",
    "second_unit_output_current",
    "monitor_current",
    "first_parallel_current",
    "input_limit_setting",
    "reverse_charge_current",
)
FURTHER_POINTS = (
    "second_unit_input_voltage",
    "second_unit_output_voltage",
    *FURTHER_CURRENTS,
    "first_series_voltage",
    "sensor_temperature",
    "reverse_charge_voltage",
)
ON_HOUSE_SIDE = (
    "charger_output_voltage",
    "house_battery_voltage",
    "profile_setting_voltage",
    "second_unit_output_voltage",
)

Key = tuple[str, str]
# Dotted fields of a vehicle and their new values.
Changes = Mapping[str, object]


@dataclass(frozen=True)
class Supply:
    """The alternator and what the vehicle itself draws."""

    control: str
    control_said: str
    rated_a: float
    share: Mapping[str, float]  # of its rating, by engine state
    source_ohm: float
    set_v: Mapping[str, float]
    vehicle_a: float
    down: bool = False
    hunts_v: float = 0.0


@dataclass(frozen=True)
class StartBattery:
    """The start battery: a voltage at rest and two resistances; of two, those of both together."""

    chemistry: str
    capacity_ah: float
    charge: float
    surface_v: float
    taking_ohm: float
    giving_ohm: float
    offset_v: float = 0.0
    second: str | None = None  # "parallel" or "series"
    first_share: float = 0.5  # of the voltage, where two are in series


@dataclass(frozen=True)
class Unit:
    """The charger: its plate, its own ways, and what ails it."""

    rating_a: float
    rating_said_a: float
    share: float
    efficiency: float
    efficiency_said: float
    part_load_loss: float
    own_use_w: float
    start_v: float
    stop_v: float
    signalled_start_v: float
    signalled_stop_v: float
    signal_min_v: float
    holds_fixed: bool  # its input at one level, else at so much over its stop voltage
    holds_over_v: float
    holds_at_v: float
    softness_v: float
    overvoltage_cut_v: float
    unloaded_shows: str
    works_into_blocked: bool
    wakes_tripped: bool
    floating_v: float
    input_limit_a: float | None
    absorption_v: float
    float_v: float
    absorption_error_v: float
    case_c: float
    quiet_a: float
    max_ambient_c: float
    ingress: str
    input_limit_said_a: float | None
    holds_extra_v: float = 0.0
    profile_shift_v: float = 0.0
    in_float: bool = False
    derated_to: float = 1.0
    limited_to: float = 1.0
    dead: bool = False
    fault_lamp: bool = False


@dataclass(frozen=True)
class HouseBattery:
    """The house battery: what it rests at, what it takes, and how it is protected."""

    chemistry: str
    chemistry_said: str
    capacity_ah: float
    charge: float
    surface_v: float
    acceptance: float
    acceptance_exponent: float
    ohm: float
    polarisation_v: float
    rest_error_v: float
    tripped_v: float
    max_charge_a: float | None
    celsius: float
    worn: float = 1.0
    offset_v: float = 0.0
    protection: str | None = None


@dataclass(frozen=True)
class Loads:
    """The house loads, with the vehicle at work and at rest."""

    working_a: float
    rest_a: float


@dataclass(frozen=True)
class Run:
    """One conductor with its joints and fuse, and how it is described."""

    ohm: float
    described: Mapping[str, float | None]
    extra_ohm: float = 0.0


@dataclass(frozen=True)
class Runs:
    """The four runs."""

    vehicle_feed: Run
    vehicle_return: Run
    house_feed: Run
    house_return: Run


@dataclass(frozen=True)
class Signal:
    """The lead to the ignition terminal."""

    fitted: bool
    drop_v: float
    live: bool = False
    dead: bool = False
    stray_v: float = 0.0


@dataclass(frozen=True)
class Panel:
    """The solar panel: its plate, its days, and what ails it."""

    power_w: float
    open_v: float
    short_a: float
    working_v: float
    real: float  # share of the plate's current
    hot: float  # share of the plate's voltage
    tracking: float
    lead_ohm: float
    sun: float
    sun_with_engine: float
    max_v_said: float | None
    fault: str | None = None
    current_share: float = 1.0
    voltage_share: float = 1.0
    regulator_v: float = 0.0
    regulator_share: float = 0.0
    regulator_open_v: float = 0.0


@dataclass(frozen=True)
class Consumer:
    """Something else that hangs on the vehicle feed."""

    amps: float
    along_feed: float  # share of the feed's resistance ahead of it
    returns_at_unit: bool
    at_rest: bool


@dataclass(frozen=True)
class OtherSource:
    """Another charger on the house battery."""

    limit_v: float
    amps: float
    at_rest: bool
    ohm: float


@dataclass(frozen=True)
class Contact:
    """A joint that comes and goes."""

    run: str
    ohm: float
    share_of_time: float


@dataclass(frozen=True)
class Outside:
    """Troubles that the catalogue does not list, all absent in a vehicle of the catalogue."""

    diode_v: float = 0.0
    pulses: float | None = None
    contact: Contact | None = None
    parallel_ohm: float | None = None
    hidden_return_ohm: float | None = None
    tapped_a: float = 0.0
    reverse_a: float | None = None
    clamp_factor: float = 1.0
    voltmeter_factor: float = 1.0


@dataclass(frozen=True)
class SecondUnit:
    """A unit beside the first, between the same batteries on runs of its own."""

    unit: Unit
    runs: Runs
    signal: Signal | None  # a lead of its own; None: it shares the first's
    feed_open: bool = False
    house_open: bool = False


@dataclass(frozen=True)
class Sensor:
    """The unit's sensor on the house battery, and what the unit makes of it."""

    volts_per_kelvin: float
    error_c: float
    lowest_c: float  # the unit compensates between these two and no further
    highest_c: float
    fault: str | None = None  # "hot", "cold" or "open"
    shown_c: float | None = None  # with a fault: what the unit says; None says nothing
    taken_c: float = 25.0  # with a fault: what the unit works by
    stops_charge: bool = False

    def reads_c(self, battery_c: float) -> float | None:
        """Return the battery's temperature as the unit shows it."""
        return battery_c + self.error_c if self.fault is None else self.shown_c

    def moves_v(self, battery_c: float) -> float:
        """Return by how much the unit moves its voltage from that at 25 °C."""
        taken = battery_c + self.error_c if self.fault is None else self.taken_c
        return self.volts_per_kelvin * (min(max(taken, self.lowest_c), self.highest_c) - 25)


@dataclass(frozen=True)
class Monitor:
    """A battery monitor: a shunt with its own gain and zero, and what goes round it."""

    gain: float
    zero_a: float
    charge_missed: float = 0.0  # share of the units' current, by runs that pass it by
    loads_missed: float = 0.0


@dataclass(frozen=True)
class Bank:
    """House batteries in parallel: each one's own resistance with its links."""

    ohms: tuple[float, ...]

    @property
    def first_share(self) -> float:
        """Share of the current that flows through the first, by conductance."""
        return (1 / self.ohms[0]) / sum(1 / ohm for ohm in self.ohms)


@dataclass(frozen=True)
class Reverse:
    """Charge from house to start battery on request, key off."""

    amps: float
    least_rise_v: float  # over the rest voltage, after five minutes
    most_rise_v: float
    blocked: bool = False
    leaks_a: float = 0.0  # what passes although it is blocked


@dataclass(frozen=True)
class Vehicle:
    """One vehicle as it really is."""

    nominal_v: int
    supply: Supply
    start: StartBattery
    unit: Unit
    house: HouseBattery
    loads: Loads
    runs: Runs
    signal: Signal
    panel: Panel | None
    location: str
    ambient_c: float
    clamp_at_terminal: bool
    exchanged: bool = False
    negative_open: str | None = None
    vehicle_fuse_open: bool = False
    house_fuse_open: bool = False
    consumer: Consumer | None = None
    other: OtherSource | None = None
    outside: Outside = field(default_factory=Outside)
    output_nominal_v: int | None = None  # of the house side; None: as the vehicle
    second: SecondUnit | None = None
    limit_fitted: bool = False
    sensor: Sensor | None = None
    monitor: Monitor | None = None
    bank: Bank | None = None
    reverse: Reverse | None = None

    @property
    def scale(self) -> float:
        """1 for 12 V, 2 for 24 V."""
        return self.nominal_v / 12

    @property
    def house_scale(self) -> float:
        """The same of the house side."""
        return (self.output_nominal_v or self.nominal_v) / 12

    def scale_at(self, point: str) -> float:
        """The same where a point is read."""
        return self.house_scale if point in ON_HOUSE_SIDE else self.scale

    @property
    def rating_a(self) -> float:
        """What all units together are rated to give."""
        return self.unit.rating_a + (self.second.unit.rating_a if self.second else 0.0)

    @property
    def compensation_v(self) -> float:
        """By how much the temperature sensor moves the unit's voltage."""
        return self.sensor.moves_v(self.house.celsius) if self.sensor else 0.0

    def of_the_second(self) -> "Vehicle | None":
        """The vehicle as the second unit meets it: its own runs, and neither panel nor sensor."""
        second = self.second
        if second is None:
            return None
        return replace(
            self,
            unit=replace(second.unit, in_float=self.unit.in_float),
            runs=second.runs,
            signal=second.signal or self.signal,
            panel=None,
            exchanged=False,
            negative_open=None,
            vehicle_fuse_open=second.feed_open,
            house_fuse_open=second.house_open,
            consumer=None,
            outside=Outside(),
            second=None,
            sensor=None,
        )

    def ohm(self, run: str) -> float:
        """Resistance of a run, what is bad in it included."""
        one: Run = getattr(self.runs, run)
        return one.ohm + one.extra_ohm


def changed(part: Any, changes: Changes) -> Any:
    """Return a copy of a vehicle or part with new values; a name may be dotted (``unit.dead``)."""
    nested: dict[str, dict[str, object]] = {}
    own: dict[str, Any] = {}
    for name, value in changes.items():
        head, dot, rest = name.partition(".")
        if dot:
            nested.setdefault(head, {})[rest] = value
        else:
            own[head] = value
    own |= {head: changed(getattr(part, head), inner) for head, inner in nested.items()}
    return replace(part, **own)


def undone(vehicle: Vehicle, changes: Changes, before: Vehicle) -> Vehicle:
    """Return the vehicle with these changes taken back to what they were before."""
    back: Vehicle = changed(vehicle, {name: value_of(before, name) for name in changes})
    return back


def value_of(vehicle: Vehicle, name: str) -> object:
    """Return the value of a dotted field."""
    found: object = vehicle
    for part in name.split("."):
        found = getattr(found, part)
    return found
