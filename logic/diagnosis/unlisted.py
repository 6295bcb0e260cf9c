"""Whether something that the catalogue does not list lies behind the readings.

The best of bad explanations must not take all the probability.  Two kinds of explanation that
name no fault stand beside the listed ones.

*Misjudged*: a sound vehicle of which one kind of thing is far from what it is taken to be: the
meter, the clamp, the unit's own figures, the house battery, the cables.  Each is a fit of its
own, with that kind's priors widened (:data:`MISJUDGED`).

*Loosened*: beside every answer of one fault its twin, the same circuit, in which any reading and
any unknown may be off for a reason that nobody listed.  Where everything fits, the twin pays for
its freedom and loses; where several readings fit no answer, or an answer needs several things
that no sound unit has, it wins.

    ln P(readings | twin) = ln P(readings | answer) + sum of ln(twin's / answer's density)

with the sum over readings, over unknowns and over thresholds, all at the answer's best fit.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from logic.diagnosis.fit import Fit, Prior, Problem, independent_prior
from logic.diagnosis.hypotheses import Hypotheses, Indices
from logic.diagnosis.unknowns import INDEX, RUN_NAMES, VOLTS
from logic.quantities import Fraction
from logic.vehicle.points import Point, Unit

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Assumed: share of jobs whose trouble no catalogue lists, and of those in which one kind of thing
# was misjudged, shared evenly among the kinds.
SHARE: Fraction = 0.008
MISJUDGED_SHARE: Fraction = 0.02
# Assumed, of such a job: share of the readings, of the unknowns and of the thresholds that are
# not as any answer has them.
_READING_OFF, _UNKNOWN_OFF, _THRESHOLD_OFF = 0.15, 0.05, 0.1
# How far off they then are: an unknown, in its own spreads; a reading, in its unit at 12 V, with
# a drop less than a voltage, and in shares of what flows (assumed).
_UNKNOWN_SPREADS = 5.0
_OFF_V, _OFF_DROP_V, _OFF_A, _OFF_SHARE = 0.6, 0.15, 1.5, 0.2
_OFF = {Unit.CELSIUS: 15.0, Unit.SHARE: 0.4, Unit.LIT: 1.0}
_LN_SQRT_2PI = 0.5 * float(np.log(2 * np.pi))


def ln_loosened(problem: Problem, found: Fit) -> Array:
    """Return by how much each row's twin explains the readings better, as a logarithm ``[h]``."""
    readings = _ln_readings(problem, found).sum(axis=1)
    return np.asarray(readings + _ln_unknowns(found).sum(axis=1) + _ln_threshold(found))


def strain(problem: Problem, found: Fit, row: int) -> float:
    """Return how far one row's best fit is from what it expects, as a logarithm.

    Nought where every reading, unknown and threshold lies as it should; what its loosened twin
    gains by each that does not.
    """
    one = found.take(np.array([row]))
    unstrained = (
        problem.values.size * np.log1p(-_READING_OFF)
        + found.theta.shape[1] * np.log1p(-_UNKNOWN_OFF)
        + np.log1p(-_THRESHOLD_OFF)
    )
    return float(ln_loosened(problem, one)[0] - unstrained)


# A fit that strains more than this is doubted; that of a true answer comes to one or two
# (measured on simulated vehicles, nine in ten).
STRAINED = 3.0


def accounts_for(problem: Problem, found: Fit, row: int, out: Collection[Point]) -> bool:
    """Whether a row leaves no reading off, strains nothing, and says why some are out of range.

    A drop is then over its limit because the cable is not as it was entered, anything else
    because supply or loads moved between two readings.
    """
    conditions = bool(found.rows.hurried[row] or found.rows.misdescribed[row])
    if not conditions and not all(point.is_drop for point in out):
        return False
    off = reading_is_off(problem, found, row).any()
    return not off and strain(problem, found, row) <= STRAINED


def reading_is_off(problem: Problem, found: Fit, row: int) -> Flags:
    """Return which readings ``[r]`` one row explains worse than its twin does."""
    off = np.log(_READING_OFF) + _ln_off(problem, found)[row]
    ours = np.log1p(-_READING_OFF) + problem.ln_readings(found.predicted)[row]
    return np.asarray(off > ours)


def _ln_off(problem: Problem, found: Fit) -> Array:
    """Log-density of each reading ``[h, r]`` if it is off for an unlisted reason."""
    predicted = found.predicted.value
    spread = _off_spread(problem, predicted)
    spread = np.hypot(spread, found.predicted.noise)
    distance = np.minimum(np.abs(problem.values - predicted) / spread, 12.0)
    return np.asarray(-0.5 * distance**2 - np.log(spread) - _LN_SQRT_2PI)


def _off_spread(problem: Problem, predicted: Array) -> Array:
    scales = problem.thresholds.scales
    own = np.array([_own_spread(key.point, scales.at(key.point)) for key in problem.predictor.keys])
    by_clamp = np.array([key.point.unit is Unit.AMPERE for key in problem.predictor.keys])
    return np.asarray(np.hypot(own, by_clamp * _OFF_SHARE * predicted))


