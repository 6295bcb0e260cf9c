"""A callback in words: how sure, why this reading next, what the findings say. No Kivy."""

from dataclasses import dataclass

from logic.case import Diagnosis, Exclusion, Finding, Judgement, ReadingEvidence
from logic.diagnosis import catalogue, wording
from logic.diagnosis.catalogue import Fault
from logic.limits.then_and_now import Comparison
from logic.vehicle.installation import Installation
from logic.vehicle.points import ReadingKey, Unit
from logic.words import figures
from logic.words.dates import countdown
from logic.words.names import (
    NONE_LISTED,
    NONE_LISTED_MEANS,
    capitalised,
    certainty,
    counted,
    reading_name,
    uncapitalised,
)
from mobile.jobs.callback import Callback, WantedReading

_WORTH_SHOWING = 0.02
_MOST_SHOWN = 4
_DECIDED = 0.8
_NOTHING_FOR = (
    "No single reading speaks for it more than for another: they leave it possible, no more."
)


@dataclass(frozen=True)
class FindingView:
    """A finding as it is shown; ``faults`` are its catalogue entries.

    One without any says that none of the listed faults explains the readings: then ``means``
    says what that may be, and what is ``not_explained`` and what ``to_check`` follow.  That all is
    as it should be has something ``to_check`` where a reading is out of range all the same.
    """

    title: str
    sure: str
    probability: float
    faults: tuple[Fault, ...]
    evidence_for: tuple[str, ...]
    evidence_against: tuple[str, ...]
    hides: tuple[str, ...] = ()
    means: str = ""
    not_explained: tuple[str, ...] = ()
    to_check: tuple[str, ...] = ()

    @property
    def percent(self) -> str:
        """The probability in per cent."""
        return figures.probability(self.probability)


def findings(found: Diagnosis) -> tuple[FindingView, ...]:
    """Return the findings worth showing, most likely first; one at least if there is any.

    That none of them is true stands among them by its probability.
    """
    shown = [one for one in found.findings if one.probability >= _WORTH_SHOWING]
    views = [_view(one) for one in (shown or found.findings[:1])[:_MOST_SHOWN]]
    if found.unexplained is not None and found.place_of_unexplained is not None:
        views.insert(found.place_of_unexplained, _none_listed(found, found.unexplained))
    return tuple(views)


def ruled_out(found: Diagnosis) -> str:
    """Name what the readings leave no room for, "" where that is nothing."""
    excluded = (
        wording.excluded(one.faults)
        for finding in found.findings
        for one in finding.evidence
        if isinstance(one, Exclusion)
    )
    return capitalised(next(excluded, ""))


def summary(callback: Callback) -> str:
    """Say in a line what the readings say so far."""
    if callback.phase == "after" and callback.check_readings():
        checks = callback.check_readings()
        taken = sum(callback.value(*key) is not None for key in checks)
        beyond = len(not_reached(callback, checks))
        more = f", {beyond} cannot be reached" if beyond else ""
        return f"{taken} of {len(checks)} proof readings taken{more}"
    if not callback.readings:
        return "Nothing read yet"
    if callback.diagnosis is None:
        return "Working it out ..."
    found = callback.diagnosis
    if found.nothing_listed_leads:
        percent = figures.probability(found.unexplained or 0)
        return f"{NONE_LISTED} explains the readings: {percent}"
    first = found.findings[0]
    if first.probability < 0.2:
        return "So far many faults fit"
    name = uncapitalised(catalogue.titles(first.faults))
    return f"{capitalised(certainty(first.probability))}: {name}"


def reason(callback: Callback, next_one: WantedReading) -> str:
    """Say why a reading is worth taking next, and about how long it takes."""
    if next_one.before:
        drop = uncapitalised(next_one.before.full_name)
        return f"Its current first: the {drop} proves nothing without it."
    minutes = f", about {figures.minutes(next_one.minutes)}" if next_one.minutes else ""
    if next_one.asked_by == "symptom":
        return next_one.why or f"With this complaint, begin here{minutes}."
    if next_one.asked_by == "repair check":
        return "Proves the repair: same post, same state as before."
    if next_one.asked_by == "hidden":
        names = [entry.short for entry in catalogue.known(next_one.tells_apart)]
        which = f": {_either(names)}" if names else ""
        return f"A second fault here would not have shown before{which}."
    if callback.diagnosis is None:
        return ""
    if next_one.asked_by == "left out":
        return f"Left out so far. {_tells(callback.diagnosis, next_one)}, and nothing else does."
    return f"{_tells(callback.diagnosis, next_one)}{minutes}."


def enough(callback: Callback) -> str:
    """Say what to do when no further reading is asked for."""
    if callback.phase == "after":
        reached = " that can be reached" if not_reached(callback, callback.check_readings()) else ""
        return f"Every proof reading{reached} is taken: look at them, then close the visit."
    if callback.diagnosis is None or not callback.readings:
        return "Take the first reading where you like: touch two posts, or a clamp."
    if callback.diagnosis.nothing_listed_leads:
        return "More readings would not change it. The findings say what to check."
    first = callback.diagnosis.findings[0]
    may_be_other = callback.diagnosis.place_of_unexplained is not None
    if not may_be_other and any(entry.nothing_is_wrong for entry in catalogue.known(first.faults)):
        return "More readings would not change it: all is as it should be."
    return "More readings would not change it. Look at the findings."


