"""What a found fault hides: other faults that the readings could not show beside it.

A dead unit draws no current, and without current a rotten joint looks perfect.  Once a fault is
put right, what it hid is read: a second bad joint found then is no surprise.
"""

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId, HiddenBehind
from logic.diagnosis import wording
from logic.diagnosis.catalogue import Fault
from logic.diagnosis.fit import Fit
from logic.diagnosis.hypotheses import Hypotheses, Manifestation, beforehand, pair_hypotheses
from logic.diagnosis.prediction import Predictor
from logic.vehicle.installation import Installation
from logic.vehicle.points import ReadingKey

Array = NDArray[np.float64]

# A second fault that moves no reading by more spreads than this does not show (assumed).
_SHOWS = 2.0
# So many readings are named, those for most faults first.
_MOST_NAMED = 3
_SMOOTHING_A = 0.05


def hidden_behind(
    installation: Installation, found: Fit, row: int, predictor: Predictor
) -> tuple[HiddenBehind, ...]:
    """Return what to read once a finding is put right, with the faults that would not show now.

    Parameters
    ----------
    installation
        What is fitted.
    found, row
        The fit, and the row of the finding: of one fault.
    predictor
        Of the readings that were taken.
    """
    mine = found.rows.manifestations[row]
    hidden = _unshown(found, row, predictor, _beside(installation, mine[0]))
    return _by_reading(mine[0].fault, hidden, installation)


@lru_cache(maxsize=64)
def _beside(installation: Installation, mine: Manifestation) -> Hypotheses | None:
    """Return the rows of a finding with every other real fault beside it."""
    others = [
        one
        for one in beforehand(installation).manifestations
        if one.fault.id != mine.fault.id and not one.fault.equipment_is_sound
    ]
    return pair_hypotheses(installation, [mine], others)


def _unshown(found: Fit, row: int, predictor: Predictor, pairs: Hypotheses | None) -> list[Fault]:
    """Return the faults of which no way shows beside the finding."""
    if pairs is None:
        return []
    same = [
        index
        for index in range(len(pairs))
        if (pairs.on[index] == found.rows.on[row]).all()
        and pairs.signal_live[index] == found.rows.signal_live[row]
        and pairs.sunny[index] == found.rows.sunny[row]
    ]
    pairs = pairs.take(np.array(same, dtype=np.intp))
    theta = np.where(pairs.changed & ~found.rows.changed[row], pairs.mean, found.theta[row])
    beside = predictor.predict(pairs, theta, _SMOOTHING_A)
    alone = predictor.predict(found.rows.take(np.array([row])), found.theta[[row]], _SMOOTHING_A)
    moved = np.abs(beside.value - alone.value) / np.hypot(beside.noise, alone.noise)
    most = moved.max(axis=1, initial=0.0)
    shown: dict[FaultId, float] = {}
    faults: dict[FaultId, Fault] = {}
    mine = found.rows.faults[row]
    for index, pair in enumerate(pairs.manifestations):
        (other,) = (one.fault for one in pair if one.fault.id not in mine)
        faults[other.id] = other
        shown[other.id] = max(shown.get(other.id, 0.0), float(most[index]))
    return [faults[one] for one, spreads in shown.items() if spreads < _SHOWS]


def _by_reading(
    mine: Fault, hidden: Iterable[Fault], installation: Installation
) -> tuple[HiddenBehind, ...]:
    """Gather hidden faults by the reading that proves them first."""
    again = {one.key for one in mine.repair_check}
    by_key: dict[ReadingKey, list[FaultId]] = {}
    for fault in hidden:
        keys = [one.key for one in fault.repair_check]
        if keys:
            by_key.setdefault(keys[0], []).append(fault.id)
    ranked = sorted(by_key, key=lambda key: (key in again, -len(by_key[key])))
    found = []
    for key in ranked[:_MOST_NAMED]:
        typed = HiddenBehind(point=key.point, state=key.state, faults=tuple(by_key[key]))
        found.append(
            typed.model_copy(update={"text": wording.hidden_in_words(typed, installation)})
        )
    return tuple(found)
