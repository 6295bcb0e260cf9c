"""Which hypotheses are fitted to the readings of a case, and the fits themselves.

Every possible fault is tried on its own, and two at once where one alone leaves the readings
strained: where it must call a reading spoilt, or the unit's running unbelievable, every other
fault is tried beside the best answers; otherwise a second fault is tried where the fit already
says that it would pay.

Of two readings at one point in one state the later counts where both say when they were taken;
otherwise both are weighed, so that the answer does not depend on the order of a list.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial, reduce

import numpy as np
from numpy.typing import NDArray

from logic.case import Case, FaultId, Reading
from logic.circuit import tables
from logic.circuit.batteries import rest_voltage
from logic.circuit.estimate import Estimate
from logic.circuit.sound_installation import SoundInstallation
from logic.diagnosis import unlisted
from logic.diagnosis.fit import (
    FROM_NEAR,
    FROM_THE_BEST,
    SETTLED,
    BaselinePrior,
    Fit,
    Prior,
    Problem,
    SpoiltReadings,
    Thresholds,
    fit,
    gaussian_prior,
    learnt_at_commissioning,
)
from logic.diagnosis.hypotheses import (
    POINT_INDEX,
    STATE_INDEX,
    STATES,
    Hypotheses,
    Manifestation,
    beforehand,
    pair_hypotheses,
    single_hypotheses,
    with_held_input,
)
from logic.diagnosis.prediction import Predictor, is_lamp, is_predicted, meter_spreads
from logic.diagnosis.unknowns import INDEX, LOAD_OFFSET_A, LOADS, RUN_NAMES, Scales
from logic.quantities import Ampere, Celsius, Ohm, Volt
from logic.vehicle.installation import Chemistry, Installation
from logic.vehicle.points import VEHICLE_SIDE, Point, ReadingKey, State

Array = NDArray[np.float64]


def current(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings that count, in an order of their own.

    A reading gives way to a later one at the same point and state when both carry their time.
    """
    kept = [
        reading for reading in readings if not any(_replaces(later, reading) for later in readings)
    ]
    return tuple(sorted(kept, key=_order))


def _order(reading: Reading) -> tuple[int, int, float]:
    return STATE_INDEX[reading.state], POINT_INDEX[reading.point], reading.value


def _replaces(later: Reading, reading: Reading) -> bool:
    same = later.point is reading.point and later.state is reading.state
    if not same or later.taken_at is None or reading.taken_at is None:
        return False
    return later.taken_at.timestamp() > reading.taken_at.timestamp()


def problem(installation: Installation, readings: Sequence[Reading]) -> Problem:
    """Return what is to be fitted."""
    metered = [r for r in readings if not is_lamp(r.point)]
    sound = beforehand(installation).sound
    return Problem(
        predictor=Predictor(
            installation, sound, [r.key for r in metered], _read_in_series(installation, metered)
        ),
        values=np.array([r.value for r in metered], dtype=np.float64),
        spoilt=SpoiltReadings(metered, Scales.on(installation)),
        lamps=tuple(r for r in readings if is_lamp(r.point)),
        rated_output_a=installation.charger.rated_output_current_a,
        thresholds=Thresholds(
            Scales.on(installation),
            sound.highest_supply_v,
            _coldest(installation),
            _highest_rest(installation, sound.ambient_c.mean),
            _most_resistance(sound),
            _inputs(metered),
        ),
        habits=beforehand(installation).supply_habits,
        read_outright=_read_outright(readings),
    )


# A key-off current is read with the meter in the lead where a clamp cannot tell it.
_STANDING = ReadingKey(Point.INPUT_CURRENT, State.REST)
# The last digits a clamp may have, A, the coarsest first; and a digit's share that is rounding.
_LAST_DIGITS_A, _ROUNDING = (0.1, 0.01), 1e-3


def _read_in_series(
    installation: Installation, readings: Sequence[Reading]
) -> frozenset[ReadingKey]:
    """Return the standing current's key where it has digits that the clamp does not show."""
    standing = [r.value for r in readings if r.key == _STANDING]
    others = [r.value for r in readings if r.point.clamp_on is not None and r.key != _STANDING]
    if not standing or len(others) < _ENOUGH_TO_TELL:
        return frozenset()
    described = installation.meter.current_resolution_a if installation.meter else None
    digits = _LAST_DIGITS_A if described is None else (described,)
    last = next((one for one in digits if all(_ends_at(value, one) for value in others)), None)
    finer = last is not None and not all(_ends_at(value, last) for value in standing)
    return frozenset({_STANDING}) if finer else frozenset()


