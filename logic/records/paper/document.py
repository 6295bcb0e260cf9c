"""The PDF being written: PDF/A-3B, our type embedded, nothing printed that the type lacks.

Imports fpdf at the top, so import this module only where a PDF is being written.
"""

import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from hashlib import sha256
from html import escape
from pathlib import Path
from typing import Any, Literal

from fpdf import FPDF
from fpdf.enums import XPos, YPos
from fpdf.fonts import TTFFont

from logic.records.qr import Symbol

Colour = tuple[int, int, int]

FONTS = Path(__file__).parent / "fonts"
FACES = {"": "DejaVuSans.ttf", "B": "DejaVuSans-Bold.ttf"}
FAMILY = "DejaVu"
STAND_IN = "□"

INK: Colour = (20, 24, 28)
SOFT: Colour = (88, 96, 104)
RULE: Colour = (176, 184, 190)
SHADE: Colour = (238, 241, 243)
_BLACK: Colour = (0, 0, 0)
_NO_FILL = 0  # what fpdf2 begins with, and takes for no shade at all

MARGIN = 15.0  # mm
WIDTH = 210 - 2 * MARGIN  # mm, between the margins of A4
_PAGES = "\u2060pages\u2060"  # word joiners never survive clean(), so no note can forge it


class ArchivePdf(FPDF):
    """A PDF/A-3B document of any size; sizes in millimetres, type in points.

    ``lacking`` tells whether a letter had to be replaced by a box.
    """

    def __init__(self, size: str | tuple[float, float]) -> None:
        super().__init__(format=size, enforce_compliance="PDF/A-3B")
        for style, file in FACES.items():
            self.add_font(FAMILY, style, FONTS / file)
        faces = [face for face in self.fonts.values() if isinstance(face, TTFFont)]
        self._covered = set.intersection(*(set(face.cmap) for face in faces)) | {ord("\n")}
        self.lacking = False
        self._id = ""
        self.set_lang("en")

    def describe(self, title: str, creator: str, made_at: datetime, identity: str) -> None:
        """Say what the document is, so that the same content is always the same file.

        fpdf2 would write the present moment into the description, and an id of the compressed
        bytes; ``identity`` is what the id is made of instead.
        """
        title, creator = self.clean(title), self.clean(creator)
        self.set_title(title)
        self.set_creator(creator)
        self.set_creation_date(made_at)
        self.set_xmp_metadata(_xmp(title, creator, made_at))
        self._id = sha256(identity.encode()).hexdigest()[:32].upper()

    def file_id(self) -> str | Literal[-1] | None:
        """Return the file's id (ISO 32000-1, 14.4) as fpdf2 asks for it."""
        return f"<{self._id}><{self._id}>" if self._id else -1

    def clean(self, text: str) -> str:
        """Leave only what the type can show; what it lacks becomes a box, and is remembered."""
        text = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\t", " "))
        text = re.sub(r"\n{3,}", "\n\n", text.replace("\r", "\n"))
        return "".join(map(self._shown, text))

    def _shown(self, letter: str) -> str:
        if letter != "\n" and unicodedata.category(letter) in ("Cc", "Cf", "Zl", "Zp"):
            return " "
        if ord(letter) in self._covered:
            return letter
        self.lacking = True
        return STAND_IN

    def write_in(self, size: float, style: str = "", colour: Colour = INK) -> None:
        """Choose size, weight and colour of what is written next.

        Parameters
        ----------
        size : pt
        """
        self.set_font(FAMILY, style, size)
        self.set_text_color(*colour)

    @contextmanager
    def filled(self, colour: Colour) -> Iterator[None]:
        """Fill shapes in a colour, and no longer: a table shades its cells in what was set last."""
        self.set_fill_color(*colour)
        try:
            yield
        finally:
            self.set_fill_color(_NO_FILL)

    def draw_code(self, code: Symbol, left: float, top: float, side: float) -> None:
        """Draw a QR code.

        Parameters
        ----------
        left, top : mm
        side : mm
            Of the dark part; the quiet zone lies outside.
        """
        module = side / code.size
        with self.filled(_BLACK):
            for row, column, length in code.bars():
                self.rect(
                    left + column * module, top + row * module, length * module, module, style="F"
                )


