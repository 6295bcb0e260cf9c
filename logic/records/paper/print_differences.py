"""What a PDF shows or carries that a fresh print of its record does not, in sentences.

The PDF is walked beside the print, both as pypdf understands them, so the print bounds the walk.
That names what was changed. It proves nothing where it finds nothing: a viewer may take a file
otherwise than pypdf does. :mod:`logic.records.paper.same_print` alone says that pages agree.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import TYPE_CHECKING, Any

from logic.errors import BrokenSealError

if TYPE_CHECKING:
    from pypdf import PdfReader

MOST_DRAWN = 8_000_000  # bytes on all pages; assumed: ten times a record of a hundred pages
_MOST_UNPACKED = 100_000_000  # bytes of a file's streams, each as often as it is looked at
_MOST_NAMED = 6

Lines = list[list[str]]


def pages_as_text(reader: "PdfReader") -> Lines:
    """Return each page's lines, with single spaces.

    Raises
    ------
    BrokenSealError
        There is far more on the pages than any record prints.
    """
    drawn, found = 0, []
    for page in reader.pages:
        contents = page.get_contents()
        drawn += len(contents.get_data()) if contents is not None else 0
        if drawn > MOST_DRAWN:
            raise BrokenSealError(
                "There is too much on the PDF's pages for a printed record. Ask for the file as "
                "it was first sent."
            )
        found.append(page.extract_text())
    return [
        [" ".join(line.split()) for line in text.splitlines() if line.strip()] for text in found
    ]


def text_differences(printed: Lines, due: Lines) -> Iterator[str]:
    """Compare the pages' lines with those the record prints, whatever page they stand on."""
    given, expected = (Counter(_lasting(pages, due)) for pages in (printed, due))
    for line in list(given - expected)[:_MOST_NAMED]:
        yield f"The pages say “{line}”, which the record does not."
    for line in list(expected - given)[:_MOST_NAMED]:
        yield f"The record says “{line}”, which the pages do not."


def _lasting(pages: Lines, due: Lines) -> Iterator[str]:
    """Leave out what depends on where pages break and on which photos were at hand."""
    from logic.records.paper.photos import STAND_IN
    from logic.records.paper.tables import HEADINGS

    moving = {
        " ".join(HEADINGS),
        *(_numberless(page[-1]) for page in due if page),
        *(page[0] for page in due[1:] if page),
    }
    for line in chain.from_iterable(pages):
        if line not in STAND_IN and _numberless(line) not in moving:
            yield line


def _numberless(line: str) -> str:
    return re.sub(r"page \d+ of \d+$", "page", line)


def drawn_differences(given: "PdfReader", fresh: "PdfReader") -> Iterator[str]:
    """Compare pages, fonts, pictures, and what a file carries beside its pages.

    Raises
    ------
    BrokenSealError
        The PDF's streams unpack to far more than any record holds.
    """
    comparing = _Comparing()
    if len(given.pages) != len(fresh.pages):
        yield f"It has {len(given.pages)} pages; the record prints {len(fresh.pages)}."
    for number, (one, due) in enumerate(zip(given.pages, fresh.pages, strict=False), start=1):
        keys = {str(key) for key in comparing.differing(one, due)}
        yield from (said.format(number) for said in _said(keys, _ON_PAGE, _PAGE))
    keys = {str(key) for key in comparing.differing(given.root_object, fresh.root_object)}
    yield from _said(keys, _IN_FILE, _FILE)


