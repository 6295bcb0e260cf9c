"""Trials of the diagnosis in the field world: one function a row of the figures."""

from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from tests.simulator.field import outside as troubles
from tests.simulator.field.commissioning import baseline
from tests.simulator.field.conditions import WORLDS, World
from tests.simulator.field.descriptions import describe
from tests.simulator.field.equipment import draw_extras
from tests.simulator.field.faults_put_in import RESISTIVE, draw_name
from tests.simulator.field.further_faults import FURTHER_FAULTS, NEEDS
from tests.simulator.field.pairs import draw_two
from tests.simulator.field.sheets import SYMPTOMS, rows, thinned
from tests.simulator.field.spoiling import spoil
from tests.simulator.field.trial_vehicles import TrialVehicle, draw
from tests.simulator.field.vehicle import RUNS
from tests.simulator.trials import MOST_READINGS, SURE, Asked, Outcome, ask, outcome

Generator = np.random.Generator
Names = Callable[[Generator], Sequence[str]]


def _one_fault(rng: Generator) -> tuple[str, ...]:
    return (draw_name(rng),)


def _one_resistive(rng: Generator) -> tuple[str, ...]:
    return (str(rng.choice(RESISTIVE)),)


def _vehicle(
    rng: Generator, world: World, names: Names, mild: bool = False, tries: int = 60
) -> TrialVehicle:
    """Draw faults until a vehicle comes out on which they show."""
    for _ in range(200):
        found = draw(rng, names(rng), world, mild, tries)
        if found is not None:
            return found
    raise RuntimeError(f"no vehicle came out of {names.__name__} in the {world} world")


def _outcome(trial: TrialVehicle, asked: Asked, **more: Any) -> Outcome:
    vehicle = trial.visit.vehicle
    note = {
        "severity": trial.severity,
        "true_values": trial.visit.true_values(),
        "true_run_ohm": {run: vehicle.ohm(run) for run in RUNS},
        "vehicle": asdict(vehicle),
        "meter": asdict(trial.visit.meter),
    } | more.pop("note", {})
    return outcome(trial.names, asked, note=note, **more)


def full(rng: Generator, world: World) -> Outcome:
    """Full sheet, one fault or none."""
    trial = _vehicle(rng, world, _one_fault)
    asked = _asked_in_full(rng, trial)
    return _outcome(trial, asked, failed=not asked.names(trial.names) or bool(asked.suspects))


def mild(rng: Generator, world: World) -> Outcome:
    """Full sheet, one run 4 to 12 milliohms over."""
    trial = _vehicle(rng, world, _one_resistive, mild=True)
    return _outcome(trial, _asked_in_full(rng, trial))


def with_baseline(rng: Generator, world: World) -> Outcome:
    """Full sheet and the commissioning's readings, one fault or none."""
    trial = _vehicle(rng, world, _one_fault)
    return _outcome(trial, _asked_in_full(rng, trial, commissioned=True))


def mild_with_baseline(rng: Generator, world: World) -> Outcome:
    """Full sheet and the commissioning's readings, one run 4 to 12 milliohms over."""
    trial = _vehicle(rng, world, _one_resistive, mild=True)
    return _outcome(trial, _asked_in_full(rng, trial, commissioned=True))


def _asked_in_full(rng: Generator, trial: TrialVehicle, commissioned: bool = False) -> Asked:
    description = describe(rng, trial.visit)
    then = baseline(rng, trial) if commissioned else []
    return ask(description, rows(trial.visit, trial.keys), then)


def guided(rng: Generator, world: World) -> Outcome:
    """From three symptom voltages, taking the first reading offered until 95 % or silence."""
    trial = _vehicle(rng, world, _one_fault)
    description, taken, spent = describe(rng, trial.visit), list(SYMPTOMS), 0.0
    while True:
        asked = ask(description, rows(trial.visit, taken))
        offered = [
            ((one.point.value, one.state.value), one.cost_minutes)
            for one in asked.diagnosis.next_readings
            if trial.visit.read(one.point.value, one.state.value) is not None
        ]
        if asked.probability >= SURE or not offered or len(taken) >= MOST_READINGS:
            break
        key, cost = offered[0]
        taken.append(key)
        spent += cost
    beyond = taken[len(SYMPTOMS) :]
    return _outcome(trial, asked, readings=len(beyond), minutes=spent, note={"path": beyond})


