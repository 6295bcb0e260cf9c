"""Called by python-for-android while it packs the app."""

from pathlib import Path
from typing import Any

ENTRY = "from mobile.main import main\n\nmain()\n"


def before_apk_build(toolchain: Any) -> None:
    """Put the ``main.py`` that Android starts at the top of the packed folder.

    The checkout keeps its entry in the ``mobile`` package, so that the desk and the phone
    import the same names.
    """
    (Path(toolchain.args.private) / "main.py").write_text(ENTRY, encoding="utf-8")
