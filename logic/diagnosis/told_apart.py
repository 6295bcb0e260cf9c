"""Which faults a reading tells from each other: the reason for taking it, in ids.

Each fault foretells a reading as a mean and a spread over its ways; two faults are told apart
as far as their means lie apart beside their spreads, and it matters as far as both are likely.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId

Array = NDArray[np.float64]

_MOST = 4
# A third or fourth fault is named when telling it matters half as much as the first two.
_WORTH_NAMING = 0.5


def singles(
    faults: Sequence[tuple[FaultId, ...]], group: NDArray[np.intp]
) -> tuple[FaultId | None, ...]:
    """Return each group's fault, ``None`` for a pair of faults."""
    firsts = [int(row) for row in np.unique(group, return_index=True)[1]]
    return tuple(faults[row][0] if len(faults[row]) == 1 else None for row in firsts)


def told_apart(
    faults: Sequence[FaultId | None], shares: Array, mean: Array, spread: Array
) -> list[tuple[FaultId, ...]]:
    """Return for every reading the two to four faults that it separates most, best first.

    Parameters
    ----------
    faults
        Of each group.
    shares : 1
        ``[g, h]``, the weights sorted into groups.
    mean, spread : in the reading's unit
        ``[h, r]`` of each hypothesis' predicted reading.
    """
    single = [place for place, one in enumerate(faults) if one is not None]
    named = [one for one in faults if one is not None]
    if len(named) < 2:
        return [()] * mean.shape[1]
    matters = _separation(shares[single], mean, spread)
    return [tuple(named[place] for place in _chosen(np.asarray(one))) for one in matters]


def _separation(shares: Array, mean: Array, spread: Array) -> Array:
    """Return ``[r, g, g]``: chance of either fault times the share of doubt removed."""
    weight = shares.sum(axis=1)
    within = shares / weight[:, None]
    middle = within @ mean
    variance = np.maximum(within @ (spread**2 + mean**2) - middle**2, 1e-12)
    gap = (middle[:, None] - middle[None, :]) ** 2
    # One less the overlap of two Gaussians, by Hellinger's distance for their mean spread.
    apart = 1 - np.exp(-gap / (4 * (variance[:, None] + variance[None, :])))
    return np.asarray((weight[:, None, None] * weight[None, :, None] * apart).transpose(2, 0, 1))


def _chosen(matters: Array) -> list[int]:
    """Return the two groups that matter most, the likelier first, then any near them."""
    first, second = (int(place) for place in np.unravel_index(matters.argmax(), matters.shape))
    most = matters[first, second]
    if most <= 0:
        return []
    chosen = [first, second]
    ranked = np.argsort(-matters[first], kind="stable")
    others = [int(place) for place in ranked if place not in chosen]
    near = [place for place in others if matters[first, place] >= _WORTH_NAMING * most]
    return (chosen + near)[:_MOST]
