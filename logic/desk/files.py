"""What commands read and write: files named on the command line, or the standard streams."""

import codecs
import json
from pathlib import Path
from typing import Any

import click

from logic.errors import InputError

LARGEST_INPUT = 64_000_000  # bytes; assumed: a thousand times any case or record
INPUT_FILE = click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path)


def read_input(file: Path) -> bytes:
    """Read a file, or the standard input for ``-``.

    Raises
    ------
    InputError
        It is far too large.
    """
    with click.open_file(str(file), "rb") as source:
        content: bytes = source.read(LARGEST_INPUT + 1)
    if len(content) > LARGEST_INPUT:
        raise InputError(f"{file} is far too large. Choose the right file.", "file")
    return _as_utf_8(content)


def _as_utf_8(content: bytes) -> bytes:
    """Take off the mark, or the encoding, that some systems put on a redirected text."""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return content.decode("utf-16").encode()
        except UnicodeDecodeError:
            return content
    return content.removeprefix(codecs.BOM_UTF8)


def as_json(data: Any) -> str:
    """Write data as indented JSON."""
    return json.dumps(data, ensure_ascii=False, indent=1)
