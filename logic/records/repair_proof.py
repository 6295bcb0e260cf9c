"""Whether a repair is proved by what was read after it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from logic.case import Judgement, OutOfReach, Verdict
from logic.records.events import CauseConcluded
from logic.vehicle.installation import Installation
from logic.vehicle.points import ReadingKey
from logic.words.names import counted, reading_name, uncapitalised


class Stands(StrEnum):
    """How the proof of a repair stands."""

    OUT_OF_RANGE = "out_of_range"
    NOT_TAKEN = "not_taken"
    PROVES_NOTHING = "proves_nothing"
    NOT_REACHED = "not_reached"
    PROVED = "proved"
    NOTHING_DUE = "nothing_due"


@dataclass(frozen=True)
class Standing:
    """How the proof stands, and by which readings: those that keep it from being proved."""

    stands: Stands
    keys: tuple[ReadingKey, ...] = ()


def standing(
    due: Sequence[ReadingKey],
    after: Mapping[ReadingKey, Verdict],
    beyond_reach: Collection[ReadingKey],
) -> Standing:
    """Say how the proof of a repair stands.

    Parameters
    ----------
    due
        The readings that prove it.
    after
        The verdicts on all that was read after the repair: what it spoilt counts too.
    beyond_reach
        What the technician says cannot be read.
    """
    bad = [key for key, one in after.items() if one.verdict is Judgement.OUT_OF_RANGE]
    missing = [key for key in due if key not in after]
    waiting = [key for key in missing if key not in beyond_reach]
    unproven = [key for key in due if key in after and after[key].proves_nothing]
    for stands, keys in (
        (Stands.OUT_OF_RANGE, bad),
        (Stands.NOT_TAKEN, waiting),
        (Stands.PROVES_NOTHING, unproven),
        (Stands.NOT_REACHED, missing),
    ):
        if keys:
            return Standing(stands, tuple(keys))
    return Standing(Stands.PROVED if due else Stands.NOTHING_DUE)


def proof(
    conclusion: CauseConcluded | None,
    after: Sequence[Verdict],
    out_of_reach: Iterable[OutOfReach],
    fitted: Installation | None = None,
) -> str:
    """Say in one sentence for the record whether a repair is proved, "" with nothing concluded.

    Parameters
    ----------
    conclusion
        What was found and done: its faults say which readings prove it.
    after
        The verdicts on what was read after the repair.
    out_of_reach
        What the technician says cannot be read.
    fitted
        By which states of the vehicle are named.
    """
    from logic.diagnosis import catalogue  # not on the start path

    if conclusion is None:
        return ""
    checks = (*catalogue.check_readings(conclusion.faults), *(one.key for one in conclusion.hides))
    due = tuple(dict.fromkeys(checks))
    found = standing(due, {one.key: one for one in after}, {one.key for one in out_of_reach})
    named = counted(len(due), "proof reading")
    match found.stands:
        case Stands.OUT_OF_RANGE:
            return f"Not proved: {_named(found, fitted)} is out of range after the work."
        case Stands.NOT_TAKEN:
            return f"Not proved: {len(found.keys)} of {named} not taken after the work."
        case Stands.PROVES_NOTHING:
            return f"Not proved: {_named(found, fitted)} was read where it proves nothing."
        case Stands.NOT_REACHED:
            return f"Not proved: {len(found.keys)} of {named} could not be reached."
        case Stands.PROVED:
            return "Proved: what the fault touched is in order again."
        case Stands.NOTHING_DUE:
            entries = catalogue.known(conclusion.faults)
            if entries and all(one.nothing_is_wrong for one in entries):
                return "Nothing had to be put right."
            return "No reading proves this by itself."


def _named(found: Standing, fitted: Installation | None) -> str:
    return uncapitalised(reading_name(*found.keys[0], fitted))
