"""Colours and sizes of the whole app, once: light for the sun, dark for the night.

Widgets read them in kv through ``#:import theme mobile.ui.theme.theme`` and follow a change at
once. Texts are in sp, everything else in dp. Colours never carry a meaning alone: whatever
has one also has a shape and a word (see :mod:`mobile.jobs.signs`).
"""

from typing import Any, Protocol
from weakref import WeakSet

from kivy.event import EventDispatcher
from kivy.properties import (
    BooleanProperty,
    ColorProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.utils import get_color_from_hex

from logic.words.notation import Notation

# Contrast of text on its ground is 7:1 or more in both (WCAG 2.2, criterion 1.4.6);
# tests/mobile/test_theme.py computes it.
_LIGHT = {
    "ground": "#F2EFE6",
    "surface": "#FFFFFF",
    "sunken": "#E4E0D3",
    "ink": "#15181A",
    "faint": "#3F474B",
    "line": "#77807F",
    "main": "#123F46",
    "main_pressed": "#1F6670",
    "main_words": "#FFFFFF",
    "tint": "#D3E4E3",
    "in_range": "#0A5528",
    "marginal": "#6E4300",
    "out_of_range": "#8F1016",
    "no_limit": "#38434A",
    "verdict_words": "#FFFFFF",
    "red_probe": "#9E1119",
    "black_probe": "#15181A",
    "clamp": "#4B2A86",
    "caution": "#FFE9A8",
    "caution_words": "#2A2000",
}
_DARK = {
    "ground": "#0E1213",
    "surface": "#191F21",
    "sunken": "#050708",
    "ink": "#F6F2E8",
    "faint": "#C3C9C8",
    "line": "#7D8786",
    "main": "#8FD6D2",
    "main_pressed": "#C6F0EC",
    "main_words": "#07191B",
    "tint": "#23393B",
    "in_range": "#7FDB9B",
    "marginal": "#F4C15E",
    "out_of_range": "#FFA39B",
    "no_limit": "#C0CAD0",
    "verdict_words": "#0E1213",
    "red_probe": "#FFA39B",
    "black_probe": "#F6F2E8",
    "clamp": "#CDB4FF",
    "caution": "#3D3000",
    "caution_words": "#FFEDB8",
}


LARGE_TYPE = 1.3
"""Font scale of large type: the largest that every screen is looked over at."""


class Painted(Protocol):
    """A widget that paints itself in the theme's colours, not by a rule of kv."""

    def repaint(self) -> None:
        """Paint everything anew in the colours in force."""


class Theme(EventDispatcher):
    """The look in force. Set ``dark``, ``large`` or ``left_handed`` and every widget follows.

    ``large`` sets all type as on a phone whose own font scale is large; a phone that is set larger
    yet stays so. ``left_handed`` puts what the right thumb reaches under the left one (see
    :mod:`mobile.ui.widgets.handed`). ``notation`` is how figures are drawn,
    ``language`` what fixed texts are drawn in (:mod:`mobile.jobs.language`).
    """

    dark = BooleanProperty(False)
    large = BooleanProperty(False)
    notation = ObjectProperty(Notation())
    language = StringProperty("en")
    left_handed = BooleanProperty(False)

    ground = ColorProperty(_LIGHT["ground"])
    surface = ColorProperty(_LIGHT["surface"])
    sunken = ColorProperty(_LIGHT["sunken"])
    ink = ColorProperty(_LIGHT["ink"])
    faint = ColorProperty(_LIGHT["faint"])
    line = ColorProperty(_LIGHT["line"])
    main = ColorProperty(_LIGHT["main"])
    main_pressed = ColorProperty(_LIGHT["main_pressed"])
    main_words = ColorProperty(_LIGHT["main_words"])
    tint = ColorProperty(_LIGHT["tint"])
    in_range = ColorProperty(_LIGHT["in_range"])
    marginal = ColorProperty(_LIGHT["marginal"])
    out_of_range = ColorProperty(_LIGHT["out_of_range"])
    no_limit = ColorProperty(_LIGHT["no_limit"])
    verdict_words = ColorProperty(_LIGHT["verdict_words"])
    red_probe = ColorProperty(_LIGHT["red_probe"])
    black_probe = ColorProperty(_LIGHT["black_probe"])
    clamp = ColorProperty(_LIGHT["clamp"])
    caution = ColorProperty(_LIGHT["caution"])
    caution_words = ColorProperty(_LIGHT["caution_words"])

    text = NumericProperty("17sp")
    verdict = NumericProperty("16sp")
    small = NumericProperty("14sp")
    heading = NumericProperty("21sp")
    value = NumericProperty("34sp")
    key = NumericProperty("26sp")

    gap = NumericProperty("8dp")
    pad = NumericProperty("12dp")
    touch = NumericProperty("56dp")
    corner = NumericProperty("10dp")

    def __init__(self, **properties: Any) -> None:
        self._painted: WeakSet[Painted] = WeakSet()
        self._own_scale = 1.0
        super().__init__(**properties)

    def follow(self, widget: "Painted") -> None:
        """Have a widget that paints itself do so again at each change, as long as it is there."""
        self._painted.add(widget)

    def on_dark(self, _theme: "Theme", dark: bool) -> None:
        for name, colour in (_DARK if dark else _LIGHT).items():
            setattr(self, name, get_color_from_hex(colour))
        for widget in self._painted:
            widget.repaint()

    def on_large(self, _theme: "Theme", large: bool) -> None:
        from kivy.metrics import Metrics

        if large:
            self._own_scale = Metrics.fontscale
            Metrics.fontscale = max(LARGE_TYPE, self._own_scale)
        else:
            Metrics.fontscale = self._own_scale
        for widget in self._painted:
            widget.repaint()

    def on_left_handed(self, _theme: "Theme", _left_handed: bool) -> None:
        for widget in self._painted:
            widget.repaint()

    def on_notation(self, _theme: "Theme", _notation: Notation) -> None:
        for widget in self._painted:
            widget.repaint()

    def on_language(self, _theme: "Theme", _language: str) -> None:
        for widget in self._painted:
            widget.repaint()

    def of(self, name: str, _dark: bool) -> list[float]:
        """Return a colour by name; kv passes ``theme.dark`` so that it asks again on a change."""
        return getattr(self, name)


theme = Theme()
