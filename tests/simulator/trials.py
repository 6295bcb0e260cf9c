"""Trials of the diagnosis on simulated vehicles: one function a row of the figures."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from time import perf_counter
from typing import Any

import numpy as np

import logic
from tests.simulator.descriptions import draw_installation, without_cable_data
from tests.simulator.faults_put_in import (
    MILD_OHM,
    PLAIN_OHM,
    RESISTIVE,
    draw_name,
    possible,
)
from tests.simulator.metering import Bench, spoil
from tests.simulator.sheets import SYMPTOMS, bench, full_sheet, thinned

Generator = np.random.Generator
SURE = 0.95
MOST_READINGS = 25
# An answer is sure of itself from here on, with nothing suspected and this little unexplained.
CONFIDENT, EXPLAINED = 0.8, 0.2


@dataclass(frozen=True)
class Outcome:
    """What one trial came to; ``failure`` is all that is needed to look at a failed one."""

    names: tuple[str, ...]
    answer: tuple[str, ...]
    probability: float
    right: bool
    unexplained: float
    suspected: int
    seconds: float
    sure_of_itself: bool
    readings: int = 0
    minutes: float = 0.0
    found: bool = False
    shown: bool | None = None  # whether a thinned sheet shows the fault at all; None is not known
    failure: dict[str, Any] | None = None


@dataclass(frozen=True)
class Asked:
    """A case, what the diagnosis says of it, and the seconds it took."""

    case: dict[str, Any]
    diagnosis: logic.Diagnosis
    seconds: float

    @property
    def answer(self) -> tuple[str, ...]:
        """The faults of the first finding."""
        return tuple(self.diagnosis.findings[0].faults) if self.diagnosis.findings else ()

    @property
    def probability(self) -> float:
        """The probability of the first finding."""
        return self.diagnosis.findings[0].probability if self.diagnosis.findings else 0.0

    @property
    def unexplained(self) -> float:
        """The probability that none of the catalogue's answers is true."""
        return self.diagnosis.unexplained or 0.0

    @property
    def suspects(self) -> list[tuple[str, str]]:
        """Point and state of every reading called wrong."""
        return [(one.point.value, one.state.value) for one in self.diagnosis.suspect_readings]

    @property
    def is_sure(self) -> bool:
        """Whether nothing in the answer warns the reader."""
        explained = self.unexplained < EXPLAINED and not self.suspects
        return explained and self.probability >= CONFIDENT

    def names(self, truth: Sequence[str]) -> bool:
        """Whether the first finding is just these faults."""
        return set(self.answer) == set(truth)


def ask(
    description: dict[str, Any],
    readings: list[dict[str, Any]],
    baseline: Sequence[dict[str, Any]] = (),
) -> Asked:
    """Return the diagnosis of these readings and the seconds it took."""
    text = {"installation": description, "readings": readings, "baseline": list(baseline)}
    case = logic.Case.model_validate(text)
    started = perf_counter()
    diagnosis = logic.diagnose(case)
    return Asked(text, diagnosis, perf_counter() - started)


def outcome(
    names: tuple[str, ...],
    asked: Asked,
    failed: bool | None = None,
    note: Mapping[str, Any] | None = None,
    **more: Any,
) -> Outcome:
    """Return what a trial came to; it failed if it did not name the truth, or as told."""
    right = asked.names(names)
    failed = not right if failed is None else failed
    return Outcome(
        names=names,
        answer=asked.answer,
        probability=asked.probability,
        right=right,
        unexplained=asked.unexplained,
        suspected=len(asked.suspects),
        seconds=asked.seconds,
        sure_of_itself=asked.is_sure,
        failure=_failure(names, asked, note) if failed else None,
        **more,
    )


def _failure(
    names: tuple[str, ...], asked: Asked, note: Mapping[str, Any] | None
) -> dict[str, Any]:
    findings = asked.diagnosis.findings[:6]
    return {
        "case": asked.case,
        "truth": names,
        "findings": [{"faults": one.faults, "probability": one.probability} for one in findings],
        "suspects": asked.suspects,
        "unexplained": asked.unexplained,
        "note": dict(note or {}),
    }


def _sheet(bench: Bench, keys: list[tuple[str, str]]) -> list[dict]:
    return [bench.read(point, state) for point, state in keys]


def full(rng: Generator) -> Outcome:
    """Full sheet, one fault or none."""
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    asked = ask(description, _sheet(on, full_sheet(description)))
    return outcome((name,), asked, failed=not asked.names((name,)) or bool(asked.suspects))


def mild(rng: Generator) -> Outcome:
    """Full sheet, one run 4 to 12 milliohms over."""
    name = str(rng.choice(RESISTIVE))
    description, on = bench(rng, (name,), severity=MILD_OHM)
    return outcome((name,), ask(description, _sheet(on, full_sheet(description))))


