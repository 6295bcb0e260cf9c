"""Units as type names, so that a signature says what a number means.

SI throughout, except the trade's own mm² for a conductor's area and °C for temperature.
Field names carry the unit as well (``_v``, ``_a``, ``_mm2`` ...), as exchanged files do.
"""

from typing import Annotated, TypeVar

from pydantic import BaseModel, ConfigDict, Field, model_validator

Volt = Annotated[float, Field(json_schema_extra={"unit": "V"})]
Ampere = Annotated[float, Field(json_schema_extra={"unit": "A"})]
Ohm = Annotated[float, Field(json_schema_extra={"unit": "Ω"})]
Watt = Annotated[float, Field(json_schema_extra={"unit": "W"})]
AmpereHour = Annotated[float, Field(json_schema_extra={"unit": "Ah"})]
Metre = Annotated[float, Field(json_schema_extra={"unit": "m"})]
SquareMillimetre = Annotated[float, Field(json_schema_extra={"unit": "mm²"})]
Celsius = Annotated[float, Field(json_schema_extra={"unit": "°C"})]
Minute = Annotated[float, Field(json_schema_extra={"unit": "min"})]
Second = Annotated[float, Field(json_schema_extra={"unit": "s"})]
Bit = Annotated[float, Field(json_schema_extra={"unit": "bit"})]
Fraction = Annotated[float, Field(ge=0, le=1, json_schema_extra={"unit": "1"})]
Percent = Annotated[float, Field(json_schema_extra={"unit": "%"})]


def is_none(value: object) -> bool:
    """Whether a field says nothing: it is then left out of JSON that an older release signed."""
    return value is None


def is_empty(value: object) -> bool:
    """Whether a field holds nothing; as :func:`is_none`."""
    return not value


class Data(BaseModel):
    """Base of every value object: frozen, and an unknown key is an error.

    Each class builds its validator when it is first used: the app's first screen uses few.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)


T = TypeVar("T")

Many = Annotated[tuple[T, ...], Field(fail_fast=True, max_length=10_000)]
"""Things in a row, of which the first that is wrong is told: a hostile file may have any number.

The most are assumed: a hundred times a whole walk's steps.
"""


class NullIsNotKnown(Data):
    """A value object in which ``null`` for any field that has a default means that default."""

    @model_validator(mode="before")
    @classmethod
    def _not_known(cls, data: object) -> object:
        if not isinstance(data, dict):
            return data
        fields = cls.model_fields
        return {
            name: value
            for name, value in data.items()
            if value is not None or name not in fields or fields[name].is_required()
        }
