"""What the fault-finding picture shows: volts and amps at their posts, runs by their drop. No Kivy.

Signs and patterns are named as in :mod:`mobile.ui.widgets.shapes` and
:mod:`mobile.ui.widgets.run_patterns`; a word always goes with them.
"""

from dataclasses import dataclass, field

from logic.case import Diagnosis, Judgement
from logic.limits.drops import DROP_OF, Grade, Origin, Step
from logic.limits.ladder import Ladder
from logic.vehicle.points import PROBES, Point, Post, Run, State
from mobile.jobs.callback import Suggestion, Visit
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
    unit = PROBES[point].unit
    size = abs(value)
    if unit == "A":
        places = 0 if size >= 99.95 else 1
    elif point.value.endswith("_drop") and size < 0.9995:
        places = 3
    else:
        places = 1 if size >= 99.995 else 2
    text = f"{value:.{places}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return f"{text.replace('-', '−')} {unit}"


def loop_view(visit: Visit, ladder: Ladder, mark: Suggestion | None) -> LoopView:
    """Gather what the picture shows in the visit's state, with the next reading marked."""
    here = mark if mark is not None and mark.state is visit.state else None
    probe = PROBES[here.point] if here else None
    found = visit.diagnosis if not visit.is_thinking else None
    return LoopView(
        state=visit.state,
        solar=visit.has_solar,
        values=_values(visit, found),
        runs={step.run: _run(step, visit, found) for step in ladder.steps},
        temperatures=_temperatures(visit),
        red=probe.red if probe else None,
        black=probe.black if probe else None,
        clamp=(probe.clamp_on or "") if probe else "",
        part="charger" if probe and not probe.red and not probe.clamp_on else "",
    )


def suspects(found: Diagnosis | None) -> dict[tuple[Point, State], str]:
    """Return the readings that cannot be right, with the reason."""
    return {(s.point, s.state): s.reason for s in found.suspect_readings} if found else {}


def _values(visit: Visit, found: Diagnosis | None) -> dict[Point, Shown]:
    signs = {(v.point, v.state): _JUDGED[v.verdict] for v in found.verdicts} if found else {}
    signs |= dict.fromkeys(suspects(found), "question")
    drops = set(DROP_OF.values())
    return {
        reading.point: Shown(
            _LEAD.get(reading.point, "") + short(reading.point, reading.value),
            signs.get((reading.point, reading.state), ""),
        )
        for reading in visit.readings
        if reading.state is visit.state
        and reading.point not in drops
        and PROBES[reading.point].unit in ("V", "A")
    }


def _run(step: Step, visit: Visit, found: Diagnosis | None) -> RunShown:
    if step.drop_v is None:
        return RunShown(Grade.NOT_READ)
    volts = short(DROP_OF[step.run], step.drop_v)
    if (DROP_OF[step.run], visit.state) in suspects(found):
        return RunShown(step.grade, step.share or 0.0, volts, TAKE_AGAIN, "question")
    word, sign = GRADE_WORDS[step.grade], GRADE_SIGNS[step.grade]
    if step.origin is Origin.TOGETHER:
        volts = f"both {volts}"
    elif step.grade is Grade.TOO_MUCH and step.share and step.share >= 1.5:
        word = f"{min(step.share, 99):.0f}× limit" if step.share >= 2 else word
    return RunShown(step.grade, step.share or 0.0, volts, word, sign)


def _temperatures(visit: Visit) -> dict[str, str]:
    read = {
        "charger": visit.value(Point.CHARGER_CASE_TEMPERATURE),
        "house_battery": visit.value(Point.HOUSE_BATTERY_TEMPERATURE),
    }
    return {part: f"{value:.0f} °C" for part, value in read.items() if value is not None}


def plain(point: Point, value: float) -> str:
    """Write a value of any point, the lamps in words."""
    return short(point, value) if PROBES[point].unit in ("V", "A") else measure(point, value)
