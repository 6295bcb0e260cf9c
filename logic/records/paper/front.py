"""The first page of a printed record, for the customer; and the head of the proof after it.

Imports fpdf, so import this module only where a PDF is being written.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from fpdf.enums import MethodReturnValue

from logic.records.front_page import (
    FrontPage,
    customer_words,
    front_page,
    odometer_words,
    place_of,
    technician_words,
)
from logic.records.paper.circuit import circuits
from logic.records.paper.document import INK, MARGIN, SOFT, WIDTH, RecordPdf
from logic.records.paper.signatures import sign_here, signing_height
from logic.records.paper.tables import box, pairs
from logic.records.qr import hash_text, symbol
from logic.records.record import Record, SealedRecord
from logic.words.dates import moment
from logic.words.names import in_words

_CODE_SIDE = 22.0  # mm
# Points; the first that leaves room for the signatures. The last are for names without end.
_SIZES = (8.5, 8.0, 7.5, 7.0, 6.5, 6.0, 5.5)
_LINE = 0.42  # mm of height for each point of type
_LABEL, _BULLET, _AFTER = 42.0, 5.0, 0.5  # mm
_TITLE_HEIGHT = 7.0  # mm


@dataclass(frozen=True)
class _Line:
    """A row of the page: a label ("" for none) before a text; without a label it is a title.

    ``indent`` is the width of the label in mm.
    """

    text: str
    label: str | None = None
    indent: float = 0.0


def front(pdf: RecordPdf, sealed: SealedRecord) -> None:
    """Write the page that says to the customer what this is about, down to the signatures."""
    page = front_page(sealed.record, sealed.private)
    _head(pdf, sealed, page)
    box(pdf, page.headline, page.outcome)
    circuits(pdf, page.circuits)
    _parts(pdf, page)
    sign_here(pdf, page)


def _head(pdf: RecordPdf, sealed: SealedRecord, page: FrontPage) -> None:
    right = 210 - MARGIN - _CODE_SIDE
    pdf.draw_code(symbol(hash_text(sealed.sha256)), right, MARGIN, _CODE_SIDE)
    pdf.write_in(6.5, colour=SOFT)
    pdf.set_xy(right, MARGIN + _CODE_SIDE + 1.5)
    pdf.cell(_CODE_SIDE, 3, "hash of this record", align="C")
    pdf.set_y(MARGIN)
    pdf.write_in(15, "B")
    pdf.paragraph(page.title, width=148, line=7)
    pdf.write_in(9.5, colour=SOFT)
    pdf.paragraph(page.workshop, width=148, line=4.6)
    pdf.write_in(11, "B")
    pdf.paragraph(page.vehicle, width=148, line=5.4)
    pdf.ln(0.8)
    pdf.write_in(8.5)
    for label, text in page.about:
        pdf.paragraph(f"{label}: {text}", width=148, line=4)
    pdf.set_y(max(pdf.get_y(), MARGIN + _CODE_SIDE + 4.5) + 1.5)


def _parts(pdf: RecordPdf, page: FrontPage) -> None:
    """Write the titled parts, in type so small that the signatures still find room under them."""
    lines = [*_lines(page)]
    room = pdf.page_break_trigger - pdf.get_y() - signing_height(pdf, page)
    fitting = (size for size in _SIZES if sum(_height(pdf, one, size) for one in lines) <= room)
    size = next(fitting, _SIZES[-1])
    for one in lines:
        _write(pdf, one, size)


def _lines(page: FrontPage) -> Iterator[_Line]:
    for part in page.parts:
        yield _Line(part.title)
        for label, text in part.rows:
            is_item = not label and len(part.rows) > 1
            indent = _BULLET if is_item else _LABEL if label else 0.0
            yield _Line(text, "•" if is_item else label, indent)


def _height(pdf: RecordPdf, line: _Line, size: float) -> float:
    """Return how high a line of the page is, in mm, at a size of type in points."""
    if line.label is None:
        return _TITLE_HEIGHT * size / _SIZES[0]
    pdf.write_in(size)
    texts = ((line.text, WIDTH - line.indent), (line.label, line.indent))
    counts = [_count(pdf, text, width) for text, width in texts if text]
    return max(counts, default=1) * _LINE * size + _AFTER


def _count(pdf: RecordPdf, text: str, width: float) -> int:
    lines: Any = pdf.multi_cell(
        width, 1, pdf.clean(text), align="L", dry_run=True, output=MethodReturnValue.LINES
    )
    return len(lines)


def _write(pdf: RecordPdf, line: _Line, size: float) -> None:
    height = _height(pdf, line, size)
    if line.label is None:
        pdf.keep(2 * height)
        top = pdf.get_y()
        pdf.set_y(top + 0.2 * height)
        pdf.write_in(size + 1, "B")
        pdf.paragraph(line.text, line=0.65 * height)
        pdf.rule()
        pdf.set_y(top + height)
        return
    pdf.keep(height)
    top, row = pdf.get_y(), _LINE * size
    for text, left, width, colour in (
        (line.label, 0.0, line.indent, SOFT),
        (line.text, line.indent, WIDTH - line.indent, INK),
    ):
        if text:
            pdf.write_in(size, colour=colour)
            pdf.set_xy(MARGIN + left, top)
            pdf.multi_cell(width, row, pdf.clean(text), align="L")
    pdf.set_y(top + height)


def about(pdf: RecordPdf, sealed: SealedRecord) -> None:
    """Say which vehicle, which job and which version this is, for who checks the record."""
    record = sealed.record
    previous = record.previous_sha256 or "none: this is the first revision"
    pdf.section("About this record")
    pairs(
        pdf,
        (
            ("Workshop", record.technician.workshop or "not given"),
            ("Technician", technician_words(record)),
            ("Customer", customer_words(sealed.private)),
            ("Vehicle", record.vehicle.description or "not described"),
            ("VIN", record.vehicle.vin or "not given"),
            ("Odometer", odometer_words(record)),
            ("Work begun", moment(record.local(record.opened_at))),
            ("Signed", moment(record.signed_at)),
            ("Place", place_of(record, sealed.private) or "not given"),
            ("Revision", str(record.revision)),
            ("Hash of the one before", previous),
            ("Checklist", _checklist(record)),
            ("Job id", record.job_id),
            ("Vehicle id", record.vehicle_id),
            ("Written by", f"Voltwalk {record.app_version}"),
        ),
    )


def _checklist(record: Record) -> str:
    if not record.checklist_id:
        return "none"
    mark = f", SHA-256 begins {record.checklist_sha256[:16]}" if record.checklist_sha256 else ""
    depth = f", {record.depth.words.lower()}" if record.depth else ""
    return f"{in_words(record.checklist_id)}, version {record.checklist_version}{depth}{mark}"
