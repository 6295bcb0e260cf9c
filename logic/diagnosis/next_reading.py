"""The reading that tells most about the fault, per minute of work.

Each fitted hypothesis predicts a reading not yet taken as a Gaussian (a lamp as lit or not);
mixed by answer they give the mutual information between answer and reading.  A reading is
offered only while some reading can still change what would be done, and with it the faults that
it separates best.

Axes of arrays: ``h`` hypothesis, ``r`` reading, ``a`` answer (one fault or a pair of them).
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId, NextReading, Responsibility
from logic.diagnosis.catalogue import Fault
from logic.diagnosis.fit import Fit
from logic.diagnosis.hypotheses import Hypotheses
from logic.diagnosis.prediction import Predictor, is_predicted, lit_chance
from logic.diagnosis.reach import minutes
from logic.quantities import Minute
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, ReadingKey, State

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

# Below this a reading is not worth a walk round the vehicle (assumed).
_LEAST_BITS = 0.02
# What the best reading must add to the chance of doing the right thing, to ask for any: where an
# answer is fairly sure, and where none is (assumed).
_FAIRLY_SURE, _LEAST_GAIN, _LEAST_IN_DOUBT = 0.8, 0.05, 0.04
# Assumed: minutes of further readings that a bit saves, and minutes lost by the wrong repair: a
# unit or a battery changed for nothing costs more than a joint looked at, and a vehicle sent off
# with its fault comes back.
_MINUTES_A_BIT = 8.0
_WASTED: dict[Responsibility, Minute] = {
    "charger": 90.0,
    "battery": 60.0,
    "vehicle": 45.0,
    "wiring": 20.0,
    "use": 15.0,
    "none": 60.0,
}
# From this probability up, what decides about a fault's repair is asked for (assumed).
_CANDIDATE = 0.1
# Hypotheses that matter for a prediction: so many, none this much less likely than the first.
_MOST_ROWS, _LEAST_WEIGHT = 40, 1e-3
_SMOOTHING_A = 0.05
_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
_NODE_WEIGHTS = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()
# A third or fourth fault is named when telling it matters half as much as the first two.
_MOST_NAMED, _WORTH_NAMING = 4, 0.5


# What could be read


def open_readings(taken: Collection[ReadingKey], installation: Installation) -> list[ReadingKey]:
    """Return every reading that could still tell something on this installation."""
    settled = {point for point, _ in taken if point.same_in_every_state}
    return [
        ReadingKey(point, state)
        for state in State
        for point in Point
        if state in point.states
        and point.exists_on(installation)
        and state.exists_on(installation)
        and is_predicted(point)
        and (point, state) not in taken
        and point not in settled
    ]


# What each would tell


@dataclass(frozen=True)
class Posterior:
    """The fitted hypotheses that matter, and how likely each is after the readings.

    ``theta[h, unknown]`` and ``covariance[h, unknown, unknown]`` in the coordinates of the fit;
    ``weight[h]`` sums to one, ``answer[h]`` numbers the answers.
    """

    rows: Hypotheses
    theta: Array
    covariance: Array
    weight: Array
    answer: Indices

    @classmethod
    def of(cls, found: Fit, weight: Array) -> "Posterior":
        """Pick the likeliest rows of a fit; ``weight[h]`` are all rows' probabilities."""
        order = np.argsort(-weight, kind="stable")[:_MOST_ROWS]
        rows = order[weight[order] > _LEAST_WEIGHT * weight.max()]
        answers = sorted(set(found.rows.faults))
        return cls(
            rows=found.rows.take(rows),
            theta=found.theta[rows],
            covariance=found.covariance(rows),
            weight=weight[rows] / weight[rows].sum(),
            answer=np.array([answers.index(found.rows.faults[row]) for row in rows], dtype=np.intp),
        )

    @property
    def shares(self) -> Array:
        """The weight of row ``h`` if it gives answer ``a``, else zero: ``[a, h]``."""
        answers = np.unique(self.answer)
        return np.where(self.answer[None, :] == answers[:, None], self.weight, 0.0)

    @property
    def shares_by_way(self) -> Array:
        """As :attr:`shares`, sorted by the way in which an answer shows: ``[w, h]``."""
        ways = list(dict.fromkeys(self.rows.manifestations))
        place = np.array([ways.index(one) for one in self.rows.manifestations])
        return np.where(place[None, :] == np.arange(len(ways))[:, None], self.weight, 0.0)

    @property
    def faults(self) -> tuple[tuple[Fault, float], ...]:
        """Every fault among the answers, with its probability."""
        entries: dict[FaultId, Fault] = {}
        chance: dict[FaultId, float] = {}
        for one, weight in zip(self.rows.manifestations, self.weight.tolist(), strict=True):
            for fault in {part.fault.id: part.fault for part in one}.values():
                entries[fault.id] = fault
                chance[fault.id] = chance.get(fault.id, 0.0) + weight
        return tuple((entries[one], chance[one]) for one in entries)

    @property
    def wasted_minutes(self) -> Array:
        """What acting on answer ``a`` costs where it is not true, minutes: ``[a]``."""
        first_rows = np.unique(self.answer, return_index=True)[1]
        return np.array(
            [
                max(_WASTED[one.fault.responsibility] for one in self.rows.manifestations[int(row)])
                for row in first_rows
            ]
        )

    @property
    def single_faults(self) -> tuple[FaultId | None, ...]:
        """Each answer's fault ``[a]``, ``None`` for a pair."""
        first_rows = np.unique(self.answer, return_index=True)[1]
        answers = [self.rows.faults[int(row)] for row in first_rows]
        return tuple(faults[0] if len(faults) == 1 else None for faults in answers)


