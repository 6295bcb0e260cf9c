"""How long after a reading is saved its findings stand on the screen, and whether it froze.

Run as ``python -m tests.benchmarks.fault_finding [visits, 12]``. The real app runs off screen,
the diagnosis in its thread, drawing at 60 frames a second; each visit is a simulated vehicle
with one fault, followed as the screen asks. The promise is findings within 0.25 s of a reading.
The longest frame is the longest time for which a finger would have gone unanswered meanwhile.
"""

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from mobile.ui import toolkit

toolkit.prepare(toolkit.SMALL_PHONE, offscreen=True, own_home=True)

FRAME = 1 / 60
PROMISE = 0.25
FAULTS = (
    ("vehicle_fuse_open", "Never charges"),
    ("house_fuse_open", "Never charges"),
    ("charger_no_output", "Never charges"),
    ("vehicle_return_resistive", "Charges slowly"),
    ("house_feed_resistive", "Charges slowly"),
    ("house_battery_low_cell", "Battery never full"),
)


def saved_to_shown(finger, save) -> tuple[float, float, float]:
    """Save a reading; return the seconds until its findings are drawn, the longest frame, work.

    The work is the processor's time in all threads: what the wait would be on an idle machine.
    """
    from kivy.base import EventLoop

    callback, longest = finger.app.work.callback, 0.0
    begun, worked = time.perf_counter(), time.process_time()
    save()
    longest = time.perf_counter() - begun
    while True:
        frame = time.perf_counter()
        EventLoop.idle()
        took = time.perf_counter() - frame
        longest = max(longest, took)
        if not callback.is_thinking:
            return time.perf_counter() - begun, longest, time.process_time() - worked
        time.sleep(max(0.0, FRAME - took))


def one_visit(number: int) -> list[tuple[float, float, float]]:
    """Follow one visit; return what :func:`saved_to_shown` gave for each reading."""
    from mobile.demo.finger import finger_on
    from mobile.ui.app import build_app
    from tests.mobile.callback_scene import CHECKLISTS, Mechanic, bench_with, describe, described

    fault, complaint = FAULTS[number % len(FAULTS)]
    found = []
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder) / "store"
        vehicle_id = describe(store, described())
        with finger_on(build_app(store, CHECKLISTS), real_time=True) as finger:
            mechanic = Mechanic(finger, bench_with(fault, described(), number))
            mechanic.begin(vehicle_id, complaint)
            while len(found) < 14 and (asked := mechanic.asked()):
                page, callback = finger.app.navigator.page, finger.app.work.callback
                page.take_next()
                value = mechanic.bench.read(*asked)["value"]
                typed = callback.reading_context().typed(f"{value:g}")
                found.append(saved_to_shown(finger, lambda t=typed, p=page: p.save(t)))
    return found


def main() -> None:
    """Print the figures."""
    visits = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    one_visit(0)  # the first one pays for the imports
    figures = [figure for number in range(visits) for figure in one_visit(number)]
    waits = sorted(wait for wait, _, _ in figures)
    frames = [frame for _, frame, _ in figures]
    works = sorted(work for _, _, work in figures)
    kept = sum(wait <= PROMISE for wait in waits) / len(waits)
    print(f"readings                        {len(waits):7d}  in {visits} visits")
    print(f"load of the machine meanwhile   {os.getloadavg()[0]:7.1f}  on {os.cpu_count()} cores")
    print(f"saved to findings shown, median {statistics.median(waits) * 1e3:7.0f} ms")
    print(f"                        95 in 100 {waits[int(0.95 * len(waits))] * 1e3:5.0f} ms")
    print(f"                        longest {waits[-1] * 1e3:7.0f} ms")
    print(f"within {PROMISE * 1e3:.0f} ms                   {kept * 100:7.1f} %")
    print(f"processor time, median          {statistics.median(works) * 1e3:7.0f} ms")
    print(f"                longest         {works[-1] * 1e3:7.0f} ms")
    print(f"longest frame, median           {statistics.median(frames) * 1e3:7.0f} ms")
    print(f"               longest          {max(frames) * 1e3:7.0f} ms")


if __name__ == "__main__":
    main()
