"""The record's tables, set by fpdf2: checks with their verdicts, labels with words, and lists.

fpdf2 wraps the cells, repeats the headings on every page and never parts a row. It refuses a row
that no page can hold, so a long text is given to it in several rows.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

from fpdf.enums import CellBordersLayout, MethodReturnValue, TableBordersLayout
from fpdf.fonts import FontFace
from fpdf.table import Row, Table

from logic.records.paper.document import INK, RULE, SHADE, SOFT, WIDTH, Colour, RecordPdf

HEADINGS = ("What was checked", "Found", "Limits", "Meter ±", "Verdict")
_COLUMNS = (62.0, 30.0, 34.0, 20.0, 34.0)  # mm
_LABEL, _BULLET = 48.0, 4.0  # mm
# fpdf2 keeps rows that one cell spans on one page. So an empty cell, too thin to be seen, spans
# a check and the details under it.
_SPANNING = 0.01  # mm

_LINE = 4.0  # mm
_MOST_LINES = 15  # of a text in one row, and of the details that stay on their check's page
_LONGEST_TITLE = 200  # characters
_LONGEST_FOUND = 60  # characters

# From a cell's border to its text, in mm.
_ABOVE, _BELOW, _SIDE, _INDENT = 1.1, 1.1, 1.0, 6.0

_SECTION = FontFace(emphasis="B", size_pt=11, color=INK)
_HEADING = FontFace(emphasis="B", size_pt=7.5, color=SOFT)
_DETAIL = FontFace(emphasis="", size_pt=8, color=SOFT)
_BOLD_DETAIL = FontFace(emphasis="B", size_pt=8, color=INK)
_TEXT = FontFace(emphasis="", size_pt=8.5, color=INK)
_LIST_TEXT = FontFace(emphasis="", size_pt=9, color=INK)
_BOX_TEXT = FontFace(emphasis="B", size_pt=10, color=INK)
_RULED, _NOT_RULED = CellBordersLayout.BOTTOM, CellBordersLayout.NONE


@dataclass(frozen=True)
class Detail:
    """A text under a check, across the page; bold where it matters enough."""

    text: str
    bold: bool = False


@dataclass(frozen=True)
class Check:
    """One line of the table: a text under each of ``HEADINGS``, and the details under it.

    ``ink`` is the verdict's colour; an exception is shaded.
    """

    title: str
    found: str
    limits: str
    uncertainty: str
    verdict: str
    ink: Colour
    details: Sequence[Detail] = ()
    is_exception: bool = False


def checks(
    pdf: RecordPdf, title: str, rows: Iterable[Check], headings: Sequence[str] = HEADINGS
) -> None:
    """Write a titled table of checks; title and headings stand on every page that it reaches."""
    pdf.ln(3)
    pdf.draw_in(RULE, 0.2)
    with (
        pdf.use_font_face(_TEXT),
        pdf.table(
            width=WIDTH,
            col_widths=(_SPANNING, *_COLUMNS),
            num_heading_rows=2,
            borders_layout=TableBordersLayout.NONE,
            line_height=_LINE,
            text_align="L",
            v_align="T",
        ) as table,
    ):
        head = table.row(style=_SECTION)
        head.cell(pdf.clean(title), colspan=6, padding=(1, 0, 1.4, 0), border=_RULED)
        head = table.row(style=_HEADING)
        for text in ("", *headings):
            _cell(head, text, ends=True)
        for check in rows:
            _add(table, pdf, check)


def _add(table: Table, pdf: RecordPdf, check: Check) -> None:
    title, found, details = _fitting(check)
    pieces = list(_pieces(pdf, details))
    kept = _kept([piece for piece, _ in pieces])
    shade = FontFace(fill_color=SHADE) if check.is_exception else None
    row = table.row(style=shade)
    row.cell("", rowspan=1 + kept)
    for text in (title, found, check.limits, check.uncertainty):
        _cell(row, pdf.clean(text), ends=not pieces)
    verdict = FontFace(emphasis="B", color=check.ink)
    _cell(row, pdf.clean(check.verdict), style=verdict, ends=not pieces)
    for number, (piece, face) in enumerate(pieces, start=1):
        last = number == len(pieces)
        table.row(style=shade).cell(
            piece,
            style=face,
            colspan=5 if number <= kept else 6,
            padding=(0, _SIDE, _BELOW if last else 0, _INDENT),
            border=_RULED if last else _NOT_RULED,
        )


def _cell(row: Row, text: str, ends: bool, style: FontFace | None = None) -> None:
    """Add a cell; ``ends`` where the line under it ends the check."""
    padding = (_ABOVE, _SIDE, _BELOW if ends else 0, _SIDE)
    row.cell(text, style=style, padding=padding, border=_RULED if ends else _NOT_RULED)


def _fitting(check: Check) -> tuple[str, str, Sequence[Detail]]:
    """Return title and finding short enough for their cells, and the details with their rest."""
    title, found = " ".join(check.title.split()), " ".join(check.found.split())
    details = check.details
    if len(found) > _LONGEST_FOUND:
        found, details = "see under", (Detail(check.found), *details)
    if len(title) > _LONGEST_TITLE:
        title, details = f"{title[:_LONGEST_TITLE]}…", (Detail(check.title), *details)
    return title, found, details


def _pieces(pdf: RecordPdf, details: Iterable[Detail]) -> Iterator[tuple[str, FontFace]]:
    for detail in details:
        face = _BOLD_DETAIL if detail.bold else _DETAIL
        for piece in _wrapped(pdf, detail.text, WIDTH - _INDENT - _SIDE, face):
            yield piece, face


def _wrapped(pdf: RecordPdf, text: str, width: float, face: FontFace) -> Iterator[str]:
    """Yield a text in as many pieces as rows can hold; ``width`` in mm."""
    with pdf.use_font_face(face):
        lines: Any = pdf.multi_cell(
            width, _LINE, pdf.clean(text), dry_run=True, output=MethodReturnValue.LINES
        )
    for first in range(0, len(lines), _MOST_LINES):
        yield "\n".join(lines[first : first + _MOST_LINES])


def _kept(pieces: Sequence[str]) -> int:
    """Count the pieces that stay on their check's page."""
    lines = accumulate(piece.count("\n") + 1 for piece in pieces)
    return sum(1 for total in lines if total <= _MOST_LINES)


