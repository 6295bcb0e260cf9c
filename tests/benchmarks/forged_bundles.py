"""Forged exchange files: how many of them changed what their maker may not speak for.

``python -m tests.benchmarks.forged_bundles [files] [first seed]``; stops at the first that did.
"""

import sys
import tempfile
import time
from pathlib import Path

from tests.logic.records.bundle.forged_run import Run


def main(files: int = 5000, first: int = 0) -> None:
    """Take so many forged files in, every other one with erasures and dates ahead agreed to."""
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder, Run.begun(Path(folder)) as run:
        for seed in range(first, first + files):
            agreed = {"erasures": True, "ahead": True} if seed % 2 else {}
            run.suffer(seed, **agreed)
            if (seed - first) % 500 == 499:
                print(f"{seed - first + 1:6} files, none changed a vehicle", flush=True)
        print(f"{run.refused} brought nothing; {time.perf_counter() - began:.0f} s")
        for way, count in sorted(run.done.items()):
            print(f"{count:6}  {way.replace('_', ' ')}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
