"""Finds and reads QR codes in a picture: by ZXing on the phone, by zxing-cpp on the desk.

On the phone ZXing's Java classes come into the package by ``android.gradle_dependencies`` in
``mobile/buildozer.spec``. The tests call the same classes, of the same release, on a desk's Java.
"""

from functools import cache
from typing import TYPE_CHECKING, Any

from logic.errors import AppError
from mobile.ui.toolkit import on_android

if TYPE_CHECKING:
    from PIL.Image import Image

_NO_READER = "No code reader is installed here. Scan the label with a phone and paste its text."


def make_ready() -> None:
    """Find the decoder; call it on the drawing thread, before :func:`codes_in` in another one.

    Android lets only its own threads find an app's classes by name, so all of them are found,
    and used once, before a thread of ours needs them.

    Raises
    ------
    AppError
        There is no decoder on this machine.
    """
    if on_android():
        from PIL import Image

        codes_by_java(Image.new("L", (48, 48), 255))


def codes_in(picture: "Image") -> list[str]:
    """Return the text of every QR code found in a grey picture ("L").

    Raises
    ------
    AppError
        There is no decoder on this machine.
    """
    return codes_by_java(picture) if on_android() else _codes_on_the_desk(picture)


def codes_by_java(picture: "Image") -> list[str]:
    """Return the text of a QR code in a grey picture ("L"), by ZXing's Java classes.

    Raises
    ------
    AppError
        The package was built without them.
    """
    from jnius import JavaException

    try:
        text = _read_by_java(picture)
    except JavaException as error:
        raise AppError(_NO_READER) from error
    return [text] if text else []


@cache
def _classes() -> dict[str, Any]:
    from jnius import autoclass

    names = (
        "PlanarYUVLuminanceSource",
        "BinaryBitmap",
        "DecodeHintType",
        "Result",
        "common.HybridBinarizer",
        "common.GlobalHistogramBinarizer",
        "qrcode.QRCodeReader",
    )
    found = {name.rpartition(".")[2]: autoclass(f"com.google.zxing.{name}") for name in names}
    return found | {"HashMap": autoclass("java.util.HashMap")}


def _read_by_java(picture: "Image") -> str:
    from jnius import JavaException

    classes = _classes()
    width, height = picture.size
    # Its class for a camera's raw picture takes the greys as they are: one byte a pixel.
    source = classes["PlanarYUVLuminanceSource"]
    greys = source(picture.tobytes(), width, height, 0, 0, width, height, False)
    hints = classes["HashMap"]()
    hints.put(classes["DecodeHintType"].TRY_HARDER, True)
    reader = classes["QRCodeReader"]()
    # The first holds under uneven light, the second where the picture is blurred.
    for name in ("HybridBinarizer", "GlobalHistogramBinarizer"):
        bitmap = classes["BinaryBitmap"](classes[name](greys))
        try:
            return str(reader.decode(bitmap, hints).getText())
        except JavaException as error:
            if not _is_unread(error):
                raise
    return ""


def _is_unread(error: Exception) -> bool:
    """Tell whether ZXing says that it found no code, or could not read the one it found."""
    unread = ("NotFoundException", "ChecksumException", "FormatException")
    return str(getattr(error, "classname", "")).endswith(unread)


def _codes_on_the_desk(picture: "Image") -> list[str]:
    try:
        import zxingcpp
    except ImportError as error:
        raise AppError(_NO_READER) from error
    return [found.text for found in zxingcpp.read_barcodes(picture)]