def pairs(pdf: RecordPdf, rows: Iterable[tuple[str, str]]) -> None:
    """Write label and words side by side, a row each."""
    _two_columns(pdf, rows, _LABEL, FontFace(color=SOFT), _TEXT)


def bullets(pdf: RecordPdf, texts: Iterable[str]) -> None:
    """Write a list of texts, a bullet before each."""
    _two_columns(pdf, (("•", text) for text in texts), _BULLET, FontFace(color=INK), _LIST_TEXT)


def box(pdf: RecordPdf, *texts: str) -> None:
    """Write texts that everybody should see first, a line each, on a shaded ground."""
    with (
        pdf.use_font_face(_BOX_TEXT),
        pdf.table(
            width=WIDTH,
            first_row_as_headings=False,
            borders_layout=TableBordersLayout.NONE,
            line_height=5,
            padding=(1.5, 4, 1.5, 4),
            text_align="L",
        ) as table,
    ):
        shown = "\n".join(text for text in texts if text)
        table.row(style=FontFace(fill_color=SHADE)).cell(pdf.clean(shown))
    pdf.ln(1.5)


def _two_columns(
    pdf: RecordPdf, rows: Iterable[tuple[str, str]], first: float, left: FontFace, right: FontFace
) -> None:
    """Write two columns, the first of a width in mm, each in its own type."""
    with (
        pdf.use_font_face(right),
        pdf.table(
            width=WIDTH,
            col_widths=(first, WIDTH - first),
            first_row_as_headings=False,
            borders_layout=TableBordersLayout.NONE,
            line_height=_LINE,
            padding=(0, _SIDE, 0.6, _SIDE),
            text_align="L",
            v_align="T",
        ) as table,
    ):
        for label, text in rows:
            beside = label
            for piece in _wrapped(pdf, text, WIDTH - first - 2 * _SIDE, right):
                row = table.row()
                row.cell(pdf.clean(beside), style=left)
                row.cell(piece)
                beside = ""
