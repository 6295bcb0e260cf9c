"""The readings that prove a repair: each before and after, and how it stands now. No Kivy."""

from dataclasses import dataclass

from logic.case import Judgement, Reading, Verdict
from logic.vehicle.points import Point, State
from logic.words.figures import as_read
from logic.words.names import VERDICTS, capitalised, reading_name
from mobile.jobs.callback import Callback

_NOT_TAKEN = "not taken since the repair; tap to take it"


@dataclass(frozen=True)
class ProofLine:
    """One reading; ``verdict`` is None until it was taken after the repair."""

    point: Point
    state: State
    is_proof: bool
    words: str
    verdict: Verdict | None = None

    @property
    def name(self) -> str:
        """The reading's name with its state."""
        return reading_name(self.point, self.state)


def lines(callback: Callback) -> tuple[ProofLine, ...]:
    """List the proof readings, then the others that the repair touches or that were taken."""
    proofs, also = callback.check_readings(), callback.also_touched()
    after = [(reading.point, reading.state) for reading in callback.job.readings_after]
    places = dict.fromkeys((*proofs, *also, *after))
    return tuple(_line(callback, place, place in proofs) for place in places)


def standing(rows: tuple[ProofLine, ...]) -> tuple[str, str]:
    """Say how far the repair is proved, with a sign's name; ("", "") where nothing is to prove."""
    proofs = [row for row in rows if row.is_proof]
    bad = [row for row in rows if row.verdict and row.verdict.verdict is Judgement.OUT_OF_RANGE]
    still_open = [row for row in proofs if row.verdict is None]
    if bad:
        return (
            f"Not proved: {bad[0].name} is still out of range. Look on (Circuit), name another "
            "cause (Cause), or sign with this in the record.",
            "out_of_range",
        )
    if still_open:
        return f"Not proved yet: {len(still_open)} of {len(proofs)} still to be taken.", "question"
    return ("Proved: what the fault touched is in order again.", "in_range") if proofs else ("", "")


def _line(callback: Callback, place: tuple[Point, State], is_proof: bool) -> ProofLine:
    from logic.limits.verdict import judge  # imports numpy: not on the start path

    before = _value(callback.job.readings, place)
    after = _value(callback.job.readings_after, place)
    was = f"before {as_read(place[0], before.value)}" if before else "not read before"
    if after is None:
        return ProofLine(*place, is_proof, f"{was}; {_NOT_TAKEN}")
    verdict = judge(callback.installation, callback.job.readings_after, after, callback.baseline)
    word = capitalised(VERDICTS[verdict.verdict])
    words = f"{was}, now {as_read(place[0], after.value)}. {word}."
    return ProofLine(*place, is_proof, words, verdict)


def _value(readings: tuple[Reading, ...], place: tuple[Point, State]) -> Reading | None:
    return next((one for one in readings if (one.point, one.state) == place), None)
