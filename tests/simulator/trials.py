"""Trials of the diagnosis on simulated vehicles: one function a row of the figures."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from time import perf_counter

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


@dataclass(frozen=True)
class Outcome:
    """What one trial came to."""

    names: tuple[str, ...]
    answer: tuple[str, ...]
    probability: float
    right: bool
    readings: int = 0
    found: bool = False
    suspected: int = 0
    seconds: float = 0.0


def ask(description: dict, readings: list[dict]) -> tuple[logic.Diagnosis, float]:
    """Return the diagnosis of these readings and the seconds it took."""
    case = logic.Case.model_validate({"installation": description, "readings": readings})
    started = perf_counter()
    diagnosis = logic.diagnose(case)
    return diagnosis, perf_counter() - started


def _outcome(names: tuple[str, ...], diagnosis: logic.Diagnosis, **more: object) -> Outcome:
    first = diagnosis.findings[0]
    return Outcome(
        names, tuple(first.faults), first.probability, set(first.faults) == set(names), **more
    )


def _sheet(bench: Bench, keys: list[tuple[str, str]]) -> list[dict]:
    return [bench.read(point, state) for point, state in keys]


def full(rng: Generator) -> Outcome:
    """Full sheet, one fault or none."""
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    diagnosis, seconds = ask(description, _sheet(on, full_sheet(description)))
    return _outcome((name,), diagnosis, seconds=seconds, suspected=len(diagnosis.suspect_readings))


def mild(rng: Generator) -> Outcome:
    """Full sheet, one run 4 to 12 milliohms over."""
    name = str(rng.choice(RESISTIVE))
    description, on = bench(rng, (name,), severity=MILD_OHM)
    diagnosis, _ = ask(description, _sheet(on, full_sheet(description)))
    return _outcome((name,), diagnosis)


def guided(rng: Generator) -> Outcome:
    """From three symptom voltages, taking the first reading offered until 95 % or silence."""
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    readings = _sheet(on, list(SYMPTOMS))
    while True:
        diagnosis, _ = ask(description, readings)
        offered = diagnosis.next_readings
        sure = diagnosis.findings[0].probability >= SURE
        if sure or not offered or len(readings) >= MOST_READINGS:
            break
        readings.append(on.read(offered[0].point.value, offered[0].state.value))
    return _outcome((name,), diagnosis, readings=len(readings) - len(SYMPTOMS))


def two(rng: Generator) -> Outcome:
    """Full sheet, two faults that both can be seen."""
    description = draw_installation(rng)
    names = draw_two(rng, description)
    description, on = bench(rng, names, description, PLAIN_OHM)
    diagnosis, seconds = ask(description, _sheet(on, full_sheet(description)))
    return _outcome(names, diagnosis, seconds=seconds)


def spoilt(rng: Generator) -> Outcome:
    """Full sheet, one fault or none, one reading spoilt."""
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    readings, index = spoil(rng, _sheet(on, full_sheet(description)))
    diagnosis, _ = ask(description, readings)
    wrong = (readings[index]["point"], readings[index]["state"])
    suspects = [(s.point.value, s.state.value) for s in diagnosis.suspect_readings]
    return _outcome((name,), diagnosis, found=wrong in suspects, suspected=len(suspects))


def sparse(rng: Generator) -> Outcome:
    """No clamp, no cable data, a third of the other readings missing."""
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    readings = _sheet(on, thinned(rng, full_sheet(description)))
    diagnosis, _ = ask(without_cable_data(description), readings)
    return _outcome((name,), diagnosis)


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
        seconds.append(ask(description, readings)[1])
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
