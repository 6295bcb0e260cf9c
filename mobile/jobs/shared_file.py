"""The one file that is being shared: a copy where the phone's other apps may be let to read it.

``SharedFiles.java`` hands out what lies here and nothing else. Each share takes the place of the
one before, and an erasure deletes it (``logic/records/store/kept_files.py``). No Kivy.
"""

import shutil
from pathlib import Path

from logic.records.store.kept_files import SHARED


def put(store_folder: Path, path: Path) -> Path:
    """Copy a file to where it can be shared, in the place of the one before.

    Raises
    ------
    OSError
        The file has gone, or the storage is full; then nothing is there to be shared.
    """
    forget(store_folder)
    copy = store_folder / SHARED / path.name
    copy.parent.mkdir(parents=True, exist_ok=True)
    try:
        return Path(shutil.copyfile(path, copy))
    except OSError:
        copy.unlink(missing_ok=True)
        raise


def forget(store_folder: Path) -> None:
    """Delete what was shared last; an app that has it open keeps what it has read."""
    for old in (store_folder / SHARED).glob("*"):
        old.unlink(missing_ok=True)
