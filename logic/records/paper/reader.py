"""A printed record read back: the record attached to the PDF, and whether its pages agree.

A PDF has two faces: the attached record, which the hash covers, and the pages, which people
read. Either can be changed without the other. So the attachment is checked against its seal, and
the whole file against a fresh print of that record: pages are said to agree only where it is the
same print, byte for byte but for how its streams were packed. A print that this version cannot
make again is not compared, and that is said.
"""

import io
import logging
import re
import struct
import zlib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from hashlib import sha256
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from logic.errors import BrokenSealError
from logic.records.paper.report import ATTACHMENT, Photo, compose, layout
from logic.records.record import SealedRecord
from logic.records.verify import SealCheck, check

if TYPE_CHECKING:
    from pypdf import Configuration, PdfReader

LARGEST = 300_000_000  # bytes; assumed: a record with fifty photos is about 20 MB
_LARGEST_ATTACHED = 2_000_000  # bytes; assumed: five times the longest record of a whole walk
_LONGEST_COMPARED = 600_000  # bytes; ten times a whole walk's, and half a minute's printing
_MOST_PAGES = 300
_MORE_PAGES = 3  # than a PDF has are still printed, to name what is missing
_MOST_OBJECTS = 20_000
_JPEG = "/DCTDecode"
# What pypdf raises on broken files besides its own errors, each seen or read in its source.
_BROKEN = (ValueError, LookupError, TypeError, AttributeError, AssertionError, ArithmeticError)
_DEEP = (
    RecursionError,
    NotImplementedError,
    EOFError,
    OSError,
    MemoryError,
    zlib.error,
    struct.error,
)

_OTHER_VERSION = "They were laid out by another version than this one."
_TOO_LONG = "The record is too long to be printed again here."
_UNREAD_RECORD = "This version cannot print a record of that kind."
_SAVED_ANEW = (
    "The file is not as it was printed, though nothing was found to differ on its pages: another "
    "program may have saved it anew. Another viewer might show it otherwise."
)
_NO_ORIGINALS = (
    "Some pictures on its pages are not, byte for byte, the photos that the record names, and the "
    "originals are not at hand. With them in a folder, name it by --photos."
)


def _not_at_hand(_: str) -> None:
    """Find no photo: there is nothing but the PDF."""


def check_pdf(path: Path, known_sha256: str = "", originals: Photo = _not_at_hand) -> SealCheck:
    """Check a printed record as a file; otherwise as :func:`check_pdf_bytes`."""
    return check_pdf_bytes(_content(path), path.name, known_sha256, originals)


def check_pdf_bytes(
    content: bytes, name: str, known_sha256: str = "", originals: Photo = _not_at_hand
) -> SealCheck:
    """Check a printed record: its attachment, and its pages against a fresh print.

    ``name`` is what to call it in an error, ``known_sha256`` the hash known from elsewhere,
    ``originals`` finds the photos that are at hand: the PDF itself holds those of the app as they
    were taken, so they are only needed for others.

    Raises
    ------
    BrokenSealError
        There is no record in it that could be checked at all.
    """
    from pypdf import apply_configuration

    with apply_configuration(_limits()):
        reader = _open(content, name)
        attached = _attached(reader)
        found = check(attached, known_sha256)
        if not found.intact:
            return found
        if found.sealed is None:
            return replace(found, pages_not_compared=_UNREAD_RECORD)
        pages = _Pages()
        try:
            if _same_layout(reader) and len(attached) > _LONGEST_COMPARED:
                pages = _Pages(why_not_compared=_TOO_LONG)
            elif _same_layout(reader):
                pages = _against_print(content, reader, found.sealed, originals)
                found = replace(found, remarks=(*found.remarks, *_left_out(reader, found.sealed)))
            else:
                pages = _Pages(tuple(_hash_complaints(reader, found)), _OTHER_VERSION)
        except BrokenSealError as error:  # the record is intact; it is the pages that are broken
            pages = _Pages(why_not_compared=str(error))
    return replace(
        found,
        complaints=pages.complaints,
        pages_not_compared=pages.why_not_compared,
        left_out=pages.left_out,
    )


