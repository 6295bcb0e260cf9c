"""What commands read and write: files or standard input, JSON, columns and progress bars."""

import codecs
import json
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import click

from logic.errors import InputError

T = TypeVar("T")

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


def aligned(rows: Iterable[tuple[str, ...]]) -> list[str]:
    """Set rows in columns, two spaces apart."""
    lines = list(rows)
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    ]


@contextmanager
def progress_through(things: Iterable[T], label: str) -> Iterator[Iterable[T]]:
    """Show a bar on the error stream while the things are gone through, where somebody watches."""
    with click.progressbar(
        things, label=label, file=sys.stderr, hidden=not sys.stderr.isatty()
    ) as bar:
        yield bar


@contextmanager
def progress_bar(label: str) -> Iterator[Callable[[int, int], None]]:
    """Show a bar for work that calls back with how much is done and how much there is."""
    with click.progressbar(
        length=100, label=label, file=sys.stderr, hidden=not sys.stderr.isatty()
    ) as bar:
        shown = 0

        def update(done: int, total: int) -> None:
            nonlocal shown
            percent = 100 * done // max(total, 1)
            if percent > shown:
                bar.update(percent - shown)
                shown = percent

        yield update
