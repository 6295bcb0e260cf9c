"""What only the phone itself can do: camera, sharing, its file picker, its bars, its signals.

The one module that asks Android's own activity. On the desk :data:`HAS_CAMERA` and
:data:`HAS_PICKER` are False and the rest says what to do instead. Not run on a phone yet: it
follows Android's documented interfaces.

Nothing here asks the technician for a permission (vibrating has one that every app is given): the
camera app writes into a media entry that we made, a shared
file is one of our own with a read grant (``SharedFiles.java``), and a chosen file comes as a
stream that the picker grants. Whatever Android refuses comes out as an
:class:`AppError` that says what to do.
"""

from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO, Any
from urllib.parse import quote

from logic.errors import AppError
from mobile.ui.java import ACTIVITY, android, refused_as, there
from mobile.ui.toolkit import on_android

HAS_CAMERA = on_android()
HAS_PICKER = on_android()

_CAMERA_REQUEST, _PICKER_REQUEST = 4711, 4712
_RESULT_OK = -1
_LARGEST = 64_000_000  # bytes; no phone's camera writes that much into one JPEG (assumed)

# Android's reference: VibrationEffect.DEFAULT_AMPLITUDE; AudioManager.STREAM_NOTIFICATION;
# ToneGenerator.MAX_VOLUME and TONE_PROP_NACK, three low tones together;
# Configuration.UI_MODE_NIGHT_MASK and UI_MODE_NIGHT_YES.
_USUAL_STRENGTH, _NOTIFICATIONS, _LOUD, _REFUSAL = -1, 5, 100, 26
_NIGHT_MASK, _NIGHT_YES = 0x30, 0x20
# Assumed: felt through a glove and heard beside an engine, and over before the next key.
_VIBRATES_MS, _SOUNDS_MS = 180, 250

_NOT_HANDED_OVER = "The file cannot be opened. Save it on this phone, then choose it again."
_NO_PLACE = "The phone has no room for a photo. Free some storage, then try again."
_NO_CAMERA = "No camera app opens on this phone. Go on without the photo."
_NO_PICKER = "The phone's file picker does not open. Restart the phone, then try again."
_GONE = "The photo is not on the phone any more. Take it again."
_LEFT_BEHIND = "The camera's own copy could not be deleted. Delete it in the phone's gallery."
_NOT_SHARED = "The phone did not take the file. Free some storage, then share it again."


def place_for_picture() -> str:
    """Make the media entry that a photo is to be written into; returns its URI.

    Keep the URI before the camera opens: this app may be ended while it is open.

    Raises
    ------
    AppError
        The phone has no place for it.
    """
    with refused_as(_NO_PLACE):
        uri = _new_picture()
        return str(there(uri).toString())


def ask_camera(uri: str, done: Callable[[bool], None]) -> None:
    """Open the phone's camera app, which writes its photo into the entry ``uri``.

    ``done`` is told, on the drawing thread, whether a photo was taken.

    Raises
    ------
    AppError
        No camera app opens.
    """
    with refused_as(_NO_CAMERA):
        _, jclass = android()
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
    with refused_as(_GONE), _opened(uri, "r") as file:
        return file.read(_LARGEST)


def forget_picture(uri: str) -> None:
    """Take the camera app's entry away again; our own copy is in the store.

    Raises
    ------
    AppError
        The phone does not delete it.
    """
    with refused_as(_LEFT_BEHIND):
        activity, jclass = android()
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

    with refused_as(_NO_PICKER):
        _, jclass = android()
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
    with refused_as(_NOT_HANDED_OVER):
        return _opened(uri, "r")


def share(store_folder: Path, path: Path, mime_type: str) -> None:
    """Offer a file to the phone's other apps, as the one file that is shared now.

    Raises
    ------
    AppError
        On the desk: says where the file is. On the phone: it was not taken.
    """
    if not on_android():
        raise AppError(f"The file is at {path}. Sharing to other apps works on the phone.")
    from mobile.jobs import shared_file  # not on the start path

    with refused_as(_NOT_SHARED):
        activity, jclass = android()
        copy = shared_file.put(store_folder, path)
        address = f"content://{activity.getPackageName()}.shared/{quote(copy.name)}"
        intent = jclass("android.content.Intent")("android.intent.action.SEND")
        intent.setType(mime_type)
        uri = _parcel(jclass("android.net.Uri").parse(address))
        intent.putExtra("android.intent.extra.STREAM", uri)
        intent.addFlags(1)  # FLAG_GRANT_READ_URI_PERMISSION
        title = jclass("java.lang.String")(path.name)
        activity.startActivity(jclass("android.content.Intent").createChooser(intent, title))


