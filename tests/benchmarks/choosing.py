"""How long an answer before the sale takes: once for each move of a slider.

``python -m tests.benchmarks.choosing``
"""

import statistics
import time

from logic.choosing.advice import advise, enough
from logic.choosing.chart import chart
from tests.logic.choosing.wishes import VETS_UTE

MOVES = {
    "it lasts": [{"driving_h": 1.5 + step / 20} for step in range(40)],
    "it does not last": [{"driving_h": step / 100} for step in range(40)],
    "rating left to the advice, battery too": [
        {"capacity_ah": None, "load_factor": 0.5 + step / 40} for step in range(40)
    ],
}


def milliseconds(work: object) -> float:
    begun = time.perf_counter()
    work()
    return 1000 * (time.perf_counter() - begun)


def main() -> None:
    print(f"{'an answer with its chart':42} {'median':>8} {'longest':>8}   ms")
    for name, moves in MOVES.items():
        wishes = [VETS_UTE.model_copy(update=move) for move in moves]
        times = [milliseconds(lambda wish=wish: chart(advise(wish))) for wish in wishes]
        print(f"{name:42} {statistics.median(times):8.1f} {max(times):8.1f}")
    short = VETS_UTE.model_copy(update={"driving_h": 0.2})
    taken = milliseconds(lambda: enough(short))
    print(f"{'what would be enough (in the background)':42} {taken:8.1f}")


if __name__ == "__main__":
    main()
