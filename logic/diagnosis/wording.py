"""The diagnosis's typed answers in words: each kind of evidence, exclusion and doubt once."""

from collections.abc import Sequence

from logic.case import (
    Exclusion,
    FaultId,
    HiddenBehind,
    ReadingEvidence,
    Slip,
    SuspectReading,
    UnexplainedReading,
    Verdict,
)
from logic.diagnosis.catalogue import title_in_a_sentence, titles
from logic.vehicle.installation import Installation
from logic.vehicle.points import Unit
from logic.words.figures import as_read, drop_volts, worked_out
from logic.words.names import reading_name, uncapitalised

# How many of the answers that are ruled out are named, the likeliest first.
_MOST_NAMED = 6

_SLIPS: dict[Slip, str] = {
    "point_right": "the decimal point slipped one digit right",
    "point_left": "the decimal point slipped one digit left",
    "sign": "the sign is the wrong way round: probes or clamp reversed",
    "thousandths_as_whole": "milli{units} typed as {units}",
    "whole_as_thousandths": "{units} typed as milli{units}",
    "wrong_post": "a wrong post, perhaps",
}
_UNITS = {Unit.VOLT: "volts", Unit.AMPERE: "amperes"}


def tells_apart(evidence: ReadingEvidence) -> bool:
    """Whether the figures that a line of evidence holds against each other differ as written."""
    point, expected = evidence.point, evidence.expected
    if evidence.kind == "against":
        return expected is None or worked_out(point, expected) != worked_out(point, evidence.value)
    rival = evidence.expected_under_rival
    if expected is None or rival is None:
        return True
    return worked_out(point, expected) != worked_out(point, rival)


def evidence_in_words(evidence: ReadingEvidence, fitted: Installation | None = None) -> str:
    """Say what a reading says for an answer or against it."""
    point, rival = evidence.point, f"“{titles(evidence.rival)}”"
    said = f"{reading_name(point, evidence.state, fitted)}: {as_read(point, evidence.value)}"
    if evidence.kind == "against":
        instead = ""
        if evidence.expected is not None:
            instead = f" instead of about {worked_out(point, evidence.expected)}"
        return f"Against: {said}{instead} suits {rival} better."
    if evidence.expected is not None:
        said += f" fits this answer (about {worked_out(point, evidence.expected)})"
    if evidence.expected_under_rival is None:
        said += f"; {rival} hardly explains it."
    else:
        would = worked_out(point, evidence.expected_under_rival)
        said += f"; with {rival} it would be about {would}."
    if evidence.at_commissioning is not None:
        said += f" At commissioning it read {as_read(point, evidence.at_commissioning)}."
    return said


def exclusion_in_words(exclusion: Exclusion) -> str:
    """Say what the readings leave no room for."""
    return f"Ruled out: {excluded(exclusion.faults)}"


def excluded(fault_ids: Sequence[FaultId]) -> str:
    """List the first few faults that are ruled out, and how many more there are."""
    named = [title_in_a_sentence(one) for one in fault_ids[:_MOST_NAMED]]
    if more := len(fault_ids) - len(named):
        named.append(f"and {more} more")
    return f"{'; '.join(named)}."


def not_cleared_in_words(fault_ids: tuple[FaultId, ...]) -> str:
    """Say that a reading in range does not clear a fault that is likely."""
    return f"“{titles(fault_ids)}” may show this too, so it does not clear it"


def doubt_in_words(doubt: SuspectReading, fitted: Installation | None = None) -> str:
    """Say why a reading cannot be right, and that it is to be taken again."""
    point, reasons = doubt.point, []
    if doubt.slip is not None:
        reasons.append(_SLIPS[doubt.slip].format(units=_UNITS.get(point.unit, "")))
    if doubt.loop_gap_v is not None:
        gap = drop_volts(abs(doubt.loop_gap_v))
        reasons.append(f"the voltages around the loop miss by {gap}")
    said = reading_name(point, doubt.state, fitted)
    if doubt.value is not None and doubt.expected is not None:
        read, should = as_read(point, doubt.value), worked_out(point, doubt.expected)
        said += f": {read} read, but the other readings say about {should}"
    because = f": {'; '.join(reasons)}" if reasons else ""
    return f"{said}{because}. Take it again."


def hidden_in_words(hidden: HiddenBehind, fitted: Installation | None = None) -> str:
    """Say what to read once a finding is put right, and what would not show before."""
    named = [title_in_a_sentence(one) for one in hidden.faults]
    faults = named[0] if len(named) == 1 else f"{', '.join(named[:-1])} or {named[-1]}"
    name = uncapitalised(reading_name(hidden.point, hidden.state, fitted))
    return f"Once this is put right, read {name}: {faults} would not show now."


def unexplained_in_words(reading: UnexplainedReading, fitted: Installation | None = None) -> str:
    """Say that no answer explains a reading, and what the likeliest would make it."""
    point = reading.point
    read, would = as_read(point, reading.value), worked_out(point, reading.expected)
    name = reading_name(point, reading.state, fitted)
    return f"{name}: {read} read; the likeliest answer would make it about {would}."


def accounted_in_words(verdict: Verdict, fitted: Installation | None = None) -> str:
    """Say under what condition a reading that is out of range is right, and how to make sure."""
    name = reading_name(verdict.point, verdict.state, fitted)
    said = f"{name}: {as_read(verdict.point, verdict.value)} is out of range"
    if verdict.point.is_drop:
        return (
            f"{said} for the cable that was entered, and right for a longer or thinner one: "
            "measure its length and size."
        )
    return (
        f"{said}, and right if supply or loads moved while the readings were taken: take it again "
        "with nothing switched on or off in between."
    )


# What to check where something outside the catalogue is the likeliest, by what is then misjudged.
_CHECKS = {
    "meter": "The meter: replace its battery, look at leads, jacks and range, and read a battery "
    "whose voltage you know.",
    "clamp": "The clamp: zero it away from any current, close its jaws fully, and put it round one "
    "conductor only, the whole of it.",
    "unit": "The unit: hold its rating plate and its settings against what was entered (volts, "
    "amperes, input limit, thresholds). It may also waste more power than it should.",
    "house_battery": "The house battery: hold its plate against what was entered (chemistry, "
    "volts, capacity), and look for a second battery or another source beside it.",
    "cables": "The cables: measure their lengths and sizes, and hold them against what was "
    "entered.",
    "vehicle_feed": "The vehicle feed: look for a diode, an isolator, a relay or a tap between the "
    "start battery and the unit.",
}
_ELSE = (
    "The posts: take the readings that do not fit once more, each at the post itself, with supply "
    "and loads left as they are in between.",
    "Anything else on either battery: another source, another consumer, another unit.",
)


def checks_in_words(kinds: Sequence[str]) -> tuple[str, ...]:
    """Say what to check, by what is likely to have been misjudged, the likeliest first."""
    return (*(_CHECKS[kind] for kind in kinds), *_ELSE)
