"""What is typed while a vehicle is set up: kept as typed, checked as typed, read when whole.

A draft maps a field's path (see :mod:`mobile.jobs.field_limits`) to the text that was typed; a
missing or empty text means "not known". Beside it ``stated_by/<path>`` says how the figure was
come by, where that is known: a preset's figure is one until somebody types over it. The draft is
what is stored, so a half-filled form survives anything.

Each run's conductor has two texts of its own, ``runs.<run>.stated_as`` and
``runs.<run>.size``; its area follows from them.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import ValidationError

from logic.case import first_complaint
from logic.checklist.presets import (
    STAYS,
    Fills,
    Preset,
    apply,
    is_guess,
    replaced_figures,
    replaced_sections,
)
from logic.errors import InputError
from logic.vehicle.identity import Customer, Vehicle, vin_complaint, vin_warning
from logic.vehicle.installation import ConductorSize, Installation, Location, StatedAs, StatedBy
from logic.vehicle.points import LOOP, Run
from logic.words.entry import parse_number
from mobile.jobs.field_limits import (
    SECOND_UNIT,
    SECOND_UNIT_RUNS,
    SOLAR_FITTED,
    FieldLimits,
    adapter,
    limits_of,
)

Draft = Mapping[str, str]

STATED_BY = "stated_by/"
REQUIRED = (
    "vehicle.registration",
    "charger.rated_output_current_a",
    "house_battery.chemistry",
)


def complaint(path: str, typed: str, draft: Draft) -> str:
    """Say what is wrong with a field's text and what to do, or "" if it can be taken.

    ``draft`` is the rest of the form, for the few fields that depend on another.
    """
    try:
        read(path, typed, draft)
    except InputError as error:
        return str(error)
    return ""


def second_look(path: str, typed: str) -> str:
    """Say what deserves a second look in a text that is allowed, or ""."""
    return vin_warning(_tidy(path, typed)) if path == "vehicle.vin" else ""


def troubles(draft: Draft, paths: tuple[str, ...]) -> dict[str, str]:
    """Return every complaint among ``paths``, in their order."""
    found = {path: complaint(path, draft.get(path, ""), draft) for path in paths}
    return {path: text for path, text in found.items() if text}


def read(path: str, typed: str, draft: Draft) -> object:
    """Read one field's text as its model wants it; ``None`` for an empty one.

    Raises
    ------
    InputError
        With ``field`` the path, saying what is wrong and what to type instead.
    """
    text = _tidy(path, typed)
    if not text:
        _may_be_empty(path, draft)
        return None
    if path.endswith(".size"):
        return _area(path, text, draft)
    if path.endswith(".stated_as"):
        return StatedAs(text)
    limits = limits_of(path)
    if limits.kind == "yes_no":
        return text == "yes"
    if limits.kind in ("number", "whole"):
        if not any(sign.isalnum() for sign in text):
            raise InputError("No digits yet: type the number, or clear it for 'not known'.", path)
        return _in_limits(path, limits, parse_number(text, path))
    return _checked(path, int(text) if path in _VOLTAGES else text, limits)


def installation(draft: Draft) -> Installation:
    """Read a whole draft.

    Raises
    ------
    InputError
        With ``field`` the path of the first field that cannot be taken.
    """
    tree: dict[str, Any] = {}
    if stated_by := _stated_by(draft):
        tree["stated_by"] = stated_by
    for path in _installation_paths(draft):
        _put(tree, path, read(path, draft.get(path, ""), draft))
        if path.endswith(".size") and draft[path].strip():
            stated = _conductor(path, draft[path], draft)[1]
            _put(tree, path.replace(".size", ".stated"), stated)
    if draft.get(SOLAR_FITTED) == "yes":
        tree.setdefault("solar", {})
    try:
        return Installation.model_validate(tree)
    except ValidationError as error:
        raise InputError(first_complaint(error), "installation") from error


def vehicle(draft: Draft) -> Vehicle:
    """Read the vehicle's own fields; raises ``InputError`` as :func:`installation` does."""
    return Vehicle.model_validate(_section(draft, "vehicle"))


