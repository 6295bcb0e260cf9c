"""Contrast of what is on the screen, worked out from the widgets' own drawing instructions.

No list of pairs is kept: the ground of a text is what its own widget and those above it really
paint under it, in the order in which Kivy draws them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from kivy.base import EventLoop
from kivy.graphics import Color, Ellipse, Rectangle, RoundedRectangle
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.label import Label
from kivy.uix.modalview import ModalView
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from mobile.ui.widgets.marks import Mark

Rgb = tuple[float, float, float]


@dataclass(frozen=True)
class Pair:
    """What is seen on its ground: what it is, both colours, and whether it is a value."""

    what: str
    colour: Rgb
    ground: Rgb
    is_value: bool = False

    @property
    def contrast(self) -> float:
        """From 1 to 21 (WCAG 2.2, "contrast ratio")."""
        return contrast(self.colour, self.ground)

    @property
    def least(self) -> float:
        """What it needs: WCAG 2.2, 1.4.6, for values; 1.4.3 for all else, signs too."""
        return 7.0 if self.is_value else 4.5


def luminance(colour: Sequence[float]) -> float:
    """Return the relative luminance (WCAG 2.2)."""
    parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour[:3]]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def contrast(one: Sequence[float], other: Sequence[float]) -> float:
    """Return the contrast ratio of two colours."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def pairs() -> Iterator[Pair]:
    """Yield every text and sign on the screen with its ground, tappable ones pressed too."""
    top = EventLoop.window.children[0]
    layers = [top] if isinstance(top, ModalView) else EventLoop.window.children
    for layer in layers:
        for widget in _visible(layer):
            yield from _of(widget)
            if isinstance(widget, ButtonBehavior) and not widget.disabled:
                widget.state = "down"
                for inner in _visible(widget):
                    yield from _of(inner, pressed=True)
                widget.state = "normal"


def _visible(widget: Widget) -> Iterator[Widget]:
    if widget.opacity == 0 or widget.width <= 0 or widget.height <= 0:
        return
    yield widget
    for child in widget.children:
        yield from _visible(child)


def _of(widget: Widget, *, pressed: bool = False) -> Iterator[Pair]:
    if any(one.disabled for one in _chain(widget)) or not _is_in_view(widget):
        return  # WCAG 2.2, 1.4.3: what cannot be used needs no contrast
    if isinstance(widget, Mark) and widget.shape:
        yield _pair(f"sign {widget.shape}", widget, widget.color, is_value=False)
    elif isinstance(widget, Label) and widget.text.strip():
        is_value = any(sign.isdigit() for sign in widget.text) and not pressed
        yield _pair(f"{widget.text!r}", widget, widget.color, is_value=is_value)


def _pair(what: str, widget: Widget, colour: Sequence[float], *, is_value: bool) -> Pair:
    ground = _ground(widget)
    return Pair(what, _over(colour, ground), ground, is_value)


def _chain(widget: Any) -> Iterator[Widget]:
    while isinstance(widget, Widget):
        yield widget
        widget = widget.parent


def _is_in_view(widget: Widget) -> bool:
    x, y = widget.to_window(*widget.center)
    scrolled = (one for one in _chain(widget) if isinstance(one, ScrollView))
    return all(one.collide_point(*one.parent.to_widget(x, y)) for one in scrolled)


def _ground(widget: Widget) -> Rgb:
    """Return the colour under a widget's middle: all that is painted there, in order."""
    x, y = widget.to_window(*widget.center)
    colour: Rgb = tuple(EventLoop.window.clearcolor[:3])
    for one in reversed(list(_chain(widget))):
        above = one.parent
        inner = above.to_widget(x, y) if isinstance(above, Widget) else (x, y)
        for painted in _painted(one, inner):
            colour = _over(painted, colour)
    return colour


def _painted(widget: Widget, at: tuple[float, float]) -> Iterator[list[float]]:
    colour = [0.0, 0.0, 0.0, 0.0]  # what stands before any colour is a stencil
    if not widget.canvas.has_before:
        return
    for instruction in widget.canvas.before.children:
        if isinstance(instruction, Color):
            colour = list(instruction.rgba)
        elif isinstance(instruction, Rectangle | RoundedRectangle | Ellipse):
            (left, bottom), (width, height) = instruction.pos, instruction.size
            if left <= at[0] <= left + width and bottom <= at[1] <= bottom + height:
                yield colour


def _over(colour: Sequence[float], ground: Sequence[float]) -> Rgb:
    alpha = colour[3] if len(colour) > 3 else 1.0
    red, green, blue = (
        alpha * c + (1 - alpha) * g for c, g in zip(colour[:3], ground[:3], strict=True)
    )
    return red, green, blue
