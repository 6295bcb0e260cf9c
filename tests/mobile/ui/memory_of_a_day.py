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
from tests.process_memory import held, peak, software_graphics  # noqa: E402


def main(store: Path) -> None:
    assert Window is not None
    empty = held()
    with finger_on(build_app(store, CHECKLISTS)) as finger:
        for name, what in every_screen(finger.app.work.store):
            page = finger.app.navigator.restart(name, **what) or finger.app.navigator.page
            finger.frames(3)
            if name == "circuit":
                finger.until(lambda: not finger.app.work.callback.is_thinking, 60)
            elif name == "record":
                finger.until(lambda page=page: page.pdf, 60)
    print(round(empty), round(peak()), round(software_graphics()))


main(Path(sys.argv[1]))
