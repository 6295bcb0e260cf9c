"""What only the phone itself can do: camera, sharing, its file picker, the covered edges.

The one module that touches pyjnius. On the desk :data:`HAS_CAMERA` and :data:`HAS_PICKER` are
False and the rest says what to do instead. Not run on a phone yet: it follows Android's
documented interfaces.

Nothing here needs a permission: the camera app writes into a media entry that we made, and a
shared file is a media entry of ours with a read grant (Android 10 and newer); a chosen file
comes as a stream that the picker grants.
"""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any

from logic.errors import AppError
from mobile.ui.toolkit import on_android

HAS_CAMERA = on_android()
HAS_PICKER = on_android()

_CAMERA_REQUEST, _PICKER_REQUEST = 4711, 4712
_RESULT_OK = -1
_NOT_HANDED_OVER = "The file cannot be opened. Save it on this phone, then choose it again."
_LARGEST = 64_000_000  # bytes; no phone's camera writes that much into one JPEG (assumed)


def ask_camera(done: Callable[[bool], None]) -> str:
    """Open the phone's camera app; returns the URI that it writes the photo to.

    Keep the URI at once: this app may be ended while the camera is open. ``done`` is told, on
    the drawing thread, whether a photo was taken.
    """
    activity, jclass = _android()
    uri = _new_entry("MediaStore$Images$Media", {"mime_type": "image/jpeg"})
    intent = jclass("android.content.Intent")("android.media.action.IMAGE_CAPTURE")
    intent.putExtra("output", _parcel(uri))
    intent.addFlags(3)  # FLAG_GRANT_READ_URI_PERMISSION | FLAG_GRANT_WRITE_URI_PERMISSION
    _on_result(_CAMERA_REQUEST, lambda taken, _uri: done(taken))
    activity.startActivityForResult(intent, _CAMERA_REQUEST)
    return str(uri.toString())


def read_picture(uri: str) -> bytes:
    """Read what the camera app wrote, b"" where it wrote nothing."""
    activity, jclass = _android()
    parsed = jclass("android.net.Uri").parse(uri)
    descriptor = activity.getContentResolver().openFileDescriptor(parsed, "r")
    if descriptor is None:
        return b""
    with open(descriptor.detachFd(), "rb") as file:
        return file.read(_LARGEST)


def forget_picture(uri: str) -> None:
    """Take the camera app's entry away again; our own copy is in the store."""
    activity, jclass = _android()
    parsed = jclass("android.net.Uri").parse(uri)
    activity.getContentResolver().delete(parsed, None, None)


def ask_file(done: Callable[[str], None]) -> None:
    """Open the phone's file picker; ``done`` is told the chosen URI on the drawing thread.

    Nothing is told where nothing was chosen.
    """
    activity, jclass = _android()
    intent = jclass("android.content.Intent")("android.intent.action.OPEN_DOCUMENT")
    intent.addCategory("android.intent.category.OPENABLE")
    intent.setType("*/*")
    _on_result(_PICKER_REQUEST, lambda chosen, uri: done(uri) if chosen and uri else None)
    activity.startActivityForResult(intent, _PICKER_REQUEST)


def open_chosen(uri: str) -> IO[bytes]:
    """Open what the picker chose, for reading; any thread may read on and must close it.

    Raises
    ------
    AppError
        The app that keeps the file does not hand it over.
    """
    activity, jclass = _android()
    from jnius import JavaException

    parsed = jclass("android.net.Uri").parse(uri)
    try:
        descriptor = activity.getContentResolver().openFileDescriptor(parsed, "r")
    except JavaException as error:
        raise AppError(_NOT_HANDED_OVER) from error
    if descriptor is None:
        raise AppError(_NOT_HANDED_OVER)
    return open(descriptor.detachFd(), "rb")


def share(path: Path, mime_type: str) -> None:
    """Offer a file to the phone's other apps.

    Raises
    ------
    AppError
        On the desk: says where the file is.
    """
    if not on_android():
        raise AppError(f"The file is at {path}. Sharing to other apps works on the phone.")
    activity, jclass = _android()
    names = {"mime_type": mime_type, "_display_name": path.name}
    uri = _new_entry("MediaStore$Downloads", names)
    descriptor = activity.getContentResolver().openFileDescriptor(uri, "w")
    with open(descriptor.detachFd(), "wb") as file, path.open("rb") as ours:
        shutil.copyfileobj(ours, file, 1 << 20)
    intent = jclass("android.content.Intent")("android.intent.action.SEND")
    intent.setType(mime_type)
    intent.putExtra("android.intent.extra.STREAM", _parcel(uri))
    intent.addFlags(1)  # FLAG_GRANT_READ_URI_PERMISSION
    title = jclass("java.lang.String")(path.name)
    activity.startActivity(jclass("android.content.Intent").createChooser(intent, title))


def covered_edges() -> tuple[float, float, float, float]:
    """Return how much the system's bars cover left, top, right and bottom, in pixels."""
    if not on_android():
        return (0, 0, 0, 0)
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


def _on_result(request: int, done: Callable[[bool, str], None]) -> None:
    from android import activity
    from kivy.clock import mainthread

    def told(code: int, result: int, intent: Any) -> None:
        if code == request:
            activity.unbind(on_activity_result=told)
            data = intent.getData() if intent is not None else None
            uri = str(data.toString()) if data is not None else ""
            mainthread(done)(result == _RESULT_OK, uri)

    activity.bind(on_activity_result=told)
