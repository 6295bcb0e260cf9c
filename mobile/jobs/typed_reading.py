"""A reading while it is typed: complaint, question or verdict, at every key.

No Kivy. The rules are logic's; here only is decided when to ask them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from logic.case import Reading, Verdict
from logic.errors import InputError
from logic.vehicle.entry import parse_reading
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State

OVERLOAD = "OL"
OVERLOAD_REASON = "Meter showed OL: over its range, or nothing connected"
_OVERLOAD_ADVICE = (
    "OL: over the meter's range, or a probe is off. Set the range, look at the probes and read "
    "again; or leave the step out with that reason."
)
# On the way to a number: nothing to complain about yet.
_BEGINNINGS = ("", "-", ".", "-.", ",", "-,")


@dataclass(frozen=True)
class Typed:
    """What a text amounts to so far. ``value`` is set when it can be taken as it is.

    ``question`` asks whether ``proposed`` was meant. ``complaint`` says what to do; it is
    ``premature`` while the text may still become a number. ``overload``: the meter shows OL.
    """

    text: str
    value: float | None = None
    complaint: str = ""
    premature: bool = False
    question: str = ""
    proposed: float | None = None
    note: str = ""
    overload: bool = False
    verdict: Verdict | None = None


@dataclass(frozen=True)
class Place:
    """What is read where, on which vehicle, in the light of which other readings."""

    installation: Installation
    point: Point
    state: State
    readings: Sequence[Reading] = ()
    baseline: Sequence[Reading] = ()


def typed(text: str, place: Place) -> Typed:
    """Say what a text amounts to at a place."""
    if text == OVERLOAD:
        return Typed(text, complaint=_OVERLOAD_ADVICE, overload=True)
    try:
        entry = parse_reading(text, place.point, place.installation.nominal_voltage_v)
    except InputError as error:
        return Typed(text, complaint=str(error), premature=text in _BEGINNINGS)
    if entry.question:
        return Typed(text, question=entry.question, proposed=entry.proposed)
    return Typed(text, entry.value, note=entry.note, verdict=verdict(entry.value, place))


def verdict(value: float, place: Place) -> Verdict:
    """Judge a value at a place."""
    from logic.limits.verdict import judge  # not on the start path

    reading = Reading(point=place.point, state=place.state, value=value)
    return judge(place.installation, place.readings, reading, place.baseline)
