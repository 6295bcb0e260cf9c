"""Files written whole: on storage before they take their name, so half of one is never seen."""

import os
import secrets
from contextlib import suppress
from pathlib import Path

from logic.errors import RecordError


def replace_file(path: Path, content: bytes, what: str) -> None:
    """Write a document for people as a whole file; an old one of that name is replaced.

    Raises
    ------
    RecordError
        It cannot be written; names ``what`` and says what to do. The old file is untouched.
    """
    try:
        write_whole(path, content)
    except OSError as error:
        raise RecordError(
            f"{what} could not be written to {path}: {error.strerror or error}. "
            "Free some space or choose another folder, then write it again."
        ) from error


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that even a power cut leaves either all of it or what was there before."""
    unfinished = path.with_name(f".{path.name[:80]}.{secrets.token_hex(4)}.unfinished")
    try:
        with unfinished.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Have a folder's new names on storage, where the system can do that."""
    # Windows cannot open a folder and some card file systems cannot sync one.
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