_ON_PAGE = {
    "/Contents": "What is drawn on page {} is not what the record prints.",
    "/Font": "A font of page {} is not the one that the record prints.",
    "/XObject": "A picture of page {} is not the one that the record prints.",
    "/Annots": "Something is laid over page {} that the record does not print.",
    "/MediaBox": "Page {} shows another part of its sheet than the record prints.",
    "/CropBox": "Page {} shows another part of its sheet than the record prints.",
    "/Rotate": "Page {} is turned.",
    "/AA": "Page {} does something when it is opened.",
}
_PAGE = "Page {} is made otherwise than the record prints it."
_IN_FILE = {
    "/AcroForm": "It has a form, which no printed record has.",
    "/OpenAction": "It does something else when it is opened than a printed record does.",
    "/AA": "It does something when it is opened, which no printed record does.",
    "/OCProperties": "It has layers that can be hidden, which no printed record has.",
    "/Names": "Other files, or scripts, are attached to it than to the printed record.",
    "/AF": "Other files are attached to it than to the printed record.",
}
_FILE = "It carries something beside its pages that the printed record does not."


def _said(keys: Iterable[str], words: dict[str, str], otherwise: str) -> list[str]:
    return sorted({words.get(key, otherwise) for key in keys})


class _Comparing:
    """Two objects of two files held against each other, as far as the second one goes."""

    # What says nothing of how a page looks, or is looked at by itself: how a stream was packed,
    # the tree of pages, the description.
    _LEFT_OUT = frozenset({"/Length", "/DecodeParms", "/Parent", "/Pages", "/Metadata", "/Type"})

    def __init__(self) -> None:
        self._seen: set[tuple[int, int]] = set()
        self._unpacked = 0

    def differing(self, one: Any, due: Any) -> Iterator[str]:
        """Yield the keys of two dictionaries under which they differ."""
        from pypdf import PageObject

        are_pages = isinstance(one, PageObject) and isinstance(due, PageObject)
        for key in {*one, *due} - self._LEFT_OUT:
            if key not in one or key not in due:
                yield key
            elif are_pages and key == "/Contents":
                if self._drawn(one) != self._drawn(due):
                    yield key
            elif are_pages and key == "/Resources":
                yield from self.differing(one[key], due[key])
            elif not self._alike(one.raw_get(key), due.raw_get(key)):
                yield key

    def _drawn(self, page: Any) -> bytes:
        contents = page.get_contents()
        return b"" if contents is None else self._data(contents)

    def _alike(self, one: Any, due: Any) -> bool:
        from pypdf.generic import (
            ArrayObject,
            DictionaryObject,
            IndirectObject,
            StreamObject,
        )

        if isinstance(one, IndirectObject) and isinstance(due, IndirectObject):
            pair = one.idnum, due.idnum
            if pair in self._seen:
                return True
            self._seen.add(pair)
        one, due = (each.get_object() if each is not None else None for each in (one, due))
        if isinstance(one, StreamObject) and isinstance(due, StreamObject):
            filters = (_of_picture(one), _of_picture(due))
            return (
                filters[0] == filters[1]
                and not (set(self.differing(one, due)) - {"/Filter"})
                and self._data(one) == self._data(due)
            )
        if isinstance(one, StreamObject) or isinstance(due, StreamObject):
            return False
        if isinstance(one, DictionaryObject) and isinstance(due, DictionaryObject):
            if one.get("/Type") == due.get("/Type") == "/Page":
                return True  # named from elsewhere; pages are compared one by one
            return not any(True for _ in self.differing(one, due))
        if isinstance(one, ArrayObject) and isinstance(due, ArrayObject):
            return len(one) == len(due) and all(
                self._alike(mine, theirs) for mine, theirs in zip(list(one), list(due), strict=True)
            )
        return bool(one == due)

    def _data(self, stream: Any) -> bytes:
        found: bytes = stream.get_data()
        self._unpacked += len(found)
        if self._unpacked > _MOST_UNPACKED:
            raise BrokenSealError(
                "There is too much packed into the PDF for a printed record. Ask for the file as "
                "it was first sent."
            )
        return found


def _of_picture(stream: Any) -> bool:
    """Return whether a stream's data are a JPEG, which no reader of PDF unpacks."""
    return "/DCTDecode" in str(stream.get("/Filter", ""))
