"""A text of the fault-finding picture: set in its slot, smaller where it would not fit."""

from dataclasses import dataclass

from kivy.uix.label import Label

_TRIES = 8
_SMALLEST = 0.44  # of a text's own size, before it is cut off


class LoopText(Label):
    """A text of the picture, set in its slot."""


@dataclass(frozen=True)
class Style:
    """How a text stands in its slot; ``colour`` is the theme's name of one."""

    sign: str = ""
    small: bool = False
    wraps: bool = False
    bold: bool = False
    colour: str = "ink"


def fit(label: LoopText, width: float, height: float, *, wraps: bool) -> None:
    """Set a text as large as its slot allows, up to its own size."""
    own, scale = label.font_size, 1.0
    for _ in range(_TRIES):
        label.font_size = own * scale
        label.text_size = (width, None) if wraps else (None, None)
        label.texture_update()
        wide, high = label.texture_size
        too_large = max(high / height, 1.0 if wraps else wide / width)
        if too_large <= 1 or scale <= _SMALLEST:
            break
        # A wrapped text gets lower in steps, by whole lines: it is tried bit by bit.
        scale = max(_SMALLEST, scale * (0.92 if wraps else 0.985 / too_large))
    label.size = (min(label.texture_size[0], width), min(label.texture_size[1], height))
