"""How much memory the app takes, screen by screen: the demo's tour without the pictures' graphics.

    python -m tests.benchmarks.memory

The graphics are Kivy's mock, which keeps textures in the process as no phone's does; what the demo
itself takes to write its vehicles is taken in another process. Prints the memory held and the peak
so far wherever the peak has grown by 3 MB, what was imported by the end that is large, and last the
peak without the code of this machine's software OpenGL, which SDL loads and no phone has.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

os.environ["KIVY_GL_BACKEND"] = "mock"

from mobile.main import CHECKLISTS
from mobile.ui import toolkit
from tests.process_memory import held, peak, software_graphics

LARGE = ("numpy", "pydantic", "fpdf", "fontTools", "PIL", "segno", "cryptography", "sqlite_utils")
_FILL = (
    "import sys; from pathlib import Path; from mobile.demo.stories import fill; "
    "fill(Path(sys.argv[1]), Path(sys.argv[2]))"
)


def main() -> None:
    """Play the tour and print where memory grew."""
    with tempfile.TemporaryDirectory() as place:
        store, left = Path(place) / "store", Path(place) / "left"
        subprocess.run([sys.executable, "-c", _FILL, store, CHECKLISTS], check=True)
        toolkit.prepare(offscreen=True, own_home=True)
        from mobile.demo import tour
        from mobile.demo.guide import Guide

        print(f"{'before the first screen':40} {held():6.0f} {peak():6.0f} MB")
        told = [peak()]
        picture = Guide.picture

        def pictured(guide: Guide, name: str) -> None:
            if peak() > told[-1] + 3:
                told.append(peak())
                print(f"{name:40} {held():6.0f} {peak():6.0f} MB", flush=True)
            picture(guide, name)

        Guide.picture = pictured
        tour.play(store, CHECKLISTS, left)
    print(f"{'at the end':40} {held():6.0f} {peak():6.0f} MB")
    print("imported:", *(name for name in LARGE if name in sys.modules))
    print(f"the peak without software OpenGL: {peak() - software_graphics():.0f} MB")


if __name__ == "__main__":
    main()
