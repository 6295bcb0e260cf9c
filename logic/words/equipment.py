"""What is fitted, in words and with units: for a printed record and at the desk."""

from logic.vehicle.installation import CableRun, Installation, Meter
from logic.vehicle.points import Run
from logic.words.figures import NOT_KNOWN, as_stated, square_millimetres
from logic.words.names import CHEMISTRIES, capitalised, counted, in_words

Rows = tuple[tuple[str, str], ...]

_CONTROLS = {
    "fixed": "fixed voltage",
    "variable": "variable voltage, set by the vehicle's computer",
    "unknown": "control not known",
}
_SIZES = {"mm2": "{} mm²", "awg": "{} AWG/B&S", "auto_cable_mm": "{} mm auto cable"}


def equipment(installation: Installation) -> tuple[tuple[str, Rows], ...]:
    """Describe the installation as titled groups of rows."""
    groups = (
        ("Vehicle side", _vehicle_side(installation)),
        ("Charger", _charger(installation)),
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
    vehicle = [
        f"start battery {CHEMISTRIES[start.chemistry]}, {as_stated(start.capacity_ah, 'Ah')}"
        if start
        else "",
        f"alternator {as_stated(alternator.rated_current_a, 'A')}"
        if alternator.rated_current_a is not None
        else "",
    ]
    panel, named = installation.solar, _also_there(installation)
    solar = [f"solar panel, {as_stated(panel.rated_power_w, 'W')}"] if panel else []
    rows = (
        (
            "Charger",
            f"{as_stated(unit.rated_output_current_a, 'A')}, "
            f"{as_stated(installation.nominal_voltage_v, 'V')}{location}",
        ),
        (
            "House battery",
            f"{CHEMISTRIES[battery.chemistry]}, {as_stated(battery.capacity_ah, 'Ah')}",
        ),
        ("Vehicle", "; ".join(text for text in vehicle if text)),
        ("Also there", ", ".join([*solar, *named])),
    )
    return tuple((label, text) for label, text in rows if text)


def _place(installation: Installation) -> str:
    return in_words(installation.location).lower() if installation.location else NOT_KNOWN


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
        ("System", as_stated(installation.nominal_voltage_v, "V")),
        (
            "Alternator",
            f"{_CONTROLS[alternator.control]}; rated {as_stated(alternator.rated_current_a, 'A')}",
        ),
        (
            "Start battery",
            f"{CHEMISTRIES[battery.chemistry]}, {as_stated(battery.capacity_ah, 'Ah')}"
            if battery
            else NOT_KNOWN,
        ),
    )


def _pair(start: float | None, stop: float | None) -> str:
    return f"starts at {as_stated(start, 'V')}, stops under {as_stated(stop, 'V')}"


def _charger(installation: Installation) -> Rows:
    unit = installation.charger
    efficiency = None if unit.efficiency is None else unit.efficiency * 100
    rows = (
        ("Rated output", as_stated(unit.rated_output_current_a, "A")),
        ("Efficiency", as_stated(efficiency, "%")),
        ("By voltage", _pair(unit.start_voltage_v, unit.stop_voltage_v)),
        (
            "With ignition signal",
            f"{_pair(unit.ignition_start_voltage_v, unit.ignition_stop_voltage_v)}; "
            f"signal from {as_stated(unit.ignition_signal_min_v, 'V')}",
        ),
        (
            "Profile",
            f"absorption {as_stated(unit.absorption_voltage_v, 'V')}, "
            f"float {as_stated(unit.float_voltage_v, 'V')}",
        ),
        ("Input current limit", as_stated(unit.input_current_limit_a, "A")),
        (
            "Mounted in",
            _place(installation),
        ),
        (
            "Rated for",
            f"{unit.ingress_protection or 'IP code not known'}; "
            f"ambient up to {as_stated(unit.max_ambient_c, '°C')}",
        ),
        ("Ambient at the job", as_stated(installation.ambient_c, "°C")),
    )
    return (*rows, ("Profile set by", unit.profile_note)) if unit.profile_note else rows


def _house_battery(installation: Installation) -> Rows:
    battery = installation.house_battery
    return (
        ("Chemistry", CHEMISTRIES[battery.chemistry]),
        ("Capacity", as_stated(battery.capacity_ah, "Ah")),
        ("Highest charge current", as_stated(battery.max_charge_current_a, "A")),
        ("Absorption voltage", as_stated(battery.absorption_voltage_v, "V")),
        ("No charging under", as_stated(battery.min_charge_temperature_c, "°C")),
    )


def _runs(installation: Installation) -> Rows:
    return tuple(
        (capitalised(run.full_name), _run_words(cable))
        for run, cable in cables(installation).items()
        if cable
    )


def _run_words(run: CableRun) -> str:
    """Describe one conductor run; the size also as it was stated."""
    size = "size not known" if run.area_mm2 is None else square_millimetres(run.area_mm2)
    if run.stated and run.stated.stated_as != "mm2":
        size += f" (sold as {_SIZES[run.stated.stated_as].format(run.stated.size)})"
    joints = "joints not known" if run.joints is None else counted(run.joints, "joint")
    fuse = "no fuse stated" if run.fuse_a is None else f"fuse {as_stated(run.fuse_a, 'A')}"
    length = "length not known" if run.length_m is None else f"{as_stated(run.length_m, 'm')} long"
    return f"{length}, {size}, {joints}, {fuse}"


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
    return (*rows, ("Also there", ", ".join(_also_there(installation)) or "nothing else stated"))


def _also_there(installation: Installation) -> list[str]:
    fitted = installation.fitted
    options = ("temperature_sensor", "reverse_charge", "battery_monitor", "existing_wiring")
    named = [in_words(name).lower() for name in options if getattr(fitted, name)]
    if fitted.second_charger_rated_output_current_a is not None:
        named.append(
            f"second charger, {as_stated(fitted.second_charger_rated_output_current_a, 'A')}"
        )
    return named


def meter(installation: Installation) -> str:
    """Describe the meter's and the clamp's accuracy in one sentence."""
    stated: Meter | None = installation.meter
    if stated is None:
        return (
            "Not stated; an ordinary handheld multimeter and a DC clamp were assumed, and "
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
