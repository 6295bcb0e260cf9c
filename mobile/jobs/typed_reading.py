"""A reading while it is typed: complaint, question or verdict, at every key.

No Kivy. The rules are logic's; here only is decided when to ask them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from logic.case import Reading, Verdict
from logic.errors import InputError
from logic.limits.expectation import Expectation
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, ReadingKey, State, Unit
from logic.words import figures
from logic.words.entry import parse_reading
from logic.words.names import capitalised
from logic.words.notation import FAHRENHEIT
from mobile.jobs import language

OVERLOAD = "OL"
OVERLOAD_REASON = "Meter showed OL: over its range, or nothing connected"
_OVERLOAD_ADVICE = (
    "OL: over the meter's range, or a probe is off. Set the range, look at the probes and read "
    "again; or leave the step out with that reason."
)
SUNLIGHT = (("1", "Clear, high sun"), ("0.5", "Hazy or low sun"), ("0.1", "Dull"))
CHOICES = {
    Unit.SHARE: SUNLIGHT,
    Unit.LIT: tuple((str(value), capitalised(figures.lamp(value))) for value in (1, 0)),
}
"""What is offered instead of the keys, by unit: what is typed for it, and its words."""
# On the way to a number: nothing to complain about yet.
_BEGINNINGS = ("", "-", ".", "-.", ",", "-,")


def _bare(text: str) -> str:
    return text.removesuffix(f" {FAHRENHEIT}")


@dataclass(frozen=True)
class Typed:
    """What a text amounts to so far. ``value`` is set when it can be taken as it is.

    ``meant`` is what it more likely stands for, in words, and ``proposed`` that value.
    ``complaint`` says what to do; it is ``premature`` while the text may still become a number.
    ``overload``: the meter shows OL. ``doubt`` says why the circuit cannot show ``proposed``,
    which is to be confirmed before it is taken.
    """

    text: str
    value: float | None = None
    complaint: str = ""
    premature: bool = False
    meant: str = ""
    proposed: float | None = None
    note: str = ""
    doubt: str = ""
    overload: bool = False
    verdict: Verdict | None = None


@dataclass(frozen=True)
class ReadingContext:
    """What a reading is judged by: its point and state, the vehicle, the other readings.

    ``given`` is the verdict on the value on record; that value keeps it.
    """

    installation: Installation
    point: Point
    state: State
    readings: Sequence[Reading] = ()
    baseline: Sequence[Reading] = ()
    given: Verdict | None = None

    def expectation(self) -> Expectation:
        """Say what this vehicle should show here."""
        from logic.limits.verdict import expectation  # not on the start path

        return expectation(self.installation, self.readings, self.point, self.state, self.baseline)

    def typed(self, text: str, *, confirmed: bool = False) -> Typed:
        """Say what a text amounts to as this reading.

        ``confirmed``: the meter does show it, though the circuit cannot.
        """
        if text == OVERLOAD:
            return Typed(text, complaint=_OVERLOAD_ADVICE, overload=True)
        try:
            nominal_v = 12 * self.point.scale_on(self.installation)
            entry = parse_reading(text, self.point, nominal_v)
        except InputError as error:
            return Typed(text, complaint=str(error), premature=_bare(text) in _BEGINNINGS)
        if entry.meant:
            return Typed(text, meant=entry.meant, proposed=entry.proposed)
        is_on_record = self.given is not None and self.given.value == entry.value
        if not (confirmed or is_on_record) and (doubt := self._doubt(entry.value)):
            return Typed(text, doubt=doubt, proposed=entry.value)
        return Typed(text, entry.value, note=entry.note, verdict=self.verdict(entry.value))

    def _doubt(self, value: float) -> str:
        from logic.limits.impossible import why_contradicted, why_impossible

        key = ReadingKey(self.point, self.state)
        others = {one.key: one.value for one in self.readings if one.key != key}
        alone = why_impossible(key, value, others, self.installation.scale)
        return alone or why_contradicted(key, value, others, self.installation)

    def verdict(self, value: float) -> Verdict:
        """Judge a value of this reading."""
        if self.given is not None and self.given.value == value:
            return self.given
        from logic.limits.verdict import judge  # not on the start path

        reading = Reading(point=self.point, state=self.state, value=value)
        return judge(self.installation, self.readings, reading, self.baseline)


def expected_words(point: Point, expectation: Expectation) -> str:
    """Say the band a reading should lie in, and why."""
    band = figures.limits(point, expectation.low, expectation.high)
    said = capitalised(band) if expectation.is_open else language.said("Expected {band}", band=band)
    return f"{said}. {capitalised(expectation.why)}."
