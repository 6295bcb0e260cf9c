"""Takes a photo for a step or a set-up, or of a label: with the camera, or from a file on the desk.

The phone may end the app while its camera is open. What the photo is for is therefore in the
store before the camera opens, and :func:`collect` brings it in at the next start. It stays there
until the photo is in: an app that is ended meanwhile brings it in the time after.
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logic.errors import AppError
from mobile.jobs import photo
from mobile.ui import background, device

if TYPE_CHECKING:
    from mobile.jobs.walk import Walk
    from mobile.jobs.workplace import Workplace

SETTING = "photo_awaited"
_FOR_LABEL: dict[str, object] = {"label": True}

Done = Callable[[], None]
LabelRead = Callable[[str], None]
Failed = Callable[[BaseException], None]


def take(work: "Workplace", walk: "Walk", answers: bool, done: Done) -> None:
    """Take a photo for the walk's step; ``answers`` where it is the step's answer."""
    wanted = {"job_id": walk.job_id, "step_id": walk.step.id, "answers": answers}
    if device.HAS_CAMERA:
        _ask_camera(work, wanted, lambda taken: collect(work, done, _nobody_reads, taken=taken))
    else:
        _ask_for_file(lambda path: bring(work, wanted, path, done))


def take_for_set_up(work: "Workplace", vehicle_id: str, path: str, done: Done) -> None:
    """Take a photo for a field of a vehicle's set-up."""
    wanted: dict[str, object] = {"vehicle_id": vehicle_id, "path": path}
    if device.HAS_CAMERA:
        _ask_camera(work, wanted, lambda taken: collect(work, done, _nobody_reads, taken=taken))
    else:
        _ask_for_file(lambda file: bring(work, wanted, file, done))


def take_label(work: "Workplace", begun: Done, read: LabelRead, failed: Failed) -> None:
    """Photograph a label and read its code; ``begun`` when there is a photo to read."""
    from mobile.ui import code_reader

    code_reader.make_ready()
    if device.HAS_CAMERA:

        def is_back(taken: bool) -> None:
            if taken:
                begun()
            collect(work, _nothing, read, failed, taken=taken)

        _ask_camera(work, _FOR_LABEL, is_back)
    else:

        def chosen(path: Path) -> None:
            begun()
            _read_label(path.read_bytes, read, failed)

        _ask_for_file(chosen)


def collect(
    work: "Workplace",
    done: Done,
    read: LabelRead,
    failed: Failed = background.raised,
    *,
    taken: bool = True,
) -> None:
    """Bring in the photo that the camera app was asked for, if it took one.

    ``done`` is told that a photo was kept, ``read`` the text of a label. Whatever is
    wrong with the photo comes to ``failed`` as advice.
    """
    wanted = work.store_file.setting(SETTING)
    if not wanted:
        return
    uri = str(wanted["uri"])
    if not taken:
        _put_away(work, uri)
        return
    try:
        data = device.read_picture(uri)
    except AppError as error:
        work.store.set_setting(SETTING, None)
        failed(error)
        return
    if not data:
        _put_away(work, uri)
    elif wanted.get("label"):
        _collect_label(work, uri, data, read, failed)
    else:
        _collect_photo(work, wanted, data, done, failed)


def bring(work: "Workplace", wanted: dict[str, object], path: Path, done: Done) -> None:
    """Bring in a photo from a file."""
    _keep(work, wanted, path.read_bytes, done, background.raised)


def _collect_photo(
    work: "Workplace", wanted: dict[str, Any], data: bytes, done: Done, failed: Failed
) -> None:
    uri = str(wanted["uri"])

    def kept() -> None:
        done()
        _put_away(work, uri)

    def unfit(error: BaseException) -> None:
        try:
            _put_away(work, uri)
        finally:
            failed(error)

    _keep(work, wanted, lambda: data, kept, unfit)


def _collect_label(
    work: "Workplace", uri: str, data: bytes, read: LabelRead, failed: Failed
) -> None:
    from mobile.ui import code_reader

    def is_read(text: str) -> None:
        read(text)
        _put_away(work, uri)

    def unread(error: BaseException) -> None:
        try:
            _put_away(work, uri)
        finally:
            failed(error)

    try:
        code_reader.make_ready()
    except AppError as error:
        unread(error)
        return
    _read_label(lambda: data, is_read, unread)


def _read_label(photo_of: Callable[[], bytes], read: LabelRead, failed: Failed) -> None:
    from mobile.jobs import label_photo
    from mobile.ui import code_reader

    background.run(lambda: label_photo.read_label(photo_of(), code_reader.codes_in), read, failed)


def _ask_camera(
    work: "Workplace", wanted: dict[str, object], is_back: Callable[[bool], None]
) -> None:
    uri = device.place_for_picture()
    work.store.set_setting(SETTING, wanted | {"uri": uri})
    try:
        device.ask_camera(uri, is_back)
    except AppError:
        _put_away(work, uri)
        raise


def _ask_for_file(chosen: Callable[[Path], None]) -> None:
    from mobile.ui.widgets.file_sheet import FileSheet

    sheet = FileSheet()
    sheet.bind(on_chosen=lambda _, path: chosen(Path(path)))
    sheet.open(animation=False)


def _put_away(work: "Workplace", uri: str) -> None:
    """Forget that a photo is awaited, and what the camera app wrote."""
    work.store.set_setting(SETTING, None)
    device.forget_picture(uri)


def _keep(
    work: "Workplace",
    wanted: dict[str, object],
    read: Callable[[], bytes],
    done: Done,
    failed: Failed,
) -> None:
    def keep(data: bytes) -> None:
        try:
            _put_in(work, wanted, data)
        except AppError as error:  # its vehicle was erased meanwhile, or the storage is full
            failed(error)
        else:
            done()

    background.run(lambda: photo.prepared(read()), keep, failed)


def _put_in(work: "Workplace", wanted: dict[str, object], data: bytes) -> None:
    """Put a photo where it belongs: a field of a set-up, or a step of a job."""
    if "vehicle_id" in wanted:
        from mobile.jobs.set_up import SetUp  # not on the start path

        setup = SetUp.of(work, str(wanted["vehicle_id"]))
        setup.put(str(wanted["path"]), work.store.add_photo(data))
        return
    walk = work.walk_of(str(wanted["job_id"]))
    walk.photo(str(wanted["step_id"]), data, answers=bool(wanted["answers"]))


def _nothing() -> None:
    pass


def _nobody_reads(_text: str) -> None:
    pass
