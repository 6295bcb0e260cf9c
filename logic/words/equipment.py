"""What is fitted, in words and with units: for a printed record and at the desk."""

from logic.quantities import Volt
from logic.vehicle.installation import (
    CableRun,
    Extra,
    Installation,
    Joined,
    Meter,
    StartBattery,
    StatedBy,
    TakeOff,
)
from logic.vehicle.points import LOOP, Run
from logic.words.figures import NOT_KNOWN, as_stated, square_millimetres
from logic.words.names import CHEMISTRIES, WARRANTIES, capitalised, counted, in_words

Rows = tuple[tuple[str, str], ...]

_CONTROLS = {
    "fixed": "fixed voltage",
    "variable": "variable voltage, set by the vehicle's computer",
    "converter": "a DC-DC supply of its own, no alternator",
    "unknown": "control not known",
}
_SIZES = {"mm2": "{} mm²", "awg": "{} AWG/B&S", "auto_cable_mm": "{} mm auto cable"}


def equipment(installation: Installation) -> tuple[tuple[str, Rows], ...]:
    """Describe the installation as titled groups of rows; a guess is told to be one."""
    groups = (
        ("Vehicle side", _vehicle_side(installation)),
        ("Charger", _charger(installation)),
        ("Which unit it is", identity(installation)),
        ("House battery", _house_battery(installation)),
        ("Cable runs", _runs(installation)),
        ("Solar and options", _options(installation)),
    )
    return tuple(group for group in groups if group[1])


def in_brief(installation: Installation) -> Rows:
    """Describe what is fitted in a few rows, for who wants to know what they have."""
    unit, battery = installation.charger, installation.house_battery
    start, alternator = installation.start_battery, installation.alternator
    location = f", {_place(installation)}" if installation.location else ""
    supply = "DC-DC supply" if installation.has(Extra.CONVERTER) else "alternator"
    vehicle = [
        f"start battery {_start_battery(start)}" if start else "",
        f"{supply} {as_stated(alternator.rated_current_a, 'A')}"
        if alternator.rated_current_a is not None
        else "",
    ]
    panel, named = installation.solar, _also_there(installation)
    solar = [f"solar panel, {as_stated(panel.rated_power_w, 'W')}"] if panel else []
    rows = (
        (
            "Charger",
            f"{as_stated(unit.rated_output_current_a, 'A')}, {voltages(installation)}{location}",
        ),
        ("Which unit", identity_in_brief(installation)),
        (
            "House battery",
            f"{CHEMISTRIES[battery.chemistry]}, {as_stated(battery.capacity_ah, 'Ah')}",
        ),
        ("Vehicle", "; ".join(text for text in vehicle if text)),
        ("Also there", ", ".join([*solar, *named])),
    )
    return tuple((label, text) for label, text in rows if text)


def identity(installation: Installation) -> Rows:
    """Say which unit it is, who fitted it and what is under warranty: only what was stated."""
    unit = installation.charger
    rows = (
        ("Model", unit.model),
        ("Serial number", unit.serial_number),
        ("Fitted by", unit.fitted_by),
        ("Under warranty", WARRANTIES[unit.warranty] if unit.warranty else ""),
    )
    return tuple((label, text) for label, text in rows if text)


def identity_in_brief(installation: Installation) -> str:
    """Say in one line which unit it is, "" where nothing of it was stated."""
    unit = installation.charger
    parts = (
        unit.model,
        f"serial number {unit.serial_number}" if unit.serial_number else "",
        f"fitted by {unit.fitted_by}" if unit.fitted_by else "",
        f"under warranty: {WARRANTIES[unit.warranty]}" if unit.warranty else "",
    )
    return "; ".join(part for part in parts if part)


def _place(installation: Installation) -> str:
    return in_words(installation.location).lower() if installation.location else NOT_KNOWN


def _told(installation: Installation, path: str, figure: str) -> str:
    """Add to a figure in words that it was only a guess."""
    is_guess = installation.stated(path) is StatedBy.GUESS and figure != NOT_KNOWN
    return f"{figure} (a guess)" if is_guess else figure


def fuse(run: Run, cable: CableRun | None) -> str:
    """Say which fuse a run has, "" for a run that needs none and has none stated.

    The returns carry no fuse of their own.
    """
    if cable is not None and cable.fuse_a is not None:
        return f"fuse {as_stated(cable.fuse_a, 'A')}"
    return "" if run in (Run.VEHICLE_RETURN, Run.HOUSE_RETURN) else "fuse not stated"


def fuses(installation: Installation) -> str:
    """List the fuse of every run that should have one: "vehicle feed 60 A, house feed 60 A"."""
    listed = (
        f"{run.full_name} {as_stated(cable.fuse_a, 'A') if cable else NOT_KNOWN}"
        for run, cable in cables(installation).items()
        if run in (Run.VEHICLE_FEED, Run.HOUSE_FEED) or (cable and cable.fuse_a is not None)
    )
    return ", ".join(listed)


