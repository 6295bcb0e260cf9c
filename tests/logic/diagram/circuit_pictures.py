"""Pictures full of readings, and type of the fonts that they are painted with."""

from functools import cache
from importlib.util import find_spec
from pathlib import Path

from PIL import ImageFont

from logic.diagram.patterns import GRADE_MARKS
from logic.diagram.picture import CircuitPicture, DropShown, ValueShown
from logic.diagram.signs import Sign
from logic.limits.ladder import Grade
from logic.records.paper import report
from logic.vehicle.points import DROP_ACROSS, Part, Point, Unit
from logic.words.figures import short

VALUES = (0.0, 0.004, -0.004, 0.118, -0.123, 1.312, 12.42, -13.94, 28.94, 99.96, -123.4, 200.0)
SHOWN = [point for point in Point if point.unit in (Unit.VOLT, Unit.AMPERE) and not point.is_drop]
_KIVY = find_spec("kivy")  # found, not imported: an import opens its log and its configuration
assert _KIVY
assert _KIVY.origin
FACES = {
    "screen": Path(_KIVY.origin).parent / "data/fonts/Roboto-{}.ttf",
    "paper": Path(report.__file__).parent / "fonts/DejaVuSans{}.ttf",
}
_STYLES = {"screen": ("Regular", "Bold"), "paper": ("", "-Bold")}


def full_picture(
    value: float,
    grade: Grade,
    sign: Sign = Sign.OUT_OF_RANGE,
    has_solar: bool = True,
    marked: Point | None = Point.CHARGER_INPUT_VOLTAGE,
) -> CircuitPicture:
    """Return a picture with the same value at every post and the same grade on every run."""
    mark = GRADE_MARKS[grade]
    return CircuitPicture(
        has_solar=has_solar,
        values={point: ValueShown(short(point, value), sign) for point in SHOWN},
        drops={
            run: DropShown(grade, abs(value), short(point, value), mark.word, mark.sign)
            for run, point in DROP_ACROSS.items()
        },
        temperatures={Part.CHARGER: "−40 °C", Part.HOUSE_BATTERY: "104 °C"},
        marked=marked,
    )


@cache
def _face(where: str, pixels: int, is_bold: bool) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(FACES[where]).format(_STYLES[where][is_bold]), pixels)


class Type:
    """Measures lines in a real font; ``where`` it is painted decides which."""

    def __init__(self, where: str) -> None:
        self._where = where

    def __call__(self, line: str, size: float, is_bold: bool) -> tuple[float, float]:
        # Ten times as large, so that whole pixels do not matter.
        face = _face(self._where, round(size * 10), is_bold)
        ascent, descent = face.getmetrics()
        return face.getlength(line) / 10, (ascent + descent) / 10
