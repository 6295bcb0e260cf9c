"""Run by test_java.py in a process of its own: the app's own Java classes, in a JVM.

``activity_in_java.py CLASSES LEVEL FILES``: the compiled classes, the phone's API level, and the
folder that is the app's own storage. Prints what the activity and the provider did there.
"""

import os
import sys
from pathlib import Path
from types import ModuleType

import jnius_config

jnius_config.set_classpath(sys.argv[1])
jnius_config.add_options(f"-Dandroid.level={sys.argv[2]}")
jnius_config.add_options("--add-opens=java.base/java.io=ALL-UNNAMED")

from jnius import JavaException, autoclass, cast  # noqa: E402

NAME = "example.fernhollow.voltwalk.VoltwalkActivity"
BARS, NAVIGATION, KEYBOARD, CUTOUT = 1, 2, 8, 128


def window_of_the_activity():
    python_activity = autoclass("org.kivy.android.PythonActivity")
    activity = cast(NAME, python_activity.begin(NAME))
    sys.modules["android"] = android = ModuleType("android")
    android.mActivity = python_activity.mActivity
    return activity, activity.getWindow()


def covered(window) -> None:
    window.cover(BARS, 0, 63, 0, 0)
    window.cover(NAVIGATION, 0, 0, 0, 126)


def edges() -> None:
    activity, window = window_of_the_activity()
    covered(window)
    print("bars", list(window.drawnIn()))
    window.cover(KEYBOARD, 0, 0, 0, 900)
    print("keyboard", list(window.drawnIn()))
    window.cover(KEYBOARD, 0, 0, 0, 0)
    print("keyboard gone", list(window.drawnIn()))
    window.cover(CUTOUT, 0, 110, 0, 0)
    print("cutout", list(window.drawnIn()))
    window.width, window.height = 1080, 1920  # 16 to 9, as 360x640
    window.cover(KEYBOARD, 0, 0, 0, 1100)
    left, top, right, bottom = window.drawnIn()
    print("small", [left, top, right, bottom], activity.draws(right - left, bottom - top))
    activity.setOrientationBis(1080, 1920, True, "Portrait")
    print("and after SDL", activity.orientation, activity.draws(right - left, bottom - top))


def facts() -> None:
    from mobile.ui import device

    _, window = window_of_the_activity()
    covered(window)
    window.drawnIn()
    print("facts", device.phone_facts())


def large() -> None:
    activity, window = window_of_the_activity()
    activity.getResources().getConfiguration().smallestScreenWidthDp = 800
    activity.onConfigurationChanged(activity.getResources().getConfiguration())
    activity.setOrientationBis(2560, 1600, True, "Portrait")
    print("large", activity.orientation, activity.draws(2560, 1600))
    window.width, window.height = 2560, 1600
    covered(window)
    window.cover(KEYBOARD, 0, 0, 0, 900)
    print("and its keyboard", list(window.drawnIn()))


def bars() -> None:
    from mobile.ui import device
    from mobile.ui.theme import theme

    _, window = window_of_the_activity()
    decor = window.getDecorView()

    def painted() -> list[object]:
        colours = (decor.background, window.statusBarColor, window.navigationBarColor)
        words = [f"{colour & 0xFFFFFFFF:08X}" for colour in colours]
        return [*words, window.appearance or decor.visibility]

    print("at the start", painted())
    for dark in (True, False):
        theme.dark = dark
        device.paint_bars(theme.ground, dark)
        print("dark" if dark else "light", painted())


def shared(files: Path) -> None:
    from mobile.jobs import shared_file
    from mobile.ui import device

    activity, _ = window_of_the_activity()
    autoclass("android.content.Context").files = autoclass("java.io.File")(str(files))
    provider = autoclass("example.fernhollow.voltwalk.SharedFiles")()
    resolver = activity.getContentResolver()
    resolver.providers.put(f"{activity.getPackageName()}.shared", provider)
    record = files / "TVQ 204 record+1 ü%.pdf"
    record.write_bytes(b"%PDF-shared")
    (files / "store" / "private").mkdir(parents=True)
    (files / "store" / "voltwalk.db").write_bytes(b"the store")
    device.share(files / "store", record, "application/pdf")
    intent = activity.started.wrapped
    uri = cast("android.net.Uri", intent.stream)
    print("shared", intent.flags, uri.getAuthority(), provider.getType(uri))
    with os.fdopen(provider.openFile(uri, "r").detachFd(), "rb") as file:
        print("read", file.read())
    row = cast("android.database.MatrixCursor", provider.query(uri, None, None, None, None))
    print("named", row.text(0) == record.name, row.text(1))
    base = f"content://{uri.getAuthority()}/"
    for name in ("..%2Fvoltwalk.db", "..", "", "%2Fetc%2Fpasswd", "other.pdf"):
        print("kept", name, refused(provider.openFile, uri.parse(base + name), "r"))
    print("written", refused(provider.openFile, uri, "w"))
    print("deleted", refused(provider.delete, uri, None, None))
    shared_file.forget(files / "store")
    print("forgotten", refused(provider.openFile, uri, "r"))
    gone = cast("android.database.MatrixCursor", provider.query(uri, None, None, None, None))
    print("no longer named", gone.getCount())


def refused(work, *arguments) -> str:
    try:
        work(*arguments)
    except JavaException as error:
        return error.classname
    return "not refused"


os.environ["KIVY_NO_ARGS"] = os.environ["KIVY_NO_CONSOLELOG"] = "1"
os.environ["KIVY_HOME"], os.environ["ANDROID_ARGUMENT"] = sys.argv[3], "stands for a phone"
edges()
large()
bars()
if sys.argv[2] == "36":
    facts()
    shared(Path(sys.argv[3]))
