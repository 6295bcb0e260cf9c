"""The exchange file: one zip that carries vehicles from phone to phone or to the desk.

    manifest.json     what is in it: version, counts, and name, size and SHA-256 of each part
    events.jsonl      one event a line; a customer stands in it only as a digest
    customers.jsonl   name and contact behind those digests; may be left out
    sealed.jsonl      one signed record a line, with or without its private part
    photos/<sha256>   each photo under the SHA-256 of its bytes

Reading trusts nothing: names, sizes, hashes and every line are checked before the store is
touched, and the store changes in one transaction or not at all.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from pydantic import AwareDatetime, Field

from logic.quantities import Data
from logic.records.events import Digest, Id

VERSION = 1
MANIFEST, EVENTS, CUSTOMERS, SEALED = (
    "manifest.json",
    "events.jsonl",
    "customers.jsonl",
    "sealed.jsonl",
)
PHOTO = re.compile(r"photos/([0-9a-f]{64})")

# Limits against hostile files, all assumed: far above a workshop's whole store.
LARGEST_MANIFEST = 64_000_000  # bytes
LARGEST_LINE = 4_000_000  # bytes
MOST_LINES = 50_000_000
LARGEST_RATIO = 200  # unpacked to packed; deflate can do a thousand, real events about ten
SMALL = 16_000_000  # bytes unpacked, below which the ratio does not matter

Progress = Callable[[int, int], None]


class Part(Data):
    """One file inside the bundle."""

    name: str = Field(max_length=120)
    bytes: int = Field(ge=0)
    sha256: Digest


class Manifest(Data):
    """What the bundle says of itself."""

    kind: Literal["voltwalk-bundle"] = "voltwalk-bundle"
    version: Literal[1] = 1
    made_at: AwareDatetime
    device: str = Field("", max_length=64)
    with_customers: bool
    vehicles: int = Field(ge=0)
    events: int = Field(ge=0, le=MOST_LINES)
    sealed: int = Field(ge=0, le=MOST_LINES)
    parts: tuple[Part, ...]


class CustomerLine(Data):
    """The name and contact behind one event's digest."""

    event_id: Id
    salt: str = Field(pattern=r"^[0-9a-f]{32}$")
    name: str = Field(max_length=120)
    contact: str = Field(max_length=200)


@dataclass(frozen=True)
class Exported:
    """What a written bundle holds; photos whose files are not on this device are named."""

    vehicles: int
    events: int
    sealed: int
    photos: int
    missing_photos: tuple[str, ...]


@dataclass(frozen=True)
class Clash:
    """A step that two devices answered without having seen each other's answer."""

    vehicle_id: str
    job_id: str
    step_id: str


@dataclass(frozen=True)
class Imported:
    """What an import brought that was not here before.

    ``vehicles`` counts all that the file spoke of, ``known_events`` its entries that were here
    already; the two tuples name vehicles that are new here, and known ones with new entries.
    """

    vehicles: int
    events: int
    sealed: int
    photos: int
    clashes: tuple[Clash, ...]
    known_events: int = 0
    customers: int = 0
    new_vehicles: tuple[str, ...] = ()
    grown_vehicles: tuple[str, ...] = ()

    @property
    def brought_nothing(self) -> bool:
        """Whether everything in the file was here already."""
        return not (self.events or self.sealed or self.photos or self.customers)

    @property
    def told(self) -> str:
        """Say it in words."""
        if self.brought_nothing:
            return "Everything in it was here already."
        words = (
            f"New here: {_number(self.events, 'entry', 'entries')} of "
            f"{_number(self.vehicles, 'vehicle', 'vehicles')}, "
            f"{_number(self.sealed, 'signed record', 'signed records')}, "
            f"{_number(self.photos, 'photo', 'photos')}."
        )
        if self.clashes:
            words += (
                f" Answered differently on two devices: "
                f"{_number(len(self.clashes), 'step', 'steps')}. Both answers are kept; open the "
                "job to choose."
            )
        return words


def _number(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"
