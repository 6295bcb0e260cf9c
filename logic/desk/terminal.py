"""What commands read and write: files or standard input, lines, JSON, columns and progress bars.

Texts come from files and stores that others wrote: through :func:`plain` none of them can move
the cursor, overwrite a line or turn its reading order round.
"""

import codecs
import json
import re
import sys
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import click

from logic.errors import InputError

T = TypeVar("T")

# Unicode's categories (UAX #44, table 12) of what is not seen but acts: controls, format marks
# such as those of UAX #9 that turn the reading order, half surrogates, line and paragraph ends.
_ACTING = ("Cc", "Cf", "Cs", "Zl", "Zp")
_SPACES = re.compile(r"[\t\n\v\f\r]+")
# Letters and marks that look like a space, or like nothing: Unicode's fillers of Hangul, Braille's
# empty cell, and the rest of what UAX #44 lists as Default_Ignorable_Code_Point, variation
# selectors aside. A row of them could push the end of a text to a line of its own.
_BLANK = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")
# Combining marks in a row: more than any script stacks would paint over the lines above.
_MOST_MARKS = 4

LARGEST_INPUT = 64_000_000  # bytes; assumed: a thousand times any case or record
INPUT_FILE = click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path)


def read_input(file: Path) -> bytes:
    """Read a file, or the standard input for ``-``, as its bytes are.

    Raises
    ------
    InputError
        It is far too large.
    """
    with click.open_file(str(file), "rb") as source:
        content: bytes = source.read(LARGEST_INPUT + 1)
    if len(content) > LARGEST_INPUT:
        raise InputError(f"{plain(file)} is far too large. Choose the right file.", "file")
    return content


def read_text(file: Path) -> bytes:
    """Read a text, whatever its system made of its encoding; as :func:`read_input`."""
    return _as_utf_8(read_input(file))


def _as_utf_8(content: bytes) -> bytes:
    """Take off the mark, or the encoding, that some systems put on a redirected text."""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return content.decode("utf-16").encode()
        except UnicodeDecodeError:
            return content
    return content.removeprefix(codecs.BOM_UTF8)


def plain(text: object) -> str:
    """Return a text as one line that does nothing to a terminal but stand there.

    Line ends and tabs become a space; any other character that acts without being seen is named
    by its code point, so that a reader sees that something is amiss.
    """
    return "".join(_seen(_SPACES.sub(" ", str(text))))


def _seen(text: str) -> Iterator[str]:
    marks = 0
    for letter in text:
        marks = marks + 1 if unicodedata.combining(letter) else 0
        acts = _is_acting(letter) or marks > _MOST_MARKS
        yield f"<U+{ord(letter):04X}>" if acts else letter


def say(*lines: object, err: bool = False) -> None:
    """Print lines, each as :func:`plain` leaves it."""
    for line in lines:
        click.echo(plain(line), err=err)


def as_json(data: Any) -> str:
    """Write data as indented JSON; what acts on a terminal is escaped, as JSON allows."""
    return escaped(json.dumps(data, ensure_ascii=False, indent=1))


def escaped(text: str) -> str:
    """Return JSON text that says the same, with what acts on a terminal escaped.

    Such characters stand only inside strings, but for the line ends between values.
    """
    return "".join(
        json.dumps(letter)[1:-1] if _is_acting(letter) and letter != "\n" else letter
        for letter in text
    )


def _is_acting(letter: str) -> bool:
    return unicodedata.category(letter) in _ACTING or letter in _BLANK


def aligned(rows: Iterable[tuple[str, ...]]) -> list[str]:
    """Set rows in columns, two spaces apart; each cell as :func:`plain` leaves it."""
    lines = [tuple(map(plain, row)) for row in rows]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    ]


@contextmanager
def progress_through(things: Iterable[T], label: str) -> Iterator[Iterable[T]]:
    """Show a bar on the error stream while the things are gone through, where somebody watches."""
    with click.progressbar(
        things, label=plain(label), file=sys.stderr, hidden=not sys.stderr.isatty()
    ) as bar:
        yield bar


@contextmanager
def progress_bar(label: str) -> Iterator[Callable[[int, int], None]]:
    """Show a bar for work that calls back with how much is done and how much there is."""
    with click.progressbar(
        length=100, label=plain(label), file=sys.stderr, hidden=not sys.stderr.isatty()
    ) as bar:
        shown = 0

        def update(done: int, total: int) -> None:
            nonlocal shown
            percent = 100 * done // max(total, 1)
            if percent > shown:
                bar.update(percent - shown)
                shown = percent

        yield update
