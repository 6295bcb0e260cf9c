"""The check of a repair: each reading before and after, and how it stands now. No Kivy."""

from dataclasses import dataclass

from logic.case import Judgement, Reading, Verdict
from logic.vehicle.points import ReadingKey
from logic.words.figures import as_read
from logic.words.names import MARKS, capitalised, reading_name
from mobile.jobs.callback import Callback

_NOT_TAKEN = "not taken since the repair; tap to take it"
_BEYOND_REACH = "cannot be reached, as you said; tap to take it all the same"


@dataclass(frozen=True)
class CheckLine:
    """One reading; ``verdict`` is None until it was taken after the repair.

    ``is_check`` tells a reading that checks the repair from one that it may have changed;
    ``was_hidden`` one that could show its fault only now. What ``is_beyond_reach`` cannot be
    taken, as the technician says.
    """

    key: ReadingKey
    is_check: bool
    words: str
    verdict: Verdict | None = None
    was_hidden: bool = False
    is_beyond_reach: bool = False

    @property
    def name(self) -> str:
        """The reading's name with its state."""
        return reading_name(*self.key)


def lines(callback: Callback) -> tuple[CheckLine, ...]:
    """List the readings that check the repair, then others that it touches or that were taken."""
    checks, also = callback.check_readings(), callback.also_touched()
    after = [reading.key for reading in callback.job.readings_after]
    keys = dict.fromkeys((*checks, *also, *after))
    return tuple(_line(callback, key, key in checks) for key in keys)


def standing(rows: tuple[CheckLine, ...]) -> tuple[str, str]:
    """Say how the check stands, with a sign's name; ("", "") where there is nothing to check."""
    checks = [row for row in rows if row.is_check]
    bad = [row for row in rows if row.verdict and row.verdict.verdict is Judgement.OUT_OF_RANGE]
    still_open = [row for row in checks if row.verdict is None]
    if bad:
        is_out = "was hidden and is" if bad[0].was_hidden else "is still"
        return (
            f"Not proved: {bad[0].name} {is_out} out of range. Look on (Circuit), name another "
            "cause (Cause), or sign with this in the record.",
            "out_of_range",
        )
    if waiting := [row for row in still_open if not row.is_beyond_reach]:
        return f"Not proved yet: {len(waiting)} of {len(checks)} still to be taken.", "question"
    if unproven := [row for row in checks if row.verdict and row.verdict.proves_nothing]:
        what = unproven[0].verdict.proves_nothing if unproven[0].verdict else ""
        return f"Not proved yet: {unproven[0].name}: {what}.", "question"
    if still_open:
        return f"Not all proved: {len(still_open)} of {len(checks)} cannot be reached.", "question"
    return ("Proved: what the fault touched is in order again.", "in_range") if checks else ("", "")


def _line(callback: Callback, key: ReadingKey, is_check: bool) -> CheckLine:
    from logic.limits.verdict import judge  # imports numpy: not on the start path

    before = _reading(callback.job.readings, key)
    after = _reading(callback.job.readings_after, key)
    was = f"before {as_read(key.point, before.value)}" if before else "not read before"
    hidden = bool(callback.hidden_faults(key))
    if after is None:
        beyond = key in callback.job.beyond_reach
        words = f"{was}; {_BEYOND_REACH if beyond else _NOT_TAKEN}"
        return CheckLine(key, is_check, words, was_hidden=hidden, is_beyond_reach=beyond)
    verdict = judge(callback.installation, callback.job.readings_after, after, callback.baseline)
    word = capitalised(MARKS[verdict.mark])
    words = f"{was}, now {as_read(key.point, after.value)}. {word}"
    words += f": {verdict.proves_nothing}." if verdict.proves_nothing else "."
    return CheckLine(key, is_check, words, verdict, was_hidden=hidden)


def _reading(readings: tuple[Reading, ...], key: ReadingKey) -> Reading | None:
    return next((one for one in readings if one.key == key), None)
