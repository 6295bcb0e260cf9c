"""What the fault-finding picture shows: volts and amps at their posts, runs by their drop. No Kivy.

Signs and patterns are named as in :mod:`mobile.ui.widgets.shapes` and
:mod:`mobile.ui.widgets.run_patterns`; a word always goes with them.
"""

from dataclasses import dataclass, field

from logic.case import Diagnosis, Judgement
from logic.limits.ladder import Grade, Ladder, Origin, RunDrop
from logic.vehicle.points import DROP_ACROSS, Point, Post, Run, State, Unit
from mobile.jobs.callback import Callback, WantedReading
from mobile.jobs.wording import measure

TAKE_AGAIN = "take again"

# Beside each word its pattern: all of them differ in shape.
GRADE_WORDS = {
    Grade.NOT_READ: "not read",
    Grade.NOTHING_FLOWS: "no current",
    Grade.AS_EXPECTED: "in order",
    Grade.MARGINAL: "at its limit",
    Grade.TOO_MUCH: "too much",
    Grade.OPEN: "open",
    Grade.WRONG_WAY: "wrong way",
}
GRADE_SIGNS = {
    Grade.NOT_READ: "",
    Grade.NOTHING_FLOWS: "no_limit",
    Grade.AS_EXPECTED: "in_range",
    Grade.MARGINAL: "marginal",
    Grade.TOO_MUCH: "out_of_range",
    Grade.OPEN: "out_of_range",
    Grade.WRONG_WAY: "question",
}
_METERED = (Unit.VOLT, Unit.AMPERE)
# Inside the charger two voltages stand under one another.
_LEAD = {Point.CHARGER_INPUT_VOLTAGE: "in ", Point.CHARGER_OUTPUT_VOLTAGE: "out "}
_JUDGED = {
    Judgement.IN_RANGE: "in_range",
    Judgement.MARGINAL: "marginal",
    Judgement.OUT_OF_RANGE: "out_of_range",
    Judgement.NO_LIMIT: "",
}


@dataclass(frozen=True)
class Shown:
    """A value at its post: its text and its verdict's sign, "" for none."""

    text: str
    sign: str = ""


@dataclass(frozen=True)
class RunShown:
    """A run: its pattern, how many times its most it drops, its volts and its word."""

    grade: Grade
    share: float = 0.0
    volts: str = ""
    word: str = ""
    sign: str = ""


@dataclass(frozen=True)
class LoopView:
    """Everything the picture shows in one state."""

    state: State
    solar: bool
    values: dict[Point, Shown] = field(default_factory=dict)
    runs: dict[Run, RunShown] = field(default_factory=dict)
    temperatures: dict[str, str] = field(default_factory=dict)
    red: Post | None = None
    black: Post | None = None
    clamp: str = ""
    part: str = ""


def short(point: Point, value: float) -> str:
    """Write a value so that it fits its post: four figures, the unit behind."""
    size = abs(value)
    if point.unit is Unit.AMPERE:
        places = 0 if size >= 99.95 else 1
    elif point.is_drop and size < 0.9995:
        places = 3
    else:
        places = 1 if size >= 99.995 else 2
    text = f"{value:.{places}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return f"{text.replace('-', '−')} {point.unit.symbol}"


def loop_view(callback: Callback, ladder: Ladder, mark: WantedReading | None) -> LoopView:
    """Gather what the picture shows in the visit's state, with the next reading marked."""
    here = mark if mark is not None and mark.state is callback.state else None
    point = here.point if here else None
    found = callback.diagnosis if not callback.is_thinking else None
    return LoopView(
        state=callback.state,
        solar=callback.has_solar,
        values=_values(callback, found),
        runs={drop.run: _run(drop, callback, found) for drop in ladder.drops},
        temperatures=_temperatures(callback),
        red=point.red if point else None,
        black=point.black if point else None,
        clamp=(point.clamp_on or "") if point else "",
        part=_part(point) if point else "",
    )


def _part(point: Point) -> str:
    """The part to light up, for a point with neither probes nor a clamp."""
    has_posts = point.red is not None or point.clamp_on is not None
    return "" if has_posts or point.part is None else point.part.value


def suspects(found: Diagnosis | None) -> dict[tuple[Point, State], str]:
    """Return the readings that cannot be right, with the reason."""
    return {(s.point, s.state): s.reason for s in found.suspect_readings} if found else {}


def _values(callback: Callback, found: Diagnosis | None) -> dict[Point, Shown]:
    signs = {(v.point, v.state): _JUDGED[v.verdict] for v in found.verdicts} if found else {}
    signs |= dict.fromkeys(suspects(found), "question")
    return {
        reading.point: Shown(
            _LEAD.get(reading.point, "") + short(reading.point, reading.value),
            signs.get((reading.point, reading.state), ""),
        )
        for reading in callback.readings
        if reading.state is callback.state
        and not reading.point.is_drop
        and reading.point.unit in _METERED
    }


def _run(drop: RunDrop, callback: Callback, found: Diagnosis | None) -> RunShown:
    if drop.drop_v is None:
        return RunShown(Grade.NOT_READ)
    volts = short(DROP_ACROSS[drop.run], drop.drop_v)
    if (DROP_ACROSS[drop.run], callback.state) in suspects(found):
        return RunShown(drop.grade, drop.share or 0.0, volts, TAKE_AGAIN, "question")
    word, sign = GRADE_WORDS[drop.grade], GRADE_SIGNS[drop.grade]
    if drop.origin is Origin.TOGETHER:
        volts = f"both {volts}"
    elif drop.grade is Grade.TOO_MUCH and drop.share and drop.share >= 1.5:
        word = f"{min(drop.share, 99):.0f}× limit" if drop.share >= 2 else word
    return RunShown(drop.grade, drop.share or 0.0, volts, word, sign)


def _temperatures(callback: Callback) -> dict[str, str]:
    at_parts = ((p.part, callback.value(p)) for p in Point if p.unit is Unit.CELSIUS)
    return {part.value: f"{value:.0f} °C" for part, value in at_parts if part and value is not None}


def plain(point: Point, value: float) -> str:
    """Write a value of any point, the lamps in words."""
    return short(point, value) if point.unit in _METERED else measure(point, value)
