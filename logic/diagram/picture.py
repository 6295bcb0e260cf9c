"""What the circuit's picture shows: values at their posts, drops along the runs, probes.

The one drawing serves the walk, the callback, the review and the printed record; they differ
only in what is shown on it, and that is decided here.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field

from logic.case import Mark, Reading, Verdict
from logic.diagram.layout import SOURCES, Layout, lay_out, least_height, touch_height
from logic.diagram.patterns import GRADE_MARKS
from logic.diagram.signs import Sign
from logic.limits.ladder import Grade, Origin, RunDrop, drop_as_judged
from logic.vehicle.installation import Extra, Installation, RepairedPart
from logic.vehicle.points import (
    DROP_ACROSS,
    Part,
    Point,
    Post,
    ReadingKey,
    Run,
    State,
    Unit,
    side_through_plug,
)
from logic.words.figures import short

OF_MARK: dict[Mark, Sign] = {
    Mark.IN_RANGE: Sign.IN_RANGE,
    Mark.MARGINAL: Sign.MARGINAL,
    Mark.OUT_OF_RANGE: Sign.OUT_OF_RANGE,
    Mark.PROVES_NOTHING: Sign.PROVES_NOTHING,
}
"""A value without a limit stands on the picture without a sign."""
TAKE_AGAIN = "take again"
_TIMES_WORTH_SAYING = 2
_METERED = (Unit.VOLT, Unit.AMPERE)
# Inside the charger its voltages stand under one another.
_LEAD = {
    Point.CHARGER_INPUT_VOLTAGE: "in ",
    Point.CHARGER_OUTPUT_VOLTAGE: "out ",
    Point.PROFILE_SETTING_VOLTAGE: "set to ",
    Point.SECOND_UNIT_INPUT_VOLTAGE: "in ",
    Point.SECOND_UNIT_OUTPUT_VOLTAGE: "out ",
}
# Where two states hold equally many readings, the one with more current tells more.
_BY_CURRENT = (State.FAST_IDLE, State.IDLE, State.REST, State.SOLAR)


@dataclass(frozen=True)
class ValueShown:
    """A value at its post, with its verdict's sign."""

    text: str
    sign: Sign | None = None


@dataclass(frozen=True)
class DropShown:
    """A run: its grade, how many times its most it drops, its volts, and a word with its sign."""

    grade: Grade
    share: float = 0.0
    volts: str = ""
    word: str = ""
    sign: Sign | None = None


@dataclass(frozen=True)
class CircuitPicture:
    """Everything the picture shows in one state of the vehicle.

    ``marked`` is the reading whose probes, clamp or thermometer are shown; ``chosen`` a post that
    was touched and waits for a second one. ``lit`` are the parts of the installation that a
    question or a suspicion is about.
    """

    has_solar: bool
    has_second_unit: bool = False
    isolators: frozenset[Run] = frozenset()
    plug_in: Run | None = None
    sources: frozenset[Extra] = frozenset()
    values: Mapping[Point, ValueShown] = field(default_factory=dict)
    drops: Mapping[Run, DropShown] = field(default_factory=dict)
    temperatures: Mapping[Part, str] = field(default_factory=dict)
    temperature_signs: Mapping[Part, Sign] = field(default_factory=dict)
    lit: frozenset[RepairedPart] = frozenset()
    marked: Point | None = None
    chosen: Post | None = None

    @property
    def touch_height(self) -> float:
        """The height from which everything on it can be touched.

        Returns
        -------
        unit
        """
        return touch_height(self.has_solar, self.has_second_unit)

    @property
    def least_height(self) -> float:
        """The least height that it has.

        Returns
        -------
        unit
        """
        return least_height(self.has_second_unit)

    def lay_out(self, width: float, height: float) -> Layout:
        """Lay out what it shows.

        Parameters
        ----------
        width, height : unit
            Of the picture.
        """
        fitted = self.has_solar, self.has_second_unit, self.isolators, self.plug_in, self.sources
        return lay_out(width, height, *fitted)


