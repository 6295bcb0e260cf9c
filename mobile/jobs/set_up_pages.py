"""The set-up as it is shown: its pages of fields, the questions that come first, in words.

Labels are the trade's; what a field may hold is in :mod:`mobile.jobs.field_limits`. Fields of a
page's ``rest`` are shown when asked for: a usual job leaves them as its preset has them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from logic.checklist.presets import Group, Preset, offered
from logic.errors import InputError
from logic.vehicle.installation import StatedBy, Warranty
from logic.vehicle.points import FEEDS, LOOP, Run
from logic.words.names import CHEMISTRIES, WARRANTIES, capitalised
from mobile.jobs.field_limits import (
    PLATE_PHOTO,
    SECOND_UNIT,
    SECOND_UNIT_RUNS,
    SOLAR_FITTED,
    YES_OR_NO,
    limits_of,
)
from mobile.jobs.form_entry import PROFILE, Draft, has_trailer, stated_by


@dataclass(frozen=True)
class FormLine:
    """One line of a form: ``help_text`` says where to read the figure off."""

    path: str
    label: str
    help_text: str = ""


@dataclass(frozen=True)
class FormPage:
    """One screen of fields; ``run`` names the conductor run that it describes, if one.

    ``rest_words`` are on the button that shows the ``rest``.
    """

    page_id: str
    title: str
    fields: tuple[FormLine, ...]
    rest: tuple[FormLine, ...] = ()
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
    "converter": "DC-DC supply (hybrid, electric)",
    "unknown": "Not known",
    **{kind.value: capitalised(name) for kind, name in CHEMISTRIES.items()},
    "engine_bay": "Engine bay",
    "cabin": "Cabin",
    "tray": "Tray",
    "trailer": "Trailer",
    "mm2": "mm²",
    "awg": "AWG / B&S",
    "auto_cable_mm": "Auto cable",
    "parallel": "In parallel",
    "series": "In series",
    "one_end": "Both from one battery",
    "diagonal": "One from either end",
    "busbars": "By equal leads to busbars",
    "yes": "Yes",
    "no": "No",
    **{kind.value: capitalised(name) for kind, name in WARRANTIES.items()},
}
STATED_WORDS = {StatedBy.PLATE: "Plate", StatedBy.GUESS: "Guess"}
"""How a figure is known, as it is said with one tap beside it."""

_VEHICLE = FormPage(
    "vehicle",
    "Vehicle",
    (
        FormLine("vehicle.registration", "Registration plate"),
        FormLine("vehicle.description", "Description", "Such as: mobile library van"),
        FormLine("customer.name", "Customer"),
    ),
    (
        FormLine("customer.contact", "Customer's phone or mail"),
        FormLine("vehicle.vin", "VIN", "17 characters, on the plate or the windscreen"),
        FormLine("vehicle.odometer_km", "Odometer"),
    ),
    rest_words="Contact, VIN, odometer",
)
_ALTERNATOR = FormPage(
    "alternator",
    "Alternator or DC-DC supply",
    (
        FormLine("nominal_voltage_v", "System voltage"),
        FormLine(
            "alternator.control",
            "What supplies the vehicle",
            "Variable: by the vehicle's computer, may fall while driving. Hybrid, electric and "
            "48 V vehicles have a DC-DC supply",
        ),
        FormLine(
            "alternator.rated_current_a",
            "Rated current",
            "On its plate; of a DC-DC supply in the vehicle's papers",
        ),
    ),
)
SECOND = "start_battery.second"
SENSOR = "start_battery.sensor_on_negative"
_START_BATTERY = FormPage(
    "start_battery",
    "Start battery",
    (
        FormLine("start_battery.chemistry", "Chemistry"),
        FormLine("start_battery.capacity_ah", "Capacity", "On its label; of two in parallel both"),
        FormLine(
            SECOND,
            "Second start battery",
            "In parallel: plus to plus. In series: two make the vehicle's voltage",
        ),
        FormLine(
            SENSOR,
            "Current sensor on its negative post",
            "A small box with a plug, on the cable terminal",
        ),
    ),
)
HOUSE_VOLTAGE = "output_nominal_voltage_v"
BOATS = "Boats are left out: ignition protection and isolation there need another code"
_CHARGER = FormPage(
    "charger",
    "Charger",
    (
        FormLine("charger.rated_output_current_a", "Rated output", "On its plate"),
        FormLine("charger.absorption_voltage_v", "Absorption voltage of the profile to be set"),
        FormLine("charger.float_voltage_v", "Float voltage of that profile"),
        FormLine("charger.profile_note", "How the profile is set", "Links, button or app"),
        FormLine(
            HOUSE_VOLTAGE,
            "Voltage of the house side",
            "Where the unit steps up or down, on its plate",
        ),
        FormLine(
            "location",
            "Mounted in",
            BOATS,
        ),
        FormLine("charger.ingress_protection", "IP code", "On its plate, such as IP67"),
    ),
    (
        FormLine("charger.max_ambient_c", "Hottest place allowed"),
        FormLine("charger.efficiency", "Efficiency"),
        FormLine("charger.input_current_limit_a", "Input limit set to", "Where it can be set"),
        FormLine("charger.ignition_signal_min_v", "Ignition input: live from"),
        FormLine("charger.ignition_start_voltage_v", "With ignition signal: starts at"),
        FormLine("charger.ignition_stop_voltage_v", "With ignition signal: stops under"),
        FormLine("charger.start_voltage_v", "Without signal: starts at"),
        FormLine("charger.stop_voltage_v", "Without signal: stops under"),
        FormLine("charger.solar_max_voltage_v", "Highest voltage on its solar input"),
    ),
)
_WARRANTY = "charger.warranty"
_IDENTITY = FormPage(
    "identity",
    "Which unit it is",
    (
        FormLine("charger.serial_number", "Serial number", "On its plate, letter by letter"),
        FormLine("charger.model", "Model", "As its plate names it"),
        FormLine(PLATE_PHOTO, "Photo of the plate", "Near and sharp: every letter can be read"),
        FormLine(
            "charger.fitted_by",
            "Fitted by",
            "The workshop; for a private person put 'the owner', not the name",
        ),
        FormLine(_WARRANTY, "Under warranty", "As agreed at this job"),
    ),
)
_HOUSE_BATTERY = FormPage(
    "house_battery",
    "House battery",
    (
        FormLine("house_battery.chemistry", "Chemistry"),
        FormLine("house_battery.capacity_ah", "Capacity", "On its label"),
        FormLine("house_battery.max_charge_current_a", "Highest charge current it allows"),
        FormLine("house_battery.absorption_voltage_v", "Absorption voltage it asks for"),
        FormLine("house_battery.min_charge_temperature_c", "Coldest it may be charged"),
        FormLine("house_battery.location", "Mounted in"),
    ),
    (
        FormLine(
            "house_battery.in_parallel",
            "Batteries in parallel",
            "How many; open: there is one. All figures are of the whole",
        ),
        FormLine("house_battery.take_off", "Their two leads leave"),
    ),
    rest_words="Several in parallel",
)
_SOLAR = FormPage(
    "solar",
    "Solar",
    (
        FormLine(SOLAR_FITTED, "Solar panel fitted"),
        FormLine("solar.rated_power_w", "Rated power", "Plate on the panel's back"),
        FormLine("solar.open_circuit_voltage_v", "Open-circuit voltage (Voc)"),
        FormLine("solar.short_circuit_current_a", "Short-circuit current (Isc)"),
        FormLine("solar.max_power_voltage_v", "Voltage at full power (Vmp)"),
    ),
)
_TRAILER = FormPage(
    "trailer",
    "Trailer plug",
    (
        FormLine(
            "trailer.plug_rated_current_a",
            "One contact carries",
            "Printed on the plug; contacts count as joints of both runs",
        ),
        FormLine(
            "trailer.socket_dead_unhitched",
            "Socket dead when unhitched",
            "No volts on the tow socket while nothing is hitched",
        ),
    ),
)
_METER = FormPage(
    "meter",
    "Meter",
    (
        FormLine("meter.voltage_accuracy_percent", "DC volts: accuracy, % of reading"),
        FormLine("meter.voltage_counts", "DC volts: plus digits (counts)"),
        FormLine("meter.voltage_resolution_v", "DC volts: last digit"),
        FormLine("meter.current_accuracy_percent", "Current clamp: accuracy, % of reading"),
        FormLine("meter.current_zero_a", "Current clamp: zero error"),
        FormLine("meter.current_resolution_a", "Current clamp: last digit"),
    ),
)
_EXTRAS = FormPage(
    "extras",
    "Also fitted",
    (
        FormLine("ambient_c", "Air temperature today"),
        FormLine("fitted.temperature_sensor", "Battery temperature sensor"),
        FormLine("fitted.reverse_charge", "Charging back to the start battery"),
        FormLine(
            "fitted.battery_monitor",
            "Shunt or battery monitor",
            "Its two ends count as joints of the house return",
        ),
        FormLine(
            "fitted.vehicle_isolator",
            "Isolator in the vehicle feed",
            "Its two ends count as joints of that run",
        ),
        FormLine(
            "fitted.house_isolator",
            "Isolator in the house feed",
            "Its two ends count as joints of that run",
        ),
        FormLine(
            "fitted.solar_regulator",
            "Separate solar regulator",
            "On the house battery, with a panel of its own",
        ),
        FormLine("fitted.mains_charger", "Mains charger on the house battery"),
        FormLine("fitted.existing_wiring", "Wiring was there before"),
        FormLine(
            "fitted.output_voltage_sensing",
            "Sense lead to the house battery",
            "The unit makes up for what the house side loses",
        ),
        FormLine(
            "fitted.second_charger_rated_output_current_a",
            "Second unit beside it: rated output",
            "Its own runs and fuses have a page of their own",
        ),
    ),
)
TECHNICIAN = FormPage(
    "technician",
    "Your details",
    (
        FormLine("technician.name", "Your name"),
        FormLine("technician.licence", "Licence number"),
        FormLine("technician.workshop", "Workshop"),
        FormLine("technician.phone", "Workshop's phone", "For the customer, on every record"),
    ),
)


def _run_page(run: Run) -> FormPage:
    source = run.source.full_name
    ends = f"{source[0].upper()}{source[1:]} to {run.sink.full_name}"
    prefix = f"runs.{run}"
    return FormPage(
        run,
        run.full_name.capitalize(),
        (
            FormLine(f"{prefix}.length_m", "Length", ends),
            FormLine(f"{prefix}.stated_as", "Conductor sold by"),
            FormLine(f"{prefix}.size", "Conductor size"),
            FormLine(f"{prefix}.fuse_a", "Fuse or breaker"),
            FormLine(f"{prefix}.joints", "Joints", "Cable terminals, plugs and holders, each one"),
        ),
        (
            FormLine(
                f"{prefix}.fuse_breaks_a",
                "Fuse breaks up to",
                "Interrupt rating (AIC), printed on the fuse or breaker",
            ),
            FormLine(f"{prefix}.insulation_c", "Insulation rated to", "Printed on the sheath"),
            FormLine(
                f"{prefix}.bundled_cables",
                "Loaded cables in its bundle",
                "This one counted: feed and return together are 2",
            ),
        ),
        rest_words="Insulation, bundling, interrupting rating",
        run=run,
    )


def _second_unit_lines(*names: str) -> Iterator[FormLine]:
    """Yield the lines of the second unit's runs, run by run; only feeds carry a fuse."""
    labels = {
        "length_m": "length",
        "stated_as": "conductor sold by",
        "size": "conductor size",
        "fuse_a": "fuse or breaker",
        "joints": "joints",
        "fuse_breaks_a": "fuse breaks up to",
        "insulation_c": "insulation rated to",
        "bundled_cables": "loaded cables in its bundle",
    }
    for run in LOOP:
        for name in names:
            if run in FEEDS or not name.startswith("fuse"):
                label = f"{run.full_name.capitalize()}: {labels[name]}"
                yield FormLine(f"{SECOND_UNIT_RUNS}.{run}.{name}", label)


