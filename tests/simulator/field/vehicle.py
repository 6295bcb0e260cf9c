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
    """The start battery: a voltage at rest and two resistances."""

    chemistry: str
    capacity_ah: float
    charge: float
    surface_v: float
    taking_ohm: float
    giving_ohm: float
    offset_v: float = 0.0


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

    @property
    def scale(self) -> float:
        """1 for 12 V, 2 for 24 V."""
        return self.nominal_v / 12

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
