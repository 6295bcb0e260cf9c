"""Blind callbacks by touch: is the cause found where one reading in six cannot be taken?

Run as ``python -m tests.benchmarks.blind_callbacks [rounds, 2]``. The real app runs off screen; a
simulated mechanic with one of 25 faults on the vehicle does only what the screen says. The
promise is 95 % right and no dead end. Taps are those from the first reading to the findings,
minutes those of the readings as :mod:`logic.diagnosis.reach` counts them.
"""

import os
import statistics
import sys
import tempfile
from pathlib import Path

import numpy as np

from mobile.ui import toolkit

os.environ.setdefault("KIVY_GL_BACKEND", "mock")
toolkit.prepare(toolkit.SMALL_PHONE, offscreen=True, own_home=True)

_PROMISE = 0.95


def visit(fault: str, seed: int) -> tuple[str, int, int, int, float]:
    """Return the first finding's title, readings, those left out, taps and minutes."""
    from mobile.demo.finger import finger_on
    from mobile.ui.app import build_app
    from tests.mobile.blind_callback import COMPLAINTS, BlindMechanic, fitted_for
    from tests.mobile.callback_scene import CHECKLISTS, bench_with, describe, described

    description = described(**fitted_for(fault))
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder) / "store"
        vehicle_id = describe(store, description)
        with finger_on(build_app(store, CHECKLISTS)) as finger:
            rng = np.random.default_rng((17, seed))
            mechanic = BlindMechanic(finger, bench_with(fault, description, seed), rng=rng)
            mechanic.begin(vehicle_id, COMPLAINTS[fault])
            title = mechanic.solve()
    count = len(mechanic.taken)
    return title, count, mechanic.left_out, mechanic.taps, mechanic.minutes


def main() -> None:
    """Print a line a visit, then the figures."""
    from logic.diagnosis.catalogue import faults
    from tests.mobile.blind_callback import COMPLAINTS

    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 2
    right, dead, taps, spent = 0, 0, [], []
    for seed in range(1, rounds + 1):
        for fault in COMPLAINTS:
            title, count, left_out, pressed, minutes = visit(fault, seed)
            is_right = title == faults()[fault].title
            right, dead = right + is_right, dead + (not title)
            taps.append(pressed)
            spent.append(minutes)
            found = "right" if is_right else f"WRONG: {title or 'dead end'}"
            print(f"{fault:32} {count:2} read, {left_out} left out, {pressed:3} taps, {found}")
    print(f"right {right} of {len(taps)} ({right / len(taps):.0%}; promised {_PROMISE:.0%})")
    print(f"dead ends {dead}; median {statistics.median(taps)} taps", end=", ")
    print(f"{statistics.median(spent):.1f} min")


if __name__ == "__main__":
    main()
