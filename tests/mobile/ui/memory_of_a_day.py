"""Run by test_memory.py in a process of its own: every screen, a printed record, a diagnosis.

``memory_of_a_day.py STORE``: a copy of the demo's store. Prints the memory held in MB with an empty
window, and the most that was held by the end.
"""

import os
import sys
from pathlib import Path

os.environ["KIVY_GL_BACKEND"] = "mock"

from mobile.ui import toolkit

toolkit.prepare(toolkit.LARGE_PHONE, offscreen=True, own_home=True)

from kivy.core.window import Window  # noqa: E402

from mobile.demo.finger import finger_on  # noqa: E402
from mobile.ui.app import build_app  # noqa: E402
from tests.mobile.ui.test_memory import every_screen  # noqa: E402
from tests.paths import CHECKLISTS  # noqa: E402


def main(store: Path) -> None:
    assert Window is not None
    empty = int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
    with finger_on(build_app(store, CHECKLISTS)) as finger:
        for name, what in every_screen(finger.app.work.store):
            page = finger.app.navigator.restart(name, **what) or finger.app.navigator.page
            finger.frames(3)
            if name == "circuit":
                finger.until(lambda: not finger.app.work.callback.is_thinking, 60)
            elif name == "record":
                finger.until(lambda page=page: page.pdf, 60)
    # Not what getrusage() says: its most counts in the process that this one was started by.
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    most = int(status.partition("VmHWM:")[2].split()[0]) * 1024 / 1e6
    print(round(empty), round(most))


main(Path(sys.argv[1]))
