"""The fixed words of a reading: where the meter goes, and in which state of the vehicle.

Each member of :class:`Point` is declared once, with all that is known of it: it can then be
typed, stored, shown, printed and put on a label. What it should show is a function in
:mod:`logic.limits`, what a fault makes it show one in :mod:`logic.diagnosis`; without them it
has no limit and says nothing about a fault.

Ids are part of every stored and exchanged record, wire ids of every printed label: neither is
ever changed, and none is used again.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Any, NamedTuple, Self

from logic.quantities import Minute
from logic.vehicle.installation import Extra, Installation, Location


class _Declared(StrEnum):
    """An enum whose members carry what is known of them: ``NAME = id, *what is known``.

    A subclass takes the rest of the tuple in ``_declare``. (Not in ``__init__``: type checkers
    would then ask for all of it where a member is looked up by its id alone.)
    """

    _value_: str

    def __new__(cls, member_id: str, *known: Any) -> Self:
        """Make a member of its declaration, or look one up by its id."""
        member = str.__new__(cls, member_id)
        member._value_ = member_id
        member._declare(*known)
        return member

    def _declare(self, *known: Any, **_: Any) -> None:
        raise NotImplementedError


class Unit(_Declared):
    """What a reading is given in, as exported.

    ``symbol`` stands behind a value on a screen; "" where a word says it instead.
    ``decimals`` are those that a value has at least; :mod:`logic.words.figures` says why.
    """

    VOLT = "V", "V", 2
    AMPERE = "A", "A", 1
    CELSIUS = "°C", "°C", 0
    SHARE = "1", "", 1
    LIT = "lit", "", 0

    def _declare(self, symbol: str, decimals: int) -> None:
        self.symbol, self.decimals = symbol, decimals


@dataclass(frozen=True, kw_only=True)
class StateDeclaration:
    """All that is known of a state of the vehicle."""

    wire_id: int
    """Its number in a label's code, 0 to 3; never changed, never used again."""
    full_name: str
    """Its name at the head of a screen."""
    short_name: str
    """Its name on a button."""
    full_name_ready: str = ""
    """Its name where the supply is a converter, if that is another."""
    short_name_ready: str = ""
    """The same on a button."""
    minutes_first: Minute
    """To bring the vehicle into it."""
    minutes_again: Minute
    """To bring the vehicle back into it."""
    engine_runs: bool = False
    needs_panel: bool = False
    """Whether it exists only on a vehicle with a solar panel."""


class State(_Declared):
    """What the vehicle is doing while the reading is taken."""

    # Minutes are assumed: common practice, no published source.
    REST = (
        "rest",
        StateDeclaration(
            wire_id=0,
            full_name="Key off, rested",
            short_name="Key off",
            minutes_first=0.5,
            minutes_again=6.0,
        ),
    )
    IDLE = (
        "idle",
        StateDeclaration(
            wire_id=1,
            full_name="Engine idling",
            short_name="Idle",
            full_name_ready="Vehicle ready",
            short_name_ready="Ready",
            minutes_first=1.0,
            minutes_again=0.0,
            engine_runs=True,
        ),
    )
    FAST_IDLE = (
        "fast_idle",
        StateDeclaration(
            wire_id=2,
            full_name="Engine at fast idle",
            short_name="Fast idle",
            minutes_first=1.0,
            minutes_again=0.5,
            engine_runs=True,
        ),
    )
    SOLAR = (
        "solar",
        StateDeclaration(
            wire_id=3,
            full_name="Engine off, panel in daylight",
            short_name="Solar",
            full_name_ready="Vehicle off, panel in daylight",
            minutes_first=1.0,
            minutes_again=0.5,
            needs_panel=True,
        ),
    )

    def _declare(self, known: StateDeclaration) -> None:
        self.wire_id = known.wire_id
        self.full_name, self.short_name = known.full_name, known.short_name
        self.full_name_ready = known.full_name_ready or known.full_name
        self.short_name_ready = known.short_name_ready or known.short_name
        self.minutes_first, self.minutes_again = known.minutes_first, known.minutes_again
        self.engine_runs, self.needs_panel = known.engine_runs, known.needs_panel

    def exists_on(self, installation: Installation) -> bool:
        """Tell whether a vehicle can be read in it: a converter has no idle and no other speed."""
        if self is State.FAST_IDLE and installation.has(Extra.CONVERTER):
            return False
        return not self.needs_panel or installation.has(Extra.SOLAR)

    def full_name_on(self, installation: Installation | None) -> str:
        """Return its name at the head of a screen: no engine need run for a converter."""
        if installation is not None and installation.has(Extra.CONVERTER):
            return self.full_name_ready
        return self.full_name

    def short_name_on(self, installation: Installation | None) -> str:
        """Return its name on a button, likewise."""
        if installation is not None and installation.has(Extra.CONVERTER):
            return self.short_name_ready
        return self.short_name