# Fewer clamped readings do not show how fine the clamp is.
_ENOUGH_TO_TELL = 3


def _ends_at(value: Ampere, last_digit: Ampere) -> bool:
    """Whether a display with this last digit can show a value."""
    digits = value / last_digit
    return abs(digits - round(digits)) < _ROUNDING


def _read_outright(readings: Sequence[Reading]) -> dict[str, float]:
    """Return the unknowns that a reading shows as they are, in the coordinates of the fit."""
    value = {reading.key: reading.value for reading in readings}
    found = {name: value[key] for name, key in _SHOWN_BY.items() if key in value}
    fast = value.get(ReadingKey(Point.START_BATTERY_VOLTAGE, State.FAST_IDLE))
    if fast is not None and "supply_idle_v" in found:
        found["supply_fast_v"] = fast - found["supply_idle_v"]
    if {"supply_idle_v", "supply_rest_v"} <= found.keys():
        found["supply_sag_v"] = found["supply_rest_v"] - found["supply_idle_v"]
    given = value.get(ReadingKey(Point.OUTPUT_CURRENT, State.IDLE))
    if given is not None:
        found["house_tail_a"] = math.log(max(given - found.get("load_a", 0.0), _LEAST_TAIL_A))
    for name in LOADS & found.keys():
        found[name] = math.log(max(found[name], 0.0) + LOAD_OFFSET_A)
    return found


# A fit begins at no less than this current into a nearly full battery: a clamp tells no less.
_LEAST_TAIL_A = 0.3
_SHOWN_BY = {
    "supply_idle_v": ReadingKey(Point.START_BATTERY_VOLTAGE, State.IDLE),
    "supply_rest_v": ReadingKey(Point.START_BATTERY_VOLTAGE, State.REST),
    "house_rest_v": ReadingKey(Point.HOUSE_BATTERY_VOLTAGE, State.REST),
    "load_a": ReadingKey(Point.HOUSE_LOAD_CURRENT, State.IDLE),
    "load_rest_a": ReadingKey(Point.HOUSE_LOAD_CURRENT, State.REST),
    "sun": ReadingKey(Point.SUNLIGHT_FRACTION, State.SOLAR),
}


def _inputs(readings: Sequence[Reading]) -> dict[State, Volt]:
    """Return the volts at the charger's input by state, or what the readings around it leave."""
    value = {reading.key: reading.value for reading in readings}
    found = {}
    for state in State:
        read = value.get(ReadingKey(Point.CHARGER_INPUT_VOLTAGE, state))
        around = [value.get(ReadingKey(point, state)) for point in _AROUND_THE_INPUT]
        if read is None and around[0] is not None:
            read = around[0] - sum(drop for drop in around[1:] if drop is not None)
        if read is not None:
            found[state] = read
    return found


_AROUND_THE_INPUT = (
    Point.START_BATTERY_VOLTAGE,
    Point.VEHICLE_FEED_DROP,
    Point.VEHICLE_RETURN_DROP,
)


# At 12 V: how high a lithium battery rests at most five minutes after it was charged (common
# practice, no published source: 3.42 V a cell), and how far over its full volts one of lead does
# (assumed).
_LITHIUM_RESTS_V, _OVER_FULL_V = 13.7, 0.5
# Common practice, no published source: no run of a sound installation loses more than this at
# full load, at 12 V.
_SOUND_DROP_V = 0.55


def _highest_rest(installation: Installation, ambient_c: Celsius) -> Volt:
    """Return the highest volts at which a house battery may rest that nothing charges."""
    kind, scale = installation.house_battery.chemistry, installation.house_scale
    if kind is Chemistry.LIFEPO4:
        return _LITHIUM_RESTS_V * scale
    return rest_voltage(kind, 1.0, scale, ambient_c) + _OVER_FULL_V * scale


def _most_resistance(sound: SoundInstallation) -> dict[str, Ohm]:
    """Return the resistance by run above which none is sound."""
    return {
        run.value: _SOUND_DROP_V
        * (sound.scale if run in VEHICLE_SIDE else sound.house_scale)
        / current
        for run, current in sound.full_load_a.items()
    }


def _coldest(installation: Installation) -> Celsius | None:
    """Return the temperature under which the house battery's protection keeps charge out."""
    battery = installation.house_battery
    if battery.min_charge_temperature_c is not None:
        return battery.min_charge_temperature_c
    lithium = battery.chemistry is Chemistry.LIFEPO4
    return tables.number("batteries", "charging.lithium_lowest_c") if lithium else None


