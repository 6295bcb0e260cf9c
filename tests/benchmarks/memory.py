"""How much memory the app takes, screen by screen: the demo's tour without the pictures' graphics.

    python -m tests.benchmarks.memory

The graphics are Kivy's mock, which keeps textures in the process as no phone's does; what the demo
itself takes to write its vehicles is taken in another process. Prints the memory held and the peak
so far wherever the peak has grown by 3 MB, and what was imported by the end that is large.
"""

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

os.environ["KIVY_GL_BACKEND"] = "mock"

from mobile.main import CHECKLISTS
from mobile.ui import toolkit

LARGE = ("numpy", "pydantic", "fpdf", "fontTools", "PIL", "segno", "cryptography", "sqlite_utils")
PAGE = 4096 / 1e6  # MB
_FILL = (
    "import sys; from pathlib import Path; from mobile.demo.stories import fill; "
    "fill(Path(sys.argv[1]), Path(sys.argv[2]))"
)


def held() -> float:
    """Return the memory that the process holds now, in MB."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * PAGE


def peak() -> float:
    """Return the most that it has held, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6


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


if __name__ == "__main__":
    main()
