"""What is fitted to one vehicle: batteries, alternator, charger, cable runs, panel, meter.

Every number the circuit model uses comes from here. ``None`` always means "not known" and
must never stop the software: it widens the limits instead.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from logic.quantities import (
    Ampere,
    AmpereHour,
    Celsius,
    Data,
    Fraction,
    Metre,
    NullIsNotKnown,
    Percent,
    SquareMillimetre,
    Volt,
    Watt,
    is_empty,
    is_none,
)

IngressProtection = Annotated[
    str, StringConstraints(pattern=r"^IP[0-6X][0-9X](K)?[A-DHMSW]*$", strip_whitespace=True)
]


class RepairedPart(StrEnum):
    """A part of the installation: what a step proves and a repair touches."""

    START_BATTERY = "start_battery"
    ALTERNATOR = "alternator"
    VEHICLE_FEED = "vehicle_feed"
    VEHICLE_RETURN = "vehicle_return"
    IGNITION_SIGNAL = "ignition_signal"
    CHARGER = "charger"
    PROFILE = "profile"
    HOUSE_FEED = "house_feed"
    HOUSE_RETURN = "house_return"
    HOUSE_BATTERY = "house_battery"
    LOADS = "loads"
    SOLAR = "solar"


class Control(StrEnum):
    """How the vehicle's supply is held.

    Fixed and variable (by the vehicle's computer) are alternators'. A converter is a hybrid's, an
    electric vehicle's or a 48 V mild hybrid's own DC-DC supply: steady volts, a current limit of
    its own (``rated_current_a``), and no idle.
    """

    FIXED = "fixed"
    VARIABLE = "variable"
    CONVERTER = "converter"
    UNKNOWN = "unknown"


class Chemistry(StrEnum):
    """Battery chemistry; a start battery is never ``lifepo4`` here, a house battery never the
    flooded kinds that are built for starting: ``efb`` (enhanced flooded) and ``calcium``.
    """

    FLOODED = "flooded"
    EFB = "efb"
    CALCIUM = "calcium"
    AGM = "agm"
    GEL = "gel"
    LIFEPO4 = "lifepo4"


class Alternator(NullIsNotKnown):
    """The vehicle's own charging system."""

    control: Control = Control.UNKNOWN
    rated_current_a: Ampere | None = Field(None, gt=0, le=1000)


StartChemistry = Literal[
    Chemistry.FLOODED, Chemistry.EFB, Chemistry.CALCIUM, Chemistry.AGM, Chemistry.GEL
]
HouseChemistry = Literal[Chemistry.FLOODED, Chemistry.AGM, Chemistry.GEL, Chemistry.LIFEPO4]


class Joined(StrEnum):
    """How a second battery is joined to the first."""

    PARALLEL = "parallel"
    SERIES = "series"


class StartBattery(Data):
    """The battery that cranks the engine, or two of them."""

    chemistry: StartChemistry
    capacity_ah: AmpereHour | None = Field(None, gt=0, le=2000)
    second: Joined | None = Field(
        None,
        exclude_if=is_none,
        description="how a second start battery is joined to the first; null = there is one. The "
        "capacity is that of both together",
    )
    sensor_on_negative: bool | None = Field(
        None, exclude_if=is_none, description="whether a current sensor sits on its negative post"
    )


class Warranty(StrEnum):
    """What is under warranty at the job: the unit by its maker, the work by the workshop."""

    UNIT_AND_WORK = "unit_and_work"
    UNIT = "unit"
    WORK = "work"
    NONE = "none"


class Charger(NullIsNotKnown):
    """The DC-DC charger's own figures, from its instructions or its rating plate.

    Which unit it is (model, serial number, plate, fitter, warranty) decides nothing that is
    worked out; release 0.1.0 did not know it.
    """

    rated_output_current_a: Ampere = Field(gt=0, le=200)
    efficiency: Fraction | None = Field(None, gt=0)
    start_voltage_v: Volt | None = Field(None, gt=0, le=40)
    stop_voltage_v: Volt | None = Field(None, gt=0, le=40)
    ignition_start_voltage_v: Volt | None = Field(None, gt=0, le=40)
    ignition_stop_voltage_v: Volt | None = Field(None, gt=0, le=40)
    ignition_signal_min_v: Volt | None = Field(None, gt=0, le=40)
    absorption_voltage_v: Volt | None = Field(None, gt=0, le=40)
    float_voltage_v: Volt | None = Field(None, gt=0, le=40)
    input_current_limit_a: Ampere | None = Field(None, gt=0, le=400)
    ingress_protection: IngressProtection | None = None
    max_ambient_c: Celsius | None = Field(None, ge=-40, le=150)
    solar_max_voltage_v: Volt | None = Field(None, gt=0, le=200)
    profile_note: str = Field("", max_length=400, description="how the profile is set, free text")
    model: str = Field(
        "", max_length=80, exclude_if=is_empty, description="as its plate names it, free text"
    )
    serial_number: str = Field(
        "", max_length=60, exclude_if=is_empty, description="as on its plate, free text"
    )
    plate_photo: str = Field(
        "",
        pattern=r"^([0-9a-f]{64})?$",
        exclude_if=is_empty,
        description="SHA-256 of the photo of its rating plate",
    )
    fitted_by: str = Field(
        "", max_length=120, exclude_if=is_empty, description="who fitted it, free text"
    )
    warranty: Warranty | None = Field(None, exclude_if=is_none)


class Location(StrEnum):
    """Where a part is mounted."""

    ENGINE_BAY = "engine_bay"
    CABIN = "cabin"
    TRAY = "tray"
    TRAILER = "trailer"


class TakeOff(StrEnum):
    """Where the two leads leave batteries joined in parallel."""

    ONE_END = "one_end"
    DIAGONAL = "diagonal"
    BUSBARS = "busbars"


class HouseBattery(Data):
    """The second (auxiliary) battery."""

    chemistry: HouseChemistry
    capacity_ah: AmpereHour | None = Field(None, gt=0, le=5000)
    in_parallel: int | None = Field(
        None,
        ge=2,
        le=8,
        exclude_if=is_none,
        description="batteries joined in parallel, null = there is one; all figures are of the "
        "whole",
    )
    take_off: TakeOff | None = Field(
        None,
        exclude_if=is_none,
        description="where the two leads leave batteries joined in parallel: both on one battery, "
        "one on either end, or by leads of equal length to busbars",
    )
    max_charge_current_a: Ampere | None = Field(None, gt=0, le=2000)
    absorption_voltage_v: Volt | None = Field(None, gt=0, le=40)
    min_charge_temperature_c: Celsius | None = Field(None, ge=-60, le=40)
    location: Location | None = Field(None, exclude_if=is_none)


class StatedBy(StrEnum):
    """How a figure was come by when it was entered."""

    PLATE = "plate"
    PRESET = "preset"
    GUESS = "guess"


class StatedAs(StrEnum):
    """How a conductor's size was stated when it was entered."""

    SQUARE_MILLIMETRES = "mm2"
    AWG = "awg"
    AUTO_CABLE = "auto_cable_mm"


class ConductorSize(Data):
    """A conductor's size in the words it was sold by; the area itself is in the run."""

    stated_as: StatedAs
    size: str = Field(max_length=16)


class CableRun(Data):
    """One conductor run with its joints and its fuse; a body return is a run too."""

    length_m: Metre | None = Field(None, gt=0, le=50)
    area_mm2: SquareMillimetre | None = Field(None, gt=0, le=300)
    joints: int | None = Field(None, ge=0, le=40)
    fuse_a: Ampere | None = Field(None, gt=0, le=1000)
    fuse_breaks_a: Ampere | None = Field(
        None,
        gt=0,
        le=200_000,
        exclude_if=is_none,
        description="what the fuse or breaker can break: its interrupting rating, as printed on it",
    )
    stated: ConductorSize | None = None
    insulation_c: Celsius | None = Field(
        None,
        ge=60,
        le=250,
        exclude_if=is_none,
        description="what its insulation is rated to, as printed on the sheath",
    )
    bundled_cables: int | None = Field(
        None,
        ge=1,
        le=60,
        exclude_if=is_none,
        description="loaded cables in one bundle or conduit, this one counted",
    )


class Runs(NullIsNotKnown):
    """The runs of the loop. Current flows feed-wise out and return-wise back."""

    vehicle_feed: CableRun = CableRun()
    vehicle_return: CableRun = CableRun()
    house_feed: CableRun = CableRun()
    house_return: CableRun = CableRun()
    solar_feed: CableRun | None = None


class SecondUnitRuns(Data):
    """The runs of a second unit beside the first, which shares both batteries with it."""

    vehicle_feed: CableRun = CableRun()
    vehicle_return: CableRun = CableRun()
    house_feed: CableRun = CableRun()
    house_return: CableRun = CableRun()


class Trailer(Data):
    """What lies between a towing vehicle and a unit or a house battery in its trailer."""

    plug_rated_current_a: Ampere | None = Field(
        None, gt=0, le=400, description="what one contact of the plug carries, as printed on it"
    )
    socket_dead_unhitched: bool | None = Field(
        None, description="whether the tow socket is dead while nothing is hitched"
    )


class Solar(Data):
    """The panel's plate figures, at 25 °C and full sun."""

    rated_power_w: Watt | None = Field(None, gt=0, le=5000)
    open_circuit_voltage_v: Volt | None = Field(None, gt=0, le=200)
    short_circuit_current_a: Ampere | None = Field(None, gt=0, le=200)
    max_power_voltage_v: Volt | None = Field(None, gt=0, le=200)


class Meter(Data):
    """The meter's and the clamp's accuracy as printed in their instructions."""

    voltage_accuracy_percent: Percent | None = Field(None, ge=0, le=20)
    voltage_counts: float | None = Field(None, ge=0, le=100)
    voltage_resolution_v: Volt | None = Field(None, gt=0, le=1)
    current_accuracy_percent: Percent | None = Field(None, ge=0, le=20)
    current_zero_a: Ampere | None = Field(None, ge=0, le=20)
    current_resolution_a: Ampere | None = Field(None, gt=0, le=10)


class Fitted(NullIsNotKnown):
    """What else is fitted; decides which checklist steps apply."""

    temperature_sensor: bool = False
    reverse_charge: bool = False
    battery_monitor: bool = False
    existing_wiring: bool = False
    output_voltage_sensing: bool = Field(
        False,
        exclude_if=is_empty,
        description="whether the unit has a sense lead of its own to the house battery's posts",
    )
    second_charger_rated_output_current_a: Ampere | None = Field(None, gt=0, le=200)
    vehicle_isolator: bool = Field(
        False, exclude_if=is_empty, description="an isolator switch in the vehicle feed"
    )
    house_isolator: bool = Field(
        False, exclude_if=is_empty, description="an isolator switch in the house feed"
    )
    solar_regulator: bool = Field(
        False,
        exclude_if=is_empty,
        description="a regulator of its own charges the house battery from a panel",
    )
    mains_charger: bool = Field(
        False, exclude_if=is_empty, description="a mains charger on the house battery"
    )


class Extra(StrEnum):
    """What may be fitted beside one charger between two batteries; steps and points ask for it."""

    SOLAR = "solar"
    TEMPERATURE_SENSOR = "temperature_sensor"
    REVERSE_CHARGE = "reverse_charge"
    BATTERY_MONITOR = "battery_monitor"
    EXISTING_WIRING = "existing_wiring"
    SECOND_CHARGER = "second_charger"
    INPUT_CURRENT_LIMIT = "input_current_limit"
    BATTERIES_IN_PARALLEL = "batteries_in_parallel"
    START_BATTERIES_IN_SERIES = "start_batteries_in_series"
    START_BATTERIES_IN_PARALLEL = "start_batteries_in_parallel"
    VEHICLE_ISOLATOR = "vehicle_isolator"
    HOUSE_ISOLATOR = "house_isolator"
    SOLAR_REGULATOR = "solar_regulator"
    MAINS_CHARGER = "mains_charger"
    TRAILER = "trailer"
    OTHER_OUTPUT_VOLTAGE = "other_output_voltage"
    CONVERTER = "converter"


class Installation(NullIsNotKnown):
    """One vehicle's whole installation."""

    nominal_voltage_v: Literal[12, 24] = 12
    output_nominal_voltage_v: Literal[12, 24] | None = Field(
        None, exclude_if=is_none, description="of the house side; null = as the vehicle"
    )
    alternator: Alternator = Alternator()
    start_battery: StartBattery | None = None
    charger: Charger
    house_battery: HouseBattery
    runs: Runs = Runs()
    location: Location | None = None
    ambient_c: Celsius | None = Field(None, ge=-60, le=80)
    solar: Solar | None = None
    meter: Meter | None = None
    fitted: Fitted = Fitted()
    second_unit_runs: SecondUnitRuns | None = Field(None, exclude_if=is_none)
    trailer: Trailer | None = Field(None, exclude_if=is_none)
    stated_by: Mapping[str, StatedBy] = Field(
        default_factory=dict,
        exclude_if=is_empty,
        description="how an entered figure was come by, by its field's path; absent is not known",
    )

    def __hash__(self) -> int:
        """Hash by value: what is worked out of an installation is kept for the next call."""
        values = (getattr(self, name) for name in type(self).model_fields if name != "stated_by")
        return hash((*values, frozenset(self.stated_by.items())))

    def stated(self, path: str) -> StatedBy | None:
        """Return how the figure at a path was come by, ``None`` where that is not known."""
        return self.stated_by.get(path)

    @property
    def scale(self) -> float:
        """The vehicle's nominal voltage over 12 V: 1 or 2, by which 12 V figures grow."""
        return self.nominal_voltage_v / 12

    @property
    def house_scale(self) -> float:
        """The same of the house side, which a unit that steps up or down holds at another."""
        return (self.output_nominal_voltage_v or self.nominal_voltage_v) / 12

    def has(self, extra: Extra) -> bool:
        """Tell whether an extra is fitted; one not described is not."""
        start = self.start_battery.second if self.start_battery else None
        match extra:
            case Extra.SOLAR:
                return self.solar is not None
            case Extra.TRAILER:  # a part that sits in one says so, whatever else is not known
                places = (self.location, self.house_battery.location)
                return self.trailer is not None or Location.TRAILER in places
            case Extra.SECOND_CHARGER:
                return self.fitted.second_charger_rated_output_current_a is not None
            case Extra.INPUT_CURRENT_LIMIT:
                return self.charger.input_current_limit_a is not None
            case Extra.BATTERIES_IN_PARALLEL:
                return self.house_battery.in_parallel is not None
            case Extra.START_BATTERIES_IN_SERIES:
                return start is Joined.SERIES
            case Extra.START_BATTERIES_IN_PARALLEL:
                return start is Joined.PARALLEL
            case Extra.OTHER_OUTPUT_VOLTAGE:
                return self.house_scale != self.scale
            case Extra.CONVERTER:
                return self.alternator.control is Control.CONVERTER
            case _:
                return bool(getattr(self.fitted, extra.value))