def _priors(case: Case) -> partial[Prior]:
    """Return what gives rows their priors on this vehicle."""
    spreads = meter_spreads(case.installation.meter)
    return partial(gaussian_prior, meter_spreads=spreads, baseline=_baseline(case, spreads))


@dataclass(frozen=True)
class Searched:
    """The listed answers as fitted to today's readings, and the sound vehicle misjudged.

    ``kinds`` says of each row of ``misjudged`` what was.
    """

    today: Problem
    listed: Fit
    misjudged: Fit
    kinds: tuple[unlisted.Misjudged, ...]


def search(case: Case, readings: Sequence[Reading]) -> Searched:
    """Fit every fault that the installation can have, and whatever the readings ask for besides.

    First every fault on its own, the readings taken with care; where that leaves them strained,
    taken in a hurry as well.  Then, from there, all the rest at once: pairs of faults, what is
    left of the first under the other conditions, and the sound vehicle misjudged.  At last the
    likeliest answer's rivals once more, from where it ended.
    """
    installation, prior = case.installation, _priors(case)
    singles, today = _rows(installation, readings), problem(installation, readings)
    found = fit(today, singles, prior(singles))
    strained = _is_strained(today, found)
    rest = _Rest(prior)
    likely = np.flatnonzero(found.ln_weight > found.ln_weight.max() - _LEFT_OUT)
    rest.add(found.rows.take(likely).carelessly_described(), found.theta[likely])
    if strained:
        again = singles.in_a_hurry()
        found = found.joined(fit(today, again, prior(again)))
    else:
        rest.add(found.rows.take(likely).in_a_hurry(), found.theta[likely])
    pairs = _pairs_to_try(installation, found, strained)
    if pairs is not None:
        pairs = _left_possible(pairs, installation, readings)
        start = _beside_one_fault(found, pairs)
        rest.add(pairs, start)
        if strained and _may_be_hurried(found):
            rest.add(pairs.in_a_hurry(), start)
    wrong = unlisted.misjudged_rows(today, found, singles, prior)
    count = rest.count
    rest.add(wrong.rows, wrong.start, wrong.prior)
    # What strains the fit of one fault may hold the fit of two where that one ended.
    more = fit(
        today,
        rest.rows,
        rest.prior,
        rest.start,
        0 if strained else FROM_NEAR,
        patient=np.arange(rest.count) >= count,
    )
    listed, misjudged = np.flatnonzero(more.kept < count), np.flatnonzero(more.kept >= count)
    found = found.joined(more.take(listed))
    rivals = _rivals_of_the_best(installation, readings, found, singles, strained)
    return Searched(
        today,
        _begun_from_the_best(today, found, rivals, prior(rivals)),
        more.take(misjudged),
        tuple(wrong.kinds[index - count] for index in more.kept[misjudged]),
    )


def _rivals_of_the_best(
    installation: Installation,
    readings: Sequence[Reading],
    found: Fit,
    singles: Hypotheses,
    strained: bool,
) -> Hypotheses:
    """Return what else may be with the unit at work as in the likeliest row, under its conditions.

    Every fault on its own, and one of the row's beside any other where the readings are strained,
    else beside what the row's fit says would pay.
    """
    best = int(np.argmax(found.ln_weight))
    second = beforehand(installation).manifestations
    if not strained:
        alone = _ReadingsAlone(found, best)
        second = tuple(other for other in second if alone.is_eased_by(other))
    pairs = pair_hypotheses(installation, found.rows.manifestations[best], second)
    if pairs is not None:
        singles = singles.joined(_left_possible(pairs, installation, readings))
    alike = (singles.on == found.rows.on[best]).all(axis=1)
    return singles.take(np.flatnonzero(alike)).under_conditions_of(found.rows, best)


def _begun_from_the_best(today: Problem, found: Fit, rivals: Hypotheses, prior: Prior) -> Fit:
    """Fit the likeliest row's rivals once more from where it ended, and keep what is better.

    Around the corners of the circuit a fit may end beside its best.  What the likeliest answer
    found of the vehicle is mostly true under another answer as well.
    """
    best = int(np.argmax(found.ln_weight))
    own = rivals.changed & ~found.rows.changed[best]
    start = np.where(own, prior.mean, found.theta[best])
    again = found.or_better(fit(today, rivals, prior, start, FROM_THE_BEST))
    # A part of the likeliest answer begins with what the other part set undone.
    answer = set(found.rows.faults[best])
    parts = np.flatnonzero([set(one) < answer for one in rivals.faults])
    if not len(parts):
        return again
    undone = rivals.changed ^ found.rows.changed[best]
    start = np.where(undone, prior.mean, found.theta[best])
    return again.or_better(fit(today, rivals.take(parts), prior.take(parts), start[parts], SETTLED))