def two(rng: Generator, world: World) -> Outcome:
    """Full sheet, two faults that both can be seen."""
    trial = _vehicle(rng, world, draw_two, tries=8)
    return _outcome(trial, _asked_in_full(rng, trial))


def spoilt(rng: Generator, world: World) -> Outcome:
    """Full sheet, one fault or none, one reading spoilt."""
    trial = _vehicle(rng, world, _one_fault)
    description = describe(rng, trial.visit)
    sheet = spoil(rng, rows(trial.visit, trial.keys), trial.visit.vehicle.scale)
    asked = ask(description, sheet.rows)
    found = sheet.key in asked.suspects
    failed = not (found and asked.names(trial.names))
    note = {"spoilt": sheet.key, "kind": sheet.kind, "was": sheet.was}
    return _outcome(trial, asked, failed=failed, found=found, note=note)


def sparse(rng: Generator, world: World) -> Outcome:
    """No clamp, no cable data, a third of the other readings missing."""
    trial = _vehicle(rng, world, _one_fault)
    description = describe(rng, trial.visit) | {"runs": {}}
    keys = thinned(rng, trial.keys)
    return _outcome(trial, ask(description, rows(trial.visit, keys)), shown=trial.shows_on(keys))


def outside(rng: Generator, world: World, number: int) -> Outcome:
    """Full sheet, a trouble that no catalogue lists; each kind in turn."""
    name = troubles.NAMES[number % len(troubles.NAMES)]
    trial = _vehicle(rng, world, lambda _: (name,), tries=400)
    asked = _asked_in_full(rng, trial)
    return _outcome(trial, asked, failed=asked.is_sure)


def draw_equipped(rng: Generator, world: World) -> TrialVehicle:
    """Draw a vehicle with one or two extras: half of the time what is wrong is theirs."""
    for _ in range(200):
        own = rng.random() < 0.5
        name = str(rng.choice(FURTHER_FAULTS)) if own else draw_name(rng)
        extras = draw_extras(rng, NEEDS.get(name))
        found = draw(rng, (name,), world, tries=60, extras=extras)
        if found is not None:
            return found
    raise RuntimeError(f"no vehicle with further equipment came out in the {world} world")


def equipment(rng: Generator, world: World) -> Outcome:
    """Full sheet, one fault or none, on a vehicle with further equipment."""
    trial = draw_equipped(rng, world)
    asked = _asked_in_full(rng, trial)
    return _outcome(trial, asked, failed=not asked.names(trial.names) or bool(asked.suspects))


TRIALS: dict[str, Callable[[Generator, World], Outcome]] = {
    "full": full,
    "mild": mild,
    "baseline": with_baseline,
    "mild_baseline": mild_with_baseline,
    "guided": guided,
    "two": two,
    "spoilt": spoilt,
    "sparse": sparse,
}
KINDS = (*TRIALS, "outside", "equipment")


def run_one(world: World, kind: str, seed: int, trial: int) -> Outcome:
    """Run one trial; what it meets depends on these four alone."""
    rng = np.random.default_rng((seed, WORLDS.index(world), KINDS.index(kind), trial))
    if kind == "outside":
        return outside(rng, world, trial)
    if kind == "equipment":
        return equipment(rng, world)
    return TRIALS[kind](rng, world)


def timed_calls(world: World, seed: int, count: int) -> list[float]:
    """Return the seconds of one call on each of some full sheets, everything loaded before."""
    seconds = []
    for number in range(count):
        rng = np.random.default_rng((seed, WORLDS.index(world), KINDS.index("full"), number))
        trial = _vehicle(rng, world, _one_fault)
        description, sheet = describe(rng, trial.visit), rows(trial.visit, trial.keys)
        ask(description, sheet)
        seconds.append(ask(description, sheet).seconds)
    return seconds
