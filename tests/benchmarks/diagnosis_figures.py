"""Print the whole table of the diagnosis' figures, each beside what it should reach.

    python -m tests.benchmarks.diagnosis_figures [trials a row, 300] [seed, 1]

Every row draws its own simulated vehicles; the simulator shares no code with the engine.
"""

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from statistics import mean, median

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from tests.simulator.trials import (
    TRIALS,
    Outcome,
    calibration_error,
    run_one,
    timed_calls,
)


def _outcomes(kind: str, seed: int, count: int, pool: ProcessPoolExecutor) -> list[Outcome]:
    return list(pool.map(run_one, [kind] * count, [seed] * count, range(count), chunksize=5))


def _share(values: list[bool]) -> float:
    return mean(map(float, values))


def figures(seed: int, count: int) -> dict[str, tuple[float, str]]:
    """Return each row's figure and its target."""
    with ProcessPoolExecutor(2) as pool:
        found = {kind: _outcomes(kind, seed, count, pool) for kind in TRIALS}
    right = {kind: _share([o.right for o in outcomes]) for kind, outcomes in found.items()}
    answers = [outcome for kind in ("full", "guided", "sparse") for outcome in found[kind]]
    spoilt = found["spoilt"]
    return {
        "full sheet, one fault: right first": (right["full"], ">= 0.985"),
        "full sheet, mild resistive faults: right first": (right["mild"], ">= 0.80"),
        "guided from three voltages: right": (right["guided"], ">= 0.97"),
        "  readings beyond the three, on average": (
            mean(o.readings for o in found["guided"]),
            "<= 3.3",
        ),
        "two faults at once: both named": (right["two"], ">= 0.90"),
        "one spoilt reading: found": (_share([o.found for o in spoilt]), ">= 0.95"),
        "  diagnosis still right": (right["spoilt"], ">= 0.97"),
        "  clean sheets wrongly suspected": (
            _share([o.suspected > 0 for o in found["full"]]),
            "<= 0.03",
        ),
        "no clamp, no cable data, a third missing: right first": (right["sparse"], ">= 0.78"),
        "calibration error (full, guided and sparse)": (calibration_error(answers), "<= 0.05"),
    }


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    milliseconds = 1000 * median(timed_calls(seed, 40))
    print(f"{'figure':56s} {'measured':>9s}  should be   ({count} trials a row, seed {seed})")
    for name, (value, target) in figures(seed, count).items():
        print(f"{name:56s} {value:9.3f}  {target}")
    print(
        f"{'one call, full sheet, with next readings, ms (median)':56s} {milliseconds:9.1f}  <= 50"
    )


if __name__ == "__main__":
    main()
