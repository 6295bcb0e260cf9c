"""The one file that is being shared: a copy where the phone's other apps may be let to read it.

``SharedFiles.java`` hands out what lies here and nothing else. Each share takes the place of the
one before, and whoever erases a customer calls :func:`forget`. No Kivy.
"""

import shutil
from pathlib import Path

FOLDER = "shared"


def put(store_folder: Path, path: Path) -> Path:
    """Copy a file to where it can be shared, in the place of the one before.

    Raises
    ------
    OSError
        The file has gone, or the storage is full; then nothing is there to be shared.
    """
    forget(store_folder)
    copy = store_folder / FOLDER / path.name
    copy.parent.mkdir(parents=True, exist_ok=True)
    try:
        return Path(shutil.copyfile(path, copy))
    except OSError:
        copy.unlink(missing_ok=True)
        raise


def forget(store_folder: Path) -> None:
    """Delete what was shared last; an app that has it open keeps what it has read."""
    for old in (store_folder / FOLDER).glob("*"):
        old.unlink(missing_ok=True)
