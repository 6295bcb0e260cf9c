"""The photos of a printed record: two beside each other, checked first.

A photo as the app keeps it (JPEG, upright, nothing beside the picture) is put into the PDF byte
for byte. So the record's own hash of the photo proves the picture on the page, and whoever has
nothing but the PDF can check it. Any other picture is made into a JPEG for the page, and can only
be compared where its original is at hand.
"""

import hashlib
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from logic.errors import InputError
from logic.records import pictures
from logic.records.paper.document import MARGIN, RULE, SOFT, RecordPdf
from logic.records.record import Record

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_PIXELS = 1_000_000_000
"""Of all photos of one print that are made smaller for it; assumed: 80 of an ordinary camera's."""

_WIDTH, _HEIGHT, _APART = 86.0, 64.0, 6.0  # mm
_PIXELS = 1280
_LONGEST_KEPT = 1600  # pixels; what the app makes of a camera's photo when it is taken
_DIGEST_SIZE = 5.0  # points: all 64 digits are then as wide as a photo
STAND_IN = (
    "This photo is not shown: its file is missing here, was changed after signing, or is no "
    "picture. The record still names it."
)
"""What stands where a photo should be; one sentence, so that any device prints the same."""


@dataclass(frozen=True)
class _Picture:
    jpeg: bytes
    width: int
    height: int


def photos_of(record: Record) -> list[tuple[str, str]]:
    """Return the titles and hashes of what is shown: the unit's plate, then each step's photos."""
    plate = record.installation.charger.plate_photo
    shown = [("The unit's rating plate", plate)] if plate else []
    return shown + [(step.title, digest) for step in record.steps for digest in step.photos]


def photos(pdf: RecordPdf, record: Record, photo: Callable[[str], Path | bytes | None]) -> None:
    """Show every photo with its title; where its file is missing or wrong, that is said."""
    shown = photos_of(record)
    if not shown:
        return
    found = pictures_of(record, photo)
    pdf.section("Photos", follows=_HEIGHT + 16)
    for first in range(0, len(shown), 2):
        pdf.keep(_HEIGHT + 14)
        top = pdf.get_y()
        bottoms = [
            _one(pdf, title, digest, found[digest], MARGIN + index * (_WIDTH + _APART), top)
            for index, (title, digest) in enumerate(shown[first : first + 2])
        ]
        pdf.set_y(max(bottoms) + 3)


def pictures_of(
    record: Record, photo: Callable[[str], Path | bytes | None]
) -> dict[str, _Picture | None]:
    """Return each photo as it goes on a page, by its hash; ``None`` where it cannot be shown.

    Each is unpacked once, however often the record names it, and no more than ``MOST_PIXELS``
    in all: a hostile record could name a large one on every line.
    """
    found: dict[str, _Picture | None] = {}
    left = MOST_PIXELS
    for _, digest in photos_of(record):
        if digest not in found:
            found[digest], taken = _picture(photo(digest), digest, left)
            left -= taken
    return found


def _one(
    pdf: RecordPdf, title: str, digest: str, picture: _Picture | None, left: float, top: float
) -> float:
    """Show one photo with its caption; return where the next thing under it may begin, in mm."""
    if picture is None:
        pdf.draw_in(RULE, 0.2)
        pdf.rect(left, top, _WIDTH, _HEIGHT)
        pdf.write_in(8.5, "B")
        pdf.set_xy(left + 3, top + 3)
        pdf.multi_cell(_WIDTH - 6, 4.4, STAND_IN, align="L")
    else:
        scale = min(_WIDTH / picture.width, _HEIGHT / picture.height)
        pdf.image(io.BytesIO(picture.jpeg), left, top, picture.width * scale)
    pdf.write_in(8)
    pdf.set_xy(left, top + _HEIGHT + 1)
    caption = title if len(title) <= 90 else title[:89] + "…"
    pdf.multi_cell(_WIDTH, 4, pdf.clean(caption), align="L")
    pdf.write_in(_DIGEST_SIZE, colour=SOFT)
    pdf.set_xy(left, pdf.get_y())
    pdf.cell(_WIDTH, 3.6, f"SHA-256 {digest}")
    return pdf.get_y() + 4


def _picture(file: Path | bytes | None, digest: str, most: int) -> tuple[_Picture | None, int]:
    """Return the photo as it goes on the page, and how many pixels were unpacked for it."""
    taken = 0
    try:
        content = file.read_bytes() if isinstance(file, Path) else file
        if content is None or hashlib.sha256(content).hexdigest() != digest:
            return None, 0
        with pictures.opened(content) as opened:
            if as_it_is(content):
                return _Picture(content, opened.width, opened.height), 0
            size = opened.width * opened.height
            if size > most:
                return None, 0
            taken = size
            return _fitting(opened), taken
    except (OSError, InputError):
        return None, taken


def as_it_is(content: bytes) -> bool:
    """Return whether a photo goes into a PDF byte for byte; its header alone is read."""
    try:
        with pictures.opened(content) as opened:
            beside = "exif" in opened.info or "icc_profile" in opened.info
            plain = opened.format == "JPEG" and opened.mode in ("RGB", "L") and not beside
            return plain and max(opened.size) <= _LONGEST_KEPT
    except InputError:
        return False


def _fitting(opened: "Image") -> _Picture:
    upright = pictures.fitted(opened, _PIXELS, "RGB")
    jpeg = io.BytesIO()
    upright.save(jpeg, "JPEG", quality=80)
    return _Picture(jpeg.getvalue(), upright.width, upright.height)