class _Rest:
    """Rows to be fitted in one go, with where to begin."""

    def __init__(self, prior_of: Callable[[Hypotheses], Prior]) -> None:
        self._prior_of = prior_of
        self._parts: list[tuple[Hypotheses, Prior, Array]] = []

    def add(self, rows: Hypotheses, start: Array, prior: Prior | None = None) -> None:
        self._parts.append((rows, self._prior_of(rows) if prior is None else prior, start))

    @property
    def count(self) -> int:
        return sum(len(rows) for rows, _, _ in self._parts)

    @property
    def rows(self) -> Hypotheses:
        return reduce(Hypotheses.joined, (rows for rows, _, _ in self._parts))

    @property
    def prior(self) -> Prior:
        return reduce(Prior.joined, (prior for _, prior, _ in self._parts))

    @property
    def start(self) -> Array:
        return np.concatenate([start for _, _, start in self._parts])


def _beside_one_fault(found: Fit, pairs: Hypotheses) -> Array:
    """Return where the fit of each pair begins: at that of its likelier fault alone."""
    best: dict[Manifestation, int] = {}
    for row in np.argsort(-found.ln_weight, kind="stable"):
        best.setdefault(found.rows.manifestations[row][0], int(row))
    start = pairs.mean.copy()
    for index, pair in enumerate(pairs.manifestations):
        alone = [best[one] for one in pair if one in best]
        near = max(alone, key=lambda row: float(found.ln_weight[row]))
        same = ~pairs.changed[index] | found.rows.changed[near]
        # Alone, a sound run had to stand for the bad one.
        for run in RUN_NAMES:
            extra = INDEX[f"{run}_extra_ohm"]
            same[INDEX[f"{run}_ohm"]] &= not pairs.changed[index, extra] or same[extra]
        start[index, same] = found.theta[near, same]
    return start


def _rows(installation: Installation, readings: Sequence[Reading]) -> Hypotheses:
    """Return the rows of every fault on its own that these readings leave possible at all."""
    rows = _left_possible(single_hypotheses(installation), installation, readings)
    return with_held_input(rows, _inputs(readings), installation)


def _left_possible(
    rows: Hypotheses, installation: Installation, readings: Sequence[Reading]
) -> Hypotheses:
    """Leave out the rows by which no current can flow where it was read both in and out."""
    value = {r.key: r.value for r in readings}
    least = max(_FLOWS_A, _FLOWS_SHARE * installation.charger.rated_output_current_a)
    flows = [
        all(value.get(ReadingKey(point, state), 0.0) > least for point in _BOTH_CURRENTS)
        for state in STATES
    ]
    # What something else draws through the feed flows in whether the unit works or not.
    drawn = rows.changed[:, INDEX["feed_consumer_a"]]
    possible = np.flatnonzero(drawn | rows.may_charge[:, flows].all(axis=1))
    return rows.take(possible) if any(flows) and len(possible) else rows


# Where in and out at once this much current was read, no answer stands by which none can flow:
# two clamped readings are not spoilt in the same way (assumed).
_BOTH_CURRENTS = (Point.INPUT_CURRENT, Point.OUTPUT_CURRENT)
_FLOWS_A, _FLOWS_SHARE = 3.0, 0.1


# A row so far behind the best is not fitted again under other conditions (in logarithms).
_LEFT_OUT = 14.0


def _baseline(case: Case, spreads: dict[str, float]) -> BaselinePrior | None:
    """Return what the commissioning taught, if its readings are there."""
    if not case.baseline:
        return None
    then = tuple(r for r in current(case.baseline) if is_predicted(r.point))
    rows = _rows(case.installation, then)
    return learnt_at_commissioning(problem(case.installation, then), rows, spreads)


# Under this probability of being good, a reading counts as called spoilt.
_SPOILT = 0.5
# Log-chance of running as it does, under which a unit's running contradicts its supply.
_CONTRADICTED = -1.5
# So far behind care (in logarithms) hurry is out of question: wherever two faults turned out to
# have been read in a hurry, it led among the fits of one (measured on 120 simulated vehicles).
_NOT_HURRIED = 3.0
# A second fault is tried when the pair would come to this share of the single answer.
_WORTH_TRYING = math.log(0.02)
# How many of the best single answers are joined with others: all of these when the readings are
# strained, otherwise those not far behind the best (in logarithms).
_JOINED = 6
_FAR_BEHIND = 12.0


