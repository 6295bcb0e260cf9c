"""What only the phone itself can do: camera, sharing, its file picker, the covered edges.

The one module that asks Android's own activity. On the desk :data:`HAS_CAMERA` and
:data:`HAS_PICKER` are False and the rest says what to do instead. Not run on a phone yet: it
follows Android's documented interfaces.

Nothing here needs a permission: the camera app writes into a media entry that we made, and a
shared file is a media entry of ours with a read grant (Android 10 and newer); a chosen file
comes as a stream that the picker grants. Whatever Android refuses comes out as an
:class:`AppError` that says what to do.
"""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from logic.errors import AppError
from mobile.ui.toolkit import on_android

HAS_CAMERA = on_android()
HAS_PICKER = on_android()

_CAMERA_REQUEST, _PICKER_REQUEST = 4711, 4712
_RESULT_OK = -1
_LARGEST = 64_000_000  # bytes; no phone's camera writes that much into one JPEG (assumed)

_NOT_HANDED_OVER = "The file cannot be opened. Save it on this phone, then choose it again."
_NO_PLACE = "The phone has no room for a photo. Free some storage, then try again."
_NO_CAMERA = "No camera app opens on this phone. Go on without the photo."
_NO_PICKER = "The phone's file picker does not open. Restart the phone, then try again."
_GONE = "The photo is not on the phone any more. Take it again."
_LEFT_BEHIND = "The camera's own copy could not be deleted. Delete it in the phone's gallery."
_SHARED_STAYS = "The copy that was shared could not be deleted. Delete it in the Downloads folder."
_NOT_SHARED = "The phone did not take the file. Free some storage, then share it again."


def place_for_picture() -> str:
    """Make the media entry that a photo is to be written into; returns its URI.

    Keep the URI before the camera opens: this app may be ended while it is open.

    Raises
    ------
    AppError
        The phone has no place for it.
    """
    with _refused_as(_NO_PLACE):
        uri = _new_entry("MediaStore$Images$Media", {"mime_type": "image/jpeg"})
        return str(_there(uri).toString())


def ask_camera(uri: str, done: Callable[[bool], None]) -> None:
    """Open the phone's camera app, which writes its photo into the entry ``uri``.

    ``done`` is told, on the drawing thread, whether a photo was taken.

    Raises
    ------
    AppError
        No camera app opens.
    """
    with _refused_as(_NO_CAMERA):
        _, jclass = _android()
        intent = jclass("android.content.Intent")("android.media.action.IMAGE_CAPTURE")
        intent.putExtra("output", _parcel(jclass("android.net.Uri").parse(uri)))
        intent.addFlags(3)  # FLAG_GRANT_READ_URI_PERMISSION | FLAG_GRANT_WRITE_URI_PERMISSION
        # What the camera app hands back is never looked at: most hand back nothing.
        _begin(intent, _CAMERA_REQUEST, lambda taken, _uri: done(taken))


def read_picture(uri: str) -> bytes:
    """Read what the camera app wrote, b"" where it wrote nothing.

    Raises
    ------
    AppError
        The entry has gone, or the phone does not open it.
    """
    with _refused_as(_GONE), _opened(uri, "r") as file:
        return file.read(_LARGEST)


def forget_picture(uri: str) -> None:
    """Take the camera app's entry away again; our own copy is in the store.

    Raises
    ------
    AppError
        The phone does not delete it.
    """
    with _refused_as(_LEFT_BEHIND):
        _delete(uri)


def forget_shared(uri: str) -> None:
    """Delete the copy of a file that was shared; one that is gone already is no error.

    Raises
    ------
    AppError
        The phone does not delete it.
    """
    with _refused_as(_SHARED_STAYS):
        _delete(uri)


def _delete(uri: str) -> None:
    activity, jclass = _android()
    parsed = jclass("android.net.Uri").parse(uri)
    activity.getContentResolver().delete(parsed, None, None)


def ask_file(done: Callable[[str], None]) -> None:
    """Open the phone's file picker; ``done`` is told the chosen URI on the drawing thread.

    Nothing is told where nothing was chosen.

    Raises
    ------
    AppError
        The picker does not open.
    """

    def chosen(is_chosen: bool, uri: str) -> None:
        if is_chosen and uri:
            done(uri)

    with _refused_as(_NO_PICKER):
        _, jclass = _android()
        intent = jclass("android.content.Intent")("android.intent.action.OPEN_DOCUMENT")
        intent.addCategory("android.intent.category.OPENABLE")
        intent.setType("*/*")
        _begin(intent, _PICKER_REQUEST, chosen)


def open_chosen(uri: str) -> IO[bytes]:
    """Open what the picker chose, for reading; any thread may read on and must close it.

    Raises
    ------
    AppError
        The app that keeps the file does not hand it over.
    """
    with _refused_as(_NOT_HANDED_OVER):
        return _opened(uri, "r")


