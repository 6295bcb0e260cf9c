"""Whose vehicle, which vehicle, and who does the work."""

import re

from pydantic import Field, field_validator

from logic.quantities import Data, is_empty

_VIN_VALUE = dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ", "12345678123457923456789", strict=True))
_VIN_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)


def vin_complaint(vin: str) -> str:
    """Say why a text cannot be a vehicle identification number, or "" if it can.

    References
    ----------
    ISO 3779: seventeen characters, digits and capital letters without I, O and Q.
    """
    if not vin:
        return ""
    wrong = sorted(set(re.findall(r"[^A-HJ-NPR-Z0-9]", vin)))
    if wrong:
        return f"A VIN has no {', '.join(wrong)}: I, O and Q are never used. Read it off again."
    if len(vin) != 17:
        return f"A VIN has 17 characters, this has {len(vin)}. Read it off again."
    return ""


def vin_warning(vin: str) -> str:
    """Warn where the check digit does not fit, or "": outside North America it need not.

    References
    ----------
    49 CFR 565.15 (c): letters as values, weighted sum, remainder of 11, ten written X.
    """
    if not vin or vin_complaint(vin):
        return ""
    total = sum(
        int(_VIN_VALUE.get(letter, letter)) * weight
        for letter, weight in zip(vin, _VIN_WEIGHTS, strict=True)
    )
    digit = "0123456789X"[total % 11]
    if vin[8] == digit:
        return ""
    return (
        f"Check digit: position 9 is {vin[8]}, a North American VIN would have {digit}. "
        "Elsewhere that is allowed; look once more if in doubt."
    )


class Vehicle(Data):
    """A vehicle as the workshop knows it. Only ``registration`` is asked for."""

    registration: str = Field(min_length=1, max_length=20)
    description: str = Field("", max_length=120, description="such as 'mobile library van'")
    vin: str = Field("", max_length=17)
    odometer_km: int | None = Field(None, ge=0, le=5_000_000)

    @field_validator("registration", "vin")
    @classmethod
    def _capitals(cls, text: str) -> str:
        return " ".join(text.upper().split())

    @field_validator("vin")
    @classmethod
    def _plausible_vin(cls, vin: str) -> str:
        if complaint := vin_complaint(vin):
            raise ValueError(complaint)
        return vin


class Customer(Data):
    """Who the vehicle belongs to; may be left out of exports and erased on request."""

    name: str = Field("", max_length=120)
    contact: str = Field("", max_length=200)


class Technician(Data):
    """Who did the work and answers for it."""

    name: str = Field("", max_length=120)
    licence: str = Field("", max_length=80, description="licence number, free text")
    workshop: str = Field("", max_length=120)
    phone: str = Field(
        "", max_length=40, exclude_if=is_empty, description="the workshop's, for the customer"
    )
