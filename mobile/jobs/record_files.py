"""Files made from a sealed record, its PDF and its label, in the store's folder ``records``.

No Kivy. They can be made again at any time: the record in the store is what counts.
"""

import re
from functools import partial
from pathlib import Path

from logic.records.record import SealedRecord
from logic.records.store.kept_files import PRINTS

FOLDER = PRINTS


def pdf_path(folder: Path, sealed: SealedRecord) -> Path:
    """Say where a record's PDF lies: by plate, day and revision, and apart by its hash."""
    return _path(folder, sealed, "record", ".pdf")


def label_path(folder: Path, sealed: SealedRecord) -> Path:
    """Say where the picture of a record's label lies."""
    return _path(folder, sealed, "label", ".png")


def write_pdf(folder: Path, sealed: SealedRecord) -> Path:
    """Write a record's PDF and return its path; slow, and safe off the store's thread."""
    from logic.records.paper.report import write_pdf as write
    from logic.records.store.photos import path_of
    from logic.records.store.store import PHOTOS

    path = pdf_path(folder, sealed)
    path.parent.mkdir(parents=True, exist_ok=True)
    write(sealed, partial(path_of, folder / PHOTOS), path)
    return path


def write_label(folder: Path, sealed: SealedRecord) -> Path:
    """Draw a record's label and return the picture's path; slow, as :func:`write_pdf`."""
    from logic.records.label.sticker import write_label_png

    path = label_path(folder, sealed)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_label_png(sealed, path)
    return path


def _path(folder: Path, sealed: SealedRecord, what: str, ending: str) -> Path:
    record = sealed.record
    plate = re.sub(r"[^A-Za-z0-9]+", "-", record.vehicle.registration).strip("-") or "vehicle"
    day = f"{record.signed_at:%Y-%m-%d}"
    name = f"{plate} {day} {what} {record.revision} {sealed.sha256[:8]}{ending}"
    return folder / FOLDER / name
