"""Keeps pictures of what the tests look over: ``VOLTWALK_PICTURES=folder pytest tests/mobile``.

Only then are the screens drawn: layout and text need no graphics, and judging them on Kivy's
mock graphics takes a tenth of the time.
"""

import os
from pathlib import Path
from typing import Any

_FOLDER = os.environ.get("VOLTWALK_PICTURES", "")
_BACKEND = "KIVY_GL_BACKEND"


def choose_graphics() -> None:
    """Take the mock graphics unless pictures are wanted; before Kivy's first import."""
    if not _FOLDER:
        os.environ[_BACKEND] = "mock"


def drawing_environment() -> dict[str, str]:
    """Return the environment for a process that draws its screens, with no display."""
    return {name: value for name, value in os.environ.items() if name not in (_BACKEND, "DISPLAY")}


def keep_picture(finger: Any, name: str) -> None:
    """Let the screen settle; save it under this name where pictures are wanted."""
    finger.frames(3)
    if _FOLDER:
        finger.screenshot(Path(_FOLDER) / f"{name}.png")
