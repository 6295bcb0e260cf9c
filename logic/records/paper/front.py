"""The sheet's first block, the signatures and the seal: who, what, when, and how to check it."""

from logic.records.outcomes import summary
from logic.records.paper.sheet import INK, MARGIN, RULE, SHADE, SOFT, Sheet
from logic.records.paper.table import pairs
from logic.records.qr import hash_text, symbol
from logic.records.record import Record, SealedRecord, Signature
from logic.words.dates import moment
from logic.words.figures import as_stated

_QR_SIDE = 26.0
_BOX = (84.0, 28.0)


def front(sheet: Sheet, sealed: SealedRecord) -> None:
    """Write the title, the hash's code and the block that says what this is about."""
    record = sealed.record
    right = 210 - MARGIN - _QR_SIDE
    sheet.squares(symbol(hash_text(sealed.sha256)), right, MARGIN, _QR_SIDE)
    sheet.write_in(6.5, colour=SOFT)
    sheet.set_xy(right, MARGIN + _QR_SIDE + 2.5)
    sheet.cell(_QR_SIDE, 3, "hash of this record", align="C")
    sheet.set_y(MARGIN)
    kind = "Commissioning" if record.job_kind == "commissioning" else "Fault-finding"
    sheet.write_in(17, "B")
    sheet.paragraph(f"{kind} record", width=140, line=8)
    sheet.write_in(10, colour=SOFT)
    sheet.paragraph(record.technician.workshop or "Workshop not named", width=140, line=5)
    sheet.write_in(12, "B")
    name = f"{record.vehicle.registration}  {record.vehicle.description}".strip()
    sheet.paragraph(name, width=140, line=6)
    sheet.set_y(max(sheet.get_y(), MARGIN + _QR_SIDE + 5) + 3)
    _verdict_box(sheet, record)
    pairs(sheet, _about(sealed))


def _verdict_box(sheet: Sheet, record: Record) -> None:
    troubled = [step for step in record.steps if step.is_exception]
    sheet.write_in(10, "B")
    text = f"Outcome: {summary(record)}."
    if troubled:
        text += " See the exceptions below."
    height = sheet.lines(text, 172, 5) + 4
    sheet.set_fill_color(*SHADE)
    sheet.rect(MARGIN, sheet.get_y(), 180, height, style="F")
    sheet.set_y(sheet.get_y() + 2)
    sheet.paragraph(text, width=172, indent=4, line=5)
    sheet.set_y(sheet.get_y() + 4)


def _about(sealed: SealedRecord) -> tuple[tuple[str, str], ...]:
    record, private = sealed.record, sealed.private
    customer = "left out of this copy or erased on request"
    if private:
        parts = (private.customer.name, private.customer.contact)
        customer = ", ".join(part for part in parts if part) or "not given"
    odometer = record.vehicle.odometer_km
    technician = record.technician.name or "not given"
    if record.technician.licence:
        technician += f", licence {record.technician.licence}"
    previous = record.previous_sha256 or "none: this is the first revision"
    return (
        ("VIN", record.vehicle.vin or "not given"),
        ("Odometer", "not given" if odometer is None else as_stated(odometer, "km")),
        ("Customer", customer),
        ("Technician", technician),
        ("Work begun", moment(record.local(record.opened_at))),
        ("Signed", moment(record.signed_at)),
        ("Place", record.place or "not given"),
        ("Revision", str(record.revision)),
        ("Hash of the one before", previous),
        ("Checklist", _checklist(record)),
        ("Job id", record.job_id),
        ("Vehicle id", record.vehicle_id),
        ("Written by", f"Voltwalk {record.app_version}"),
    )


def _checklist(record: Record) -> str:
    if not record.checklist_id:
        return "none"
    mark = f", SHA-256 {record.checklist_sha256[:16]}…" if record.checklist_sha256 else ""
    return f"{record.checklist_id}, version {record.checklist_version}{mark}"


def signatures(sheet: Sheet, sealed: SealedRecord) -> None:
    """Draw both signatures, or say that they were left out."""
    sheet.section("Signatures", follows=46)
    if sealed.private is None:
        sheet.paragraph(
            "Left out of this copy, or erased on request. The record's hash still covers them."
        )
        return
    private, record = sealed.private, sealed.record
    top = sheet.get_y() + 1
    technician = private.technician_signature
    customer = private.customer_signature
    _signature(sheet, "Technician", technician, technician.name or record.technician.name, 0)
    bottom = sheet.get_y()
    sheet.set_y(top - 1)
    _signature(sheet, "Customer", customer, customer.name or private.customer.name, 1)
    sheet.set_y(max(bottom, sheet.get_y()))
    sheet.paragraph(f"Signed {moment(record.signed_at)}{_at(record.place)}.")


def _at(place: str) -> str:
    return f" at: {place}" if place else ""


def _signature(sheet: Sheet, role: str, drawn: Signature, name: str, place: int) -> None:
    left, top = MARGIN + place * (_BOX[0] + 12), sheet.get_y() + 1
    sheet.set_draw_color(*RULE)
    sheet.set_line_width(0.2)
    sheet.rect(left, top, *_BOX)
    sheet.set_draw_color(*INK)
    sheet.set_line_width(0.5)
    for stroke in drawn.strokes:
        _stroke(sheet, stroke, left + 3, top + 2)
    if not drawn.strokes:
        sheet.write_in(8.5, colour=SOFT)
        sheet.set_xy(left + 3, top + 2)
        why = f"Not signed: {drawn.absent}" if drawn.absent else "Not signed."
        sheet.multi_cell(_BOX[0] - 6, 4.2, sheet.clean(_shortened(why)), align="L")
    sheet.write_in(8.5)
    sheet.set_xy(left, top + _BOX[1] + 1)
    sheet.multi_cell(_BOX[0], 4.2, sheet.clean(f"{role}: {name or 'no name given'}"), align="L")


def _shortened(text: str, limit: int = 220) -> str:
    """Keep a reason inside the box; the attached record has it whole."""
    return text if len(text) <= limit else f"{text[:limit]}…"


def _stroke(sheet: Sheet, stroke: tuple[tuple[float, float], ...], left: float, top: float) -> None:
    width, height = _BOX[0] - 6, _BOX[1] - 4
    points = [
        (left + min(max(x, 0), 1) * width, top + (1 - min(max(y, 0), 1)) * height)
        for x, y in stroke
    ]
    if len(points) == 1:
        sheet.set_fill_color(*INK)
        sheet.ellipse(points[0][0] - 0.3, points[0][1] - 0.3, 0.6, 0.6, style="F")
    elif points:
        sheet.polyline(points)


def seal(sheet: Sheet, sealed: SealedRecord) -> None:
    """Show the whole hash and say how anybody can check it."""
    sheet.section("Seal", follows=34)
    sheet.write_in(8)
    sheet.paragraph("SHA-256 of the record attached to this document:")
    sheet.write_in(8.5, "B")
    sheet.paragraph(sealed.sha256)
    sheet.write_in(8.5)
    sheet.paragraph(
        "The record itself is attached to this document as voltwalk-record.json. Its part "
        "“record”, written as canonical JSON (RFC 8785), has the hash above; so has the code on "
        "the first page. “voltwalk-office verify” does that check, and so can any program. "
        "Later work is a new revision that names this hash."
    )
    if sheet.lacking:
        sheet.paragraph(
            "A box (□) stands for a letter that this document's type lacks; the attached record "
            "holds the text as it was entered."
        )