def share(path: Path, mime_type: str) -> str:
    """Offer a copy of a file to the phone's other apps and return the phone's address for it.

    Raises
    ------
    AppError
        On the desk: says where the file is. On the phone: it was not taken.
    """
    if not on_android():
        raise AppError(f"The file is at {path}. Sharing to other apps works on the phone.")
    with _refused_as(_NOT_SHARED):
        activity, jclass = _android()
        names = {"mime_type": mime_type, "_display_name": path.name}
        uri = _there(_new_entry("MediaStore$Downloads", names))
        with _opened(str(uri.toString()), "w") as file, path.open("rb") as ours:
            shutil.copyfileobj(ours, file, 1 << 20)
        intent = jclass("android.content.Intent")("android.intent.action.SEND")
        intent.setType(mime_type)
        intent.putExtra("android.intent.extra.STREAM", _parcel(uri))
        intent.addFlags(1)  # FLAG_GRANT_READ_URI_PERMISSION
        title = jclass("java.lang.String")(path.name)
        activity.startActivity(jclass("android.content.Intent").createChooser(intent, title))
    return str(uri.toString())


def covered_edges() -> tuple[float, float, float, float]:
    """Return how much the system's bars cover left, top, right and bottom, in pixels.

    Nothing where the phone does not say: it is asked at the start and at every turn.
    """
    if not on_android():
        return (0, 0, 0, 0)
    try:
        with _refused_as(""):
            return _insets()
    except AppError:
        return (0, 0, 0, 0)


def _insets() -> tuple[float, float, float, float]:
    activity, jclass = _android()
    if jclass("android.os.Build$VERSION").SDK_INT < 35:
        return (0, 0, 0, 0)
    insets = activity.getWindow().getDecorView().getRootWindowInsets()
    if insets is None:
        return (0, 0, 0, 0)
    kinds = jclass("android.view.WindowInsets$Type")
    found = insets.getInsets(kinds.systemBars() | kinds.displayCutout() | kinds.ime())
    return (found.left, found.top, found.right, found.bottom)


def _android() -> tuple[Any, Callable[[str], Any]]:
    from android import mActivity
    from jnius import autoclass

    return mActivity, autoclass


@contextmanager
def _refused_as(advice: str) -> Iterator[None]:
    """Turn whatever Android refuses into advice."""
    from jnius import JavaException

    try:
        yield
    except (JavaException, OSError, _NothingThereError) as error:
        raise AppError(advice) from error


class _NothingThereError(Exception):
    """Android answered null."""


def _there(answer: Any) -> Any:
    """Return what Android answered, unless that is null."""
    if answer is None:
        raise _NothingThereError
    return answer


def _opened(uri: str, mode: str) -> IO[bytes]:
    activity, jclass = _android()
    parsed = jclass("android.net.Uri").parse(uri)
    descriptor = _there(activity.getContentResolver().openFileDescriptor(parsed, mode))
    return open(descriptor.detachFd(), f"{mode}b")


def _new_entry(collection: str, values: dict[str, str]) -> Any:
    activity, jclass = _android()
    row = jclass("android.content.ContentValues")()
    for name, value in values.items():
        row.put(name, value)
    where = jclass(f"android.provider.{collection}").EXTERNAL_CONTENT_URI
    return activity.getContentResolver().insert(where, row)


def _parcel(uri: Any) -> Any:
    from jnius import cast

    return cast("android.os.Parcelable", uri)


# Of each request the one that waits for its answer; a new one takes the place of the old.
_waiting: dict[int, Callable[[int, int, Any], None]] = {}


def _begin(intent: Any, request: int, done: Callable[[bool, str], None]) -> None:
    """Start another app and tell ``done`` whether it was done there and what was chosen."""
    from android import activity
    from kivy.clock import mainthread

    def told(code: int, result: int, intent: Any) -> None:
        # On Android's own thread, where an error ends the app, and while Android goes through
        # its listeners: taking one away from under it ends the app too.
        if code == request:
            is_done = result == _RESULT_OK
            uri = _chosen(intent) if is_done and request == _PICKER_REQUEST else ""
            mainthread(answer)(is_done, uri)

    def answer(is_done: bool, uri: str) -> None:
        if _waiting.get(request) is told:
            _stop_waiting(request)
            done(is_done, uri)

    _stop_waiting(request)
    activity.bind(on_activity_result=told)
    _waiting[request] = told
    try:
        _android()[0].startActivityForResult(intent, request)
    except BaseException:
        _stop_waiting(request)
        raise


def _stop_waiting(request: int) -> None:
    from android import activity

    if told := _waiting.pop(request, None):
        activity.unbind(on_activity_result=told)


def _chosen(intent: Any) -> str:
    """Return the URI in a picker's answer, "" where there is none.

    A null object arrives here as something that is neither None nor false, and no use may be
    made of it: only Java can be asked whether it is null.
    """
    from jnius import JavaException, autoclass

    try:
        if intent is None or autoclass("java.util.Objects").isNull(intent):
            return ""
        data = intent.getData()
        return "" if data is None else str(data.toString())
    except JavaException:
        return ""
