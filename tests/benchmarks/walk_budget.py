"""Print what the walk costs, what its readings find, and which fault pays for each reading.

    python -m tests.benchmarks.walk_budget [vehicles, 600] [seed, 1] [--leave-one-out]

Costs are those of ``python -m logic.checklist.budget``: a job on which nothing is out. What is
found is the share of the workshop simulator's vehicles with one fault or none on which the
diagnosis of the walk's readings names the truth first, with Wilson's 95 % interval: of all its
vehicles, and of plain lithium jobs alone. ``--leave-one-out`` does the same without each reading
in turn, on the same vehicles: what is then missed pays for it.
"""

import argparse
import os
from collections import Counter
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from itertools import product

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from logic.checklist.budget import HEAD, JOBS, ROWS, effort_of, line
from logic.checklist.depth import Depth
from logic.vehicle.points import Point, ReadingKey, State
from tests.benchmarks.diagnosis_figures import wilson
from tests.simulator.descriptions import draw_installation
from tests.simulator.faults_put_in import draw_name
from tests.simulator.sheets import bench
from tests.simulator.trials import ask
from tests.simulator.walked import WALK, Walked

Found = dict[int, tuple[str, bool]]


def plain_lithium(rng: np.random.Generator) -> dict:
    """Draw a plain lithium job of the workshop world: 12 V, no panel, any alternator."""
    while True:
        description = draw_installation(rng, solar=False)
        is_lithium = description["house_battery"]["chemistry"] == "lifepo4"
        if is_lithium and description["nominal_voltage_v"] == 12:
            return description


WORLDS: dict[str, Callable[[np.random.Generator], dict]] = {
    "workshop": draw_installation,
    "plain lithium": plain_lithium,
}


@dataclass(frozen=True)
class Trials:
    """Which vehicles are walked, how deep, and without which readings."""

    seed: int
    depth: Depth = Depth.STANDARD
    world: str = "workshop"
    without: tuple[ReadingKey, ...] = ()

    def walked(self, trial: int) -> tuple[str, Walked, dict]:
        """Walk one vehicle with one fault or none; the same trial is the same vehicle."""
        rng = np.random.default_rng((self.seed, 71, trial))
        description = WORLDS[self.world](rng)
        name = draw_name(rng, description)
        description, on = bench(rng, (name,), description)
        walk = Walked(on, description, self.depth, self.without)
        return name, walk.to_the_end(), description

    def found(self, trials: Collection[int]) -> Found:
        """Tell for each vehicle what was wrong and whether that is the first finding."""
        told: Found = {}
        for trial in trials:
            name, walk, description = self.walked(trial)
            told[trial] = name, ask(description, walk.readings).names((name,))
        return told


def share(told: Found) -> tuple[float, float, float]:
    """Return the share that is right first, with its interval."""
    right = [float(is_right) for _, is_right in told.values()]
    return sum(right) / len(right), *wilson(right)


def missed(told: Found) -> Counter[str]:
    """Count what was missed, by fault."""
    return Counter(name for name, is_right in told.values() if not is_right)


def readings_of(depth: Depth) -> tuple[ReadingKey, ...]:
    """List what a plain lithium job reads at a depth when nothing is out."""
    from logic.checklist.budget import LITHIUM_JOB, steps_of

    steps = steps_of(WALK, LITHIUM_JOB, depth)
    return tuple(ReadingKey(s.point, s.state) for s in steps if s.point and s.state)


def paid_by(trials: Trials, told: Found) -> Iterator[tuple[ReadingKey, Counter[str]]]:
    """Yield each reading with what is missed without it and was found with it."""
    whole = sorted(trial for trial, (_, is_right) in told.items() if is_right)
    load = ReadingKey(Point.HOUSE_LOAD_CURRENT, State.IDLE)
    for key in (*readings_of(trials.depth), load):
        yield key, missed(replace(trials, without=(key,)).found(whole))


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("vehicles", nargs="?", type=int, default=600)
    parser.add_argument("seed", nargs="?", type=int, default=1)
    parser.add_argument("--leave-one-out", action="store_true")
    asked = parser.parse_args()
    print(HEAD)
    for name, depth in ROWS:
        print(line(f"{name}, {depth.words.lower()}", effort_of(WALK, JOBS[name], depth)))
    standard: Found = {}
    for world, depth in product(WORLDS, Depth):
        told = Trials(asked.seed, depth, world).found(range(asked.vehicles))
        if (world, depth) == ("workshop", Depth.STANDARD):
            standard = told
        right, low, high = share(told)
        print(
            f"{world}, {depth.words.lower()}: right first {right:.3f} ({low:.3f} to {high:.3f}) "
            f"of {asked.vehicles}; missed {dict(missed(told).most_common())}",
            flush=True,
        )
    if asked.leave_one_out:
        print("Without one reading of the standard depth, missed of what was found with it:")
        for key, lost in paid_by(Trials(asked.seed), standard):
            words = ", ".join(f"{name} {count}" for name, count in lost.most_common(4))
            print(
                f"  {f'{key.point.value}, {key.state.value}':34} {lost.total():4d}  {words}",
                flush=True,
            )


if __name__ == "__main__":
    main()