def photos_on(content: bytes, name: str) -> dict[str, bytes]:
    """Return the photos on a print's pages, as they were put in, by their SHA-256.

    Raises
    ------
    BrokenSealError
        It cannot be read as a PDF.
    """
    from pypdf import apply_configuration

    with apply_configuration(_limits()):
        return _photos_shown(_open(content, name))


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


def _limits() -> "Configuration":
    """Say how much a stream may unpack to, and a page draw, before it is none of ours."""
    from pypdf import Configuration

    return Configuration(
        zlib_maximum_output_length=20_000_000,
        lzw_maximum_output_length=20_000_000,
        run_length_maximum_output_length=20_000_000,
        array_based_stream_maximum_output_length=20_000_000,
        jbig2_maximum_output_length=1_000_000,
        image_maximum_buffer_size=20_000_000,
        stream_filters_maximum_length=3,
        stream_decoding_work_maximum_length=40_000_000,
        stream_parsing_work_maximum_count=300_000,
        page_tree_maximum_entries=1_000,
        page_tree_maximum_depth=10,
        page_tree_maximum_page_entries=20_000,
        xform_maximum_invocations_per_extraction=5,
        named_destinations_maximum_entries=100,
        named_destinations_maximum_depth=10,
        jbig2dec_binary=None,
    )


def _open(content: bytes, name: str) -> "PdfReader":
    from pypdf import PdfReader

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # its warnings are no news to a user
    with _understood(f"{name} cannot be read as a PDF"):
        reader = PdfReader(io.BytesIO(content))
        objects = sum(map(len, reader.xref.values())) + len(reader.xref_objStm)
        if objects > _MOST_OBJECTS or len(reader.pages) > _MOST_PAGES:
            raise BrokenSealError(f"{name} has too much in it to be a printed record.")
        return reader


def _attached(reader: "PdfReader") -> bytes:
    with _understood("The PDF's attachments cannot be read"):
        found = reader.attachments.get(ATTACHMENT, [])
    if len(found) != 1:
        raise BrokenSealError(
            f"The PDF has {'no' if not found else 'more than one'} attachment named {ATTACHMENT}, "
            "so it is not a record as it was printed. Ask for the file as it was first sent."
        )
    if len(found[0]) > _LARGEST_ATTACHED:
        raise BrokenSealError(f"The PDF's attachment {ATTACHMENT} is far too large to be a record.")
    return found[0]


def _same_layout(reader: "PdfReader") -> bool:
    with _understood("The PDF's description cannot be read"):
        metadata = reader.root_object.get("/Metadata")
        said = b"" if metadata is None else metadata.get_object().get_data()
        return f'"{layout()}"'.encode() in said


# Pages that this version can print again.


class _Pages(NamedTuple):
    """What is to be said of pages; nothing where they are the record's own, whole."""

    complaints: tuple[str, ...] = ()
    why_not_compared: str = ""
    left_out: tuple[str, ...] = ()