_SECOND_UNIT = FormPage(
    SECOND_UNIT_RUNS,
    "Second unit's runs",
    tuple(_second_unit_lines("length_m", "stated_as", "size", "fuse_a")),
    tuple(_second_unit_lines("joints", "fuse_breaks_a", "insulation_c", "bundled_cables")),
    rest_words="Joints, insulation, bundling, interrupting rating",
)
PAGES = (
    _VEHICLE,
    _CHARGER,
    _IDENTITY,
    _HOUSE_BATTERY,
    _ALTERNATOR,
    _START_BATTERY,
    _TRAILER,
    *(_run_page(run) for run in Run if run is not Run.SOLAR_FEED),
    _SOLAR,
    _run_page(Run.SOLAR_FEED),
    _METER,
    _EXTRAS,
    _SECOND_UNIT,
)
PAGE_OF = {page.page_id: page for page in (*PAGES, TECHNICIAN)}
INSTALLATION_PATHS = tuple(
    path for page in PAGES if page.page_id != "vehicle" for path in page.paths
)


def pages_shown(draft: Draft) -> tuple[FormPage, ...]:
    """Return the pages that apply to what is fitted."""
    left_out = set()
    if draft.get(SOLAR_FITTED) != "yes":
        left_out.add(Run.SOLAR_FEED.value)
    if not has_trailer(draft):
        left_out.add(_TRAILER.page_id)
    if not draft.get(SECOND_UNIT, "").strip():
        left_out.add(SECOND_UNIT_RUNS)
    return tuple(page for page in PAGES if page.page_id not in left_out)


