"""The diagnosis's typed answers in words: each kind of evidence, exclusion and doubt once."""

from collections.abc import Sequence

from logic.case import Exclusion, FaultId, ReadingEvidence, Slip, SuspectReading
from logic.diagnosis.catalogue import title_in_a_sentence, titles
from logic.vehicle.points import Unit
from logic.words.figures import as_read, drop_volts, worked_out
from logic.words.names import reading_name

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


def evidence_in_words(evidence: ReadingEvidence) -> str:
    """Say what a reading says for an answer or against it."""
    point, rival = evidence.point, f"“{titles(evidence.rival)}”"
    said = f"{reading_name(point, evidence.state)}: {as_read(point, evidence.value)}"
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


def doubt_in_words(doubt: SuspectReading) -> str:
    """Say why a reading cannot be right, and that it is to be taken again."""
    point, reasons = doubt.point, []
    if doubt.slip is not None:
        reasons.append(_SLIPS[doubt.slip].format(units=_UNITS.get(point.unit, "")))
    if doubt.loop_gap_v is not None:
        gap = drop_volts(abs(doubt.loop_gap_v))
        reasons.append(f"the voltages around the loop miss by {gap}")
    said = reading_name(point, doubt.state)
    if doubt.value is not None and doubt.expected is not None:
        read, should = as_read(point, doubt.value), worked_out(point, doubt.expected)
        said += f": {read} read, but the other readings say about {should}"
    because = f": {'; '.join(reasons)}" if reasons else ""
    return f"{said}{because}. Take it again."
