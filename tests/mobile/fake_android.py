"""Android as device.py meets it: what its documentation says, and what it refuses.

Follows the reference of ``ContentResolver`` (``insert`` may answer null, ``openFileDescriptor``
throws ``FileNotFoundException``), ``Activity.startActivityForResult``
(``ActivityNotFoundException``), python-for-android's ``PythonActivity`` (its listeners are gone
through with a Java iterator, which throws where one is taken away meanwhile) and pyjnius (a null
object handed to a listener is neither None nor false, and any use of it ends the process).
"""

import itertools
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

CANCELLED, OK = 0, -1


class AppEndedError(BaseException):
    """The process would be gone."""


class JavaException(Exception):  # noqa: N818 - pyjnius calls it so
    """As pyjnius raises it."""

    def __init__(self, classname: str, message: str = "") -> None:
        super().__init__(f"JVM exception occurred: {message} {classname}")
        self.classname = classname


class Null:
    """A null object as a listener gets it from pyjnius: true, not None, and deadly."""

    def __getattr__(self, name: str) -> Any:
        raise AppEndedError(f"{name} of a null object")

    def __str__(self) -> str:
        raise AppEndedError("the text of a null object")


class Uri:
    def __init__(self, text: str) -> None:
        self.text = text

    def toString(self) -> str:
        return self.text

    @staticmethod
    def parse(text: str) -> "Uri":
        return Uri(text)


class Intent:
    def __init__(self, action: str = "", data: Uri | None = None) -> None:
        self.action, self.data, self.extras, self.flags, self.type = action, data, {}, 0, ""

    def putExtra(self, name: str, value: Any) -> None:
        self.extras[name] = value

    def addFlags(self, flags: int) -> None:
        self.flags |= flags

    def addCategory(self, category: str) -> None:
        pass

    def setType(self, kind: str) -> None:
        self.type = kind

    def getData(self) -> Uri | None:
        return self.data

    @staticmethod
    def createChooser(intent: "Intent", title: str) -> "Intent":
        return intent


class FakeAndroid:
    """The phone: its media entries by URI, what was started, and what it refuses.

    ``refuses`` maps a call's name to what it answers instead: ``None`` or a Java exception.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.entries: dict[str, Path] = {}
        self.started: list[Intent] = []
        self.bars: list[tuple[int, bool]] = []
        self.refuses: dict[str, JavaException | None] = {}
        self.listeners: list[Callable[..., None]] = []
        self._numbers = itertools.count(1)

    def __call__(self, name: str) -> Any:
        classes = {
            "android.content.Intent": Intent,
            "android.net.Uri": Uri,
            "android.content.ContentValues": lambda: SimpleNamespace(put=lambda *_: None),
            "android.provider.MediaStore$Images$Media": _collection("images"),
            "java.lang.String": str,
            "java.util.Objects": SimpleNamespace(isNull=lambda one: isinstance(one, Null)),
        }
        if name not in classes:
            raise JavaException("java.lang.NoClassDefFoundError", name)
        return classes[name]

    # The activity

    def getContentResolver(self) -> "FakeAndroid":
        return self

    def getPackageName(self) -> str:
        return "example.fernhollow.voltwalk"

    def paintBars(self, ground: int, is_dark: bool) -> None:
        self._refused("paintBars")
        self.bars.append((ground, is_dark))

    def startActivityForResult(self, intent: Intent, request: int) -> None:
        if self._refused("startActivityForResult") is False:
            self.started.append(intent)

    def startActivity(self, intent: Intent) -> None:
        if self._refused("startActivity") is False:
            self.started.append(intent)

    # The content resolver

    def insert(self, where: Uri, _row: Any) -> Uri | None:
        if self._refused("insert") is not False:
            return None
        uri = f"{where.text}/{next(self._numbers)}"
        self.entries[uri] = self.folder / uri.replace("/", "_").replace(":", "_")
        return Uri(uri)

    def openFileDescriptor(self, uri: Uri, mode: str) -> Any:
        if self._refused("openFileDescriptor") is not False:
            return None
        path = self.entries.get(uri.text)
        if path is None or (mode == "r" and not path.exists()):
            raise JavaException("java.io.FileNotFoundException", uri.text)
        flags = os.O_RDONLY if mode == "r" else os.O_WRONLY | os.O_CREAT | os.O_TRUNC
        return SimpleNamespace(detachFd=lambda: os.open(path, flags))

    def delete(self, uri: Uri, _where: None, _values: None) -> int:
        self._refused("delete")
        return int(self.entries.pop(uri.text, None) is not None)

    def _refused(self, call: str) -> bool:
        """Raise what is refused; True where it answers null, False where nothing is refused."""
        if call not in self.refuses:
            return False
        if (error := self.refuses[call]) is not None:
            raise error
        return True

    # What another app does

    def camera_writes(self, data: bytes) -> None:
        """Write what the camera app was asked for into the entry that it was given."""
        self.entries[self.started[-1].extras["output"].text].write_bytes(data)

    def comes_back(self, request: int, result: int, intent: Any = None) -> None:
        """Come back from another app; with null for the intent unless one is given."""
        given = Null() if intent is None else intent
        before = list(self.listeners)
        for listener in before:
            listener(request, result, given)
            if self.listeners != before:
                raise AppEndedError("java.util.ConcurrentModificationException")


def _collection(name: str) -> Any:
    return SimpleNamespace(EXTERNAL_CONTENT_URI=Uri(f"content://media/{name}"))


def put_in(monkeypatch: Any) -> FakeAndroid:
    """Put a fake phone under device.py; the camera and the picker are there."""
    from mobile.ui import device

    phone = FakeAndroid(Path(tempfile.mkdtemp(prefix="fake-media-")))

    def bind(on_activity_result: Callable[..., None]) -> None:
        phone.listeners.append(on_activity_result)

    def unbind(on_activity_result: Callable[..., None]) -> None:
        phone.listeners.remove(on_activity_result)

    activity = ModuleType("android.activity")
    activity.bind, activity.unbind = bind, unbind
    android = ModuleType("android")
    android.mActivity, android.activity = phone, activity
    jnius = ModuleType("jnius")
    jnius.autoclass, jnius.JavaException, jnius.cast = phone, JavaException, lambda _, one: one
    for name, module in (("android", android), ("android.activity", activity), ("jnius", jnius)):
        monkeypatch.setitem(sys.modules, name, module)
    monkeypatch.setattr(device, "HAS_CAMERA", True)
    monkeypatch.setattr(device, "HAS_PICKER", True)
    monkeypatch.setattr(device, "_waiting", {})
    return phone