def lines_shown(page: FormPage, draft: Draft) -> tuple[FormLine, ...]:
    """Return the page's first fields that apply: a panel's figures only with a panel."""
    if page.page_id == "solar" and draft.get(SOLAR_FITTED) != "yes":
        return page.fields[:1]
    return page.fields


_LEFT_OPEN = {SECOND: "There is one", HOUSE_VOLTAGE: "As the vehicle"}
"""What a choice left open says where it is not "not known"."""


def choice_words(choice: str, path: str = "") -> str:
    """Return a choice in words; at some paths a choice that is left open says more."""
    if not choice and path in _LEFT_OPEN:
        return _LEFT_OPEN[path]
    return CHOICE_WORDS.get(choice, choice)


@dataclass(frozen=True)
class SetUpQuestion:
    """One question of the set-up, answered by a tap; ``answered_by`` is the figure it settles.

    Its ready answers are the presets of ``group``, named ``usual`` elsewhere, or the choices
    of the field itself. Where none of a group's is right the form is filled in by hand;
    ``otherwise`` passes the question over, "" where an answer is needed. It is asked only once
    the figure that it ``needs`` is given.
    """

    words: str
    answered_by: str
    page_ids: tuple[str, ...] = ()
    group: Group | None = None
    usual: str = ""
    otherwise: str = "Not known"
    needs: str = ""