def next_readings(
    posterior: Posterior,
    predictor: Predictor,
    lamps: Sequence[ReadingKey],
    taken: set[ReadingKey],
    installation: Installation,
) -> tuple[NextReading, ...]:
    """Return the readings worth taking, best first; none when nothing would change.

    Best is what saves most minutes (of further readings, and of the wrong repair) by the root of
    those that it costs.

    Parameters
    ----------
    posterior
        What the readings say so far.
    predictor
        Predicts the metered readings that are open.
    lamps
        The lamps that are open.
    taken
        What has been read; decides what reach and state cost.
    installation
        Where its parts sit.
    """
    predicted = predictor.predict(posterior.rows, posterior.theta, _SMOOTHING_A)
    along = predicted.slope @ posterior.covariance
    # How little moves is known better when the reading is taken: planned as on a steady vehicle.
    moving = posterior.rows.hurried[:, None]
    noise = np.where(moving, predicted.noise, predicted.steady.noise)
    spread = np.sqrt(noise**2 + (along * predicted.slope).sum(axis=2))
    deciding = _deciding(posterior, predictor, predicted.value, spread, taken, installation)
    telling = _telling(
        posterior, predictor.keys, predicted.value, spread, lamps, taken, installation
    )
    told = {(one.point, one.state) for one in telling}
    return *telling, *(one for one in deciding if (one.point, one.state) not in told)