def circuit_picture(
    installation: Installation,
    state: State,
    readings: Iterable[Reading | Verdict],
    verdicts: Iterable[Verdict] = (),
    *,
    drops: Iterable[RunDrop] = (),
    suspects: Collection[ReadingKey] = (),
    lit: Collection[RepairedPart] = (),
    marked: Point | None = None,
) -> CircuitPicture:
    """Gather what the picture shows.

    Parameters
    ----------
    installation
        What is fitted.
    state
        The state shown.
    readings
        Of any state, judged or not; those of another state give nothing, except for what the unit
        is set to, which is the same in every state.
    verdicts
        On any of them; without one a value has no sign.
    drops
        Of the voltage ladder: those too that were not read but follow from what was.
    suspects
        Readings that cannot be right.
    lit
        The parts that a question or a suspicion is about.
    marked
        The reading that is being taken, or is to be taken next.
    """
    here = {one.point: one for one in readings if is_shown_in(one.key, state)}
    judged = {one.point: one for one in verdicts if is_shown_in(one.key, state)}
    signs = {
        point: OF_MARK[verdict.mark] for point, verdict in judged.items() if verdict.mark in OF_MARK
    }
    signs |= {key.point: Sign.QUESTION for key in suspects if is_shown_in(key, state)}
    read = (
        drop_as_judged(verdict, installation, _value(here, verdict.point.current))
        for verdict in judged.values()
    )
    return CircuitPicture(
        has_solar=installation.solar is not None,
        has_second_unit=installation.has(Extra.SECOND_CHARGER),
        isolators=isolators_of(installation),
        plug_in=plug_of(installation),
        sources=frozenset(source for source in SOURCES if installation.has(source)),
        values={
            point: ValueShown(_LEAD.get(point, "") + short(point, reading.value), signs.get(point))
            for point, reading in here.items()
            if point.unit in _METERED and not point.is_drop
        },
        drops={drop.run: _shown(drop, signs) for drop in (*read, *drops) if drop is not None},
        temperatures={
            point.part: short(point, reading.value)
            for point, reading in here.items()
            if point.unit is Unit.CELSIUS and point.part is not None
        },
        temperature_signs={
            point.part: sign
            for point, sign in signs.items()
            if point.unit is Unit.CELSIUS and point.part is not None
        },
        lit=frozenset(lit),
        marked=marked,
    )


def isolators_of(installation: Installation) -> frozenset[Run]:
    """Return the feeds in which an isolator switch sits."""
    fitted = {
        Run.VEHICLE_FEED: Extra.VEHICLE_ISOLATOR,
        Run.HOUSE_FEED: Extra.HOUSE_ISOLATOR,
    }
    return frozenset(run for run, extra in fitted.items() if installation.has(extra))


def plug_of(installation: Installation) -> Run | None:
    """Return the feed that goes through a trailer's plug, if one does."""
    if not installation.has(Extra.TRAILER):
        return None
    feed, _ = side_through_plug(installation.location)
    return feed


def is_shown_in(key: ReadingKey, state: State) -> bool:
    """Tell whether a reading stands on the picture of a state."""
    return key.state is state or key.point is Point.PROFILE_SETTING_VOLTAGE


def covered_states(readings: Iterable[Reading | Verdict]) -> tuple[State, ...]:
    """List the states of which the picture shows a reading, best covered first."""
    setting = Point.PROFILE_SETTING_VOLTAGE  # shown in every state: it makes none the best covered
    shown = [
        one.state for one in readings if one.point.unit in _METERED and one.point is not setting
    ]
    covered = (state for state in _BY_CURRENT if state in shown)
    return tuple(sorted(covered, key=shown.count, reverse=True))


def _value(readings: Mapping[Point, Reading | Verdict], point: Point | None) -> float | None:
    found = readings.get(point) if point is not None else None
    return found.value if found is not None else None


def partners(post: Post) -> tuple[Post, ...]:
    """List the posts that a post can be read against."""
    others = (
        point.black if point.red is post else point.red
        for point in Point
        if post in (point.red, point.black)
    )
    return tuple(dict.fromkeys(other for other in others if other is not None))


def _shown(drop: RunDrop, signs: Mapping[Point, Sign]) -> DropShown:
    if drop.drop_v is None:
        return DropShown(Grade.NOT_READ)
    point, share = DROP_ACROSS[drop.run], drop.share or 0.0
    volts = short(point, drop.drop_v)
    if signs.get(point) is Sign.QUESTION:
        return DropShown(drop.grade, share, volts, TAKE_AGAIN, Sign.QUESTION)
    mark = GRADE_MARKS[drop.grade]
    word = mark.word
    if drop.origin is Origin.TOGETHER:
        volts = f"both {volts}"
    elif drop.grade is Grade.TOO_MUCH and share >= _TIMES_WORTH_SAYING:
        word = f"{min(share, 99):.0f}× limit"
    return DropShown(drop.grade, share, volts, word, mark.sign)
