"""Sets up Kivy's surroundings; must run before Kivy is first imported.

Kivy reads its environment and opens its window on import, so entry, tour and tests all come
through here first. Nothing in this module imports Kivy before :func:`prepare` has run.
"""

import logging
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Screen:
    """A phone's screen: its size in dp and how many pixels a dp has."""

    width: int
    height: int
    density: float = 1.0


SMALL_PHONE = Screen(360, 640)
LARGE_PHONE = Screen(412, 915)


def on_android() -> bool:
    """Tell whether this runs on a phone."""
    return "ANDROID_ARGUMENT" in os.environ


def has_display() -> bool:
    """Tell whether there is anything to show a window on."""
    if os.name != "posix" or on_android() or os.uname().sysname == "Darwin":
        return True
    return bool(os.environ.get("DISPLAY"))


def prepare(
    screen: Screen = LARGE_PHONE, *, offscreen: bool = False, own_home: bool = False
) -> None:
    """Set Kivy's environment and window size; ``offscreen`` draws without a display.

    ``own_home`` keeps Kivy's configuration out of the user's folder (tests, tours).
    """
    os.environ["KIVY_NO_ARGS"] = "1"
    # Looking through every installed package for pydantic plugins takes 25 ms, and we have none.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    os.environ.setdefault("KIVY_NO_FILELOG", "1")
    if on_android():
        return
    os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")
    logging.getLogger("kivy").addFilter(_is_worth_saying)
    if own_home:
        os.environ["KIVY_HOME"] = tempfile.mkdtemp(prefix="voltwalk-kivy-")
    if offscreen:
        os.environ["SDL_VIDEODRIVER"] = "offscreen"
    os.environ["KIVY_METRICS_DENSITY"] = str(screen.density)
    os.environ["KIVY_DPI"] = str(round(160 * screen.density))
    _set_window(screen, offscreen)


def _is_worth_saying(entry: logging.LogRecord) -> bool:
    """Tell whether a desk is to show it; Kivy logs a traceback for what it can do without."""
    said = entry.getMessage()
    return not any(word in said for word in ("Cutbuffer", "MTDev", "configuration"))


def _set_window(screen: Screen, offscreen: bool) -> None:
    from kivy.config import Config

    Config.set("graphics", "width", str(round(screen.width * screen.density)))
    Config.set("graphics", "height", str(round(screen.height * screen.density)))
    Config.set("kivy", "exit_on_escape", "0")
    Config.set("input", "mouse", "mouse,disable_multitouch")
    if offscreen:
        Config.set("graphics", "maxfps", "0")
        for provider, _ in Config.items("input"):
            Config.remove_option("input", provider)


def user_folder() -> Path:
    """Return the store's folder on the desk: the platform's own for a program's data."""
    if os.name == "nt":
        base = Path(os.environ.get("APPDATA", str(Path.home())))
    elif os.uname().sysname == "Darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME", str(Path.home() / ".local" / "share")))
    return base / "voltwalk"