def _telling(
    posterior: Posterior,
    metered: Sequence[ReadingKey],
    mean: Array,
    spread: Array,
    lamps: Sequence[ReadingKey],
    taken: set[ReadingKey],
    installation: Installation,
) -> tuple[NextReading, ...]:
    """Return the readings that tell answers apart, while one can change what would be done."""
    shares, wasted = posterior.shares, posterior.wasted_minutes
    if len(shares) < 2:
        return ()
    worth = gaussian_information(mean, spread, posterior.weight, shares, wasted)
    if lamps:
        lit = np.array([lit_chance(posterior.rows, key) for key in lamps])
        of_lamps = discrete_information(np.stack([lit, 1 - lit], axis=1), shares, wasted)
        worth = worth.joined(of_lamps)
        mean = np.concatenate([mean, lit.T], axis=1)
        spread = np.concatenate([spread, np.sqrt(lit * (1 - lit)).T], axis=1)
    sure = float(shares.sum(axis=1).max()) >= _FAIRLY_SURE
    if worth.certainty.max(initial=0.0) < (_LEAST_GAIN if sure else _LEAST_IN_DOUBT):
        return ()
    separated = separated_faults(posterior.single_faults, shares, mean, spread)
    keys = [*metered, *lamps]
    cost = np.array([minutes(key, taken, installation) for key in keys])
    saved = _MINUTES_A_BIT * worth.bits + worth.minutes
    # By the minute alone the cheap ones that tell little come first, and the rest is read as well:
    # by the root fewer are read and fewer minutes spent (measured on simulated vehicles).
    ranked = np.argsort(-saved / np.sqrt(cost), kind="stable")
    return tuple(
        NextReading(
            point=keys[index].point,
            state=keys[index].state,
            information_bits=round(float(worth.bits[index]), 4),
            cost_minutes=round(float(cost[index]), 2),
            tells_apart=separated[index],
        )
        for index in ranked
        if worth.bits[index] >= _LEAST_BITS
    )


def _deciding(
    posterior: Posterior,
    predictor: Predictor,
    mean: Array,
    spread: Array,
    taken: set[ReadingKey],
    installation: Installation,
) -> tuple[NextReading, ...]:
    """Return the readings that say what to do about a likely fault, the likeliest fault's first.

    They may tell no fault from another; what they tell is in which of its ways it is there.
    """
    read = {key.point for key in taken}
    column = {key: index for index, key in enumerate(predictor.keys)}
    wanted = [
        (fault, one.key)
        for fault, chance in sorted(posterior.faults, key=lambda one: -one[1])
        if chance >= _CANDIDATE
        for one in fault.decides_repair
        if one.key in column and one.point not in read
    ]
    if not wanted:
        return ()
    columns = [column[key] for _, key in wanted]
    by_way = posterior.shares_by_way
    told = gaussian_information(
        mean[:, columns], spread[:, columns], posterior.weight, by_way, np.zeros(len(by_way))
    )
    return tuple(
        NextReading(
            point=key.point,
            state=key.state,
            information_bits=round(bits, 4),
            cost_minutes=round(minutes(key, taken, installation), 2),
            tells_apart=(fault.id,),
        )
        for (fault, key), bits in zip(wanted, told.bits.tolist(), strict=True)
    )


@dataclass(frozen=True)
class Worth:
    """What readings ``[r]`` are worth: bits, chance of being right won, minutes of waste saved."""

    bits: Array
    certainty: Array
    minutes: Array

    def joined(self, other: "Worth") -> "Worth":
        """Return the worth of both sets of readings."""
        return Worth(
            np.concatenate([self.bits, other.bits]),
            np.concatenate([self.certainty, other.certainty]),
            np.concatenate([self.minutes, other.minutes]),
        )


def gaussian_information(
    mean: Array, spread: Array, weight: Array, shares: Array, wasted: Array
) -> Worth:
    """Return what each reading is worth.

    Parameters
    ----------
    mean, spread : the reading's unit
        ``[h, r]``, of each hypothesis' predicted reading.
    weight : 1
        ``[h]``, summing to one.
    shares : 1
        ``[a, h]``, the weights sorted by answer.
    wasted : min
        ``[a]``, by acting on an answer that is not true.

    Returns
    -------
    bit, 1, min
        The integral over readings is a Gauss-Hermite sum in every hypothesis.
    """
    if mean.shape[1] == 0:
        return Worth(np.zeros(0), np.zeros(0), np.zeros(0))
    nodes = mean.T[:, :, None] + spread.T[:, :, None] * _NODES
    flat = nodes.reshape(len(nodes), -1, 1)
    away = np.minimum(np.abs(flat - mean.T[:, None, :]) / spread.T[:, None, :], 30.0)
    density = np.exp(-0.5 * away**2) / spread.T[:, None, :]
    joint = np.maximum(density @ shares.T, 1e-300)
    whole = joint.sum(axis=2, keepdims=True)
    sampled = (weight[:, None] * _NODE_WEIGHTS).reshape(1, -1)
    return _worth(joint / whole, sampled, shares.sum(axis=1), wasted)


