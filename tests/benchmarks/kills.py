"""A thousand kills while a scripted job is entered: ``python -m tests.benchmarks.kills [KILLS]``.

Every hundred kills a fresh store is begun, so that both small and grown ones are hit.
"""

import random
import sys
import tempfile
import time
from pathlib import Path

from tests.logic.records.store.killing import kill_once


def main() -> int:
    """Kill, count, print; the exit code is 1 where anything was lost or damaged."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    chance = random.Random(20260302)
    said = lost = damaged = rescued = 0
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        for number in range(kills):
            killed = kill_once(Path(folder) / f"store-{number // 100}", chance, 120)
            said += killed.said
            lost += len(killed.missing)
            damaged += killed.check != "ok"
            rescued += bool(killed.notices)
            print(f"\r{number + 1} of {kills} kills", end="", file=sys.stderr)
    print(f"\n{kills} kills in {time.perf_counter() - began:.0f} s")
    print(f"entries said to be saved before a kill: {said}")
    print(f"of them lost: {lost}; files damaged: {damaged}; start-up notices: {rescued}")
    return int(bool(lost or damaged or rescued))


if __name__ == "__main__":
    sys.exit(main())
