"""Print the guided diagnosis beside two baselines: readings and minutes needed, and accuracy.

    python -m tests.benchmarks.diagnosis_against_baselines [trials] [sheets to learn from] [seed]

The baselines are the same engine fed the full sheet in its fixed order, stopped at 95 %, and a
decision tree learnt from the simulator's full sheets (readings counted along its path).  All
start from the same three symptom voltages, and every reading costs what the engine says that it
costs after those before it.
"""

import os
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from statistics import mean

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from sklearn.tree import DecisionTreeClassifier

from tests.simulator.rivals import (
    COLUMNS,
    SheetRow,
    Work,
    fixed_order,
    sheet_row,
    work_of_tree,
)
from tests.simulator.trials import Outcome, run_one


def _rows(seed: int, count: int, pool: ProcessPoolExecutor) -> list[SheetRow]:
    return list(pool.map(sheet_row, [seed] * count, range(count), chunksize=20))


def main() -> None:
    """Print readings, minutes and accuracy of the three."""
    given = [int(argument) for argument in sys.argv[1:]]
    trials, sheets, seed = (*given, *(200, 4000, 1)[len(given) :])
    with ProcessPoolExecutor(2) as pool:
        ours = list(pool.map(run_one, ["guided"] * trials, [seed] * trials, range(trials)))
        fixed = list(pool.map(fixed_order, [seed] * trials, range(trials)))
        learnt = _rows(seed + 1000, sheets, pool)
        asked = _rows(seed + 2000, 4 * trials, pool)
    tree = DecisionTreeClassifier(min_samples_leaf=5, random_state=seed)
    tree.fit(np.array([row.numbers for row in learnt]), [row.name for row in learnt])
    print(f"{'':44s} {'readings':>9s} {'minutes':>9s} {'right':>7s}")
    print(_line("guided by information", ours))
    print(_line("full sheet in its fixed order, to 95 %", fixed))
    name = f"decision tree from {sheets} sheets, {len(COLUMNS)} columns"
    print(_line(name, work_of_tree(tree, asked)))


def _line(name: str, work: Sequence[Outcome | Work]) -> str:
    columns = (mean(one.readings for one in work), mean(one.minutes for one in work))
    return f"{name:44s} {columns[0]:9.2f} {columns[1]:9.2f} {mean(one.right for one in work):7.3f}"


if __name__ == "__main__":
    main()
