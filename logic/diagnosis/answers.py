"""The answers that a search has found, how probable each is, and that they agree with the verdicts.

An answer is one fault or two together; its rows are the ways in which it may show.  What the
search gives to no answer stays unexplained.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId
from logic.diagnosis.catalogue import faults
from logic.diagnosis.fit import Fit
from logic.quantities import Fraction

Array = NDArray[np.float64]

# Of "all as it should be" beside a verdict out of range that nothing accounts for, this share
# stays; the rest is unexplained, for the verdict says that it is not as it should be (assumed).
_KEPT_AGAINST_VERDICT = 0.25


@dataclass(frozen=True)
class Answer:
    """A set of faults, its probability and its likeliest row."""

    faults: tuple[FaultId, ...]
    probability: Fraction
    row: int
    nothing_is_wrong: bool


@dataclass(frozen=True)
class Answers:
    """All answers, the likeliest first, and the probability that none of them is true."""

    ranked: tuple[Answer, ...]
    unexplained: Fraction

    @property
    def marginals(self) -> dict[FaultId, Fraction]:
        """The probability of every fault of the catalogue, alone or beside another."""
        found = dict.fromkeys(faults(), 0.0)
        for answer in self.ranked:
            for one in answer.faults:
                found[one] += answer.probability
        return {one: min(1.0, value) for one, value in found.items()}

    @property
    def nothing_wrong(self) -> "Answer | None":
        """That all is as it should be, if it was among what was tried."""
        return next((one for one in self.ranked if one.nothing_is_wrong), None)

    def against_verdict(self) -> "Answers":
        """Return the answers where a reading is out of range that nothing accounts for.

        That all is as it should be does not lead then.
        """
        kept = [
            replace(one, probability=_KEPT_AGAINST_VERDICT * one.probability)
            if one.nothing_is_wrong
            else one
            for one in self.ranked
        ]
        moved = sum(one.probability for one in self.ranked) - sum(one.probability for one in kept)
        return Answers(_in_order(kept), min(1.0, self.unexplained + moved))


def answers(found: Fit, weight: Array, unexplained: Fraction) -> Answers:
    """Gather rows by answer.

    Parameters
    ----------
    found
        The listed hypotheses.
    weight : 1
        ``[h]``, their probabilities, if one of them is true.
    unexplained : 1
        The probability that none is.
    """
    rows: dict[tuple[FaultId, ...], list[int]] = {}
    for row, answer in enumerate(found.rows.faults):
        rows.setdefault(answer, []).append(row)
    gathered = []
    for answer, own in rows.items():
        best = max(own, key=lambda row: float(weight[row]))
        manifestations = found.rows.manifestations[best]
        gathered.append(
            Answer(
                faults=answer,
                probability=(1 - unexplained) * float(weight[own].sum()),
                row=best,
                nothing_is_wrong=all(one.fault.nothing_is_wrong for one in manifestations),
            )
        )
    return Answers(_in_order(gathered), unexplained)


def _in_order(found: Iterable[Answer]) -> tuple[Answer, ...]:
    return tuple(sorted(found, key=lambda one: (-one.probability, one.faults)))
