"""Files that this program wrote around its store, when a customer is erased.

What can be made again at any time (bundles that lie ready, printed records, labels, quotes'
pages) is deleted.
Reports of trouble go where they name the customer. What a person had the desk write elsewhere is
theirs: it is only named, and deleted when they say so.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Collection, Iterator
from pathlib import Path

from logic.records.customer_names import CustomerNames

BUNDLES, PRINTS, QUOTES, SHARED = "bundles", "records", "quotes", "shared"
"""Folders beside the store: what lies ready to be handed on, printed records, quotes' pages, and
the one file that other apps of the phone are let to read."""
BACKUPS = "backups"
TROUBLE = "trouble-*.txt"
_LARGEST = 200_000_000  # bytes searched of one file; assumed: no trouble report or print has more
_BLOCK = 1 << 20
_OVERLAP = 1024  # bytes; longer than any name and contact
_STREAM = re.compile(rb"stream\r?\n(.*?)endstream", re.DOTALL)
_SIGNED = b'"customer_signature"'
_ESCAPED = re.compile(rb"\\u([0-9a-fA-F]{4})")


def made_again(folder: Path, hashes: Collection[str]) -> Iterator[Path]:
    """Yield what can be made again: bundles, quotes, what is shared, prints by their hashes.

    With them what a dying phone left half written. A quote's page may name anybody in the name of
    a load, and its letters cannot be searched.
    """
    for ready in (BUNDLES, QUOTES, SHARED):
        yield from (path for path in (folder / ready).glob("*") if path.is_file())
    for place in (folder, folder / PRINTS, folder / BACKUPS):
        yield from place.glob("*.unfinished*")  # what a dying phone left half written
    for sha256 in hashes:
        yield from (folder / PRINTS).glob(f"*{sha256[:8]}.*")


def naming(folder: Path, names: CustomerNames, vehicle_id: str) -> Iterator[Path]:
    """Yield reports of trouble, and prints of before, that hold the customer's data."""
    for path in [*folder.glob(TROUBLE), *(folder / PRINTS).glob("*")]:
        if path.is_file() and holds(path, names, vehicle_id):
            yield path


def holds(path: Path, names: CustomerNames, vehicle_id: str) -> bool:
    """Whether a file names a vehicle's customer or has a record that they signed.

    It is looked through as it is, unzipped, and in a PDF's streams. The signature is found though
    the name is forgotten here already: an erasure may be asked for again.
    """
    with path.open("rb") as file:
        data = file.read(_LARGEST)
    return any(
        names.in_bytes(part) or _is_signed(part, vehicle_id.encode()) for part in _parts(path, data)
    )


def _is_signed(part: bytes, vehicle_id: bytes) -> bool:
    """Whether a record of the vehicle stands in it with its private part."""
    records = part.split(b"\n{") if vehicle_id in part else ()
    return any(vehicle_id in record and _SIGNED in record for record in records)


def _parts(path: Path, data: bytes) -> Iterator[bytes]:
    yield data
    yield data.replace(b"\0", b"")  # a PDF's own texts have two bytes a letter
    yield _ESCAPED.sub(_unescaped, data)
    if data.startswith(b"%PDF-"):
        for stream in _STREAM.findall(data):
            yield _inflated(stream)
    elif zipfile.is_zipfile(path):
        yield from _unzipped(path)


def _unescaped(found: re.Match[bytes]) -> bytes:
    return chr(int(found[1], 16)).encode("utf-8", "replace")


def _inflated(stream: bytes) -> bytes:
    try:
        return zlib.decompressobj().decompress(stream, _LARGEST)
    except zlib.error:
        return b""


def _unzipped(path: Path) -> Iterator[bytes]:
    try:
        with zipfile.ZipFile(path) as archive:
            for entry in archive.infolist():
                with archive.open(entry) as file:
                    data = file.read(_LARGEST)
                yield data
                yield _ESCAPED.sub(_unescaped, data)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, zlib.error):
        return


def overwrite(path: Path, names: CustomerNames) -> bool:
    """Put blanks where a file that nothing can read any more names the customer; say if it did."""
    found = False
    with path.open("r+b") as file:
        at = 0
        while block := _read(file, at):
            written = names.overwritten_in(block)
            if written != block:
                found = True
                file.seek(at)
                file.write(written)
            at += _BLOCK
    return found


def _read(file: object, at: int) -> bytes:
    file.seek(at)  # type: ignore[attr-defined]
    return bytes(file.read(_BLOCK + _OVERLAP))  # type: ignore[attr-defined]