def customer(draft: Draft) -> Customer:
    """Read the customer's fields; raises ``InputError`` as :func:`installation` does."""
    return Customer.model_validate(_section(draft, "customer"))


def draft_of(fitted: Installation) -> dict[str, str]:
    """Return the draft that reads back as ``fitted``."""
    draft: dict[str, str] = {}
    _flatten(fitted.model_dump(mode="json", exclude={"stated_by"}), "", draft)
    for run in Run:
        _state_size(draft, f"runs.{run}")
    for run in LOOP:
        _state_size(draft, f"{SECOND_UNIT_RUNS}.{run}")
    draft |= {f"{STATED_BY}{path}": str(stated) for path, stated in fitted.stated_by.items()}
    draft[SOLAR_FITTED] = "no" if fitted.solar is None else "yes"
    return draft


def draft_of_vehicle(described: Vehicle, owner: Customer | None = None) -> dict[str, str]:
    """Return the draft of a vehicle's and its customer's own fields."""
    draft: dict[str, str] = {}
    _flatten(described.model_dump(mode="json"), "vehicle.", draft)
    if owner is not None:
        _flatten(owner.model_dump(mode="json"), "customer.", draft)
    return draft


def with_preset(draft: Draft, preset: Preset, runs: Iterable[Run] = LOOP) -> dict[str, str]:
    """Return the draft with a preset's fields filled in; ``runs`` are those a cable is for.

    What the preset's title names counts as a preset's figure, all else it fills in as a guess.
    A battery takes the place of the one before with all that was known of that.
    """
    gone = tuple(f"{section}." for section in replaced_sections(preset))
    emptied = {path: "" for path in draft if gone and path.startswith(gone) and path not in STAYS}
    emptied |= {path: "" for path in replaced_figures(preset) if path in draft}
    tree = apply(preset, _voltages(draft), runs)
    filled: dict[str, str] = {}
    _flatten(tree, "", filled)
    for run in Run:
        _state_size(filled, f"runs.{run}")
    if "solar" in tree:
        filled[SOLAR_FITTED] = "yes"
    stated = {f"{STATED_BY}{figure}": _come_by(figure) for figure in map(_figure, filled)}
    return {**draft, **emptied, **filled, **stated}


_VOLTAGES = ("nominal_voltage_v", "output_nominal_voltage_v")


def _voltages(draft: Draft) -> dict[str, int]:
    """Return the vehicle's and the house side's nominal voltage as far as they are given, V."""
    return {path: int(draft[path]) for path in _VOLTAGES if draft.get(path, "").strip()}


def _come_by(figure: str) -> str:
    return str(StatedBy.GUESS if is_guess(figure) else StatedBy.PRESET)


def typed_over(draft: Draft, path: str) -> dict[str, str]:
    """Return the draft without saying how the figure at a path was come by: it was typed anew."""
    stated = f"{STATED_BY}{_figure(path)}"
    # Emptied, not left out: what is stored lies under a draft that is gone on with.
    return {**draft, stated: ""} if stated in draft else dict(draft)


def stated_by(draft: Draft, path: str) -> StatedBy | None:
    """Say how the figure at a path was come by, ``None`` where that is not known."""
    text = draft.get(f"{STATED_BY}{_figure(path)}", "")
    return StatedBy(text) if text and draft.get(path, "").strip() else None


def with_stated(draft: Draft, path: str, stated: StatedBy | None) -> dict[str, str]:
    """Return the draft saying how the figure at a path was come by."""
    return {**draft, f"{STATED_BY}{_figure(path)}": str(stated or "")}


def ways_to_know(path: str) -> tuple[StatedBy, ...]:
    """List how a figure can be said to be known: what stands on no plate can only be a guess."""
    if path.split(".", maxsplit=1)[0] in ("vehicle", "customer", "technician", "meter"):
        return ()
    has_plate = path != "ambient_c" and not path.endswith(
        (".length_m", ".joints", ".bundled_cables")
    )
    return (StatedBy.PLATE, StatedBy.GUESS) if has_plate else (StatedBy.GUESS,)


