"""How long the checklists take on the app's start path, and a look at a job's progress.

Run as ``python -m tests.benchmarks.checklist_loading``; prints medians and changes nothing.
"""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable

from tests.paths import CHECKOUT

FRESH = """
import time
import logic.records.events  # what the store has imported by then anyway
begun = time.perf_counter()
import logic.checklist.run
imported = time.perf_counter()
logic.checklist.form.load(__import__("pathlib").Path("checklists"))
print((imported - begun) * 1e3, (time.perf_counter() - imported) * 1e3)
"""


def median_ms(work: Callable[[], object], repeats: int = 30) -> float:
    times = []
    for _ in range(repeats):
        begun = time.perf_counter()
        work()
        times.append((time.perf_counter() - begun) * 1e3)
    return statistics.median(times)


def fresh_ms() -> tuple[float, float]:
    """Import and first load, each in a new interpreter."""
    run = subprocess.run(
        [sys.executable, "-c", FRESH], cwd=CHECKOUT, capture_output=True, text=True, check=True
    )
    imported, loaded = map(float, run.stdout.split())
    return imported, loaded


def main() -> None:
    from logic.checklist import run
    from logic.checklist.form import load

    imports, loads = zip(*(fresh_ms() for _ in range(7)), strict=True)
    library = load(CHECKOUT / "checklists")
    walk, facts = library.checklists["commissioning"], run.Facts()
    rows = {
        "import of the forms, after the store's": statistics.median(imports),
        "first load of every data file": statistics.median(loads),
        "load again": median_ms(lambda: load(CHECKOUT / "checklists")),
        f"progress of a walk of {len(walk.by_id)} steps": median_ms(
            lambda: run.progress(walk, facts)
        ),
        "digest of the walk, first time": median_ms(lambda: walk.sha256, repeats=1),
    }
    for what, milliseconds in rows.items():
        print(f"{what:42} {milliseconds:8.2f} ms")


if __name__ == "__main__":
    main()
