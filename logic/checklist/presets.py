"""Presets for the set-up screens: the usual equipment, so that a usual job is a few taps.

A preset fills only the fields it names; whatever else was entered stays. Its figures are
generic: each carries its source, and "assumed" means nothing better than usual practice.
"""

from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Any, Literal

from pydantic import Field

from logic.checklist.conditions import DataId
from logic.quantities import Data
from logic.vehicle.installation import (
    Alternator,
    CableRun,
    Charger,
    HouseBattery,
    Location,
    Meter,
    Runs,
    Solar,
    StartBattery,
)
from logic.vehicle.points import LOOP, Run


class Group(StrEnum):
    """Which part of the set-up a preset belongs to; also its file's name."""

    CHARGERS = "chargers"
    HOUSE_BATTERIES = "house_batteries"
    START_BATTERIES = "start_batteries"
    ALTERNATORS = "alternators"
    LAYOUTS = "layouts"
    CABLES = "cables"
    INSULATION = "insulation"
    PANELS = "panels"
    METERS = "meters"


class Profile(Data):
    """The charging voltages that a battery asks for; they go into the charger's fields."""

    absorption_voltage_v: float = Field(gt=0, le=40)
    float_voltage_v: float = Field(gt=0, le=40)


class Fills(Data):
    """The part of an installation that a preset fills; ``any_run`` is for the runs chosen."""

    nominal_voltage_v: Literal[12, 24] | None = None
    output_nominal_voltage_v: Literal[12, 24] | None = None
    alternator: Alternator | None = None
    start_battery: StartBattery | None = None
    charger: Charger | None = None
    house_battery: HouseBattery | None = None
    runs: Runs | None = None
    any_run: CableRun | None = None
    location: Location | None = None
    solar: Solar | None = None
    meter: Meter | None = None
    profile: Profile | None = None
    house_battery_location: Location | None = None


class Preset(Data):
    """One choice on a set-up screen."""

    id: DataId = Field(description="never renamed, never used again")
    title: str = Field(min_length=1, max_length=46)
    fills: Fills
    per_12_volt: bool = Field(
        False, description="the profile's volts are doubled where the house side is 24 V"
    )
    source: str = Field(min_length=1, max_length=240, description="a source, or why it is assumed")


class Presets(Data):
    """One file of presets; the file's name is their group."""

    presets: tuple[Preset, ...] = Field(min_length=1)


def offered(
    presets: Mapping[Group, tuple[Preset, ...]], group: Group, nominal_voltage_v: float | None
) -> tuple[Preset, ...]:
    """List a group's presets that fit the vehicle's voltage; unknown voltage offers all.

    Parameters
    ----------
    nominal_voltage_v : V
    """
    return tuple(
        preset
        for preset in presets.get(group, ())
        if nominal_voltage_v is None or preset.fills.nominal_voltage_v in (None, nominal_voltage_v)
    )


def apply(preset: Preset, draft: Mapping[str, Any], runs: Iterable[Run] = LOOP) -> dict[str, Any]:
    """Return the draft with the preset's fields filled in; the draft itself is left alone.

    ``draft`` is an installation being described, as plain nested dicts (so that it may still
    lack what an :class:`~logic.vehicle.installation.Installation` needs). A battery, an
    alternator, a panel or a meter takes the place of the one before; a charger and the runs keep
    what the preset does not name, but for the voltage of the house side. ``runs`` are the runs
    that a cable preset is for.
    """
    filled = preset.fills.model_dump(mode="json", exclude_unset=True)
    if any_run := filled.pop("any_run", None):
        filled = _merged(filled, {"runs": {str(run): any_run for run in runs}})
    if profile := filled.pop("profile", None):
        filled = _merged(filled, {"charger": profile})
    if location := filled.pop("house_battery_location", None):
        filled = _merged(filled, {"house_battery": {"location": location}})
    draft = {key: value for key, value in draft.items() if key not in replaced_figures(preset)}
    volts = next(
        found[name]
        for name in ("output_nominal_voltage_v", "nominal_voltage_v")
        for found in (filled, draft, _USUAL)
        if found.get(name)
    )
    if preset.per_12_volt:
        filled = _for_house_side(filled, volts)
    gone = replaced_sections(preset)
    kept = {
        key: _staying(key, value) if key in gone else value
        for key, value in draft.items()
        if key not in gone or _staying(key, value)
    }
    return _merged(_for_house_side(kept, volts), filled)


_USUAL = {"nominal_voltage_v": 12}


def replaced_figures(preset: Preset) -> frozenset[str]:
    """Name the figures beside the sections that a preset states anew, if only by leaving out.

    A charger's preset says on which voltage the house side is: as the vehicle, or another one.
    """
    return frozenset({"output_nominal_voltage_v"}) if preset.fills.charger else frozenset()


def replaced_sections(preset: Preset) -> frozenset[str]:
    """Name the parts of an installation that a preset describes anew, with nothing left over."""
    return frozenset(preset.fills.model_fields_set & _WHOLE)


_WHOLE = {"alternator", "start_battery", "house_battery", "solar", "meter"}

STAYS = ("house_battery.location", "start_battery.sensor_on_negative")
"""What belongs to the vehicle and stays when another battery takes the place of the one before."""

NAMED = (
    "nominal_voltage_v",
    "output_nominal_voltage_v",
    "alternator.control",
    "alternator.rated_current_a",
    "start_battery.chemistry",
    "start_battery.capacity_ah",
    "start_battery.second",
    "charger.rated_output_current_a",
    "house_battery.chemistry",
    "house_battery.capacity_ah",
    "location",
    "solar.rated_power_w",
)
"""Figures that the title of a preset names, so that who chooses it states them."""


def is_guess(path: str) -> bool:
    """Whether a figure that a preset fills in is a guess: usual, and not named by its title."""
    named = path in NAMED or path.startswith("meter.")
    return not named and not path.endswith((".area_mm2", ".insulation_c", ".bundled_cables"))


def _staying(section: str, described: Any) -> dict[str, Any]:
    if not isinstance(described, Mapping):
        return {}
    return {key: value for key, value in described.items() if f"{section}.{key}" in STAYS}


_PROFILE_VOLTAGES = ("absorption_voltage_v", "float_voltage_v")


def _merged(under: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    result = dict(under)
    for key, value in over.items():
        below = result.get(key)
        both = isinstance(below, Mapping) and isinstance(value, Mapping)
        result[key] = _merged(below, value) if both else value  # type: ignore[arg-type]
    return result


def _for_house_side(filled: Mapping[str, Any], nominal_voltage_v: float) -> dict[str, Any]:
    """Bring the profile's voltages to the house side's: doubled or halved where they are not."""
    return {
        key: _for_house_side(value, nominal_voltage_v)
        if isinstance(value, Mapping)
        else _suited(value, nominal_voltage_v)
        if key in _PROFILE_VOLTAGES
        else value
        for key, value in filled.items()
    }


def _suited(voltage: float | None, nominal_voltage_v: float) -> float | None:
    if voltage is None:
        return None
    is_for_24 = voltage > 20  # no 12 V profile comes near 20 V, no 24 V one falls under it
    twelve_volt: float = voltage / 2 if is_for_24 else voltage
    return twelve_volt * 2 if nominal_voltage_v == 24 else twelve_volt
