"""The form of an exchange file: one zip that carries vehicles from phone to phone or to the desk.

    manifest.json     what is in it: version, counts, and name, size and SHA-256 of each part
    signature.json    the sending device's key and its signature under the manifest
    keys.jsonl        what keys say of each other, one statement a line
    events.jsonl      one event a line, signed; a customer stands in it only as a digest
    customers.jsonl   name and contact behind those digests, and the free texts behind others'; what
                      names a customer may be left out
    sealed.jsonl      one signed record a line, with or without its private part
    photos/<sha256>   each photo under the SHA-256 of its bytes

Reading trusts nothing: names, sizes, hashes and every line are checked before the store is
touched, and the store changes in one transaction or not at all. Files of version 1, as release
0.1.0 made them, have neither signatures nor keys.
"""

from __future__ import annotations

import hashlib
import re
from typing import Literal

from pydantic import Field

from logic.quantities import Data
from logic.records.events import Digest, Moment
from logic.records.store.exchange import MOST_STATEMENTS

VERSION = 2
MANIFEST, SIGNATURE, KEYS, EVENTS, CUSTOMERS, SEALED = (
    "manifest.json",
    "signature.json",
    "keys.jsonl",
    "events.jsonl",
    "customers.jsonl",
    "sealed.jsonl",
)
PHOTO = re.compile(r"photos/([0-9a-f]{64})")

# Limits against hostile files, all assumed: far above a workshop's whole store.
LARGEST_MANIFEST, MANIFEST_LINE = 4_000, 400  # bytes, and as many more for each part
LARGEST_ENTRY = 200_000  # bytes; an erasure that names as many texts as it may is 160,000
LARGEST_SIGNATURE = 1_000  # bytes
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
    version: Literal[1, 2] = 2
    made_at: Moment
    device: str = Field("", max_length=64)
    with_customers: bool
    vehicles: int = Field(ge=0)
    events: int = Field(ge=0, le=MOST_LINES)
    sealed: int = Field(ge=0, le=MOST_LINES)
    statements: int = Field(0, ge=0, le=MOST_STATEMENTS)
    parts: tuple[PackedFile, ...]


def signed_text(manifest: bytes) -> bytes:
    """Return what is signed of a bundle: a heading, and the SHA-256 of its manifest as a line."""
    return f"voltwalk-bundle-2\n{hashlib.sha256(manifest).hexdigest()}\n".encode()
