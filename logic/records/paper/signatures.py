"""Both signatures of a printed record, and the seal with how to check it."""

from logic.records.front_page import FrontPage, Signer
from logic.records.keys import key_id
from logic.records.paper.document import INK, MARGIN, RULE, SOFT, WIDTH, RecordPdf
from logic.records.paper.tables import pairs
from logic.records.record import SealedRecord, Signature, Stroke
from logic.words.digits import in_groups

_BOX = (84.0, 22.0)  # mm, width and height
_APART = 12.0  # mm
_NAMES, _NAME_LINE = 8.0, 3.8  # points, mm


def signing_height(pdf: RecordPdf, page: FrontPage) -> float:
    """Return how high :func:`sign_here` is with these names, in mm."""
    pdf.write_in(_NAMES)
    widest = max(pdf.get_string_width(pdf.clean(_name(signer))) for signer in page.signers)
    lines = (
        2 + widest // (_BOX[0] - 4) + pdf.get_string_width(pdf.clean(page.signed)) // (WIDTH - 4)
    )
    return _BOX[1] + 4 + _NAME_LINE * lines


def sign_here(pdf: RecordPdf, page: FrontPage) -> None:
    """Draw both signatures, or say that they were left out."""
    pdf.keep(signing_height(pdf, page))
    pdf.ln(2)
    if any(signer.drawn is None for signer in page.signers):
        pdf.write_in(8.5)
        pdf.paragraph(
            "Signatures: left out of this copy, or erased on request. The record's hash still "
            "covers them."
        )
    else:
        top, bottoms = pdf.get_y(), []
        for number, signer in enumerate(page.signers):
            pdf.set_y(top)
            _signature(pdf, signer, MARGIN + number * (_BOX[0] + _APART))
            bottoms.append(pdf.get_y())
        pdf.set_y(max(bottoms))
    pdf.write_in(_NAMES)
    pdf.paragraph(page.signed, line=_NAME_LINE)


def _signature(pdf: RecordPdf, signer: Signer, left: float) -> None:
    top, drawn = pdf.get_y(), signer.drawn or Signature()
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
    pdf.write_in(_NAMES)
    pdf.set_xy(left, top + _BOX[1] + 1)
    pdf.multi_cell(_BOX[0], _NAME_LINE, pdf.clean(_name(signer)), align="L")


def _name(signer: Signer) -> str:
    return f"{signer.role}: {signer.name or 'no name given'}"


def _shortened(text: str, limit: int = 180) -> str:
    """Keep a reason inside the box; the attached record has it whole."""
    return text if len(text) <= limit else f"{text[:limit]}…"


def _stroke(pdf: RecordPdf, stroke: Stroke, left: float, top: float) -> None:
    width, height = _BOX[0] - 6, _BOX[1] - 4
    points = [
        (left + min(max(x, 0), 1) * width, top + (1 - min(max(y, 0), 1)) * height)
        for x, y in stroke
    ]
    if len(points) == 1:
        with pdf.filled(INK):
            pdf.ellipse(points[0][0] - 0.3, points[0][1] - 0.3, 0.6, 0.6, style="F")
    elif points:
        pdf.polyline(points)


def seal(pdf: RecordPdf, sealed: SealedRecord) -> None:
    """Show hash, signature and key whole, to be typed or copied, and say how to check them."""
    pdf.section("Seal", follows=62 if sealed.signature else 40)
    pdf.write_in(8)
    pdf.paragraph("SHA-256 of the record attached to this document:")
    pdf.write_in(8.5, "B")
    pdf.paragraph(sealed.sha256)
    if signature := sealed.signature:
        pdf.ln(1)
        pairs(
            pdf,
            (
                ("Signature (Ed25519)", in_groups(signature.signature)),
                ("Signed with the key", in_groups(signature.key)),
                ("Short name of the key", key_id(signature.key)),
            ),
        )
        pdf.ln(1)
    else:
        pdf.write_in(8.5)
        pdf.paragraph("It was sealed without a device's signature, as before release 0.2.")
    pdf.write_in(8.5)
    pdf.paragraph(
        "The record itself is attached to this document twice: as voltwalk-record.json, with names "
        "and signatures, and as voltwalk-record-hashed.txt, which is the very text that has the "
        "hash above (canonical JSON, RFC 8785); sha256sum or any such program shows it. "
        "“voltwalk-office verify” does that check and holds these pages against the record. "
        "Compare all 64 digits: a part of them can be matched by a forged record. "
        "Later work is a new revision that names this hash."
    )
    if pdf.lacking:
        pdf.paragraph(
            "A box (□) stands for a letter that this document's type lacks; the attached record "
            "holds the text as it was entered."
        )
