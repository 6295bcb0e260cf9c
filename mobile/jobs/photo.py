"""A photo from any camera made fit for a record: upright, 1600 pixels at most, JPEG. No Kivy."""

from io import BytesIO

from logic.errors import InputError

LONGEST = 1600  # pixels; assumed: enough to read a fuse's rating, and small in a PDF
_QUALITY = 85


def prepared(data: bytes) -> bytes:
    """Return a photo's bytes made fit for a record; slow, so not on the drawing thread.

    What a camera writes beside the picture (position on the map, serial number) is left out.

    Raises
    ------
    InputError
        There is no picture in it.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(BytesIO(data)) as opened:
            picture = ImageOps.exif_transpose(opened).convert("RGB")
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as error:
        message = "There is no picture in this file. Choose a JPEG or PNG, or take it again."
        raise InputError(message, "photo") from error
    picture.thumbnail((LONGEST, LONGEST))
    written = BytesIO()
    picture.save(written, "JPEG", quality=_QUALITY, optimize=True)
    return written.getvalue()
