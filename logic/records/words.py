"""A record's data in words: what the PDF prints and the desk shows. No drawing here.

Every table is a tuple of (label, words) rows; "not known" is said, never left blank.
"""

from datetime import datetime
from decimal import Decimal

from logic.case import Judgement, Verdict
from logic.checklist.answers import ReadingAnswer
from logic.records.record import Record, StepRecord
from logic.vehicle.points import Point, State, Unit

Rows = tuple[tuple[str, str], ...]

UNKNOWN = "not known"
HEADS = ("What was checked", "Found", "Limits", "Meter ±", "Verdict")
STATES = {
    State.REST: "key off, rested",
    State.IDLE: "engine idling",
    State.FAST_IDLE: "engine at fast idle",
    State.SOLAR: "engine off, panel in daylight",
}
VERDICTS = {
    Judgement.IN_RANGE: "in range",
    Judgement.MARGINAL: "marginal",
    Judgement.OUT_OF_RANGE: "OUT OF RANGE",
    Judgement.NO_LIMIT: "no limit",
}
RESPONSIBILITIES = {
    "charger": "the charger itself",
    "wiring": "the installation's wiring",
    "vehicle": "the vehicle's own charging system",
    "battery": "the house battery",
    "use": "the way it is used; nothing is wrong",
    "none": "not decided",
}


def words(identifier: str) -> str:
    """Turn an id into words: ``vehicle_feed_drop`` is "Vehicle feed drop"."""
    return identifier.replace("_", " ").strip().capitalize()


def number(value: float, places: int | None = None) -> str:
    """Write a number with a real minus sign; without ``places``, as short as it is exact."""
    text = f"{value:.{places}f}" if places is not None else f"{Decimal(f'{value:.10g}'):f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def known(value: float | None, unit: str) -> str:
    """Write a value with its unit, or say that it is not known."""
    return UNKNOWN if value is None else f"{number(value)} {unit}"


def unit(point: Point) -> str:
    """Say the point's unit, "" where it has none."""
    return point.unit.symbol


def measure(point: Point, value: float) -> str:
    """Write a reading with its unit, in the digits that were read: none made up, none lost."""
    if point.unit is Unit.LIT:
        return "lit" if value else "not lit"
    return f"{number(value)} {unit(point)}".strip()


def limits(verdict: Verdict) -> str:
    """Write what the reading was held against."""
    low, high = verdict.expected_low, verdict.expected_high
    if verdict.point.unit is Unit.LIT and low == high and low is not None:
        return measure(verdict.point, low)
    places = verdict.point.decimals
    mark = f" {unit(verdict.point)}".rstrip()
    if low is None and high is None:
        return "no limit"
    if low is None or begins_at_nothing(low, high):
        return f"≤ {number(high or 0.0, places)}{mark}"
    if high is None:
        return f"≥ {number(low, places)}{mark}"
    return f"{number(low, places)} to {number(high, places)}{mark}"


def begins_at_nothing(low: float | None, high: float | None) -> bool:
    """Tell whether a band's lower end is only the meter's error below 0: no limit to name."""
    return low is not None and -(high or 0.0) / 4 < low <= 0


def uncertainty(verdict: Verdict) -> str:
    """Write the reading's expanded uncertainty (k = 2) to two figures (JCGM 100, 7.2.6)."""
    if verdict.point.unit is Unit.LIT or not verdict.uncertainty:
        return "–"
    figures = Decimal(f"{verdict.uncertainty:.1e}")
    return f"± {figures:f} {unit(verdict.point)}".strip()


def where(point: Point) -> str:
    """Say where the meter was: the two posts, or what the clamp was round."""
    if point.red and point.black:
        return f"red on {words(point.red).lower()}, black on {words(point.black).lower()}"
    if point.clamp_on:
        return f"clamp on {words(point.clamp_on).lower()}"
    return ""


def moment(when: datetime) -> str:
    """Write a date and time with its own zone, the month in letters."""
    offset = when.strftime("%z")
    zone = f"UTC{offset[:3]}:{offset[3:5]}".replace("-", "−") if offset else "zone not known"
    return f"{day(when)}, {when:%H:%M} ({zone})"


def day(when: datetime) -> str:
    """Write a date, the month in letters so that no two countries read it differently."""
    # Not strftime's %B: that speaks whatever language the process was set to.
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year:04d}"


_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def local(when: datetime, record: Record) -> datetime:
    """Return a moment in the zone the record was signed in; a phone's entries are in UTC."""
    try:
        return when.astimezone(record.signed_at.tzinfo)
    except OverflowError:  # in the calendar's first or last hours
        return when


def answer(step: StepRecord) -> str:
    """Say a step's answer; the words stored with it come first."""
    if step.outcome == "skipped":
        return "skipped"
    if step.outcome == "open":
        return "left open"
    if step.verdict:
        return _as_typed(step) or measure(step.verdict.point, step.verdict.value)
    return step.text or "done"


def _as_typed(step: StepRecord) -> str:
    """Return a reading in the very digits that were typed: 13.90 V is not 13.9 V."""
    if step.verdict is None or not isinstance(step.answer, ReadingAnswer):
        return ""
    typed = step.answer.typed.strip().replace(",", ".").replace("−", "-")
    mark = unit(step.verdict.point)
    try:
        same = mark and float(typed) == step.verdict.value
    except ValueError:
        return ""
    return f"{typed.replace('-', '−')} {mark}" if same else ""


def verdict_word(step: StepRecord) -> str:
    """Say how a step came out, in one or three words."""
    if step.outcome == "skipped":
        return "skipped"
    if step.outcome == "open":
        return "left open"
    if step.verdict:
        return VERDICTS[step.verdict.verdict]
    return "in order" if step.acceptable else "NOT IN ORDER"


def excepted(step: StepRecord) -> bool:
    """Whether a step is an exception: answered, and not in order."""
    out = step.verdict is not None and step.verdict.verdict is Judgement.OUT_OF_RANGE
    return step.outcome == "done" and (out or not step.acceptable)


def outcome(record: Record) -> str:
    """Sum the record up in one sentence: what a callback found, or counts of the steps."""
    found = record.conclusion
    if found and found.faults:
        names = " and ".join(words(fault).lower() for fault in found.faults)
        return f"{names}; responsible: {RESPONSIBILITIES[found.responsibility]}"
    classes = [_class_of(step) for step in record.steps]
    named = [(classes.count(name), name) for name in _ORDER]
    return ", ".join(f"{count} {name}" for count, name in named if count) or "nothing was checked"


_ORDER = ("in order", "marginal", "not in order", "without a limit", "skipped", "left open")
_CLASSES = {
    Judgement.IN_RANGE: "in order",
    Judgement.MARGINAL: "marginal",
    Judgement.OUT_OF_RANGE: "not in order",
    Judgement.NO_LIMIT: "without a limit",
}


def _class_of(step: StepRecord) -> str:
    if step.outcome != "done":
        return "skipped" if step.outcome == "skipped" else "left open"
    if excepted(step):
        return "not in order"
    return _CLASSES[step.verdict.verdict] if step.verdict else "in order"