def _own_spread(point: Point, scale: float) -> float:
    if point.unit is Unit.VOLT:
        return (_OFF_DROP_V if point.is_drop else _OFF_V) * scale
    return _OFF_A if point.unit is Unit.AMPERE else _OFF[point.unit]


def _ln_readings(problem: Problem, found: Fit) -> Array:
    """Log of the twin's density over the answer's, reading by reading ``[h, r]``."""
    ours = problem.ln_readings(found.predicted)
    loose = np.logaddexp(
        np.log1p(-_READING_OFF) + ours, np.log(_READING_OFF) + _ln_off(problem, found)
    )
    return np.asarray(loose - ours)


def _ln_unknowns(found: Fit) -> Array:
    """Log of the twin's prior over the answer's, unknown by unknown ``[h, unknown]``."""
    square = ((found.theta - found.prior.mean) / found.prior.spread) ** 2
    wide = -0.5 * square * (_UNKNOWN_SPREADS**-2 - 1) - np.log(_UNKNOWN_SPREADS)
    return np.asarray(np.logaddexp(np.log1p(-_UNKNOWN_OFF), np.log(_UNKNOWN_OFF) + wide))


def _ln_threshold(found: Fit) -> Array:
    ours = found.running.ln_chance
    return np.asarray(np.logaddexp(np.log1p(-_THRESHOLD_OFF) + ours, np.log(_THRESHOLD_OFF)) - ours)


@dataclass(frozen=True)
class Misjudged:
    """One kind of thing that is far from what it is taken to be, the rest being sound.

    ``priors`` are the unknowns' then, mean and spread, volts at 12 V and counted in the
    coordinates of the fit; a mean of ``None`` stays as it is.
    """

    what: str
    priors: Mapping[str, tuple[float | None, float]]
    before_the_clamp: bool = False
    """Whether what the vehicle feed loses is lost before the clamp."""
    weight: float = 1.0
    """How often, beside the other kinds."""


# Assumed: spreads wide enough for whatever was met.
MISJUDGED = (
    Misjudged("meter", {"voltage_gain": (-0.1, 0.05)}),
    Misjudged("meter", {"voltage_gain": (0.1, 0.05)}),
    Misjudged("clamp", {"current_gain": (None, 0.3), "clamp_zero_a": (None, 1.5)}),
    Misjudged("unit", {"efficiency": (0.7, 0.1), "own_use_w": (10.0, 15.0)}),
    Misjudged(
        "unit",
        {
            "hold_v": (1.3, 0.6),
            "taper_v": (None, 0.4),
            "output_share": (None, 0.15),
            "regulation_v": (None, 0.3),
        },
    ),
    Misjudged(
        "house_battery",
        {
            "house_rest_v": (None, 0.7),
            "house_rise_v": (None, 0.6),
            "house_rise_solar_v": (None, 0.6),
        },
    ),
    Misjudged(
        "cables",
        {f"{run}_ohm": (None, 0.9) for run in RUN_NAMES} | {"house_battery_ohm": (None, 1.0)},
        # A length guessed wrong is part of what a description may be off by, and harms nobody.
        weight=0.1,
    ),
    # A constant drop, as of a diode, looks like a large current lost before the clamp, with the
    # unit at work and at rest.
    Misjudged(
        "vehicle_feed",
        {"feed_consumer_a": (50.0, 40.0), "standing_a": (30.0, 30.0)},
        before_the_clamp=True,
    ),
)


@dataclass(frozen=True)
class MisjudgedRows:
    """Sound vehicles of which something is misjudged, to be fitted: ``kinds`` say what, by row."""

    rows: Hypotheses
    prior: Prior
    start: Array
    kinds: tuple[Misjudged, ...]