def guided(rng: Generator) -> Outcome:
    """From three symptom voltages, taking the first reading offered until 95 % or silence."""
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    readings, spent = _sheet(on, list(SYMPTOMS)), 0.0
    while True:
        asked = ask(description, readings)
        offered = asked.diagnosis.next_readings
        if asked.probability >= SURE or not offered or len(readings) >= MOST_READINGS:
            break
        readings.append(on.read(offered[0].point.value, offered[0].state.value))
        spent += offered[0].cost_minutes
    return outcome((name,), asked, readings=len(readings) - len(SYMPTOMS), minutes=spent)


def two(rng: Generator) -> Outcome:
    """Full sheet, two faults that both can be seen."""
    description = draw_installation(rng)
    names = draw_two(rng, description)
    description, on = bench(rng, names, description, PLAIN_OHM)
    return outcome(names, ask(description, _sheet(on, full_sheet(description))))


def spoilt(rng: Generator) -> Outcome:
    """Full sheet, one fault or none, one reading spoilt."""
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    readings, index = spoil(rng, _sheet(on, full_sheet(description)))
    asked = ask(description, readings)
    wrong = (readings[index]["point"], readings[index]["state"])
    found = wrong in asked.suspects
    failed = not (found and asked.names((name,)))
    return outcome((name,), asked, failed, {"spoilt": wrong}, found=found)


def sparse(rng: Generator) -> Outcome:
    """No clamp, no cable data, a third of the other readings missing."""
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    readings = _sheet(on, thinned(rng, full_sheet(description)))
    return outcome((name,), ask(without_cable_data(description), readings))


TRIALS: dict[str, Callable[[Generator], Outcome]] = {
    "full": full,
    "mild": mild,
    "guided": guided,
    "two": two,
    "spoilt": spoilt,
    "sparse": sparse,
}

# What hides what on a full sheet: a unit that gives nothing shows no current limit, no drop ...
_DEAD = {"vehicle_fuse_open", "charger_negative_open", "charger_no_output"}
_NO_CHARGE = {"house_fuse_open", "house_battery_protected"}
_NEED_CURRENT = {
    *RESISTIVE,
    "charger_thermal_derating",
    "charger_output_limited",
    "house_battery_high_resistance",
}
_SOLAR = {"solar_open", "solar_reversed", "solar_second_regulator", "solar_undersupply"}
_ONE_OF = (
    _DEAD | _NO_CHARGE,
    {"charger_thermal_derating", "charger_output_limited", "house_battery_high_resistance"},
    {"profile_too_low", "profile_too_high"},
    {"house_battery_low_cell", "house_battery_high_resistance"},
    _SOLAR,
    {"ignition_signal_missing", "ignition_always_live"},
)
_HIDES = (
    (_DEAD | _NO_CHARGE, _NEED_CURRENT),
    ({"alternator_not_charging", "ignition_signal_missing"}, _NEED_CURRENT | _DEAD | _NO_CHARGE),
    (_DEAD, {"solar_undersupply", "solar_second_regulator"}),
    ({"charger_negative_open"}, {"ignition_always_live", *_SOLAR}),
)


def both_visible(one: str, other: str) -> bool:
    """Whether a full sheet can show both: neither hides the other, nor are they of one kind."""
    pair = {one, other}
    same = any(pair <= kind for kind in _ONE_OF)
    hidden = any(
        (one in first and other in second) or (other in first and one in second)
        for first, second in _HIDES
    )
    return not (same or hidden)


def draw_two(rng: Generator, description: dict) -> tuple[str, str]:
    """Draw two faults that can both be seen."""
    pairs = [pair for pair in combinations(possible(description), 2) if both_visible(*pair)]
    one, other = pairs[int(rng.integers(len(pairs)))]
    return one, other


def generator(kind: str, seed: int, trial: int) -> Generator:
    """Return one trial's own random numbers."""
    return np.random.default_rng((seed, list(TRIALS).index(kind), trial))


def run_one(kind: str, seed: int, trial: int) -> Outcome:
    """Run one trial of a kind."""
    return TRIALS[kind](generator(kind, seed, trial))


def run(kind: str, seed: int, count: int) -> list[Outcome]:
    """Run a number of trials of one kind; each has its own seed."""
    return [run_one(kind, seed, trial) for trial in range(count)]


def timed_calls(seed: int, count: int) -> list[float]:
    """Return the seconds of one call on each of some full sheets, everything loaded before."""
    seconds = []
    for trial in range(count):
        rng = generator("full", seed, trial)
        description = draw_installation(rng)
        description, on = bench(rng, (draw_name(rng, description),), description)
        readings = _sheet(on, full_sheet(description))
        ask(description, readings)
        seconds.append(ask(description, readings).seconds)
    return seconds


def calibration_error(outcomes: list[Outcome], bins: int = 10) -> float:
    """Expected calibration error of the first finding's probability, in equal bins."""
    sure = np.array([outcome.probability for outcome in outcomes])
    right = np.array([outcome.right for outcome in outcomes], dtype=float)
    bin_of = np.minimum((sure * bins).astype(int), bins - 1)
    gaps = [
        abs(sure[bin_of == b].mean() - right[bin_of == b].mean()) * (bin_of == b).mean()
        for b in range(bins)
        if (bin_of == b).any()
    ]
    return float(sum(gaps))
