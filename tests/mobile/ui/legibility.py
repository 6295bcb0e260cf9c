"""Looks for text that is cut off, runs out of the window, or lies over other text."""

from collections.abc import Iterator
from itertools import combinations

from kivy.base import EventLoop
from kivy.uix.label import Label
from kivy.uix.modalview import ModalView
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from mobile.ui.widgets.circuit import CircuitView

Box = tuple[float, float, float, float]
_SLACK = 1.5  # pixels that rounding may take


def complaints() -> list[str]:
    """Return every fault of the picture on the screen now, in words."""
    found = [(label, box) for label in _labels() if (box := _seen(label))]
    faults = [fault for label, _ in found for fault in _faults_of(label)]
    for (one, its), (other, others) in combinations(found, 2):
        if _overlap(its, others):
            faults.append(f"{one.text!r} lies over {other.text!r}")
    for circuit in _circuits():
        faults += _faults_of_circuit(circuit)
    return faults


def small_targets(least: float) -> list[str]:
    """Return the tappable things on the screen that are lower or narrower than ``least``."""
    tappable = [w for w in _shown() if hasattr(w, "on_release") and not w.disabled]
    return [
        f"{type(w).__name__} {getattr(w, 'text', '')!r} is {w.width:.0f} x {w.height:.0f}"
        for w in tappable
        if min(w.size) < least - _SLACK
    ] + [
        f"{target.what} is {target.rect.width:.0f} x {target.rect.height:.0f}"
        for circuit in _circuits()
        for target in circuit.layout.targets()
        if min(target.rect.width, target.rect.height) < least
    ]


def _shown() -> Iterator[Widget]:
    top = EventLoop.window.children[0]
    layers = [top] if isinstance(top, ModalView) else EventLoop.window.children
    for layer in layers:
        yield from _visible(layer)


def _visible(widget: Widget) -> Iterator[Widget]:
    if widget.opacity == 0 or widget.width <= 0 or widget.height <= 0:
        return
    yield widget
    for child in widget.children:
        yield from _visible(child)


def _circuits() -> Iterator[CircuitView]:
    return (w for w in _shown() if isinstance(w, CircuitView))


def _faults_of_circuit(circuit: CircuitView) -> Iterator[str]:
    texts = circuit.set_texts()
    for text, found in texts:
        if " ".join(line.text for line in found.lines) != text.text:
            yield f"{text.text!r} is left out of the circuit"
        if any(line.rect.width > text.slot.width + _SLACK for line in found.lines):
            yield f"{text.text!r} runs out of its slot on the circuit"
    lines = [line for _, found in texts for line in found.lines]
    for one, other in combinations(lines, 2):
        if one.rect.meets(other.rect):
            yield f"{one.text!r} lies over {other.text!r} on the circuit"


def _labels() -> Iterator[Label]:
    return (w for w in _shown() if isinstance(w, Label) and w.text.strip())


def _faults_of(label: Label) -> Iterator[str]:
    width, height = label.texture_size
    if width > label.width + _SLACK or height > label.height + _SLACK:
        yield f"{label.text!r} needs {width} x {height}, has {label.width:.0f} x {label.height:.0f}"
    left, _, right, _ = _text_box(label)
    if left < -_SLACK or right > EventLoop.window.width + _SLACK:
        yield f"{label.text!r} runs out of the window"


def _text_box(label: Label) -> Box:
    x, y = label.to_window(*label.center)
    width, height = (min(a, b) for a, b in zip(label.texture_size, label.size, strict=True))
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2


def _seen(label: Label) -> Box | None:
    """Return the part of a label's text that its scrolling parents let through."""
    left, bottom, right, top = _text_box(label)
    parent = label.parent
    while parent is not None and parent is not EventLoop.window:
        if isinstance(parent, ScrollView):
            x, y = parent.to_window(*parent.pos)
            left, right = max(left, x), min(right, x + parent.width)
            bottom, top = max(bottom, y), min(top, y + parent.height)
        parent = parent.parent
    return (left, bottom, right, top) if right > left and top > bottom else None


def _overlap(one: Box, other: Box) -> bool:
    across = min(one[2], other[2]) - max(one[0], other[0])
    along = min(one[3], other[3]) - max(one[1], other[1])
    return across > _SLACK and along > _SLACK
