"""What is fitted: readings and how they are predicted, and what is known before them."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logic.case import Reading
from logic.diagnosis.hypotheses import Hypotheses
from logic.diagnosis.readout import Readout
from logic.diagnosis.spoilt import SpoiltModel
from logic.diagnosis.unknowns import INDEX, NAMES

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Prior:
    """The unknowns before today's readings: one Gaussian a hypothesis."""

    mean: Array
    precision: Array
    ln_det: Array
    spread: Array

    def take(self, rows: NDArray[np.intp]) -> "Prior":
        """Return some of the rows."""
        return Prior(self.mean[rows], self.precision[rows], self.ln_det[rows], self.spread[rows])

    def joined(self, other: "Prior") -> "Prior":
        """Return the rows of both."""
        return Prior(
            np.concatenate([self.mean, other.mean]),
            np.concatenate([self.precision, other.precision]),
            np.concatenate([self.ln_det, other.ln_det]),
            np.concatenate([self.spread, other.spread]),
        )


@dataclass(frozen=True)
class Lasting:
    """What the commissioning readings taught: unknowns by place, their mean and covariance."""

    places: NDArray[np.intp]
    mean: Array
    covariance: Array


@dataclass(frozen=True)
class Problem:
    """What is fitted: the readings, how they are predicted, and what else is known of a row.

    ``gate`` gives, for unknowns of some rows, the log-probability that they run as they say,
    its gradient and its (positive) curvature on the two engine supplies.
    """

    readout: Readout
    values: Array
    spoilt: SpoiltModel
    rating_a: float
    lamps: tuple[Reading, ...]
    gate: Callable[[Hypotheses, Array], "Gate"]


@dataclass(frozen=True)
class Gate:
    """Log-probability ``[h]``, gradient ``[h, unknown]``, curvature over some ``places`` only."""

    ln_chance: Array
    gradient: Array
    curvature: Array
    places: NDArray[np.intp]

    def added_to(self, precision: Array) -> Array:
        """Add the curvature to a matrix over all unknowns, in place."""
        precision[:, self.places[:, None], self.places[None, :]] += self.curvature
        return precision


def gaussian_prior(
    rows: Hypotheses, meter_spread: dict[str, float], lasting: Lasting | None = None
) -> Prior:
    """Return the rows' priors: their own, unknown by unknown, and what lasts since commissioning.

    Parameters
    ----------
    rows
        The hypotheses.
    meter_spread
        Standard spreads of the meter's own unknowns, by name.
    lasting
        What the baseline taught about unknowns that a vehicle keeps; a row that changes an
        unknown does not inherit it.
    """
    mean, spread = rows.mean.copy(), rows.spread.copy()
    for name, value in meter_spread.items():
        spread[:, INDEX[name]] = value
    diagonal = np.arange(len(NAMES))
    precision = np.zeros((len(rows), len(NAMES), len(NAMES)))
    if lasting is None:
        precision[:, diagonal, diagonal] = spread**-2
        return Prior(mean, precision, -2 * np.log(spread).sum(axis=1), spread)
    precision[:, diagonal, diagonal] = spread**2
    kept = ~rows.changed[:, lasting.places]
    block = np.where(kept[:, :, None] & kept[:, None, :], lasting.covariance, 0.0)
    places = lasting.places
    own = precision[:, places, places]
    block[:, np.arange(len(places)), np.arange(len(places))] = np.where(
        kept, np.diag(lasting.covariance), own
    )
    precision[:, places[:, None], places[None, :]] = block
    mean[:, places] = np.where(kept, lasting.mean, mean[:, places])
    spread = np.sqrt(precision[:, diagonal, diagonal])
    ln_det = -np.linalg.slogdet(precision)[1]
    return Prior(mean, np.asarray(np.linalg.inv(precision)), ln_det, spread)