class Post(_Declared):
    """Where a probe can touch the circuit; ``mark`` is what is drawn beside it."""

    START_BATTERY_POSITIVE = "start_battery_positive", "start battery +", "+"
    START_BATTERY_NEGATIVE = "start_battery_negative", "start battery −", "−"
    CHARGER_INPUT = "charger_input", "charger input +", "in"
    CHARGER_NEGATIVE = "charger_negative", "charger negative", "−"
    CHARGER_OUTPUT = "charger_output", "charger output +", "out"
    IGNITION_TERMINAL = "ignition_terminal", "ignition input", "ign"
    SOLAR_TERMINAL = "solar_terminal", "solar input +", "sol"
    PANEL_LEAD_POSITIVE = "panel_lead_positive", "panel lead +", "+"
    PANEL_LEAD_NEGATIVE = "panel_lead_negative", "panel lead −", "−"
    HOUSE_BATTERY_POSITIVE = "house_battery_positive", "house battery +", "+"
    HOUSE_BATTERY_NEGATIVE = "house_battery_negative", "house battery −", "−"
    SECOND_UNIT_INPUT = "second_unit_input", "second unit's input +", "in"
    SECOND_UNIT_NEGATIVE = "second_unit_negative", "second unit's negative", "−"
    SECOND_UNIT_OUTPUT = "second_unit_output", "second unit's output +", "out"

    def _declare(self, full_name: str, mark: str) -> None:
        self.full_name, self.mark = full_name, mark


class Run(_Declared):
    """A conductor run, with its joints and fuse; current flows from ``source`` to ``sink``."""

    VEHICLE_FEED = "vehicle_feed", "vehicle feed", Post.START_BATTERY_POSITIVE, Post.CHARGER_INPUT
    VEHICLE_RETURN = (
        "vehicle_return",
        "vehicle return",
        Post.CHARGER_NEGATIVE,
        Post.START_BATTERY_NEGATIVE,
    )
    HOUSE_FEED = "house_feed", "house feed", Post.CHARGER_OUTPUT, Post.HOUSE_BATTERY_POSITIVE
    HOUSE_RETURN = (
        "house_return",
        "house return",
        Post.HOUSE_BATTERY_NEGATIVE,
        Post.CHARGER_NEGATIVE,
    )
    SOLAR_FEED = "solar_feed", "solar lead", Post.PANEL_LEAD_POSITIVE, Post.SOLAR_TERMINAL

    def _declare(self, full_name: str, source: Post, sink: Post) -> None:
        self.full_name, self.source, self.sink = full_name, source, sink


LOOP = (Run.VEHICLE_FEED, Run.VEHICLE_RETURN, Run.HOUSE_FEED, Run.HOUSE_RETURN)
"""The runs of the loop, out and back on each side of the charger."""
VEHICLE_SIDE, HOUSE_SIDE = LOOP[:2], LOOP[2:]
FEEDS = (Run.VEHICLE_FEED, Run.HOUSE_FEED)


