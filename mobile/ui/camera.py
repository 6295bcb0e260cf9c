"""Brings a photo to a step: from the phone's camera, or from a file on the desk.

The phone may end the app while its camera is open. What the photo was for is therefore in the
store before the camera opens, and :func:`collect` brings it in at the next start.
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from mobile.jobs import photo
from mobile.ui import background, device

if TYPE_CHECKING:
    from mobile.jobs.walk import Walk
    from mobile.jobs.workplace import Workplace

SETTING = "photo_awaited"

Done = Callable[[], None]


def take(work: "Workplace", walk: "Walk", answers: bool, done: Done) -> None:
    """Take a photo for the walk's step; ``answers`` where it is the step's answer."""
    wanted = {"job_id": walk.job_id, "step_id": walk.step.id, "answers": answers}
    if not device.HAS_CAMERA:
        from mobile.ui.widgets.file_sheet import FileSheet

        sheet = FileSheet()
        sheet.bind(on_chosen=lambda _, path: bring(work, wanted, Path(path), done))
        sheet.open(animation=False)
        return
    uri = device.ask_camera(lambda taken: collect(work, done, taken=taken))
    work.store.set_setting(SETTING, wanted | {"uri": uri})


def collect(work: "Workplace", done: Done, *, taken: bool = True) -> None:
    """Bring in the photo that the camera app was asked for, if it took one."""
    wanted = work.store_file.setting(SETTING)
    if not wanted:
        return
    work.store.set_setting(SETTING, None)
    data = device.read_picture(wanted["uri"]) if taken else b""
    device.forget_picture(wanted["uri"])
    if data:
        _keep(work, wanted, lambda: data, done)


def bring(work: "Workplace", wanted: dict[str, object], path: Path, done: Done) -> None:
    """Bring in a photo from a file."""
    _keep(work, wanted, path.read_bytes, done)


def _keep(
    work: "Workplace",
    wanted: dict[str, object],
    read: Callable[[], bytes],
    done: Done,
) -> None:
    def keep(data: bytes) -> None:
        walk = work.walk_of(str(wanted["job_id"]))
        walk.photo(str(wanted["step_id"]), data, answers=bool(wanted["answers"]))
        done()

    background.run(lambda: photo.prepared(read()), keep)
