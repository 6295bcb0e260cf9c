"""The set-up pages: which fields each shows, in which words and order.

Labels are the trade's; what a field may hold is in :mod:`mobile.jobs.field_limits`. Fields of a
page's ``rest`` are shown when asked for: a usual job leaves them as its preset has them.
"""

from dataclasses import dataclass

from logic.vehicle.points import Run
from mobile.jobs.field_limits import SOLAR_FITTED
from mobile.jobs.form_entry import Draft


@dataclass(frozen=True)
class Field:
    """One line of a form: ``help_text`` says where to read the figure off."""

    path: str
    label: str
    help_text: str = ""


@dataclass(frozen=True)
class Page:
    """One screen of fields; ``run`` names the conductor run that it describes, if one.

    ``rest_words`` are on the button that shows the ``rest``.
    """

    page_id: str
    title: str
    fields: tuple[Field, ...]
    rest: tuple[Field, ...] = ()
    rest_words: str = "More figures"
    run: str = ""

    @property
    def paths(self) -> tuple[str, ...]:
        """All the page's paths in order."""
        return tuple(field.path for field in (*self.fields, *self.rest))


CHOICE_WORDS = {
    "": "Not known",
    "12": "12 V",
    "24": "24 V",
    "fixed": "Fixed voltage",
    "variable": "Variable (computer)",
    "unknown": "Not known",
    "flooded": "Flooded",
    "agm": "AGM",
    "gel": "Gel",
    "lifepo4": "Lithium (LiFePO4)",
    "engine_bay": "Engine bay",
    "cabin": "Cabin",
    "tray": "Tray",
    "trailer": "Trailer",
    "mm2": "mm²",
    "awg": "AWG / B&S",
    "auto_cable_mm": "Auto cable",
}

_VEHICLE = Page(
    "vehicle",
    "Vehicle",
    (
        Field("vehicle.registration", "Registration plate"),
        Field("vehicle.description", "Description", "Such as: mobile library van"),
        Field("customer.name", "Customer"),
    ),
    (
        Field("customer.contact", "Customer's phone or mail"),
        Field("vehicle.vin", "VIN", "17 characters, on the plate or the windscreen"),
        Field("vehicle.odometer_km", "Odometer"),
    ),
    rest_words="Contact, VIN, odometer",
)
_ALTERNATOR = Page(
    "alternator",
    "Alternator",
    (
        Field("nominal_voltage_v", "System voltage"),
        Field(
            "alternator.control",
            "Alternator voltage",
            "Variable: set by the vehicle's computer, may fall while driving",
        ),
        Field("alternator.rated_current_a", "Rated current", "On its plate"),
    ),
)
_START_BATTERY = Page(
    "start_battery",
    "Start battery",
    (
        Field("start_battery.chemistry", "Chemistry"),
        Field("start_battery.capacity_ah", "Capacity", "On its label"),
    ),
)
_CHARGER = Page(
    "charger",
    "Charger",
    (
        Field("charger.rated_output_current_a", "Rated output", "On its plate"),
        Field("charger.absorption_voltage_v", "Absorption voltage of the profile to be set"),
        Field("charger.float_voltage_v", "Float voltage of that profile"),
        Field("charger.profile_note", "How the profile is set", "Links, button or app"),
        Field("location", "Mounted in"),
        Field("charger.ingress_protection", "IP code", "On its plate, such as IP67"),
    ),
    (
        Field("charger.max_ambient_c", "Hottest place allowed"),
        Field("charger.efficiency", "Efficiency"),
        Field("charger.input_current_limit_a", "Input limit set to", "Where it can be set"),
        Field("charger.ignition_signal_min_v", "Ignition terminal: live from"),
        Field("charger.ignition_start_voltage_v", "With ignition signal: starts at"),
        Field("charger.ignition_stop_voltage_v", "With ignition signal: stops under"),
        Field("charger.start_voltage_v", "Without signal: starts at"),
        Field("charger.stop_voltage_v", "Without signal: stops under"),
        Field("charger.solar_max_voltage_v", "Highest voltage on its solar terminal"),
    ),
)
_HOUSE_BATTERY = Page(
    "house_battery",
    "House battery",
    (
        Field("house_battery.chemistry", "Chemistry"),
        Field("house_battery.capacity_ah", "Capacity", "On its label"),
        Field("house_battery.max_charge_current_a", "Highest charge current it allows"),
        Field("house_battery.absorption_voltage_v", "Absorption voltage it asks for"),
        Field("house_battery.min_charge_temperature_c", "Coldest it may be charged"),
    ),
)
_SOLAR = Page(
    "solar",
    "Solar",
    (
        Field(SOLAR_FITTED, "Solar panel fitted"),
        Field("solar.rated_power_w", "Rated power", "Plate on the panel's back"),
        Field("solar.open_circuit_voltage_v", "Open-circuit voltage (Voc)"),
        Field("solar.short_circuit_current_a", "Short-circuit current (Isc)"),
        Field("solar.max_power_voltage_v", "Voltage at full power (Vmp)"),
    ),
)
_METER = Page(
    "meter",
    "Meter",
    (
        Field("meter.voltage_accuracy_percent", "DC volts: accuracy, % of reading"),
        Field("meter.voltage_counts", "DC volts: plus digits (counts)"),
        Field("meter.voltage_resolution_v", "DC volts: last digit"),
        Field("meter.current_accuracy_percent", "DC clamp: accuracy, % of reading"),
        Field("meter.current_zero_a", "DC clamp: zero error"),
        Field("meter.current_resolution_a", "DC clamp: last digit"),
    ),
)
_EXTRAS = Page(
    "extras",
    "Also fitted",
    (
        Field("ambient_c", "Air temperature today"),
        Field("fitted.temperature_sensor", "Battery temperature sensor"),
        Field("fitted.reverse_charge", "Charging back to the start battery"),
        Field("fitted.battery_monitor", "Shunt or battery monitor"),
        Field("fitted.existing_wiring", "Wiring was there before"),
        Field(
            "fitted.second_charger_rated_output_current_a",
            "Second charger beside it: rated output",
        ),
    ),
)
TECHNICIAN = Page(
    "technician",
    "Your details",
    (
        Field("technician.name", "Your name"),
        Field("technician.licence", "Licence number"),
        Field("technician.workshop", "Workshop"),
    ),
)