def _xmp(title: str, creator: str, made_at: datetime) -> str:
    """Return the description in XMP (ISO 16684-1), with what ISO 19005-3 asks of it."""
    when = made_at.astimezone(UTC).isoformat(timespec="seconds")
    return f"""\
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about=""
    xmlns:dc="http://purl.org/dc/elements/1.1/"
    xmlns:xmp="http://ns.adobe.com/xap/1.0/"
    xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"
    xmp:CreatorTool="{escape(creator)}"
    xmp:CreateDate="{when}"
    xmp:ModifyDate="{when}"
    xmp:MetadataDate="{when}">
   <pdfaid:part>3</pdfaid:part>
   <pdfaid:conformance>B</pdfaid:conformance>
   <dc:title><rdf:Alt>
    <rdf:li xml:lang="x-default">{escape(title)}</rdf:li>
   </rdf:Alt></dc:title>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>"""


class TooManyPagesError(Exception):
    """A record prints more pages than were asked for."""


class RecordPdf(ArchivePdf):
    """One record on A4, with heading, footing and parts that keep together.

    With ``most_pages`` it gives up beyond so many, by :class:`TooManyPagesError`.
    """

    def __init__(self, heading: str, footing: str, most_pages: int | None = None) -> None:
        super().__init__("A4")
        self._most_pages = most_pages
        self.heading, self.footing = self.clean(heading), self.clean(footing)
        self.set_margins(MARGIN, MARGIN, MARGIN)
        self.set_auto_page_break(True, margin=20)
        self.alias_nb_pages(_PAGES)
        self.write_in(9)
        self.add_page()

    def add_page(self, *arguments: Any, **more: Any) -> None:
        """Begin a page, unless that is one too many."""
        if self._most_pages is not None and self.page >= self._most_pages:
            raise TooManyPagesError
        super().add_page(*arguments, **more)

    def header(self) -> None:
        """Name the document on every page after the first."""
        if self.page_no() == 1:
            return
        self.write_in(8, colour=SOFT)
        self.cell(0, 5, self.heading, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.rule()
        self.ln(2)

    def footer(self) -> None:
        """Number every page and name the record's hash."""
        self.set_y(-15)
        self.rule()
        self.write_in(6.2, colour=SOFT)  # the whole hash and a moment beside the page's number
        self.cell(WIDTH - 24, 5, self.footing)
        self.write_in(7, colour=SOFT)
        self.cell(24, 5, f"page {self.page_no()} of {_PAGES}")

    def draw_in(self, colour: Colour, width: float) -> None:
        """Choose the colour of lines drawn next, and their width.

        Parameters
        ----------
        width : mm
        """
        self.set_draw_color(*colour)
        self.set_line_width(width)

    def rule(self) -> None:
        """Draw a thin line across the page here."""
        self.draw_in(RULE, 0.2)
        self.line(MARGIN, self.get_y(), MARGIN + WIDTH, self.get_y())

    def keep(self, height: float) -> None:
        """Begin a new page unless this height still fits on this one.

        Parameters
        ----------
        height : mm
        """
        room = self.page_break_trigger - self.get_y()
        if height > room and self.get_y() > self.t_margin + 10:
            self.add_page()

    def paragraph(self, text: str, width: float = 0, indent: float = 0, line: float = 4.4) -> None:
        """Write a text wrapped to the page, or to a width, and go on under it.

        Parameters
        ----------
        width, indent, line : mm
            ``line`` is the height of one line.
        """
        self.set_x(MARGIN + indent)
        self.multi_cell(
            width or WIDTH - indent,
            line,
            self.clean(text),
            align="L",
            new_x=XPos.LMARGIN,
            new_y=YPos.NEXT,
        )

    def section(self, text: str, follows: float = 16) -> None:
        """Write a section's title, with room under it for what follows.

        Parameters
        ----------
        follows : mm
        """
        self.keep(10 + follows)
        self.ln(3)
        self.write_in(11, "B")
        self.paragraph(text, line=6)
        self.rule()
        self.ln(1.2)
        self.write_in(9)