def paint_bars(ground: Sequence[float], is_dark: bool) -> None:
    """Paint the system's bars as the page: its colour (red, green, blue from 0 to 1), and
    whether it is dark; where that is refused they stay as they are.
    """
    if not on_android():
        return
    from jnius import cast

    red, green, blue = (round(255 * part) for part in ground[:3])
    argb = 0xFF << 24 | red << 16 | green << 8 | blue
    with suppress(AppError), refused_as(""):
        activity, _ = android()
        cast(ACTIVITY, activity).paintBars(argb - (1 << 32), is_dark)  # Java's int has a sign


def signal() -> None:
    """Vibrate shortly and sound a short low tone; whatever of it is refused is left out.

    The tone goes with the phone's notifications: what silences them silences it.
    """
    if not on_android():
        return
    with suppress(AppError), refused_as(""):
        _vibrate()
    with suppress(AppError), refused_as(""):
        _sound()


def fall_silent() -> None:
    """Give back what sounded: another app is in front."""
    while _tones:
        with suppress(AppError), refused_as(""):
            _tones.pop().release()


def is_night() -> bool:
    """Tell whether the phone is set to its dark look; False on the desk and where it is refused."""
    if not on_android():
        return False
    with suppress(AppError), refused_as(""):
        activity, _ = android()
        mode = activity.getResources().getConfiguration().uiMode
        return bool(mode & _NIGHT_MASK == _NIGHT_YES)
    return False


def phone_facts() -> dict[str, str]:
    """Return what kind of phone this is and how its window lies; nothing on the desk.

    Raises
    ------
    AppError
        The phone does not say.
    """
    if not on_android():
        return {}
    with refused_as("The phone does not say what it is. Go on without."):
        activity, jclass = android()
        kind, system = jclass("android.os.Build"), jclass("android.os.Build$VERSION")
        content = there(activity.findViewById(jclass("android.R$id").content))
        edges = (
            content.getPaddingLeft(),
            content.getPaddingTop(),
            content.getPaddingRight(),
            content.getPaddingBottom(),
        )
        return {
            "phone": f"{kind.MANUFACTURER} {kind.MODEL}",
            "android": f"{system.RELEASE}, level {system.SDK_INT}",
            "window": f"{content.getWidth()} x {content.getHeight()} pixels",
            "covered": "left {}, top {}, right {}, bottom {} pixels".format(*edges),
        }


def _opened(uri: str, mode: str) -> IO[bytes]:
    activity, jclass = android()
    parsed = jclass("android.net.Uri").parse(uri)
    descriptor = there(activity.getContentResolver().openFileDescriptor(parsed, mode))
    return open(descriptor.detachFd(), f"{mode}b")


def _new_picture() -> Any:
    activity, jclass = android()
    row = jclass("android.content.ContentValues")()
    row.put("mime_type", "image/jpeg")
    where = jclass("android.provider.MediaStore$Images$Media").EXTERNAL_CONTENT_URI
    return activity.getContentResolver().insert(where, row)


def _parcel(uri: Any) -> Any:
    from jnius import cast

    return cast("android.os.Parcelable", uri)


def _vibrate() -> None:
    from jnius import cast

    activity, jclass = android()
    service = there(activity.getSystemService("vibrator"))  # Context.VIBRATOR_SERVICE
    once = jclass("android.os.VibrationEffect").createOneShot(_VIBRATES_MS, _USUAL_STRENGTH)
    cast("android.os.Vibrator", service).vibrate(once)


# The one tone generator, once it was needed: each of them takes one of the phone's few players.
_tones: list[Any] = []


def _sound() -> None:
    if not _tones:
        _, jclass = android()
        _tones.append(jclass("android.media.ToneGenerator")(_NOTIFICATIONS, _LOUD))
    _tones[0].startTone(_REFUSAL, _SOUNDS_MS)


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
        android()[0].startActivityForResult(intent, request)
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