def not_reached(callback: Callback, keys: tuple[ReadingKey, ...]) -> tuple[ReadingKey, ...]:
    """Return the readings that the technician says cannot be taken."""
    return tuple(key for key in keys if key in callback.job.beyond_reach)


def left_out(key: ReadingKey, fitted: Installation | None = None) -> str:
    """Say that a reading is not asked for any more, and where that can be taken back."""
    name = uncapitalised(reading_name(*key, fitted))
    return f"Left out: {name}. To take that back: More."


def beyond_reach(callback: Callback) -> str:
    """Say how many readings cannot be reached, "" where every one can."""
    count = len(callback.job.beyond_reach)
    return f"{counted(count, 'reading')} out of reach" if count else ""


def what_it_takes(callback: Callback) -> str:
    """Say what a finding would still take before it is acted on, "" where nothing."""
    if not callback.readings or callback.is_very_likely or callback.is_thinking:
        return ""
    if wanted := callback.next_reading():
        name = uncapitalised(reading_name(*wanted.key, callback.installation))
        return f"Not likely enough to act on yet. It takes: {name}."
    names = [
        uncapitalised(reading_name(*key, callback.installation))
        for key in callback.job.beyond_reach
    ]
    if not names:
        return ""
    return f"Not very likely, and what was left out might tell: {'; '.join(names)}."


def start_delay_left(callback: Callback) -> str:
    """Say how long the unit's start delay still runs, "" where it is over."""
    left = callback.wait_left()
    return f"start delay {countdown(left)}" if left else ""


def enough_to_act_on(next_one: WantedReading) -> str:
    """Say that the answer stands, and which reading would make it surer."""
    return f"Enough to act on. Still surer with: {uncapitalised(next_one.point.full_name)}."


def _tells(found: Diagnosis, next_one: WantedReading) -> str:
    names = [entry.short for entry in catalogue.known(next_one.tells_apart)]
    if len(names) > 1:
        return f"Tells {names[0]} from {_either(names[1:])}"
    if names:
        return f"Says what to do about {names[0]}"
    if found.nothing_listed_leads:
        return "Tells more than any other"
    first, *others = found.findings
    second = others[0] if others else None
    if second is None or first.probability >= 0.95:
        return f"Makes sure of {_quoted(first)}"
    if first.probability + second.probability >= _DECIDED:
        return f"Tells {_quoted(first)} from {_quoted(second)}"
    count = sum(one.probability >= _WORTH_SHOWING for one in found.findings)
    return f"Tells more than any other; {count} faults still fit"


def _either(names: list[str]) -> str:
    *others, last = names
    return f"{', '.join(others)} or {last}" if others else last


def _quoted(one: Finding) -> str:
    return f"'{uncapitalised(catalogue.titles(one.faults))}'"


def _view(one: Finding) -> FindingView:
    said = [evidence for evidence in one.evidence if isinstance(evidence, ReadingEvidence)]
    supports = tuple(evidence.text for evidence in said if evidence.kind == "supports")
    return FindingView(
        title=catalogue.titles(one.faults),
        sure=capitalised(certainty(one.probability)),
        probability=one.probability,
        faults=catalogue.known(one.faults),
        evidence_for=supports or (_NOTHING_FOR,),
        evidence_against=tuple(evidence.text for evidence in said if evidence.kind == "against"),
        hides=tuple(hidden.text for hidden in one.hides),
        to_check=tuple(reading.text for reading in one.accounts_for),
    )


def _none_listed(found: Diagnosis, probability: float) -> FindingView:
    return FindingView(
        title=NONE_LISTED,
        sure=capitalised(certainty(probability)),
        probability=probability,
        faults=(),
        evidence_for=(),
        evidence_against=(),
        means=NONE_LISTED_MEANS,
        not_explained=tuple(reading.text for reading in found.unexplained_readings),
        to_check=found.to_check,
    )


def change(found: Comparison) -> tuple[str, str]:
    """Say how much a reading changed, with a sign's name: no cross where that is explained."""
    if not found.is_real:
        return "No more than the meter and an ordinary day explain.", "in_range"
    said = _changed(found)
    if found.is_explained:
        return f"{said} It is right as things are today.", "no_limit"
    return said, "marginal" if found.judgement is Judgement.MARGINAL else "out_of_range"


def _changed(found: Comparison) -> str:
    if found.then_ohm and found.now_ohm:
        times = found.now_ohm / found.then_ohm
        if times >= 1:
            return f"{figures.number(times, 1)} times what it was, per ampere."
        return f"Down to {figures.percent(times)} of what it was, per ampere."
    if found.point.unit is Unit.LIT:
        return "The lamp shows otherwise."
    way = "More" if found.now > found.then else "Less"
    return f"{way} than the meter and an ordinary day explain."