def discrete_information(chance: Array, shares: Array, wasted: Array) -> Worth:
    """As :func:`gaussian_information`, for readings with a few outcomes.

    Parameters
    ----------
    chance : 1
        ``[r, outcome, h]``, summing to one over outcomes.
    shares : 1
        ``[a, h]``, the weights sorted by answer.
    wasted : min
        ``[a]``, by acting on an answer that is not true.

    Returns
    -------
    bit, 1, min
    """
    joint = np.maximum(chance @ shares.T, 1e-300)
    whole = joint.sum(axis=2, keepdims=True)
    return _worth(joint / whole, whole[:, :, 0], shares.sum(axis=1), wasted)


def _worth(after: Array, sampled: Array, before: Array, wasted: Array) -> Worth:
    """Average what is won over outcomes ``after[r, outcome, a]``."""
    entropy_after = -(after * np.log2(after)).sum(axis=2)
    kept = before[before > 0]
    entropy_before = -(kept * np.log2(kept)).sum()
    bits = entropy_before - (sampled * entropy_after).sum(axis=1)
    gain = (sampled * after.max(axis=2)).sum(axis=1) - before.max()
    risk_before = ((1 - before) * wasted).min()
    risk = risk_before - (sampled * ((1 - after) * wasted).min(axis=2)).sum(axis=1)
    return Worth(np.maximum(bits, 0.0), np.maximum(gain, 0.0), np.maximum(risk, 0.0))


# Which faults each would separate


def separated_faults(
    faults: Sequence[FaultId | None], shares: Array, mean: Array, spread: Array
) -> list[tuple[FaultId, ...]]:
    """Return for every reading the two to four faults that it separates most, best first.

    Each fault predicts a reading as a mean and a spread over its hypotheses; two faults are
    separated as far as their means lie apart beside their spreads, and it matters as far as both
    are likely.

    Parameters
    ----------
    faults
        ``[a]``, ``None`` for an answer that is no single fault.
    shares : 1
        ``[a, h]``, the weights sorted by answer.
    mean, spread : the reading's unit
        ``[h, r]``, of each hypothesis' predicted reading.
    """
    single = [index for index, one in enumerate(faults) if one is not None]
    named = [one for one in faults if one is not None]
    if len(named) < 2:
        return [()] * mean.shape[1]
    matters = _separation(shares[single], mean, spread)
    return [tuple(named[index] for index in _chosen(np.asarray(one))) for one in matters]


def _separation(shares: Array, mean: Array, spread: Array) -> Array:
    """Return ``[r, a, a]``: chance of either fault times the share of doubt removed."""
    weight = shares.sum(axis=1)
    within = shares / weight[:, None]
    middle = within @ mean
    variance = np.maximum(within @ (spread**2 + mean**2) - middle**2, 1e-12)
    gap = (middle[:, None] - middle[None, :]) ** 2
    # One less the overlap of two Gaussians, by Hellinger's distance for their mean spread.
    apart = 1 - np.exp(-gap / (4 * (variance[:, None] + variance[None, :])))
    return np.asarray((weight[:, None, None] * weight[None, :, None] * apart).transpose(2, 0, 1))


def _chosen(matters: Array) -> list[int]:
    """Return the two faults that matter most, the likelier first, then any near them."""
    first, second = (int(index) for index in np.unravel_index(matters.argmax(), matters.shape))
    most = matters[first, second]
    if most <= 0:
        return []
    chosen = [first, second]
    ranked = np.argsort(-matters[first], kind="stable")
    others = [int(index) for index in ranked if index not in chosen]
    near = [index for index in others if matters[first, index] >= _WORTH_NAMING * most]
    return (chosen + near)[:_MOST_NAMED]
