"""The check of a repair: each reading before and after, and how it stands now. No Kivy."""

from dataclasses import dataclass

from logic.case import Reading, Verdict
from logic.records import repair_proof
from logic.records.repair_proof import Stands
from logic.vehicle.installation import Installation
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
    fitted: Installation | None = None

    @property
    def name(self) -> str:
        """The reading's name with its state, in the words of what is fitted."""
        return reading_name(*self.key, self.fitted)


def lines(callback: Callback) -> tuple[CheckLine, ...]:
    """List the readings that check the repair, then others that it touches or that were taken."""
    checks, also = callback.check_readings(), callback.also_touched()
    after = [reading.key for reading in callback.job.readings_after]
    keys = dict.fromkeys((*checks, *also, *after))
    return tuple(_line(callback, key, key in checks) for key in keys)


def standing(rows: tuple[CheckLine, ...]) -> tuple[str, str]:
    """Say how the check stands, with a sign's name; ("", "") where there is nothing to check."""
    checks = [row.key for row in rows if row.is_check]
    by_key = {row.key: row for row in rows}
    after = {row.key: row.verdict for row in rows if row.verdict}
    beyond = {row.key for row in rows if row.is_beyond_reach}
    found = repair_proof.standing(checks, after, beyond)
    first = by_key[found.keys[0]] if found.keys else None
    share = f"{len(found.keys)} of {len(checks)}"
    match found.stands:
        case Stands.OUT_OF_RANGE:
            is_out = "was hidden and is" if first and first.was_hidden else "is still"
            return (
                f"Not proved: {first.name if first else ''} {is_out} out of range. Look on "
                "(Circuit), name another cause (Cause), or sign with this in the record.",
                "out_of_range",
            )
        case Stands.NOT_TAKEN:
            return f"Not proved yet: {share} still to be taken.", "question"
        case Stands.PROVES_NOTHING:
            why = after[found.keys[0]].proves_nothing
            return f"Not proved yet: {first.name if first else ''}: {why}.", "question"
        case Stands.NOT_REACHED:
            return f"Not all proved: {share} cannot be reached.", "question"
        case Stands.PROVED:
            return "Proved: what the fault touched is in order again.", "in_range"
        case Stands.NOTHING_DUE:
            return "", ""


def _line(callback: Callback, key: ReadingKey, is_check: bool) -> CheckLine:
    from logic.limits.verdict import judge  # imports numpy: not on the start path

    fitted = callback.installation
    before = _reading(callback.job.readings, key)
    after = _reading(callback.job.readings_after, key)
    was = f"before {as_read(key.point, before.value)}" if before else "not read before"
    hidden = bool(callback.hidden_faults(key))
    if after is None:
        beyond = key in callback.job.beyond_reach
        words = f"{was}; {_BEYOND_REACH if beyond else _NOT_TAKEN}"
        return CheckLine(
            key, is_check, words, was_hidden=hidden, is_beyond_reach=beyond, fitted=fitted
        )
    verdict = judge(fitted, callback.job.readings_after, after, callback.baseline)
    word = capitalised(MARKS[verdict.mark])
    words = f"{was}, now {as_read(key.point, after.value)}. {word}"
    words += f": {verdict.proves_nothing}." if verdict.proves_nothing else "."
    return CheckLine(key, is_check, words, verdict, was_hidden=hidden, fitted=fitted)


def _reading(readings: tuple[Reading, ...], key: ReadingKey) -> Reading | None:
    return next((one for one in readings if one.key == key), None)