def with_usual_profile(draft: Draft, presets: Iterable[Preset]) -> dict[str, str]:
    """Return the draft with the charging profile usual for its house battery, as a guess.

    The profile of the first of ``presets`` of the same chemistry. Figures that somebody typed
    stay; those of another battery's preset do not.
    """
    chemistry = draft.get("house_battery.chemistry")
    profile = next(
        (
            preset.fills.profile
            for preset in presets
            if preset.fills.house_battery and preset.fills.house_battery.chemistry == chemistry
        ),
        None,
    )
    result = {**draft}
    if stated_by(draft, _ASKED_FOR) is StatedBy.PRESET:
        result |= {_ASKED_FOR: "", f"{STATED_BY}{_ASKED_FOR}": ""}
    if profile is None:
        return result
    bare = _BARE.model_copy(update={"fills": Fills(profile=profile)})
    proposed: dict[str, str] = {}
    _flatten(apply(bare, _voltages(draft)), "", proposed)
    for path in PROFILE:
        typed = draft.get(path, "").strip()
        if not typed or stated_by(draft, path) in (StatedBy.PRESET, StatedBy.GUESS):
            result = with_stated(result | {path: proposed[path]}, path, StatedBy.GUESS)
    return result


PROFILE = ("charger.absorption_voltage_v", "charger.float_voltage_v")
_ASKED_FOR = "house_battery.absorption_voltage_v"
_BARE = Preset(
    id="usual_profile",
    title="Profile",
    fills=Fills(),
    per_12_volt=True,
    source="that of the preset whose profile it takes",
)


def _figure(path: str) -> str:
    """Return the path of the figure that a field of the form ends in."""
    for beside in (".size", ".stated_as"):
        path = path.removesuffix(beside) + ".area_mm2" if path.endswith(beside) else path
    return path


def _stated_by(draft: Draft) -> dict[str, str]:
    """Return how the figures that are filled in were come by, by their paths."""
    filled = {_figure(path) for path, text in draft.items() if text.strip()}
    stated = {
        path.removeprefix(STATED_BY): text
        for path, text in draft.items()
        if path.startswith(STATED_BY) and text
    }
    return {path: text for path, text in stated.items() if path in filled}


def copper_text(draft: Draft, path: str) -> str:
    """Say how much copper the size at a path holds, or "" while it is not known."""
    try:
        area = read(path, draft.get(path, ""), draft)
    except InputError:
        return ""
    return f"{area:.3g} mm² of copper" if isinstance(area, float) else ""


def _may_be_empty(path: str, draft: Draft) -> None:
    if path in REQUIRED:
        raise InputError("Needed: the rest may stay 'not known', this may not.", path)
    if path == "start_battery.chemistry":
        for known, name in _OF_A_START_BATTERY.items():
            if draft.get(known, "").strip():
                raise InputError(f"Choose the chemistry too, or clear the {name}.", path)


_OF_A_START_BATTERY = {
    "start_battery.capacity_ah": "capacity",
    "start_battery.sensor_on_negative": "sensor",
    "start_battery.second": "second battery",
}


def _area(path: str, text: str, draft: Draft) -> float:
    return _conductor(path, text, draft)[0]


def _conductor(path: str, text: str, draft: Draft) -> tuple[float, ConductorSize]:
    from logic.circuit.conductors import conductor

    stated_as = draft.get(path.replace(".size", ".stated_as")) or "mm2"
    try:
        return conductor(StatedAs(stated_as), text)
    except InputError as error:
        raise InputError(str(error), path) from error


def _in_limits(path: str, limits: FieldLimits, typed: float) -> float | int:
    unit = f" {limits.unit}" if limits.unit else ""
    if limits.kind == "whole" and not typed.is_integer():
        raise InputError("A whole number is needed here: leave the point out.", path)
    if limits.more_than is not None and typed <= limits.more_than:
        raise InputError(f"Must be more than {limits.more_than:g}{unit}.", path)
    if limits.at_least is not None and typed < limits.at_least:
        raise InputError(f"Cannot be under {limits.at_least:g}{unit}.", path)
    if limits.at_most is not None and typed > limits.at_most:
        meant = _thousandth(limits.at_most, limits.unit, typed)
        raise InputError(f"At most {limits.at_most:g}{unit} here. {meant}", path)
    return int(typed) if limits.kind == "whole" else round(typed * limits.typed_to_stored, 12)


