"""What memory this process holds, held at most, and has of it only for want of a GPU; all in MB."""

import os
import subprocess
import sys
from pathlib import Path

from tests.paths import CHECKOUT

_PROCESS = Path("/proc/self")

# Mesa's software renderer under its names so far, and what it compiles its shaders with.
_SOFTWARE_GRAPHICS = ("libLLVM", "libgallium", "swrast_dri", "libz3")


def held() -> float:
    """Return the memory that is resident now."""
    return _status("VmRSS")


def peak() -> float:
    """Return the most that was.

    Not what getrusage() says: its most counts in the process that this one was started by.
    """
    return _status("VmHWM")


def software_graphics() -> float:
    """Return the resident part of the libraries that only drawing without a GPU needs."""
    is_counted, kilobytes = False, 0
    for line in (_PROCESS / "smaps").read_text(encoding="utf-8").splitlines():
        first, *rest = line.split()
        if not first.endswith(":"):  # the head of a mapping, with its file last
            is_counted = bool(rest) and Path(rest[-1]).name.startswith(_SOFTWARE_GRAPHICS)
        elif first == "Rss:" and is_counted:
            kilobytes += int(rest[0])
    return kilobytes * 1024 / 1e6


def printed_by(*arguments: str | Path) -> str:
    """Run Python in a process of its own, whose memory is its own, and return what it prints."""
    run = subprocess.run(
        [sys.executable, *arguments],
        cwd=CHECKOUT,
        env={**os.environ, "PYTHONPATH": str(CHECKOUT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    return run.stdout


def _status(what: str) -> float:
    status = (_PROCESS / "status").read_text(encoding="utf-8")
    return int(status.partition(f"{what}:")[2].split()[0]) * 1024 / 1e6