def cables(installation: Installation) -> dict[Run, CableRun | None]:
    """Return every run with its cable, None where nothing is stated of it."""
    return {run: getattr(installation.runs, run.value) for run in Run}


def _vehicle_side(installation: Installation) -> Rows:
    battery = installation.start_battery
    alternator = installation.alternator
    return (
        ("System", _system(installation)),
        (
            "Vehicle's supply" if installation.has(Extra.CONVERTER) else "Alternator",
            f"{_CONTROLS[alternator.control]}; rated {as_stated(alternator.rated_current_a, 'A')}",
        ),
        (
            "Start battery",
            f"{_start_battery(battery)}{_SENSORS[battery.sensor_on_negative]}"
            if battery
            else NOT_KNOWN,
        ),
    )


def _system(installation: Installation) -> str:
    """Say the vehicle's voltage, and the house side's where that is another one."""
    vehicle = as_stated(installation.nominal_voltage_v, "V")
    if not installation.has(Extra.OTHER_OUTPUT_VOLTAGE):
        return vehicle
    return f"vehicle {vehicle}, house side {as_stated(12 * installation.house_scale, 'V')}"


def voltages(installation: Installation) -> str:
    """Say between which voltages the unit works: "12 V", or "24 V to 12 V"."""
    return from_to(installation.nominal_voltage_v, round(12 * installation.house_scale))


def from_to(vehicle_v: Volt, house_v: Volt) -> str:
    """Say two nominal voltages, or the one that both sides have."""
    vehicle = as_stated(vehicle_v, "V")
    return vehicle if house_v == vehicle_v else f"{vehicle} to {as_stated(house_v, 'V')}"


def _start_battery(battery: StartBattery) -> str:
    """Say what the start battery is, or two of them."""
    second = f"two in {battery.second}, " if battery.second else ""
    together = " together" if battery.second is Joined.PARALLEL else ""
    capacity = as_stated(battery.capacity_ah, "Ah")
    return f"{second}{CHEMISTRIES[battery.chemistry]}, {capacity}{together}"


_SENSORS = {
    True: "; a current sensor on its negative post",
    False: "; no sensor on its negative post",
    None: "",
}


def _charger(installation: Installation) -> Rows:
    unit = installation.charger
    efficiency = None if unit.efficiency is None else unit.efficiency * 100

    def told(name: str, unit_of_it: str) -> str:
        figure = as_stated(getattr(unit, name), unit_of_it)
        return _told(installation, f"charger.{name}", figure)

    rows = (
        ("Rated output", told("rated_output_current_a", "A")),
        ("Efficiency", _told(installation, "charger.efficiency", as_stated(efficiency, "%"))),
        (
            "By voltage",
            f"starts at {told('start_voltage_v', 'V')}, stops under {told('stop_voltage_v', 'V')}",
        ),
        (
            "With ignition signal",
            f"starts at {told('ignition_start_voltage_v', 'V')}, "
            f"stops under {told('ignition_stop_voltage_v', 'V')}; "
            f"signal from {told('ignition_signal_min_v', 'V')}",
        ),
        (
            "Profile",
            f"absorption {told('absorption_voltage_v', 'V')}, float {told('float_voltage_v', 'V')}",
        ),
        ("Input current limit", told("input_current_limit_a", "A")),
        (
            "Mounted in",
            _place(installation),
        ),
        (
            "Rated for",
            f"{_code(installation)}; ambient up to {told('max_ambient_c', '°C')}",
        ),
        ("Ambient at the job", as_stated(installation.ambient_c, "°C")),
    )
    return (*rows, ("Profile set by", unit.profile_note)) if unit.profile_note else rows


def _code(installation: Installation) -> str:
    code = installation.charger.ingress_protection
    path = "charger.ingress_protection"
    return _told(installation, path, code) if code else "IP code not known"


def _house_battery(installation: Installation) -> Rows:
    battery = installation.house_battery

    def told(name: str, unit: str) -> str:
        figure = as_stated(getattr(battery, name), unit)
        return _told(installation, f"house_battery.{name}", figure)

    rows: Rows = (
        ("Chemistry", CHEMISTRIES[battery.chemistry]),
        ("Capacity", told("capacity_ah", "Ah")),
        ("Highest charge current", told("max_charge_current_a", "A")),
        ("Absorption voltage", told("absorption_voltage_v", "V")),
        ("No charging under", told("min_charge_temperature_c", "°C")),
    )
    if battery.in_parallel is not None:
        rows = (*rows, ("In parallel", f"{battery.in_parallel} batteries{_OFF[battery.take_off]}"))
    if battery.location is None:
        return rows
    place = in_words(battery.location).lower()
    return (*rows, ("Mounted in", _told(installation, "house_battery.location", place)))


