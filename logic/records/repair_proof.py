"""Whether a repair is proved by what was read after it, in one sentence for the record."""

from collections.abc import Iterable, Sequence

from logic.case import Judgement, OutOfReach, Verdict
from logic.records.events import CauseConcluded
from logic.words.names import counted, reading_name, uncapitalised


def proof(
    conclusion: CauseConcluded | None, after: Sequence[Verdict], out_of_reach: Iterable[OutOfReach]
) -> str:
    """Say whether a repair is proved, "" where nothing was concluded.

    Parameters
    ----------
    conclusion
        What was found and done: its faults say which readings prove it.
    after
        The verdicts on what was read after the repair.
    out_of_reach
        What the technician says cannot be read.
    """
    from logic.diagnosis import catalogue  # not on the start path

    if conclusion is None:
        return ""
    due = dict.fromkeys(
        (*catalogue.check_readings(conclusion.faults), *(one.key for one in conclusion.hides))
    )
    found = {verdict.key: verdict for verdict in after}
    bad = [one for one in after if one.verdict is Judgement.OUT_OF_RANGE]
    if bad:
        return f"Not proved: {_named(bad[0])} is out of range after the work."
    if not due:
        entries = catalogue.known(conclusion.faults)
        if entries and all(one.nothing_is_wrong for one in entries):
            return "Nothing had to be put right."
        return "No reading proves this by itself."
    missing = [key for key in due if key not in found]
    beyond = {one.key for one in out_of_reach}
    if missing:
        named = counted(len(due), "proof reading")
        why = "could not be reached" if set(missing) <= beyond else "not taken after the work"
        return f"Not proved: {len(missing)} of {named} {why}."
    return "Proved: what the fault touched is in order again."


def _named(verdict: Verdict) -> str:
    return uncapitalised(reading_name(*verdict.key))