def side_through_plug(location: Location | None) -> tuple[Run, Run]:
    """Return which feed and return go through a trailer's plug, by where the unit sits.

    With the unit in the vehicle its output does, and its input does not; where its place is not
    known it is taken to be in the trailer.
    """
    feed, back = VEHICLE_SIDE if location in (Location.TRAILER, None) else HOUSE_SIDE
    return feed, back


class Part(_Declared):
    """A part of the circuit between its runs."""

    START_BATTERY = "start_battery", "start battery"
    CHARGER = "charger", "charger"
    HOUSE_BATTERY = "house_battery", "house battery"
    IGNITION_SOURCE = "ignition_source", "ignition source"
    HOUSE_LOADS = "house_loads", "house loads"
    SOLAR_PANEL = "solar_panel", "solar panel"
    SECOND_UNIT = "second_unit", "second unit"

    def _declare(self, full_name: str) -> None:
        self.full_name = full_name


class Lead(_Declared):
    """A lead that is no run of the first unit's loop, where a clamp goes round it."""

    SECOND_VEHICLE_FEED = "second_vehicle_feed", "second unit's vehicle feed"
    SECOND_HOUSE_FEED = "second_house_feed", "second unit's house feed"
    FIRST_IN_PARALLEL = "first_in_parallel", "first battery's own positive lead"

    def _declare(self, full_name: str) -> None:
        self.full_name = full_name


_ENGINE = tuple(state for state in State if state.engine_runs)
_WITHOUT_PANEL = tuple(state for state in State if not state.needs_panel)
_IN_DAYLIGHT = (*_ENGINE, State.SOLAR)
_ALL = tuple(State)


@dataclass(frozen=True, kw_only=True)
class PointDeclaration:
    """All that is known of a reading point."""

    wire_id: int | None
    """Its number in a label's code, 0 to 31; never changed, never used again. ``None``: it is
    not put on a label."""
    unit: Unit
    full_name: str
    """Its name at the head of a screen."""
    short_name: str = ""
    """Its name where there is little room, if the full one is too long."""
    decimals: int | None = None
    """How many a value has at least, if not the unit's."""
    red: Post | None = None
    """Where the red probe goes, if it is read with probes."""
    black: Post | None = None
    clamp_on: Run | Part | Lead | None = None
    """What the clamp goes round, if it is read with one: a run, the feed to a part, a lead."""
    towards: str = ""
    """Where the clamp's arrow points to, in words."""
    carried_by: tuple[Run, ...] = ()
    """The runs through which this current flows."""
    run: Run | None = None
    """The run that it is the drop of."""
    part: Part | None = None
    """The part of the drawn circuit that offers it, besides its posts or its clamp."""
    states: tuple[State, ...] = _WITHOUT_PANEL
    """The states in which it is asked for; it may be read in any."""
    same_in_every_state: bool = False
    """Whether once is enough."""
    key_off_minutes: Minute | None = None
    """To switch off for it, where it needs no rest after that."""
    needs: Extra | None = None
    """What must be fitted for it to exist at all."""
    on_house_side: bool = False
    """Whether its volts are those of the house side, which a unit may hold at another voltage."""
    is_system_voltage: bool = False
    """Whether it is about the system's voltage in every state, if all is sound."""
    unusual_above: float | None = None
    """Over this, in its unit, it was more likely read in another one."""


def _drop(wire_id: int, run: Run) -> PointDeclaration:
    """Declare the drop across a run: red on the end that the current comes from."""
    return PointDeclaration(
        wire_id=wire_id,
        unit=Unit.VOLT,
        decimals=3,
        full_name=f"Drop in the {run.full_name}",
        short_name=f"{run.full_name.capitalize()} drop",
        red=run.source,
        black=run.sink,
        run=run,
        on_house_side=run in HOUSE_SIDE,
    )


