"""Run by test_memory.py in a process of its own: every screen, a printed record, a diagnosis.

``memory_of_a_day.py STORE``: a copy of the demo's store. Prints, in MB, the memory held with an
empty window, the most that was held by the end, and how much of that is the code of this machine's
software OpenGL and its compiler, which SDL loads whatever Kivy draws with and no phone has.
``KIVY_GL_BACKEND=sdl2`` draws with it; else Kivy's mock draws nothing.
"""

import os
import sys
from pathlib import Path

os.environ.setdefault("KIVY_GL_BACKEND", "mock")

from mobile.ui import toolkit

toolkit.prepare(toolkit.LARGE_PHONE, offscreen=True, own_home=True)

from kivy.core.window import Window  # noqa: E402

from mobile.demo.finger import finger_on  # noqa: E402
from mobile.ui.app import build_app  # noqa: E402
from tests.mobile.ui.test_memory import every_screen  # noqa: E402
from tests.paths import CHECKLISTS  # noqa: E402

# Mesa's software renderer under its names so far, and what it compiles its shaders with.
SOFTWARE_GRAPHICS = ("libLLVM", "libgallium", "swrast_dri", "libz3")


def software_graphics() -> float:
    """Return the resident part of the libraries that only drawing without a GPU needs, in MB."""
    is_counted, kilobytes = False, 0
    for line in Path("/proc/self/smaps").read_text(encoding="utf-8").splitlines():
        first, *rest = line.split()
        if not first.endswith(":"):  # the head of a mapping, with its file last
            is_counted = bool(rest) and Path(rest[-1]).name.startswith(SOFTWARE_GRAPHICS)
        elif first == "Rss:" and is_counted:
            kilobytes += int(rest[0])
    return kilobytes * 1024 / 1e6


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
    print(round(empty), round(most), round(software_graphics()))


main(Path(sys.argv[1]))
