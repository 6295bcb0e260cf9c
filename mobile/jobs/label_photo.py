"""A photo of the label on the unit to the label's text. No Kivy, and no decoder of its own.

The decoder is handed in: phone and desk have different libraries for it, and everything else
about a photo is the same for both.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING

from logic.errors import InputError
from logic.records import pictures

if TYPE_CHECKING:
    from PIL.Image import Image

FIELD = "label"

Decoder = Callable[["Image"], list[str]]
"""Returns the text of every code that it finds in a grey picture."""

# A code's squares are best found where each is some five to ten pixels wide, and how far away the
# camera was is not known. The longest side in pixels, tried one after the other.
_SIZES = (1600, 2400, 1100, 800)
_NO_CODE = (
    "No code can be read in this photo. Wipe the label, hold the phone closer and square to it "
    "until it is sharp, and turn so that no light is mirrored in it. Or paste its text below."
)
_ANOTHER_CODE = (
    "The code in this photo is not a label of this app. Take the label that has the plate and "
    "the fuses on it."
)


def read_label(data: bytes, decoder: Decoder) -> str:
    """Return the label's text that a photo shows; slow, so not on the drawing thread.

    Parameters
    ----------
    data
        The photo as a camera writes it (JPEG or PNG).
    decoder
        What finds and reads codes in it.

    Raises
    ------
    InputError
        No picture, no code that can be read, or another code; says what to do.
    """
    from logic.records.label.encoding import PREFIX

    picture, seen = _grey(data), False
    for longest in _SIZES:
        smaller = picture.copy()
        smaller.thumbnail((longest, longest))
        for text in decoder(smaller):
            if text.strip().upper().startswith(PREFIX):
                return text.strip()
            seen = True
    raise InputError(_ANOTHER_CODE if seen else _NO_CODE, FIELD)


def _grey(data: bytes) -> "Image":
    """Return the picture upright and grey, no larger than it is needed."""
    with pictures.opened(data, FIELD) as opened:
        return pictures.fitted(opened, max(_SIZES), "L")
