"""Print the guided diagnosis beside two baselines: readings needed and accuracy.

    python -m tests.benchmarks.diagnosis_against_baselines [trials] [sheets to learn from] [seed]

The baselines are the same engine fed the full sheet in its fixed order, stopped at 95 %, and a
decision tree learnt from the simulator's full sheets (readings counted along its path).  All
start from the same three symptom voltages.
"""

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from statistics import mean

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from sklearn.tree import DecisionTreeClassifier

from tests.simulator.rivals import COLUMNS, fixed_order, readings_on_path, sheet_row
from tests.simulator.trials import run_one


def _rows(seed: int, count: int, pool: ProcessPoolExecutor) -> tuple[np.ndarray, list[str]]:
    rows = list(pool.map(sheet_row, [seed] * count, range(count), chunksize=20))
    return np.array([features for features, _ in rows]), [name for _, name in rows]


def main() -> None:
    """Print readings and accuracy of the three."""
    given = [int(argument) for argument in sys.argv[1:]]
    trials, sheets, seed = (*given, *(200, 4000, 1)[len(given) :])
    with ProcessPoolExecutor(2) as pool:
        ours = list(pool.map(run_one, ["guided"] * trials, [seed] * trials, range(trials)))
        fixed = list(pool.map(fixed_order, [seed] * trials, range(trials)))
        learnt, names = _rows(seed + 1000, sheets, pool)
        asked, truth = _rows(seed + 2000, 4 * trials, pool)
    tree = DecisionTreeClassifier(min_samples_leaf=5, random_state=seed).fit(learnt, names)
    tree_right = float(np.mean(tree.predict(asked) == np.array(truth)))
    tree_readings = float(np.mean(readings_on_path(tree, asked)))
    print(f"{'':44s} {'readings':>9s} {'right':>7s}")
    print(_line("guided by information", [o.readings for o in ours], [o.right for o in ours]))
    print(_line("full sheet in its fixed order, to 95 %", *zip(*fixed, strict=True)))
    print(
        f"{f'decision tree from {sheets} sheets, {len(COLUMNS)} columns':44s} "
        f"{tree_readings:9.2f} {tree_right:7.3f}"
    )


def _line(name: str, readings: list[int], right: list[bool]) -> str:
    return f"{name:44s} {mean(readings):9.2f} {mean(map(float, right)):7.3f}"


if __name__ == "__main__":
    main()
