"""The reading that tells most about the fault, per minute of work.

Each fitted hypothesis predicts a reading not yet taken as a Gaussian (a lamp as lit or not);
mixed by fault they give the mutual information between fault and reading.  A reading is
offered only while some reading can still change what would be done.
"""

import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId, NextReading
from logic.diagnosis.hypotheses import Hypotheses
from logic.diagnosis.lamps import lit_chance
from logic.diagnosis.readout import Place, Readout
from logic.diagnosis.told_apart import singles, told_apart
from logic.errors import DataFileError
from logic.vehicle.points import Point, State

Array = NDArray[np.float64]
FILE = "costs.toml"

# Below this a reading is not worth a walk round the vehicle (assumed).
_LEAST_BITS = 0.02
# What the best reading must add to the chance of doing the right thing, to ask for any (assumed).
_LEAST_GAIN = 0.05
_LEAST_WEIGHT = 1e-3
_MOST_ROWS = 40
_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
_NODE_WEIGHTS = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()


@dataclass(frozen=True)
class Costs:
    """Minutes to bring the vehicle into a state, and to come back to it."""

    enter: dict[State, float]
    again: dict[State, float]

    def minutes(self, place: Place, taken: Iterable[Place]) -> float:
        """Return what one reading costs after those already taken."""
        point, state = place
        if state is State.REST and point.key_off_minutes is not None:
            return point.minutes + point.key_off_minutes
        states = {done for _, done in taken}
        entered = self.again if state in states or _left_behind(state, states) else self.enter
        return point.minutes + entered[state]


def _left_behind(state: State, states: set[State]) -> bool:
    """Whether the engine has warmed everything up since this state could be read at once."""
    return state is State.REST and any(other.engine_runs for other in states)


@lru_cache(maxsize=1)
def costs() -> Costs:
    """Return the costs that ship with the program."""
    return read_costs(files(__package__).joinpath(FILE).read_text(encoding="utf-8"))


def read_costs(text: str) -> Costs:
    """Read a table of costs.

    Raises
    ------
    DataFileError
        Not TOML, or a state is missing; names it.
    """
    try:
        table = tomllib.loads(text)
        return Costs(
            {state: float(table["enter"][state.value]) for state in State},
            {state: float(table["again"][state.value]) for state in State},
        )
    except (tomllib.TOMLDecodeError, ValueError, TypeError) as error:
        raise DataFileError(f"{error}. Correct the line and try again.", FILE) from error
    except KeyError as error:
        raise DataFileError(f"no minutes given for {error}. Add the line.", FILE) from error


def candidates(taken: Iterable[Place], has_panel: bool) -> list[Place]:
    """Return every reading that could still be taken on this installation."""
    done = set(taken)
    settled = {point for point, _ in done if point.same_in_every_state}
    return [
        (point, state)
        for state in State
        for point in Point
        if (point, state) not in done
        and point not in settled
        and _sensible(point, state, has_panel)
    ]


def _sensible(point: Point, state: State, has_panel: bool) -> bool:
    needs_panel = point.needs_panel or state.needs_panel
    return state in point.states and (has_panel or not needs_panel)


@dataclass(frozen=True)
class Belief:
    """Fitted hypotheses with their probabilities, and the fault group of each."""

    rows: Hypotheses
    theta: Array
    covariance: Array
    weight: Array
    group: NDArray[np.intp]


def main_rows(weight: Array) -> NDArray[np.intp]:
    """Return the rows that matter for a prediction, the likeliest first."""
    order = np.argsort(-weight, kind="stable")[:_MOST_ROWS]
    return np.asarray(order[weight[order] > _LEAST_WEIGHT * weight.max()])


def next_readings(
    belief: Belief, readout: Readout, lamps: Sequence[Place], taken: Sequence[Place]
) -> tuple[NextReading, ...]:
    """Return the readings worth taking, best per minute first; none when nothing would change.

    Parameters
    ----------
    belief
        What is thought so far.
    readout
        Predicts the metered candidates.
    lamps
        The candidates that are lamps.
    taken
        What has been read; decides what a state costs.
    """
    if len(np.unique(belief.group)) < 2:
        return ()
    shown = readout.show(belief.rows, belief.theta, 0.05)
    along = shown.slope @ belief.covariance
    spread = np.sqrt(shown.noise**2 + (along * shown.slope).sum(axis=2))
    shares = group_shares(belief)
    bits, gain = gaussian_information(shown.value, spread, belief.weight, shares)
    lit = np.array([lit_chance(belief.rows, place) for place in lamps])
    lamp_bits, lamp_gain = lamp_information(lit, shares)
    apart = told_apart(
        singles(belief.rows.faults, belief.group), shares, *_with_lamps(shown.value, spread, lit)
    )
    places = [*readout.places, *lamps]
    bits, gain = np.concatenate([bits, lamp_bits]), np.concatenate([gain, lamp_gain])
    if gain.max(initial=0.0) < _LEAST_GAIN:
        return ()
    return _ranked(places, bits, apart, taken)


