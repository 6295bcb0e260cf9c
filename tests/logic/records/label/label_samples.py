"""Sealed records to make labels of, and a label's text with its bytes laid open."""

import base64
import zlib

from logic.records.label.encoding import PREFIX
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State
from tests.logic.records.sample_records import (
    LIBRARY_VAN,
    commissioning,
    judged,
    reading,
    seal,
)


def sealed_with(*readings):
    return seal(commissioning(steps=(), readings=readings))


def full_walk(seal=seal):
    """As many readings as a whole commissioning takes: every point idling, most at fast idle."""
    steps = [
        reading("any", point.value, judged(point, state, 13.47, (None, None)))
        for state, points in (
            (State.IDLE, list(Point)[:19]),
            (State.FAST_IDLE, list(Point)[:13]),
            (State.REST, list(Point)[:3]),
        )
        for point in points
    ]
    return seal(commissioning(steps=tuple(steps)))


def fitted_out(said):
    """The library van with more fitted: values by their paths."""
    data = LIBRARY_VAN.model_dump()
    for path, value in said.items():
        *above, name = path.split(".")
        part = data
        for step in above:
            part = part.setdefault(step, {})
        part[name] = value
    return Installation.model_validate(data)


def with_checksum(body):
    checked = body + zlib.crc32(body).to_bytes(4, "big")
    return PREFIX + base64.b32encode(checked).decode().rstrip("=")


def body_of(text):
    digits = text.removeprefix(PREFIX)
    return base64.b32decode(digits + "=" * (-len(digits) % 8))[:-4]
