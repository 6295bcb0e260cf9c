"""How fast the walk feels, as ratios that hold on any machine.

    python -m tests.benchmarks.walk

* from a key to its verdict: the rules, the screen laid out, and drawn by this machine's OpenGL;
* from the process's start to the first screen, against an empty Kivy app in the same run;
* opening the list with 10,000 vehicles in the store, against 10.
"""

import itertools
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from tests.paths import CHECKLISTS, CHECKOUT

EMPTY_APP = """
import time
from mobile.ui import toolkit
toolkit.prepare(offscreen=True, own_home=True)
from kivy.app import App
from kivy.clock import Clock
from kivy.uix.label import Label
class Empty(App):
    def on_start(self):
        Clock.schedule_once(lambda _: Clock.schedule_once(self.drawn, 0), 0)
    def drawn(self, _):
        print(time.time(), flush=True)
        self.stop()
    def build(self):
        return Label(text="empty")
Empty().run()
"""
FIRST_SCREEN = """
import sys, time
from pathlib import Path
from mobile.main import app_on
from mobile.ui import toolkit
toolkit.prepare(offscreen=True, own_home=True)
app = app_on(Path(sys.argv[1]))
from kivy.clock import Clock
def shown(_):
    print(time.time(), flush=True)
    app.stop()
def started(_):  # what it returned would keep the app from its own start
    Clock.schedule_once(lambda _: Clock.schedule_once(shown, 0), 0)
app.bind(on_start=started)
app.run()
"""

# A phone has the byte code beside it and does not try the desk's programs for a clipboard.
AS_ON_A_PHONE = {
    "KIVY_CLIPBOARD": "dummy",
    "PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir()) / "voltwalk-byte-code"),
}


def median_ms(action: Callable[[], object], times: int) -> float:
    """Return the median time of an action, ms, after one that does not count."""
    action()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        action()
        taken.append(1000 * (time.perf_counter() - start))
    return statistics.median(taken)


def process_ms(script: str, *arguments: str) -> float:
    """Return the time from a Python process's start to what its script calls shown, ms."""
    environment = os.environ | AS_ON_A_PHONE | {"PYTHONPATH": str(CHECKOUT)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    with tempfile.NamedTemporaryFile("w", suffix=".py") as file:
        file.write(script)
        file.flush()
        command = [sys.executable, file.name, *arguments]
        start = time.time()
        run = subprocess.run(command, check=True, env=environment, capture_output=True, text=True)
        return 1000 * (float(run.stdout.split()[-1]) - start)


def first_screen(folder: Path, pairs: int = 7) -> None:
    """Print the start of the app against that of an empty one, taken in turn."""
    process_ms(EMPTY_APP)
    process_ms(FIRST_SCREEN, str(folder))
    times = [(process_ms(EMPTY_APP), process_ms(FIRST_SCREEN, str(folder))) for _ in range(pairs)]
    empty, ours = (statistics.median(column) for column in zip(*times, strict=True))
    ratio = statistics.median(one / other for other, one in times)
    print(f"first screen: {ours:.0f} ms, an empty app {empty:.0f} ms: {ratio:.2f} (limit 1.3)")


def keystroke(folder: Path) -> None:
    """Print the time from a key to its verdict at a reading step of the demo's open job."""
    from kivy.clock import Clock
    from kivy.core.window import Window

    from mobile.demo.finger import finger_on
    from mobile.jobs.walk import Walk
    from mobile.ui.app import build_app
    from mobile.ui.widgets.reading_panel import ReadingPanel

    with finger_on(build_app(folder, CHECKLISTS), real_time=True) as finger:
        work = finger.app.work
        job_id = next(row.open_job for row in work.store.find_vehicles() if row.open_job)
        work.walk = Walk(work.store, work.library, work.clock, job_id, DROP_STEP)
        walk = median_ms(lambda: work.walk.reading_context(work.walk.step.ask).typed("0.312"), 200)
        finger.app.navigator.restart("step", job_id=job_id)
        finger.frames(5)
        panel = next(widget for widget in finger.shown() if isinstance(widget, ReadingPanel))
        for key in "0.31":
            panel.press(key)
        keys = itertools.cycle(("2", "erase"))

        def press() -> None:
            panel.press(next(keys))
            Clock.tick()
            Clock.tick_draw()

        def press_and_draw() -> None:
            panel.press(next(keys))
            finger.frames(1)

        def draw() -> None:
            Window.canvas.ask_update()
            finger.frames(1)

        laid_out = median_ms(press, 100)
        drawn, unchanged = median_ms(press_and_draw, 60), median_ms(draw, 60)
    print(
        f"key to verdict: rules {walk:.2f} ms; in the widgets, laid out {laid_out:.1f} ms "
        f"(limit 30); drawn {drawn:.0f} ms, the unchanged screen {unchanged:.0f} ms: "
        f"{drawn / unchanged:.2f} (limit 2)"
    )


DROP_STEP = "idle_vehicle_feed_drop"


def long_list(few: int = 10, many: int = 10_000) -> None:
    """Print how long the list takes to open with few and with many vehicles."""
    times = [_list_ms(count) for count in (few, many)]
    ratio = times[1] / times[0]
    print(
        f"open the list: {few} vehicles {times[0]:.1f} ms, {many} {times[1]:.1f} ms, "
        f"ratio {ratio:.2f} (limit 2)"
    )


def _list_ms(count: int) -> float:
    from logic.records.events import Event, VehicleDescribed, new_id
    from logic.records.store.store import Store
    from logic.vehicle.identity import Vehicle
    from mobile.demo.finger import finger_on
    from mobile.ui.app import build_app

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = Store.open(folder)
        store.append_all(
            Event(
                vehicle_id=new_id(),
                at=datetime.now(UTC),
                body=VehicleDescribed(vehicle=Vehicle(registration=f"FHL {number:05}")),
            )
            for number in range(count)
        )
        store.close()
        with finger_on(build_app(folder, CHECKLISTS), real_time=True) as finger:

            def show() -> None:
                finger.app.navigator.restart("home")
                finger.frames(2)

            return median_ms(show, 30)


def main() -> None:
    """Print every figure."""
    from mobile.ui import toolkit

    toolkit.prepare(offscreen=True, own_home=True)
    from mobile.demo import stories

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        stories.fill(folder, CHECKLISTS)
        first_screen(folder)
        keystroke(folder)
    long_list()


if __name__ == "__main__":
    main()
