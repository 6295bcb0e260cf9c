"""Readings that a named fault shows in range: they do not clear it, so they are no proof.

Where the diagnosis names a fault as likely, a reading of what that fault touches may lie within
its limits all the same. A tick there would contradict the finding.
"""

from collections.abc import Sequence

from logic.case import Finding, Judgement, Verdict
from logic.diagnosis import catalogue, wording

# From this probability up a finding is named as likely: more likely than not.
_NAMED = 0.5


def not_cleared(verdicts: Sequence[Verdict], findings: Sequence[Finding]) -> tuple[Verdict, ...]:
    """Mark what is right, but at the likely fault's own readings, as proving nothing yet.

    Parameters
    ----------
    verdicts
        On all readings.
    findings
        The likeliest first.
    """
    first = findings[0] if findings else None
    if first is None or first.probability < _NAMED:
        return tuple(verdicts)
    named = catalogue.known(first.faults)
    if not named or all(entry.equipment_is_sound for entry in named):
        return tuple(verdicts)
    own = {key.point for key in catalogue.check_readings(first.faults)}
    words = wording.not_cleared_in_words(first.faults)
    return tuple(
        one.model_copy(update={"proves_nothing": words})
        if one.point in own and _is_ticked(one)
        else one
        for one in verdicts
    )


def _is_ticked(verdict: Verdict) -> bool:
    return verdict.verdict is Judgement.IN_RANGE and not verdict.proves_nothing
