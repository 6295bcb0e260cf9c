"""A photo from any camera made fit for a record: upright, 1600 pixels at most, JPEG. No Kivy."""

from io import BytesIO
from pathlib import Path

from logic.errors import InputError
from logic.records import pictures

LONGEST = 1600  # pixels; assumed: enough to read a fuse's rating, and small in a PDF
_QUALITY = 85
# Assumed: what :func:`prepared` writes, with room. The toolkit unpacks all of a picture that it
# shows, and one that came from another device need not be as small.
_MOST_SHOWN = 4_000_000


def prepared(data: bytes) -> bytes:
    """Return a photo's bytes made fit for a record; slow, so not on the drawing thread.

    What a camera writes beside the picture (position on the map, serial number) is left out.

    Raises
    ------
    InputError
        There is no picture in it, or far too large a one.
    """
    with pictures.opened(data) as opened:
        picture = pictures.fitted(opened, LONGEST, "RGB")
    written = BytesIO()
    picture.save(written, "JPEG", quality=_QUALITY, optimize=True)
    return written.getvalue()


def why_not_shown(path: Path | None) -> str:
    """Say why a photo that is kept cannot be shown on the glass, or "" where it can."""
    if path is None:
        return "The photo of this step is not on this phone: it lies on the one that took it."
    try:
        with pictures.opened(path.read_bytes()) as opened:
            if opened.width * opened.height <= _MOST_SHOWN:
                return ""
    except (InputError, OSError):
        return "The photo of this step cannot be shown: its file is damaged. Take it again."
    return "The photo of this step is far larger than this app makes them, so it is not shown."