def _against_print(
    content: bytes, reader: "PdfReader", sealed: SealedRecord, originals: Photo
) -> _Pages:
    """Return what differs from a fresh print, or why it could not be compared."""
    from pypdf import PdfReader

    from logic.records.paper.document import TooManyPagesError
    from logic.records.paper.photos import photos_of
    from logic.records.paper.print_differences import (
        drawn_differences,
        pages_as_text,
        text_differences,
    )
    from logic.records.paper.same_print import is_same_print

    shown = _photos_shown(reader)
    named = {digest for _, digest in photos_of(sealed.record)}
    at_hand = {digest: originals(digest) for digest in named - set(shown)}
    most = len(reader.pages) + _MORE_PAGES
    try:
        fresh = compose(sealed, shown.get, most)
        if is_same_print(content, fresh):
            return _Pages(left_out=tuple(_hidden(sealed, at_hand, shown)))
        if any(at_hand.values()):
            fresh = compose(sealed, {**at_hand, **shown}.get, most)
            if is_same_print(content, fresh):
                return _Pages()
    except TooManyPagesError:
        return _Pages((f"It has {len(reader.pages)} pages; the record prints more than {most}.",))
    again = PdfReader(io.BytesIO(fresh))
    with _understood("The PDF's pages cannot be read"):
        said = list(text_differences(pages_as_text(reader), pages_as_text(again)))
        if not said and set(shown) - named and _may_be_others(at_hand):
            return _Pages(why_not_compared=_NO_ORIGINALS)
        drawn = list(drawn_differences(reader, again))
    return _Pages((*said, *drawn), "" if said or drawn else _SAVED_ANEW)


def _photos_shown(reader: "PdfReader") -> dict[str, bytes]:
    """Return the pictures on the pages as they were put in, by their hashes."""
    from pypdf.generic import DictionaryObject, StreamObject

    found: dict[str, bytes] = {}
    with _understood("The PDF's pictures cannot be read"):
        for page in reader.pages:
            pictures: object = page
            for below in ("/Resources", "/XObject"):
                if isinstance(pictures, DictionaryObject):
                    pictures = pictures.get(below, DictionaryObject()).get_object()
            if isinstance(pictures, DictionaryObject):
                for one in pictures.values():
                    picture = one.get_object()
                    if isinstance(picture, StreamObject) and picture.get("/Filter") == _JPEG:
                        data = picture.get_data()
                        found[sha256(data).hexdigest()] = data
    return found


def _may_be_others(at_hand: Mapping[str, Path | bytes | None]) -> bool:
    """Return whether strange pictures may be those of photos that are neither shown nor at hand.

    A photo at hand that goes on a page byte for byte would be there: that one was replaced.
    """
    from logic.records.paper.photos import as_it_is

    here = [one for one in at_hand.values() if one is not None]
    whole = [one.read_bytes() if isinstance(one, Path) else one for one in here]
    return len(here) < len(at_hand) and not any(map(as_it_is, whole))


def _hidden(
    sealed: SealedRecord, at_hand: Mapping[str, Path | bytes | None], shown: Mapping[str, bytes]
) -> Iterator[str]:
    """Name the photos that would be on a print made here, and are not on this one."""
    from logic.records.paper.photos import photos_of, pictures_of

    if not any(at_hand.values()):
        return
    pictures = pictures_of(sealed.record, {**at_hand, **shown}.get)
    for title, digest in photos_of(sealed.record):
        if digest not in shown and pictures[digest]:
            yield f"A photo is left out that is at hand: {title}, SHA-256 {digest}."


def _left_out(reader: "PdfReader", sealed: SealedRecord) -> Iterator[str]:
    from logic.records.paper.photos import photos_of

    named = {digest for _, digest in photos_of(sealed.record)}
    absent = len(named) - len(_photos_shown(reader))
    if absent > 0:
        stand = (
            "photo that the record names is" if absent == 1 else "photos that the record names are"
        )
        yield f"{absent} {stand} not shown on its pages."


# Pages of another version: the hash on them is all that can be looked at.


def _hash_complaints(reader: "PdfReader", found: SealCheck) -> Iterator[str]:
    from logic.records.paper.print_differences import pages_as_text

    with _understood("The PDF's pages cannot be read"):
        pages = pages_as_text(reader)
    yield from _wrong_hashes(chain.from_iterable(pages), found)


def _wrong_hashes(lines: Iterable[str], found: SealCheck) -> Iterator[str]:
    printed = [line for line in lines if re.fullmatch(r"[0-9a-f]{64}", line)]
    if not printed:
        yield "The pages do not show the record's hash."
    for wrong in printed:
        if wrong != found.sha256:
            yield f"The pages show the hash {wrong}, but the attached record has {found.sha256}."
