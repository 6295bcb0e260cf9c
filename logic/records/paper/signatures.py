"""How a printed record ends: both signatures, and the seal with how to check it."""

from logic.records.paper.document import INK, MARGIN, RULE, SOFT, RecordPdf
from logic.records.record import SealedRecord, Signature, Stroke
from logic.words.dates import moment

_BOX = (84.0, 28.0)  # mm, width and height
_APART = 12.0  # mm


def signatures(pdf: RecordPdf, sealed: SealedRecord) -> None:
    """Draw both signatures, or say that they were left out."""
    pdf.section("Signatures", follows=46)
    if sealed.private is None:
        pdf.paragraph(
            "Left out of this copy, or erased on request. The record's hash still covers them."
        )
        return
    private, record = sealed.private, sealed.record
    top = pdf.get_y() + 1
    technician = private.technician_signature
    customer = private.customer_signature
    _signature(pdf, "Technician", technician, technician.name or record.technician.name, MARGIN)
    bottom = pdf.get_y()
    pdf.set_y(top - 1)
    _signature(
        pdf, "Customer", customer, customer.name or private.customer.name, MARGIN + _BOX[0] + _APART
    )
    pdf.set_y(max(bottom, pdf.get_y()))
    pdf.paragraph(f"Signed {moment(record.signed_at)}{_at(record.place)}.")


def _at(place: str) -> str:
    return f" at: {place}" if place else ""


def _signature(pdf: RecordPdf, role: str, drawn: Signature, name: str, left: float) -> None:
    top = pdf.get_y() + 1
    pdf.draw_in(RULE, 0.2)
    pdf.rect(left, top, *_BOX)
    pdf.draw_in(INK, 0.5)
    for stroke in drawn.strokes:
        _stroke(pdf, stroke, left + 3, top + 2)
    if not drawn.strokes:
        pdf.write_in(8.5, colour=SOFT)
        pdf.set_xy(left + 3, top + 2)
        why = f"Not signed: {drawn.absent}" if drawn.absent else "Not signed."
        pdf.multi_cell(_BOX[0] - 6, 4.2, pdf.clean(_shortened(why)), align="L")
    pdf.write_in(8.5)
    pdf.set_xy(left, top + _BOX[1] + 1)
    pdf.multi_cell(_BOX[0], 4.2, pdf.clean(f"{role}: {name or 'no name given'}"), align="L")


def _shortened(text: str, limit: int = 220) -> str:
    """Keep a reason inside the box; the attached record has it whole."""
    return text if len(text) <= limit else f"{text[:limit]}…"


def _stroke(pdf: RecordPdf, stroke: Stroke, left: float, top: float) -> None:
    width, height = _BOX[0] - 6, _BOX[1] - 4
    points = [
        (left + min(max(x, 0), 1) * width, top + (1 - min(max(y, 0), 1)) * height)
        for x, y in stroke
    ]
    if len(points) == 1:
        pdf.set_fill_color(*INK)
        pdf.ellipse(points[0][0] - 0.3, points[0][1] - 0.3, 0.6, 0.6, style="F")
    elif points:
        pdf.polyline(points)


def seal(pdf: RecordPdf, sealed: SealedRecord) -> None:
    """Show the whole hash and say how anybody can check it."""
    pdf.section("Seal", follows=34)
    pdf.write_in(8)
    pdf.paragraph("SHA-256 of the record attached to this document:")
    pdf.write_in(8.5, "B")
    pdf.paragraph(sealed.sha256)
    pdf.write_in(8.5)
    pdf.paragraph(
        "The record itself is attached to this document as voltwalk-record.json. Its part "
        "“record”, written as canonical JSON (RFC 8785), has the hash above; so has the code on "
        "the first page. “voltwalk-office verify” does that check, and so can any program. "
        "Later work is a new revision that names this hash."
    )
    if pdf.lacking:
        pdf.paragraph(
            "A box (□) stands for a letter that this document's type lacks; the attached record "
            "holds the text as it was entered."
        )