def _with_lamps(mean: Array, spread: Array, lit: Array) -> tuple[Array, Array]:
    """Return the predictions of readings and lamps side by side."""
    lamps = lit.T if len(lit) else np.zeros((len(mean), 0))
    return (
        np.concatenate([mean, lamps], axis=1),
        np.concatenate([spread, np.sqrt(lamps * (1 - lamps))], axis=1),
    )


def _ranked(
    places: Sequence[Place],
    bits: Array,
    apart: Sequence[tuple[FaultId, ...]],
    taken: Sequence[Place],
) -> tuple[NextReading, ...]:
    table = costs()
    offered = [
        NextReading(
            point=point,
            state=state,
            information_bits=round(float(value), 4),
            cost_minutes=round(table.minutes((point, state), taken), 2),
            tells_apart=faults,
        )
        for (point, state), value, faults in zip(places, bits, apart, strict=True)
        if value >= _LEAST_BITS
    ]
    return tuple(sorted(offered, key=lambda r: -r.information_bits / r.cost_minutes))


def group_shares(belief: Belief) -> Array:
    """Return ``share[g, h]``: the weight of row ``h`` if it belongs to group ``g``, else zero."""
    groups = np.unique(belief.group)
    return np.where(belief.group[None, :] == groups[:, None], belief.weight, 0.0)


def gaussian_information(
    mean: Array, spread: Array, weight: Array, shares: Array
) -> tuple[Array, Array]:
    """Mutual information between group and reading, and the gain in being right, per reading.

    Parameters
    ----------
    mean, spread : in the reading's unit
        ``[h, r]`` of each hypothesis' predicted reading.
    weight : 1
        ``[h]``, summing to one.
    shares : 1
        ``[g, h]``, the weights sorted into groups.

    Returns
    -------
    bit, 1
        Per reading.  The integral over readings is a Gauss-Hermite sum in every hypothesis.
    """
    if mean.shape[1] == 0:
        return np.zeros(0), np.zeros(0)
    nodes = mean.T[:, :, None] + spread.T[:, :, None] * _NODES
    flat = nodes.reshape(len(nodes), -1, 1)
    away = np.minimum(np.abs(flat - mean.T[:, None, :]) / spread.T[:, None, :], 30.0)
    density = np.exp(-0.5 * away**2) / spread.T[:, None, :]
    joint = np.maximum(density @ shares.T, 1e-300)
    whole = joint.sum(axis=2, keepdims=True)
    sampled = (weight[:, None] * _NODE_WEIGHTS).reshape(1, -1)
    return _information(joint / whole, sampled, shares.sum(axis=1))


def _information(after: Array, sampled: Array, before: Array) -> tuple[Array, Array]:
    """Entropy lost and certainty won, averaged over outcomes ``after[r, outcome, g]``."""
    entropy_after = -(after * np.log2(after)).sum(axis=2)
    kept = before[before > 0]
    entropy_before = -(kept * np.log2(kept)).sum()
    bits = entropy_before - (sampled * entropy_after).sum(axis=1)
    gain = (sampled * after.max(axis=2)).sum(axis=1) - before.max()
    return np.maximum(bits, 0.0), np.maximum(gain, 0.0)


def lamp_information(lit: Array, shares: Array) -> tuple[Array, Array]:
    """As :func:`gaussian_information`, for lamps ``lit[r, h]`` that are lit or not."""
    return discrete_information(np.stack([lit, 1 - lit], axis=1), shares)


def discrete_information(chance: Array, shares: Array) -> tuple[Array, Array]:
    """As :func:`gaussian_information`, for readings with a few outcomes.

    Parameters
    ----------
    chance : 1
        ``[r, outcome, h]``, summing to one over outcomes.
    shares : 1
        ``[g, h]``, the weights sorted into groups.

    Returns
    -------
    bit, 1
    """
    if len(chance) == 0:
        return np.zeros(0), np.zeros(0)
    joint = np.maximum(chance @ shares.T, 1e-300)
    whole = joint.sum(axis=2, keepdims=True)
    return _information(joint / whole, whole[:, :, 0], shares.sum(axis=1))