def _pairs_to_try(installation: Installation, found: Fit, strained: bool) -> Hypotheses | None:
    """Return the pairs of faults worth a fit beside the single ones, ``None`` if there are none."""
    best = _best_rows(found, math.inf if strained else _FAR_BEHIND)
    second = beforehand(installation).manifestations
    if not strained:
        answers = [_ReadingsAlone(found, row) for row in best]
        second = tuple(other for other in second if any(one.is_eased_by(other) for one in answers))
    if not second:
        return None
    first = [found.rows.manifestations[row][0] for row in best]
    return pair_hypotheses(installation, first, second)


def _is_strained(today: Problem, found: Fit) -> bool:
    """Whether the best single answer explains the readings worse than a true one would.

    It calls a reading spoilt or a unit's running unbelievable, or it needs several things at once
    that are seldom so.
    """
    row = int(np.argmax(found.ln_weight))
    told = found.running.ln_chance[row] < _CONTRADICTED or (found.good[row] < _SPOILT).any()
    return bool(told or unlisted.strain(today, found, row) > unlisted.STRAINED)


def _may_be_hurried(found: Fit) -> bool:
    """Whether the readings were taken in a hurry for all that the fits of one fault say.

    What a second fault does to the readings looks like hurry, never like care.
    """
    hurried, weight = found.rows.hurried, found.ln_weight
    in_a_hurry, with_care = (weight[one].max(initial=-np.inf) for one in (hurried, ~hurried))
    return bool(in_a_hurry > with_care - _NOT_HURRIED)


def _best_rows(found: Fit, behind: float) -> list[int]:
    """Return the likeliest row of each of the first few answers, none further behind the best."""
    rows: dict[tuple[FaultId, ...], int] = {}
    order = np.argsort(-found.ln_weight, kind="stable")
    for row in order:
        if found.ln_weight[row] > found.ln_weight[order[0]] - behind:
            rows.setdefault(found.rows.faults[row], int(row))
    return list(rows.values())[:_JOINED]


class _ReadingsAlone:
    """What the readings alone say of each unknown under one fitted row, the prior taken out.

    The fitted Gaussian over the prior, each unknown by itself: a second fault pays where its
    prior explains that better than the sound one.
    """

    def __init__(self, found: Fit, row: int) -> None:
        covariance = found.covariance(np.array([row]))[0]
        after, before = np.diag(covariance), found.prior.spread[row] ** 2
        information = np.maximum(1 / after - 1 / before, 1e-9)
        pulled = found.theta[row] / after - found.prior.mean[row] / before
        self._faults = found.rows.faults[row]
        self._theta = found.theta[row]
        self._mean, self._variance = pulled / information, 1 / information
        self._prior_mean, self._prior_variance = found.prior.mean[row], before

    def is_eased_by(self, second: Manifestation) -> bool:
        """Whether a second fault beside this row is worth a fit."""
        if second.fault.id in self._faults:
            return False
        gain = sum(self._gain(name, new) for name, new in self._moved(second))
        return gain + math.log(second.chance_beside) > _WORTH_TRYING

    def _gain(self, name: str, new: Estimate) -> float:
        """Log of how much better the new prior explains what the readings say of an unknown."""
        index = INDEX[name]
        mean, spread = self._mean[index], self._variance[index]
        old = _ln_normal(mean, self._prior_mean[index], self._prior_variance[index] + spread)
        return _ln_normal(mean, new.mean, new.spread**2 + spread) - old

    def _moved(self, second: Manifestation) -> Iterator[tuple[str, Estimate]]:
        """Yield the unknowns a second fault moves, in coordinates that this row has fitted."""
        for name, new in second.changed.items():
            run = name.removesuffix("_extra_ohm")
            yield (f"{run}_ohm", self._worse_run(run, new)) if run in RUN_NAMES else (name, new)
        if second.way.supply == "battery":
            rest, sag = (INDEX[name] for name in ("supply_rest_v", "supply_sag_v"))
            spread = math.sqrt(self._prior_variance[sag])
            yield "supply_idle_v", Estimate(self._theta[rest] - self._prior_mean[sag], spread)

    def _worse_run(self, run: str, extra: Estimate) -> Estimate:
        """Logarithm of a run's resistance with the extra in it, to first order."""
        sound, more = math.exp(self._prior_mean[INDEX[f"{run}_ohm"]]), math.exp(extra.mean)
        return Estimate(math.log(sound + more), extra.spread * more / (sound + more))


def _ln_normal(value: float, mean: float, variance: float) -> float:
    return -0.5 * ((value - mean) ** 2 / variance + math.log(2 * math.pi * variance))