QUESTIONS = (
    SetUpQuestion("12 V or 24 V vehicle?", "nominal_voltage_v"),
    SetUpQuestion(
        "Which charger?",
        "charger.rated_output_current_a",
        ("charger",),
        Group.CHARGERS,
        "Usual chargers",
        otherwise="",
    ),
    SetUpQuestion(
        "Which house battery?",
        "house_battery.chemistry",
        ("house_battery",),
        Group.HOUSE_BATTERIES,
        "Usual house batteries",
        otherwise="",
    ),
    SetUpQuestion(
        "Where does it all sit?",
        f"runs.{LOOP[0]}.length_m",
        LOOP,
        Group.LAYOUTS,
        "Usual places and lengths",
    ),
    SetUpQuestion("Which cable?", f"runs.{LOOP[0]}.size", LOOP, Group.CABLES, "Usual cables"),
    SetUpQuestion(
        "Its insulation, and how bundled?",
        f"runs.{LOOP[0]}.insulation_c",
        LOOP,
        Group.INSULATION,
        "Usual insulation and bundling",
    ),
    SetUpQuestion(
        "Which alternator or DC-DC supply?",
        "alternator.control",
        ("alternator",),
        Group.ALTERNATORS,
        "Usual alternators and supplies",
    ),
    SetUpQuestion(
        "Which start battery?",
        "start_battery.chemistry",
        ("start_battery",),
        Group.START_BATTERIES,
        "Usual start batteries",
    ),
    SetUpQuestion(
        "A current sensor (small box with a plug) on the start battery's negative post?",
        SENSOR,
        needs="start_battery.chemistry",
    ),
    SetUpQuestion(
        "Which solar panel?",
        SOLAR_FITTED,
        ("solar",),
        Group.PANELS,
        "Usual panels",
        otherwise="No panel",
    ),
    SetUpQuestion(
        "Which meter?",
        "meter.voltage_accuracy_percent",
        ("meter",),
        Group.METERS,
        "Usual meters",
    ),
)


def questions_of(page_id: str) -> tuple[SetUpQuestion, ...]:
    """Return the questions whose presets fill in a page."""
    return tuple(question for question in QUESTIONS if page_id in question.page_ids)


def next_question(draft: Draft, passed: frozenset[str]) -> SetUpQuestion | None:
    """Return the first question neither answered nor passed over, None when none is left."""
    for question in QUESTIONS:
        can_be_asked = not question.needs or draft.get(question.needs, "").strip()
        is_open = not draft.get(question.answered_by, "").strip()
        if can_be_asked and is_open and question.answered_by not in passed:
            return question
    return None


