"""The printed record: a PDF/A-3B that shows what was signed and carries the signed data itself.

fpdf, segno and PIL are imported only while a PDF is being written: they are slow to load.
"""

from collections.abc import Callable
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING

from logic import __version__
from logic.records.files import replace_file
from logic.records.front_page import kind_of
from logic.records.record import SealedRecord
from logic.records.review import verdicts_before
from logic.records.seal import canonical
from logic.words.dates import moment

if TYPE_CHECKING:
    from logic.records.paper.document import RecordPdf

Photo = Callable[[str], Path | bytes | None]
"""Finds a photo, or its file, by its SHA-256; ``Store.photo_path`` or a mapping's ``get``."""

ATTACHMENT = "voltwalk-record.json"
HASHED = "voltwalk-record-hashed.txt"
"""The record as its canonical text and nothing else, so that ``sha256sum`` alone checks it."""
LAYOUT = 10
"""Raised whenever what is on the pages changes, or where: a check of the pages needs it."""


def layout() -> str:
    """Name all that a print depends on beside the record: prints of one name can be compared."""
    from fontTools import version as fonttools_version
    from fpdf import FPDF_VERSION
    from segno import __version__ as segno_version

    return (
        f"layout {LAYOUT} of Voltwalk {__version__}, fpdf2 {FPDF_VERSION}, "
        f"fontTools {fonttools_version}, segno {segno_version}"
    )


def write_pdf(sealed: SealedRecord, photo: Photo, path: Path) -> None:
    """Write a sealed record as a PDF/A-3B with the record itself attached.

    The file appears under ``path`` only once it is complete and on disk.

    Raises
    ------
    RecordError
        The file cannot be written; says why and what to do.
    """
    replace_file(path, compose(sealed, photo), "The PDF")


def heading(sealed: SealedRecord) -> str:
    """Name the document in one line, as on the head of its pages."""
    record = sealed.record
    return f"{kind_of(record)} · {record.vehicle.registration} · revision {record.revision}"


def compose(sealed: SealedRecord, photo: Photo, most_pages: int | None = None) -> bytes:
    """Return the PDF that :func:`write_pdf` writes.

    The same record with the same photos is the same file, wherever and whenever it is printed,
    but for how the system's zlib packs it: nothing of the present moment or the device is in it.

    Raises
    ------
    TooManyPagesError
        It would be more than ``most_pages`` (:mod:`logic.records.paper.document`).
    """
    from logic.records.paper import front, photos, sections, signatures
    from logic.records.paper.document import RecordPdf

    record = sealed.record
    footing = f"SHA-256 {sealed.sha256} · {moment(record.signed_at)}"
    pdf = RecordPdf(heading(sealed), footing, most_pages)
    pdf.describe(heading(sealed), layout(), record.signed_at, sealed.sha256)
    front.front(pdf, sealed)
    pdf.add_page()
    front.about(pdf, sealed)
    if record.job_kind == "callback":
        sections.complaint(pdf, record)
        before, fitted = verdicts_before(record), record.installation
        sections.readings(pdf, "Readings before the repair", record.readings, before, fitted)
        sections.out_of_reach(pdf, record)
        sections.diagnosis(pdf, record.diagnosis)
        sections.conclusion(pdf, record)
        after = record.readings_after
        sections.readings(pdf, "Readings after the repair", after, record.verdicts, fitted)
    sections.design(pdf, record)
    if record.steps:
        sections.exceptions(pdf, record)
        sections.skipped(pdf, record)
        sections.not_asked(pdf, record)
    sections.steps(pdf, record)
    sections.fitted(pdf, record)
    sections.advice(pdf, record)
    sections.cautions(pdf, record)
    photos.photos(pdf, record, photo)
    signatures.seal(pdf, sealed)
    _attach(pdf, sealed)
    return bytes(pdf.output())


def _attach(pdf: "RecordPdf", sealed: SealedRecord) -> None:
    """Attach the record with names and signatures, and the very text that was hashed."""
    at = sealed.record.signed_at.astimezone(UTC)
    whole = sealed.model_dump_json(indent=1).encode()
    hashed = canonical(sealed.record.model_dump(mode="json"))
    for name, kind, content, about in (
        (ATTACHMENT, "application/json", whole, "The signed record itself, with names"),
        (HASHED, "text/plain", hashed, "The text that has the hash: for sha256sum"),
    ):
        pdf.embed_file(
            bytes=content,
            basename=name,
            mime_type=kind,
            associated_file_relationship="Data",
            desc=about,
            creation_date=at,
            modification_date=at,
            compress=True,
        )