def _thousandth(at_most: float, unit: str, typed: float) -> str:
    small = typed / 1000
    likely = unit in ("V", "A", "m") and at_most / 1000 < small <= at_most
    return f"Did you mean {small:g} {unit}?" if likely else "Look at the number again."


def _checked(path: str, content: object, limits: FieldLimits) -> object:
    if path == "vehicle.vin" and (wrong := vin_complaint(str(content))):
        raise InputError(wrong, path)
    try:
        return adapter(path).validate_python(content)
    except ValidationError as error:
        raise InputError(_in_words(path, limits), path) from error


def _in_words(path: str, limits: FieldLimits) -> str:
    if limits.kind == "choice":
        return "Choose one of those shown."
    if path.endswith("ingress_protection"):
        return "Two digits after IP, X where none is stated: such as IP67, IP20 or IPX4."
    return f"Too long: at most {limits.longest} letters."


def _tidy(path: str, typed: str) -> str:
    text = " ".join(typed.split())
    if path.endswith("ingress_protection") and text:
        text = text.upper().replace(" ", "")
        return text if text.startswith("IP") else f"IP{text}"
    return text.upper().replace(" ", "") if path == "vehicle.vin" else text


def _section(draft: Draft, root: str) -> dict[str, object]:
    tree: dict[str, Any] = {}
    wanted = [p for p in (*draft, *REQUIRED) if p.startswith(f"{root}.")]
    for path in dict.fromkeys(wanted):
        _put(tree, path, read(path, draft.get(path, ""), draft))
    section: dict[str, object] = tree.get(root, {})
    return section


def _installation_paths(draft: Draft) -> list[str]:
    paths = [p for p in dict.fromkeys((*draft, *REQUIRED)) if not p.startswith(_BESIDE)]
    if draft.get(SOLAR_FITTED) != "yes":
        paths = [p for p in paths if not p.startswith(("solar.", "runs.solar_feed."))]
    if not has_trailer(draft):
        paths = [p for p in paths if not p.startswith("trailer.")]
    if not draft.get(SECOND_UNIT, "").strip():
        paths = [p for p in paths if not p.startswith(f"{SECOND_UNIT_RUNS}.")]
    return [p for p in (*paths, "start_battery.chemistry") if p != SOLAR_FITTED]


def has_trailer(draft: Draft) -> bool:
    """Tell whether the unit or the house battery sits in a trailer."""
    places = (draft.get("location"), draft.get("house_battery.location"))
    return Location.TRAILER.value in places


_BESIDE = ("vehicle.", "customer.", "technician.", STATED_BY)


def _put(tree: dict[str, Any], path: str, content: object) -> None:
    """Put a value at its path; an empty one leaves the models' own "not known"."""
    if content is None or path.endswith(".stated_as"):
        return
    *parents, name = path.split(".")
    for part in parents:
        tree = tree.setdefault(part, {})
    tree["area_mm2" if name == "size" else name] = content


def _flatten(tree: Mapping[str, Any], prefix: str, draft: dict[str, str]) -> None:
    for name, content in tree.items():
        path = f"{prefix}{name}"
        if isinstance(content, dict):
            _flatten(content, f"{path}.", draft)
        elif isinstance(content, bool):
            known_no = limits_of(path).kind == "choice"
            draft[path] = "yes" if content else "no" if known_no else ""
        elif isinstance(content, int | float):
            draft[path] = f"{content / limits_of(path).typed_to_stored:.10g}"
        elif content:
            draft[path] = str(content)


def _state_size(draft: dict[str, str], run: str) -> None:
    area = draft.pop(f"{run}.area_mm2", "")
    stated_as = draft.pop(f"{run}.stated.stated_as", "mm2")
    size = draft.pop(f"{run}.stated.size", f"{round(float(area), 3):g}" if area else "")
    if size:
        draft |= {f"{run}.stated_as": stated_as, f"{run}.size": size}
