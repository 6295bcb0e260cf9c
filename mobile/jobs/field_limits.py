"""What each field of a form may hold, read off the models so that no limit stands twice.

A field is named by its path in the models: ``charger.rated_output_current_a`` in an
installation, ``vehicle.vin``, ``customer.name`` or ``technician.licence`` beside it.
"""

import types
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, TypeAdapter
from pydantic.fields import FieldInfo

from logic.vehicle.identity import Customer, Technician, Vehicle
from logic.vehicle.installation import Extra, Installation
from logic.vehicle.points import Run

Kind = Literal["number", "whole", "choice", "yes_no", "text", "photo"]

_ROOTS: dict[str, type[BaseModel]] = {
    "vehicle": Vehicle,
    "customer": Customer,
    "technician": Technician,
}
SOLAR_FITTED = "solar.fitted"
SECOND_UNIT = "fitted.second_charger_rated_output_current_a"
SECOND_UNIT_RUNS = "second_unit_runs"
ISOLATORS = {
    Run.VEHICLE_FEED: "fitted.vehicle_isolator",
    Run.HOUSE_FEED: "fitted.house_isolator",
}
SOURCES = {
    Extra.SOLAR_REGULATOR: "fitted.solar_regulator",
    Extra.MAINS_CHARGER: "fitted.mains_charger",
}
PLATE_PHOTO = "charger.plate_photo"
"""The one field that is filled by the camera: the SHA-256 of a photo that the store has."""
YES_OR_NO = ("yes", "no")
"""The choices for what is there, or not there, or not known."""
_UNITS = {
    "_v": "V",
    "_a": "A",
    "_ah": "Ah",
    "_m": "m",
    "_c": "°C",
    "_w": "W",
    "_km": "km",
    "_percent": "%",
}


@dataclass(frozen=True)
class FieldLimits:
    """What a path may hold. Limits are in the unit that is typed."""

    kind: Kind
    unit: str = ""
    more_than: float | None = None
    at_least: float | None = None
    at_most: float | None = None
    longest: int = 0
    choices: tuple[str, ...] = ()
    typed_to_stored: float = 1.0


@cache
def limits_of(path: str) -> FieldLimits:
    """Say what the field at ``path`` may hold; ``KeyError`` for a path that is none."""
    if path == SOLAR_FITTED:
        return FieldLimits("yes_no")
    if path == PLATE_PHOTO:
        return FieldLimits("photo")
    model, name = _owner(path)
    info = model.model_fields[name]
    bare, limits = _unwrap(info.annotation)
    limits |= _limits(info.metadata)
    if info.annotation == bool | None:
        return FieldLimits("choice", choices=YES_OR_NO)
    factor = 0.01 if name == "efficiency" else 1.0
    return FieldLimits(
        kind=_kind(bare),
        unit="%" if name == "efficiency" else _unit(name),
        more_than=_typed(limits.get("gt"), factor),
        at_least=_typed(limits.get("ge"), factor),
        at_most=_typed(limits.get("le"), factor),
        longest=int(limits.get("max_length") or 0),
        choices=_choices(bare),
        typed_to_stored=factor,
    )


@cache
def adapter(path: str) -> TypeAdapter[Any]:
    """Return pydantic's own check for the field at ``path``."""
    model, name = _owner(path)
    info: FieldInfo = model.model_fields[name]
    bare: Any = info.annotation
    return TypeAdapter(Annotated[bare, *info.metadata] if info.metadata else bare)


def _unit(name: str) -> str:
    return next((unit for tail, unit in _UNITS.items() if name.endswith(tail)), "")


def _typed(limit: float | None, factor: float) -> float | None:
    return None if limit is None else limit / factor


def _owner(path: str) -> tuple[type[BaseModel], str]:
    """Return the model class that holds the path's last part, and that part."""
    parts = path.split(".")
    model = _ROOTS.get(parts[0], Installation)
    inner = parts[1:] if parts[0] in _ROOTS else parts
    for part in inner[:-1]:
        bare, _ = _unwrap(model.model_fields[part].annotation)
        if not (isinstance(bare, type) and issubclass(bare, BaseModel)):
            raise KeyError(path)
        model = bare
    if inner[-1] not in model.model_fields:
        raise KeyError(path)
    return model, inner[-1]


def _unwrap(annotation: Any) -> tuple[Any, dict[str, float]]:
    """Strip ``None`` and ``Annotated`` from a type, and collect the limits on the way."""
    limits: dict[str, float] = {}
    while True:
        if get_origin(annotation) in (Union, types.UnionType):
            annotation = next(a for a in get_args(annotation) if a is not type(None))
        elif get_origin(annotation) is Annotated:
            limits |= _limits(annotation.__metadata__)
            annotation = annotation.__origin__
        else:
            return annotation, limits


def _limits(metadata: Any) -> dict[str, float]:
    found: dict[str, float] = {}
    for item in metadata:
        if isinstance(item, FieldInfo):
            found |= _limits(item.metadata)
        for key in ("gt", "ge", "le", "max_length"):
            limit = getattr(item, key, None)
            if isinstance(limit, int | float):
                found[key] = limit
    return found


def _kind(bare: Any) -> Kind:
    if _choices(bare):
        return "choice"
    if bare is bool:
        return "yes_no"
    return "whole" if bare is int else "number" if bare is float else "text"


def _choices(bare: Any) -> tuple[str, ...]:
    if get_origin(bare) is Literal:
        return tuple(str(item) for item in get_args(bare))
    if isinstance(bare, type) and issubclass(bare, StrEnum):
        return tuple(str(item) for item in bare)
    return ()