_OFF = {
    TakeOff.ONE_END: ", both leads from one of them",
    TakeOff.DIAGONAL: ", one lead from either end",
    TakeOff.BUSBARS: ", by equal leads to busbars",
    None: "",
}


def _runs(installation: Installation) -> Rows:
    own = tuple(
        (capitalised(run.full_name), _run_words(installation, f"runs.{run}", cable))
        for run, cable in cables(installation).items()
        if cable
    )
    second = installation.second_unit_runs
    if second is None or not installation.has(Extra.SECOND_CHARGER):
        return own
    path = "second_unit_runs"
    return own + tuple(
        (
            f"Second unit's {run.full_name}",
            _run_words(installation, f"{path}.{run}", getattr(second, run.value)),
        )
        for run in LOOP
    )


def _run_words(installation: Installation, path: str, cable: CableRun) -> str:
    """Describe one conductor run; the size also as it was stated."""

    def told(name: str, unit: str, words: str) -> str:
        figure = words.format(as_stated(getattr(cable, name), unit))
        return _told(installation, f"{path}.{name}", figure)

    size = "size not known" if cable.area_mm2 is None else square_millimetres(cable.area_mm2)
    if cable.stated and cable.stated.stated_as != "mm2":
        size += f" (sold as {_SIZES[cable.stated.stated_as].format(cable.stated.size)})"
    joints = "joints not known" if cable.joints is None else counted(cable.joints, "joint")
    words = [
        "length not known" if cable.length_m is None else told("length_m", "m", "{} long"),
        size,
        joints,
        "no fuse stated" if cable.fuse_a is None else told("fuse_a", "A", "fuse {}"),
    ]
    if cable.fuse_breaks_a is not None:
        words.append(told("fuse_breaks_a", "A", "breaks {}"))
    if cable.insulation_c is not None:
        words.append(told("insulation_c", "°C", "{} insulation"))
    if cable.bundled_cables is not None:
        together = f"{counted(cable.bundled_cables, 'cable')} together"
        words.append("alone" if cable.bundled_cables == 1 else together)
    return ", ".join(words)


def _options(installation: Installation) -> Rows:
    rows: list[tuple[str, str]] = []
    if panel := installation.solar:
        rows += [
            (
                "Solar panel",
                f"{as_stated(panel.rated_power_w, 'W')}; open circuit "
                f"{as_stated(panel.open_circuit_voltage_v, 'V')}; short circuit "
                f"{as_stated(panel.short_circuit_current_a, 'A')}; at full power "
                f"{as_stated(panel.max_power_voltage_v, 'V')}",
            ),
            ("Charger's solar limit", as_stated(installation.charger.solar_max_voltage_v, "V")),
        ]
    else:
        rows.append(("Solar panel", "none stated"))
    rows += _trailer(installation)
    return (*rows, ("Also there", ", ".join(_also_there(installation)) or "nothing else stated"))


def _trailer(installation: Installation) -> list[tuple[str, str]]:
    """Describe the plug to a trailer, where one is described."""
    trailer = installation.trailer
    if trailer is None:
        return []
    carries = as_stated(trailer.plug_rated_current_a, "A")
    carries = _told(installation, "trailer.plug_rated_current_a", carries)
    socket = _SOCKETS[trailer.socket_dead_unhitched]
    return [("Trailer plug", f"one contact carries {carries}; {socket}")]


_SOCKETS = {
    True: "tow socket dead when unhitched",
    False: "tow socket live when unhitched",
    None: "whether the tow socket is dead when unhitched is not known",
}


def _also_there(installation: Installation) -> list[str]:
    fitted = installation.fitted
    options = (
        "temperature_sensor",
        "reverse_charge",
        "battery_monitor",
        "existing_wiring",
        "output_voltage_sensing",
        "vehicle_isolator",
        "house_isolator",
        "solar_regulator",
        "mains_charger",
    )
    named = [in_words(name).lower() for name in options if getattr(fitted, name)]
    if fitted.second_charger_rated_output_current_a is not None:
        named.append(f"second unit, {as_stated(fitted.second_charger_rated_output_current_a, 'A')}")
    return named


def meter(installation: Installation) -> str:
    """Describe the meter's and the clamp's accuracy in one sentence."""
    stated: Meter | None = installation.meter
    if stated is None:
        return (
            "Not stated; an ordinary handheld multimeter and a current clamp were assumed, and "
            "the uncertainties follow from that."
        )
    return (
        f"Voltage: ± ({as_stated(stated.voltage_accuracy_percent, '%')} of reading + "
        f"{as_stated(stated.voltage_counts, 'counts')}), resolution "
        f"{as_stated(stated.voltage_resolution_v, 'V')}. Current: ± "
        f"({as_stated(stated.current_accuracy_percent, '%')} of reading + zero error "
        f"{as_stated(stated.current_zero_a, 'A')}), resolution "
        f"{as_stated(stated.current_resolution_a, 'A')}."
    )
