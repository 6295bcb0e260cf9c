"""A picture's size asked before it is unpacked: a small file may hold one that fills the memory.

PIL is imported only when a picture is looked at.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from typing import TYPE_CHECKING

from logic.errors import InputError

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_PIXELS = 50_000_000
"""Assumed: what a phone's camera takes by default has 12 to 50 million; RGB, that is 150 MB."""

# What is asked for. PIL knows some forty more: each is one more door for a hostile file.
_FORMATS = ("JPEG", "PNG")
_FIELD = "photo"
_NO_PICTURE = "There is no picture in this file. Choose a JPEG or PNG, or take it again."
# What PIL raises on broken files (its own "no picture" is an OSError), each seen in its source.
_UNREADABLE = (OSError, SyntaxError, ValueError, EOFError, LookupError, struct.error, zlib.error)


@contextmanager
def opened(data: bytes, field: str = _FIELD) -> Iterator[Image]:
    """Open a picture's bytes, refused before they are unpacked where they are none or too many.

    What goes wrong while the picture is unpacked inside the ``with`` is told in the same way.

    Raises
    ------
    InputError
        There is no picture in it, only a part of one, or one of more than ``MOST_PIXELS``.
    """
    from PIL import Image

    try:
        with Image.open(BytesIO(data), formats=_FORMATS) as picture:
            _refuse_large(picture.width, picture.height, field)
            yield picture
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise InputError(_too_large("far more than 50"), field) from error
    except _UNREADABLE as error:
        raise InputError(_NO_PICTURE, field) from error


def fitted(picture: Image, longest: int, mode: str) -> Image:
    """Return an opened picture upright, its longer side ``longest`` pixels at most.

    It is made small before anything else is done with it, so that it is never in memory twice.
    """
    from PIL import ImageOps

    picture.draft(mode, (longest, longest))  # a JPEG comes out smaller at once
    if picture.mode == "P" and max(picture.size) <= 2 * longest:
        picture = picture.convert("RGB")  # a palette's colours cannot be mixed while it is shrunk
    picture.thumbnail((longest, longest))
    return ImageOps.exif_transpose(picture).convert(mode)


def _refuse_large(width: int, height: int, field: str) -> None:
    if width * height > MOST_PIXELS:
        raise InputError(_too_large(f"{width * height / 1e6:.0f}"), field)


def _too_large(millions: str) -> str:
    return (
        f"The picture has {millions} million pixels, which no photo of a unit needs. "
        f"Take it again with {MOST_PIXELS / 1e6:.0f} million at most."
    )