def _run_page(run: Run) -> Page:
    source = run.source.full_name
    ends = f"{source[0].upper()}{source[1:]} to {run.sink.full_name}"
    prefix = f"runs.{run}"
    return Page(
        run,
        run.full_name.capitalize(),
        (
            Field(f"{prefix}.length_m", "Length", ends),
            Field(f"{prefix}.stated_as", "Conductor sold by"),
            Field(f"{prefix}.size", "Conductor size"),
            Field(f"{prefix}.fuse_a", "Fuse or breaker"),
            Field(f"{prefix}.joints", "Joints", "Lugs, plugs and holders, each one"),
        ),
        run=run,
    )


PAGES = (
    _VEHICLE,
    _CHARGER,
    _HOUSE_BATTERY,
    _ALTERNATOR,
    _START_BATTERY,
    *(_run_page(run) for run in Run if run is not Run.SOLAR_FEED),
    _SOLAR,
    _run_page(Run.SOLAR_FEED),
    _METER,
    _EXTRAS,
)
BY_ID = {page.page_id: page for page in (*PAGES, TECHNICIAN)}
INSTALLATION_PATHS = tuple(
    path for page in PAGES if page.page_id != "vehicle" for path in page.paths
)


def shown(draft: Draft) -> tuple[Page, ...]:
    """Return the pages that apply to what is fitted."""
    solar = draft.get(SOLAR_FITTED) == "yes"
    return tuple(page for page in PAGES if solar or page.page_id != Run.SOLAR_FEED)


def shown_fields(page: Page, draft: Draft) -> tuple[Field, ...]:
    """Return the page's first fields that apply: a panel's figures only with a panel."""
    if page.page_id == "solar" and draft.get(SOLAR_FITTED) != "yes":
        return page.fields[:1]
    return page.fields


def words(choice: str) -> str:
    """Return a choice in words."""
    return CHOICE_WORDS.get(choice, choice)
