"""A finished document put in its place in one move, so that half a file is never seen."""

import os
import secrets
from pathlib import Path

from logic.errors import RecordError


def replace_file(path: Path, content: bytes, what: str) -> None:
    """Write beside the target, flush to disk, then take the target's place.

    Raises
    ------
    RecordError
        It cannot be written; names ``what`` and says what to do. The old file is untouched.
    """
    part = path.with_name(f".{path.name[:80]}.{secrets.token_hex(4)}.part")
    try:
        _write(part, content)
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise RecordError(
            f"{what} could not be written to {path}: {error.strerror or error}. "
            "Free some space or choose another folder, then write it again."
        ) from error


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
