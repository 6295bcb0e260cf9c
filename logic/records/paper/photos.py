"""The photos of a printed record: two beside each other, small enough to send, checked first."""

import hashlib
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from logic.errors import InputError
from logic.records import pictures
from logic.records.paper.document import MARGIN, RULE, SOFT, RecordPdf
from logic.records.record import Record

_WIDTH, _HEIGHT, _APART = 86.0, 64.0, 6.0  # mm
_PIXELS = 1280
_MISSING = "This photo's file is missing here. The record still names it."
_ANOTHER = "This photo's file is not the one that was signed for. It is left out."
_NO_PICTURE = "This photo's file cannot be shown as a picture. The record still names it."
STAND_INS = (_MISSING, _ANOTHER, _NO_PICTURE)
"""What may stand where a photo should be."""


@dataclass(frozen=True)
class _Picture:
    jpeg: bytes
    width: int
    height: int


def photos(pdf: RecordPdf, record: Record, photo: Callable[[str], Path | None]) -> None:
    """Show every photo with its step; where its file is missing or wrong, that is said."""
    shown = [(step.title, digest) for step in record.steps for digest in step.photos]
    if not shown:
        return
    pdf.section("Photos", follows=_HEIGHT + 16)
    for first in range(0, len(shown), 2):
        pdf.keep(_HEIGHT + 14)
        top = pdf.get_y()
        bottoms = [
            _one(pdf, title, digest, photo(digest), MARGIN + index * (_WIDTH + _APART), top)
            for index, (title, digest) in enumerate(shown[first : first + 2])
        ]
        pdf.set_y(max(bottoms) + 3)


def _one(
    pdf: RecordPdf, title: str, digest: str, file: Path | None, left: float, top: float
) -> float:
    """Show one photo with its caption; return where the next thing under it may begin, in mm."""
    picture = _picture(file, digest)
    if isinstance(picture, str):
        pdf.draw_in(RULE, 0.2)
        pdf.rect(left, top, _WIDTH, _HEIGHT)
        pdf.write_in(8.5, "B")
        pdf.set_xy(left + 3, top + 3)
        pdf.multi_cell(_WIDTH - 6, 4.4, picture, align="L")
    else:
        scale = min(_WIDTH / picture.width, _HEIGHT / picture.height)
        pdf.image(io.BytesIO(picture.jpeg), left, top, picture.width * scale)
    pdf.write_in(8)
    pdf.set_xy(left, top + _HEIGHT + 1)
    caption = title if len(title) <= 90 else title[:89] + "…"
    pdf.multi_cell(_WIDTH, 4, pdf.clean(caption), align="L")
    pdf.write_in(7, colour=SOFT)
    pdf.set_xy(left, pdf.get_y())
    pdf.cell(_WIDTH, 3.6, f"SHA-256 {digest[:16]}…")
    return pdf.get_y() + 4


def _picture(file: Path | None, digest: str) -> _Picture | str:
    """Return the photo made small, or the words to write instead."""
    if file is None or not file.is_file():
        return _MISSING
    content = file.read_bytes()
    if hashlib.sha256(content).hexdigest() != digest:
        return _ANOTHER
    try:
        return _smaller(content)
    except InputError:
        return _NO_PICTURE


def _smaller(content: bytes) -> _Picture:
    with pictures.opened(content) as opened:
        upright = pictures.fitted(opened, _PIXELS, "RGB")
    jpeg = io.BytesIO()
    upright.save(jpeg, "JPEG", quality=80)
    return _Picture(jpeg.getvalue(), upright.width, upright.height)
