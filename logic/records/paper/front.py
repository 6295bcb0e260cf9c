"""The head of a printed record: whose, what, when, and how it came out."""

from logic.records.outcomes import summary
from logic.records.paper.circuit import circuits
from logic.records.paper.document import MARGIN, SOFT, RecordPdf
from logic.records.paper.tables import box, pairs
from logic.records.qr import hash_text, symbol
from logic.records.record import Record, SealedRecord
from logic.words.dates import moment
from logic.words.figures import as_stated

_CODE_SIDE = 26.0  # mm


def front(pdf: RecordPdf, sealed: SealedRecord) -> None:
    """Write the title, the hash's code and the block that says what this is about."""
    record = sealed.record
    right = 210 - MARGIN - _CODE_SIDE
    pdf.draw_code(symbol(hash_text(sealed.sha256)), right, MARGIN, _CODE_SIDE)
    pdf.write_in(6.5, colour=SOFT)
    pdf.set_xy(right, MARGIN + _CODE_SIDE + 2.5)
    pdf.cell(_CODE_SIDE, 3, "hash of this record", align="C")
    pdf.set_y(MARGIN)
    kind = "Commissioning" if record.job_kind == "commissioning" else "Fault-finding"
    pdf.write_in(17, "B")
    pdf.paragraph(f"{kind} record", width=140, line=8)
    pdf.write_in(10, colour=SOFT)
    pdf.paragraph(record.technician.workshop or "Workshop not named", width=140, line=5)
    pdf.write_in(12, "B")
    name = f"{record.vehicle.registration}  {record.vehicle.description}".strip()
    pdf.paragraph(name, width=140, line=6)
    pdf.set_y(max(pdf.get_y(), MARGIN + _CODE_SIDE + 5) + 3)
    box(pdf, _outcome(record))
    circuits(pdf, record)
    pairs(pdf, _about(sealed))


def _outcome(record: Record) -> str:
    more = " See the exceptions below." if any(step.is_exception for step in record.steps) else ""
    return f"Outcome: {summary(record)}.{more}"


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
