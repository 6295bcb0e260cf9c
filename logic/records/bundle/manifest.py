"""The form of an exchange file: one zip that carries vehicles from phone to phone or to the desk.

    manifest.json     what is in it: version, counts, and name, size and SHA-256 of each part
    events.jsonl      one event a line; a customer stands in it only as a digest
    customers.jsonl   name and contact behind those digests, and the free texts behind others'; what
                      names a customer may be left out
    sealed.jsonl      one signed record a line, with or without its private part
    photos/<sha256>   each photo under the SHA-256 of its bytes

Reading trusts nothing: names, sizes, hashes and every line are checked before the store is
touched, and the store changes in one transaction or not at all.
"""

from __future__ import annotations

import re
from typing import Annotated, Literal

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


class PackedFile(Data):
    """One file inside the bundle; ``bytes`` is its size unpacked."""

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
    parts: tuple[PackedFile, ...]


class TextLine(Data):
    """What a person wrote freely in one event, behind the digest in it."""

    event_id: Id
    salt: str = Field(pattern=r"^[0-9a-f]{32}$")
    texts: dict[Annotated[str, Field(max_length=60)], Annotated[str, Field(max_length=2000)]]


class CustomerLine(Data):
    """The name and contact behind one event's digest."""

    event_id: Id
    salt: str = Field(pattern=r"^[0-9a-f]{32}$")
    name: str = Field(max_length=120)
    contact: str = Field(max_length=200)
