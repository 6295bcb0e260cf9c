"""A printed record read back: the record attached to the PDF, and whether its pages agree.

A PDF has two faces: the attached record, which the hash covers, and the pages, which people
read. Either can be changed without the other, so both are checked: the attachment against its
seal, the hash on the pages against the attachment, and the pages' text against the pages that
this very record prints.
"""

import io
import logging
import re
import struct
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from logic.errors import BrokenSealError
from logic.records.paper.report import ATTACHMENT, compose, layout
from logic.records.record import SealedRecord
from logic.records.verify import SealCheck, check

if TYPE_CHECKING:
    from pypdf import PdfReader

LARGEST = 300_000_000  # bytes; assumed: a record with fifty photos is about 20 MB
_MOST_PAGES = 500
# What pypdf raises on broken files besides its own errors, each seen or read in its source.
_BROKEN = (ValueError, LookupError, TypeError, AttributeError, AssertionError, ArithmeticError)
_DEEP = (RecursionError, NotImplementedError, EOFError, OSError, zlib.error, struct.error)
_MOST_NAMED = 6


def check_pdf(path: Path, known_sha256: str = "") -> SealCheck:
    """Check a printed record as a file; otherwise as :func:`check_pdf_bytes`."""
    return check_pdf_bytes(_content(path), path.name, known_sha256)


def check_pdf_bytes(content: bytes, name: str, known_sha256: str = "") -> SealCheck:
    """Check a printed record: its attachment, the hash on its pages, and its pages' text.

    ``name`` is what to call it in an error, ``known_sha256`` the hash known from elsewhere.

    Raises
    ------
    BrokenSealError
        There is no record in it that could be checked at all.
    """
    reader = _open(content, name)
    found = check(_attached(reader), known_sha256)
    pages = _pages(reader)
    hashes = _hash_complaints(chain.from_iterable(pages), found.sha256)
    complaints = [*found.complaints, *hashes]
    remarks = list(found.remarks)
    if found.sealed and _same_layout(reader):
        complaints += _page_complaints(pages, found.sealed)
    else:
        remarks.append(
            "The pages were laid out by another version, so their text was not compared with the "
            "record. Print the record again to see what was signed."
        )
    return replace(found, complaints=tuple(complaints), remarks=tuple(remarks))


def _content(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST:
            raise BrokenSealError(f"{path.name} is too large to be a printed record.")
        return path.read_bytes()
    except OSError as error:
        raise BrokenSealError(
            f"{path.name} cannot be read ({error.strerror or error}). Choose another file."
        ) from error


@contextmanager
def _understood(failing: str) -> Iterator[None]:
    """Turn whatever a broken PDF makes its reader raise into one sentence of ours."""
    from pypdf.errors import PyPdfError

    try:
        yield
    except (PyPdfError, *_BROKEN, *_DEEP) as error:
        raise BrokenSealError(
            f"{failing} ({error}). Get the file again from where it came from."
        ) from error


def _open(content: bytes, name: str) -> "PdfReader":
    from pypdf import PdfReader

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # its warnings are no news to a user
    with _understood(f"{name} cannot be read as a PDF"):
        reader = PdfReader(io.BytesIO(content))
        if len(reader.pages) > _MOST_PAGES:
            raise BrokenSealError(f"{name} has too many pages to be a printed record.")
        return reader


def _attached(reader: "PdfReader") -> bytes:
    with _understood("The PDF's attachments cannot be read"):
        found = reader.attachments.get(ATTACHMENT, [])
    if len(found) != 1:
        raise BrokenSealError(
            f"The PDF has {'no' if not found else 'more than one'} attachment named {ATTACHMENT}, "
            "so it is not a record as it was printed. Ask for the file as it was first sent."
        )
    return found[0]


def _pages(reader: "PdfReader") -> list[list[str]]:
    """Return each page's lines, with single spaces."""
    with _understood("The PDF's pages cannot be read"):
        texts = [page.extract_text() for page in reader.pages]
    return [
        [" ".join(line.split()) for line in text.splitlines() if line.strip()] for text in texts
    ]


def _hash_complaints(lines: Iterable[str], sha256: str) -> Iterator[str]:
    printed = [line for line in lines if re.fullmatch(r"[0-9a-f]{64}", line)]
    if not printed:
        yield "The pages do not show the record's hash."
    for wrong in printed:
        if wrong != sha256:
            yield f"The pages show the hash {wrong}, but the attached record has {sha256}."


def _same_layout(reader: "PdfReader") -> bool:
    with _understood("The PDF's description cannot be read"):
        metadata = reader.root_object.get("/Metadata")
        return metadata is not None and layout().encode() in metadata.get_object().get_data()


def _page_complaints(pages: list[list[str]], sealed: SealedRecord) -> Iterator[str]:
    """Compare the pages' lines with those the record prints, whatever page they stand on."""
    from pypdf import PdfReader

    due = _pages(PdfReader(io.BytesIO(compose(sealed, lambda _: None))))
    expected, printed = (Counter(_lasting(found, due)) for found in (due, pages))
    for line in list(printed - expected)[:_MOST_NAMED]:
        yield f"The pages say “{line}”, which the record does not."
    for line in list(expected - printed)[:_MOST_NAMED]:
        yield f"The record says “{line}”, which the pages do not."


def _lasting(pages: list[list[str]], due: list[list[str]]) -> Iterator[str]:
    """Leave out what depends on where pages break and on which photos were at hand."""
    from logic.records.paper.photos import STAND_INS
    from logic.records.paper.tables import HEADINGS

    moving = {
        " ".join(HEADINGS),
        *(_numberless(page[-1]) for page in due),
        *(p[0] for p in due[1:]),
    }
    for line in chain.from_iterable(pages):
        stands_in = any(line in sentence for sentence in STAND_INS)
        if not stands_in and _numberless(line) not in moving:
            yield line


def _numberless(line: str) -> str:
    return re.sub(r"page \d+ of \d+$", "page", line)