def misjudged_rows(
    problem: Problem, found: Fit, singles: Hypotheses, prior: Callable[[Hypotheses], Prior]
) -> MisjudgedRows:
    """Return the sound vehicle with each kind of thing misjudged.

    Parameters
    ----------
    problem
        The readings.
    found
        The listed answers as fitted: the best few with sound equipment are misjudged, from where
        the likeliest of all ended and under its conditions.
    singles
        All hypotheses of one fault: where the meter lies, what it says of the unit's running
        does not count.
    prior
        Gives rows their priors.
    """
    scales = problem.thresholds.scales
    sound = [
        all(one.fault.equipment_is_sound for one in row) and good
        for row, good in zip(found.rows.manifestations, found.rows.is_as_it_should_be, strict=True)
    ]
    best = [row for row in np.argsort(-found.ln_weight, kind="stable") if sound[row]][:_BEST_SOUND]
    nothing = [
        row for row, (one,) in enumerate(singles.manifestations) if one.fault.nothing_is_wrong
    ]
    others = [kind for kind in MISJUDGED if kind.what != "meter"]
    meters = [kind for kind in MISJUDGED if kind.what == "meter"]
    lead = int(np.argmax(found.ln_weight))
    near = found.rows.take(np.array(best * len(others), dtype=np.intp))
    far = _unheld(singles.take(np.array(nothing * len(meters), dtype=np.intp)))
    # Who reads in a hurry does so whatever is behind it: like is held against like.
    rows = near.joined(far.joined(far)).under_conditions_of(found.rows, lead)
    of_far = [kind for kind in meters for _ in nothing]
    kinds = [kind for kind in others for _ in best] + of_far + of_far
    priors = prior(rows)
    mean, spread = priors.mean.copy(), priors.spread.copy()
    # What the likeliest answer found of the vehicle is mostly true here as well.
    kept = np.where(found.rows.changed[lead] & ~near.changed, mean[: len(near)], found.theta[lead])
    start = np.concatenate([kept, far.mean, far.mean])
    for index, kind in enumerate(kinds):
        for name, (middle, width) in kind.priors.items():
            column, doubles = INDEX[name], scales.of(name)
            spread[index, column] = width * doubles
            if middle is not None:
                mean[index, column] = start[index, column] = middle * doubles
            if index < len(near) and found.rows.changed[lead, column]:
                start[index, column] = found.theta[lead, column]
        if kind.what == "meter":
            true = 1 / (1 + start[index, INDEX["voltage_gain"]])
            for name, value in problem.read_outright.items():
                if name in VOLTS:
                    start[index, INDEX[name]] = value * true
    _begin_held(problem, rows, start, np.arange(len(rows) - len(far), len(rows)))
    lost = np.array([kind.before_the_clamp for kind in kinds], dtype=np.bool_)
    rows = replace(rows, consumer_clamped=rows.consumer_clamped & ~lost)
    return MisjudgedRows(rows, independent_prior(mean, spread), start, tuple(kinds))


def _unheld(rows: Hypotheses) -> Hypotheses:
    """Return rows of which the volts that were read at the unit's input say nothing of its hold."""
    changed = rows.changed.copy()
    changed[:, INDEX["hold_v"]] = True
    return replace(rows, changed=changed)


def _begin_held(problem: Problem, rows: Hypotheses, start: Array, these: Indices) -> None:
    """Let some rows begin with the unit holding its input at what a meter that lies read there."""
    held = problem.thresholds.most_held_v(rows)[these]
    read = np.isfinite(held)
    these, held = these[read], held[read]
    true = 1 / (1 + start[these, INDEX["voltage_gain"]])
    stop_v = rows.stop_v[these]
    start[these, INDEX["hold_v"]] = (held + stop_v) * true - stop_v


# So many sound answers (nothing wrong, nearly full, heavy loads; under either limit) are tried.
_BEST_SOUND = 3


@dataclass(frozen=True)
class Unexplained:
    """How probable it is that no listed answer is true, and what would then be behind it."""

    probability: Fraction
    kinds: Mapping[str, Fraction]
    """Of that, by what was misjudged; what is left over is something not listed."""

    @property
    def likely_kinds(self) -> tuple[str, ...]:
        """What may have been misjudged, the likeliest first."""
        least = _LIKELY_KIND * self.probability
        ranked = sorted(self.kinds, key=lambda kind: -self.kinds[kind])
        return tuple(kind for kind in ranked if self.kinds[kind] > least)


# A kind with less than this share of what is unexplained is not named.
_LIKELY_KIND = 0.05


def unexplained(
    problem: Problem, found: Fit, wrong: Fit, kinds: Sequence[Misjudged]
) -> Unexplained:
    """Return the probability that none of the fitted answers is true.

    Parameters
    ----------
    problem
        The readings.
    found
        All listed hypotheses.
    wrong, kinds
        The misjudged ones, and of each of their rows what was misjudged.
    """
    ours = found.ln_weight
    # A twin is free enough: it needs no second fault, no hurry and no careless description.
    single = np.array([len(answer) == 1 for answer in found.rows.faults])
    single &= found.rows.is_as_it_should_be
    twins = (ours + ln_loosened(problem, found))[single] + np.log(SHARE)
    ours = ours + np.log(1 - SHARE - MISJUDGED_SHARE)
    # The share is that of all jobs on which the rest is sound: sound rows are some of all.
    sound = {one for row in wrong.rows.manifestations for one in row}
    of_sound = max(sum(one.chance for one in sound), 1e-9)
    share = np.array([_weight_of(kind) for kind in kinds])
    misled = wrong.ln_weight + np.log(MISJUDGED_SHARE * share / of_sound)
    top = max(float(one.max(initial=-np.inf)) for one in (ours, twins, misled))
    weight = np.exp(misled - top)
    listed, unlisted = float(np.exp(ours - top).sum()), float(np.exp(twins - top).sum())
    whole = listed + unlisted + float(weight.sum())
    by_kind = dict.fromkeys((kind.what for kind in MISJUDGED), 0.0)
    for kind, part in zip(kinds, weight.tolist(), strict=True):
        by_kind[kind.what] += part / whole
    return Unexplained((whole - listed) / whole, by_kind)


def _weight_of(kind: Misjudged) -> Fraction:
    """Return a kind's share of all that is misjudged."""
    return kind.weight / sum(one.weight for one in MISJUDGED)