def ready_answers(
    question: SetUpQuestion, presets: Mapping[Group, tuple[Preset, ...]], draft: Draft
) -> list[tuple[str, str]]:
    """Return a question's answers as (id, words), those that do not fit the voltage left out."""
    if question.group is None:
        return [
            (choice, choice_words(choice)) for choice in limits_of(question.answered_by).choices
        ]
    typed = draft.get("nominal_voltage_v", "")
    volts = int(typed) if typed else None
    fitting = offered(presets, question.group, volts)
    said_already = f", {volts} V,"
    return [(preset.id, preset.title.replace(said_already, ",")) for preset in fitting]


def page_with(path: str) -> FormPage | None:
    """Return the page that holds a field, None for what stands on no page."""
    return next((page for page in PAGES if path in page.paths), None)


def trouble_words(trouble: InputError) -> str:
    """Say what keeps a set-up back, with its field's name first."""
    page = page_with(trouble.field)
    if page is None:
        return str(trouble)
    return f"{page.title}, {_inside(label_of(trouble.field))}: {trouble}"


def _inside(label: str) -> str:
    return label if label[:2].isupper() else label[:1].lower() + label[1:]


def guessed_profile_words(draft: Draft) -> str:
    """Say which charging profile was proposed for the battery, or "" where none was."""
    guessed = [path for path in PROFILE if stated_by(draft, path) is StatedBy.GUESS]
    if len(guessed) < len(PROFILE):
        return ""
    absorption, to_float = (draft[path] for path in PROFILE)
    return (
        f"Usual profile put down as a guess: absorption {absorption} V, float {to_float} V. "
        "The battery's own papers win."
    )


def page_after(page: FormPage, draft: Draft) -> FormPage | None:
    """Return the set-up page after this one, None after the last and for pages of their own."""
    pages = pages_shown(draft)
    ids = [other.page_id for other in pages]
    following = pages[ids.index(page.page_id) + 1 :] if page.page_id in ids else ()
    return next(iter(following), None)


# Figures that no one could tell apart, or from others of their unit, without a word.
_NAMED_IN_A_LINE = {
    "ambient_c": "air",
    "fitted.second_charger_rated_output_current_a": "second unit",
    "meter.voltage_accuracy_percent": "volts",
    "meter.voltage_counts": "plus digits",
    "meter.voltage_resolution_v": "last digit",
    "meter.current_accuracy_percent": "clamp",
    "meter.current_zero_a": "zero error",
    "meter.current_resolution_a": "last digit",
}


def page_summary(page: FormPage, draft: Draft) -> str:
    """Return a page's known figures in one line, or say that none is known."""
    if page.page_id == "solar" and draft.get(SOLAR_FITTED) != "yes":
        return "no panel"
    known = [field.path for field in page.fields if draft.get(field.path, "").strip()]
    paths = [path for path in known if not path.endswith(".profile_note")]
    figures = [
        f"{_NAMED_IN_A_LINE.get(path, '')} {text}".strip()
        for path in paths
        if (text := figure_words(path, draft))
    ]
    return ", ".join(figures[:5]) or "not known"


def figure_words(path: str, draft: Draft) -> str:
    """Return a figure that is known with its unit, "" for what is none."""
    typed = draft[path].strip()
    if path.endswith(".stated_as") or path == SOLAR_FITTED:
        return ""
    if path.endswith(".size"):
        return f"{typed} {choice_words(draft.get(path.replace('.size', '.stated_as')) or 'mm2')}"
    limits = limits_of(path)
    if limits.kind == "photo":
        return "photo of the plate"
    if limits.kind == "yes_no" or limits.choices == YES_OR_NO:
        return label_of(path).lower() if typed == "yes" else ""
    if path == "house_battery.in_parallel":
        return f"{typed} in parallel"
    if path == "house_battery.take_off":
        return f"leads: {choice_words(typed).lower()}"
    if limits.kind == "whole":
        return f"{typed} {label_of(path).lower()}"
    if path == HOUSE_VOLTAGE:
        return f"out at {choice_words(typed)}"
    if path == SECOND:
        return f"two {choice_words(typed).lower()}"
    if path == _WARRANTY:
        return f"under warranty: {WARRANTIES[Warranty(typed)]}"
    return choice_words(typed) if limits.kind == "choice" else f"{typed} {limits.unit}".strip()


def label_of(path: str) -> str:
    """Return a field's label."""
    return next(f.label for page in PAGES for f in (*page.fields, *page.rest) if f.path == path)
