"""Photos as files beside the store, each under the SHA-256 of its bytes."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from pathlib import Path

from logic.errors import InputError, RecordError
from logic.records.files import write_whole

_MANY = 20
LARGEST = 40_000_000  # bytes; assumed: well above what a phone's camera writes
_ENDINGS = {b"\xff\xd8\xff": ".jpg", b"\x89PNG\r\n\x1a\n": ".png"}


def add(folder: Path, data: bytes) -> str:
    """Keep a photo and return its SHA-256; it is on storage when this returns.

    Raises
    ------
    InputError
        There is no picture in it, or far too much.
    """
    if not data or len(data) > LARGEST:
        size = "empty" if not data else f"{len(data) / 1e6:.0f} MB"
        raise InputError(f"The photo is {size}. Take it again at the camera's usual size.", "photo")
    sha256 = hashlib.sha256(data).hexdigest()
    folder.mkdir(parents=True, exist_ok=True)
    if path_of(folder, sha256) is None:
        write_whole(folder / f"{sha256}{_ending(data)}", data)
    return sha256


def path_of(folder: Path, sha256: str) -> Path | None:
    """Return where a photo lies, or ``None`` where its file is not on this device."""
    for ending in (*_ENDINGS.values(), ".bin"):
        path = folder / f"{sha256}{ending}"
        if path.exists():
            return path
    return None


def with_proper_ending(path: Path) -> Path:
    """Rename a photo's file to the ending that its first bytes ask for."""
    with path.open("rb") as file:
        ending = _ending(file.read(16))
    return path.rename(path.with_name(f"{path.name}{ending}"))


def bring_to_storage(paths: Sequence[Path]) -> None:
    """Return when the files' contents are on storage."""
    if len(paths) > _MANY and hasattr(os, "sync"):
        os.sync()  # all that the system holds, but in one go: many single files take far longer
        return
    for path in paths:
        with path.open("rb+") as file:
            os.fsync(file.fileno())


def read(folder: Path, sha256: str) -> bytes:
    """Return a photo's bytes, checked against its name.

    Raises
    ------
    RecordError
        The file is missing or is no longer what was taken.
    """
    path = path_of(folder, sha256)
    data = path.read_bytes() if path else b""
    if hashlib.sha256(data).hexdigest() != sha256:
        raise RecordError(
            f"Photo {sha256[:12]}… is {'changed' if path else 'missing'} in {folder}. Import a "
            "bundle from the phone that took it, or take it again."
        )
    return data


def _ending(data: bytes) -> str:
    return next((end for start, end in _ENDINGS.items() if data.startswith(start)), ".bin")