class Point(_Declared):
    """What is read; for voltages, between which two posts."""

    # Assumed, common practice, no published source: minutes, and the temperatures over which a
    # thermometer more likely shows °F.
    START_BATTERY_VOLTAGE = (
        "start_battery_voltage",
        PointDeclaration(
            wire_id=0,
            unit=Unit.VOLT,
            full_name="Start battery voltage",
            red=Post.START_BATTERY_POSITIVE,
            black=Post.START_BATTERY_NEGATIVE,
            part=Part.START_BATTERY,
            is_system_voltage=True,
        ),
    )
    VEHICLE_FEED_DROP = "vehicle_feed_drop", _drop(1, Run.VEHICLE_FEED)
    VEHICLE_RETURN_DROP = "vehicle_return_drop", _drop(2, Run.VEHICLE_RETURN)
    CHARGER_INPUT_VOLTAGE = (
        "charger_input_voltage",
        PointDeclaration(
            wire_id=3,
            unit=Unit.VOLT,
            full_name="Charger input voltage",
            red=Post.CHARGER_INPUT,
            black=Post.CHARGER_NEGATIVE,
            is_system_voltage=True,
        ),
    )
    IGNITION_SIGNAL_VOLTAGE = (
        "ignition_signal_voltage",
        PointDeclaration(
            wire_id=4,
            unit=Unit.VOLT,
            full_name="Ignition input voltage",
            red=Post.IGNITION_TERMINAL,
            black=Post.CHARGER_NEGATIVE,
            part=Part.IGNITION_SOURCE,
            key_off_minutes=0.5,
        ),
    )
    CHARGER_OUTPUT_VOLTAGE = (
        "charger_output_voltage",
        PointDeclaration(
            wire_id=5,
            unit=Unit.VOLT,
            full_name="Charger output voltage",
            red=Post.CHARGER_OUTPUT,
            black=Post.CHARGER_NEGATIVE,
            states=_ALL,
            on_house_side=True,
            is_system_voltage=True,
        ),
    )
    HOUSE_FEED_DROP = "house_feed_drop", _drop(6, Run.HOUSE_FEED)
    HOUSE_RETURN_DROP = "house_return_drop", _drop(7, Run.HOUSE_RETURN)
    HOUSE_BATTERY_VOLTAGE = (
        "house_battery_voltage",
        PointDeclaration(
            wire_id=8,
            unit=Unit.VOLT,
            full_name="House battery voltage",
            red=Post.HOUSE_BATTERY_POSITIVE,
            black=Post.HOUSE_BATTERY_NEGATIVE,
            part=Part.HOUSE_BATTERY,
            on_house_side=True,
            is_system_voltage=True,
        ),
    )
    SOLAR_OPEN_CIRCUIT_VOLTAGE = (
        "solar_open_circuit_voltage",
        PointDeclaration(
            wire_id=9,
            unit=Unit.VOLT,
            full_name="Panel open-circuit voltage",
            red=Post.PANEL_LEAD_POSITIVE,
            black=Post.PANEL_LEAD_NEGATIVE,
            part=Part.SOLAR_PANEL,
            states=(State.SOLAR,),
            same_in_every_state=True,
            needs=Extra.SOLAR,
        ),
    )
    SOLAR_INPUT_VOLTAGE = (
        "solar_input_voltage",
        PointDeclaration(
            wire_id=10,
            unit=Unit.VOLT,
            full_name="Solar input voltage",
            red=Post.SOLAR_TERMINAL,
            black=Post.CHARGER_NEGATIVE,
            states=_IN_DAYLIGHT,
            needs=Extra.SOLAR,
        ),
    )
    INPUT_CURRENT = (
        "input_current",
        PointDeclaration(
            wire_id=11,
            unit=Unit.AMPERE,
            full_name="Input current",
            clamp_on=Run.VEHICLE_FEED,
            towards="charger",
            carried_by=(Run.VEHICLE_FEED, Run.VEHICLE_RETURN),
            key_off_minutes=0.5,
        ),
    )
    OUTPUT_CURRENT = (
        "output_current",
        PointDeclaration(
            wire_id=12,
            unit=Unit.AMPERE,
            full_name="Output current",
            clamp_on=Run.HOUSE_FEED,
            towards="house battery",
            carried_by=(Run.HOUSE_FEED, Run.HOUSE_RETURN),
            states=_ALL,
            key_off_minutes=0.5,
        ),
    )
    HOUSE_LOAD_CURRENT = (
        "house_load_current",
        PointDeclaration(
            wire_id=13,
            unit=Unit.AMPERE,
            full_name="House load current",
            clamp_on=Part.HOUSE_LOADS,
            towards="loads",
            part=Part.HOUSE_LOADS,
        ),
    )
    SOLAR_CURRENT = (
        "solar_current",
        PointDeclaration(
            wire_id=14,
            unit=Unit.AMPERE,
            full_name="Solar current",
            clamp_on=Run.SOLAR_FEED,
            towards="charger",
            carried_by=(Run.SOLAR_FEED,),
            states=_IN_DAYLIGHT,
            needs=Extra.SOLAR,
        ),
    )
    CHARGER_CASE_TEMPERATURE = (
        "charger_case_temperature",
        PointDeclaration(
            wire_id=15,
            unit=Unit.CELSIUS,
            full_name="Charger case temperature",
            part=Part.CHARGER,
            states=_ENGINE,
            unusual_above=95.0,
        ),
    )
    HOUSE_BATTERY_TEMPERATURE = (
        "house_battery_temperature",
        PointDeclaration(
            wire_id=16,
            unit=Unit.CELSIUS,
            full_name="House battery temperature",
            part=Part.HOUSE_BATTERY,
            states=(State.IDLE,),
            same_in_every_state=True,
            unusual_above=55.0,
        ),
    )
    PROFILE_SETTING_VOLTAGE = (
        "profile_setting_voltage",
        PointDeclaration(
            wire_id=17,
            unit=Unit.VOLT,
            full_name="Absorption voltage of the profile set",
            short_name="Profile's absorption voltage",
            part=Part.CHARGER,
            states=(State.REST,),
            same_in_every_state=True,
            key_off_minutes=0.0,
            on_house_side=True,
            is_system_voltage=True,
        ),
    )
    SUNLIGHT_FRACTION = (
        "sunlight_fraction",
        PointDeclaration(
            wire_id=18,
            unit=Unit.SHARE,
            full_name="Sunlight, judged by eye",
            short_name="Sunlight",
            part=Part.SOLAR_PANEL,
            states=_IN_DAYLIGHT,
            needs=Extra.SOLAR,
        ),
    )
    CHARGING_INDICATOR = (
        "charging_indicator",
        PointDeclaration(
            wire_id=19,
            unit=Unit.LIT,
            full_name="Charging indicator",
            part=Part.CHARGER,
            states=_ENGINE,
        ),
    )
    FAULT_INDICATOR = (
        "fault_indicator",
        PointDeclaration(
            wire_id=20,
            unit=Unit.LIT,
            full_name="Fault indicator",
            part=Part.CHARGER,
            states=_ENGINE,
        ),
    )
    SECOND_UNIT_INPUT_VOLTAGE = (
        "second_unit_input_voltage",
        PointDeclaration(
            wire_id=21,
            unit=Unit.VOLT,
            full_name="Second unit's input voltage",
            short_name="Second unit, input",
            red=Post.SECOND_UNIT_INPUT,
            black=Post.SECOND_UNIT_NEGATIVE,
            part=Part.SECOND_UNIT,
            needs=Extra.SECOND_CHARGER,
            is_system_voltage=True,
        ),
    )
    SECOND_UNIT_OUTPUT_VOLTAGE = (
        "second_unit_output_voltage",
        PointDeclaration(
            wire_id=22,
            unit=Unit.VOLT,
            full_name="Second unit's output voltage",
            short_name="Second unit, output",
            red=Post.SECOND_UNIT_OUTPUT,
            black=Post.SECOND_UNIT_NEGATIVE,
            part=Part.SECOND_UNIT,
            needs=Extra.SECOND_CHARGER,
            on_house_side=True,
            is_system_voltage=True,
        ),
    )
    SECOND_UNIT_INPUT_CURRENT = (
        "second_unit_input_current",
        PointDeclaration(
            wire_id=23,
            unit=Unit.AMPERE,
            full_name="Second unit's input current",
            clamp_on=Lead.SECOND_VEHICLE_FEED,
            towards="second unit",
            part=Part.SECOND_UNIT,
            needs=Extra.SECOND_CHARGER,
            key_off_minutes=0.5,
        ),
    )
    SECOND_UNIT_OUTPUT_CURRENT = (
        "second_unit_output_current",
        PointDeclaration(
            wire_id=24,
            unit=Unit.AMPERE,
            full_name="Second unit's output current",
            clamp_on=Lead.SECOND_HOUSE_FEED,
            towards="house battery",
            part=Part.SECOND_UNIT,
            needs=Extra.SECOND_CHARGER,
            key_off_minutes=0.5,
        ),
    )
    MONITOR_CURRENT = (
        "monitor_current",
        PointDeclaration(
            wire_id=25,
            unit=Unit.AMPERE,
            full_name="Current that the battery monitor shows",
            short_name="Monitor's current",
            part=Part.HOUSE_BATTERY,
            states=_ALL,
            needs=Extra.BATTERY_MONITOR,
            key_off_minutes=0.5,
        ),
    )
    FIRST_PARALLEL_CURRENT = (
        "first_parallel_current",
        PointDeclaration(
            wire_id=None,
            unit=Unit.AMPERE,
            full_name="Current into the first of the batteries in parallel",
            short_name="First battery's current",
            clamp_on=Lead.FIRST_IN_PARALLEL,
            towards="battery",
            part=Part.HOUSE_BATTERY,
            states=_ENGINE,
            needs=Extra.BATTERIES_IN_PARALLEL,
        ),
    )
    FIRST_SERIES_VOLTAGE = (
        "first_series_voltage",
        PointDeclaration(
            wire_id=None,
            unit=Unit.VOLT,
            full_name="Voltage of the first of the start batteries in series",
            short_name="First start battery",
            part=Part.START_BATTERY,
            needs=Extra.START_BATTERIES_IN_SERIES,
        ),
    )
    SENSOR_TEMPERATURE = (
        "sensor_temperature",
        PointDeclaration(
            wire_id=None,
            unit=Unit.CELSIUS,
            full_name="Battery temperature by the unit's own sensor",
            short_name="Sensor's temperature",
            part=Part.CHARGER,
            needs=Extra.TEMPERATURE_SENSOR,
            unusual_above=55.0,
        ),
    )
    INPUT_LIMIT_SETTING = (
        "input_limit_setting",
        PointDeclaration(
            wire_id=None,
            unit=Unit.AMPERE,
            full_name="Input limit that the unit is set to",
            short_name="Input limit set",
            part=Part.CHARGER,
            states=(State.REST,),
            same_in_every_state=True,
            key_off_minutes=0.0,
            needs=Extra.INPUT_CURRENT_LIMIT,
        ),
    )
    INPUT_CURRENT_WITHOUT_SUN = (
        "input_current_without_sun",
        PointDeclaration(
            wire_id=None,
            unit=Unit.AMPERE,
            full_name="Input current with the panel covered",
            short_name="Input, panel covered",
            clamp_on=Run.VEHICLE_FEED,
            towards="charger",
            states=_ENGINE,
            needs=Extra.SOLAR,
        ),
    )
    REVERSE_CHARGE_CURRENT = (
        "reverse_charge_current",
        PointDeclaration(
            wire_id=None,
            unit=Unit.AMPERE,
            full_name="Current to the start battery on reverse charge",
            short_name="Reverse charge current",
            clamp_on=Run.VEHICLE_FEED,
            towards="start battery",
            states=(State.REST,),
            same_in_every_state=True,
            key_off_minutes=0.5,
            needs=Extra.REVERSE_CHARGE,
        ),
    )
    REVERSE_CHARGE_VOLTAGE = (
        "reverse_charge_voltage",
        PointDeclaration(
            wire_id=None,
            unit=Unit.VOLT,
            full_name="Start battery voltage after five minutes of reverse charge",
            short_name="Start battery, reverse charge",
            red=Post.START_BATTERY_POSITIVE,
            black=Post.START_BATTERY_NEGATIVE,
            states=(State.REST,),
            same_in_every_state=True,
            key_off_minutes=5.0,
            needs=Extra.REVERSE_CHARGE,
            is_system_voltage=True,
        ),
    )
    UNIT_STOPS_VOLTAGE = (
        "unit_stops_voltage",
        PointDeclaration(
            wire_id=None,
            unit=Unit.VOLT,
            full_name="Input voltage at which the unit stopped",
            short_name="Unit stopped at",
            red=Post.CHARGER_INPUT,
            black=Post.CHARGER_NEGATIVE,
            states=(State.REST,),
            same_in_every_state=True,
            key_off_minutes=2.0,
            is_system_voltage=True,
        ),
    )
    INPUT_CURRENT_IN_SUN = (
        "input_current_in_sun",
        PointDeclaration(
            wire_id=None,
            unit=Unit.AMPERE,
            full_name="Input current with the panel in the sun",
            short_name="Input, panel in the sun",
            clamp_on=Run.VEHICLE_FEED,
            towards="charger",
            states=_ENGINE,
            needs=Extra.SOLAR,
        ),
    )
    TOW_SOCKET_VOLTAGE = (
        "tow_socket_voltage",
        PointDeclaration(
            wire_id=None,
            unit=Unit.VOLT,
            full_name="Tow socket's charging contacts, unhitched",
            short_name="Tow socket, unhitched",
            part=Part.START_BATTERY,
            states=(State.REST,),
            same_in_every_state=True,
            key_off_minutes=2.0,
            needs=Extra.TRAILER,
        ),
    )

    def _declare(self, known: PointDeclaration) -> None:
        self.wire_id = known.wire_id
        self.unit = known.unit
        self.full_name = known.full_name
        self.short_name = known.short_name or known.full_name
        self.decimals = known.unit.decimals if known.decimals is None else known.decimals
        self.red, self.black = known.red, known.black
        self.clamp_on, self.towards = known.clamp_on, known.towards
        self.carried_by = known.carried_by
        self.run = known.run
        self.is_drop = known.run is not None
        self.part = known.part
        self.states = known.states
        self.same_in_every_state = known.same_in_every_state
        self.key_off_minutes = known.key_off_minutes
        self.needs = known.needs
        self.needs_panel = known.needs is Extra.SOLAR
        self.on_house_side = known.on_house_side
        self.is_system_voltage = known.is_system_voltage
        self.unusual_above = known.unusual_above

    def exists_on(self, installation: Installation) -> bool:
        """Tell whether an installation has what it is read on."""
        return self.needs is None or installation.has(self.needs)

    def scale_on(self, installation: Installation) -> float:
        """Return the nominal voltage where it is read over 12 V: 1, 2, half of that in series."""
        if self.needs is Extra.START_BATTERIES_IN_SERIES:
            return installation.scale / 2
        return installation.house_scale if self.on_house_side else installation.scale

    @property
    def current(self) -> "Point | None":
        """The point of the current through the run that it is the drop of."""
        return CURRENT_THROUGH.get(self.run) if self.run is not None else None


DROP_ACROSS: Mapping[Run, Point] = MappingProxyType(
    {point.run: point for point in Point if point.run is not None}
)
"""Each run's drop; the solar lead's is not read."""

CURRENT_THROUGH: Mapping[Run, Point] = MappingProxyType(
    {run: point for point in Point for run in point.carried_by}
)
"""Each run's current."""


class ReadingKey(NamedTuple):
    """Which reading: a point, in a state of the vehicle."""

    point: Point
    state: State
