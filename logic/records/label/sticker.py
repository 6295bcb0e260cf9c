"""The label as a sticker: 62 mm wide, its code about 44 mm, as PDF or as a picture.

Nothing on it is ever cut off: a text too wide for one line is set smaller, then on several, and
the sticker grows with it. fpdf, segno and PIL are imported only while a sticker is being made.
"""

import io
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from logic.records.files import replace_file
from logic.records.label.encoding import Label, decode, encode
from logic.records.qr import Symbol, symbol
from logic.records.record import SealedRecord
from logic.vehicle.identity import Technician
from logic.words.dates import day
from logic.words.digits import in_groups
from logic.words.equipment import fuses, voltages
from logic.words.figures import as_stated
from logic.words.names import CHEMISTRIES, counted

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

WIDTH_MM, LEAST_HEIGHT_MM = 62.0, 86.0
CODE_MM = 44.0
_ROOM_MM = 57.0
_EDGE_MM = 2.5
_QUIET_MM = 3.2  # more than four modules of 0.6 mm, ISO/IEC 18004
_MM_PER_INCH = 25.4
_MM_PER_POINT = _MM_PER_INCH / 72
_LEADING = 1.22  # of the type's size
_SMALLER = (1.0, 0.92, 0.85)  # of its own size, before a text takes a second line

_HOW_TO_READ = (
    "To read the code: Voltwalk, Quick check, Read the label; or scan it with another app and "
    "paste its text there: {} to compare with."
)

Measure = Callable[[str, float, str], float]
"""Says how wide a text is in mm, of its size in points and its style."""


@dataclass(frozen=True)
class _Text:
    """A text of the sticker, its type in points, and the air over it in mm."""

    text: str
    size: float
    style: str = ""
    air: float = 0.0


@dataclass(frozen=True)
class _Line:
    """A line as it is set: its baseline from the top in mm, its type in points."""

    text: str
    baseline: float
    size: float
    style: str


@dataclass(frozen=True)
class _Sticker:
    """Where everything lies; millimetres from the top."""

    lines: tuple[_Line, ...]
    code_top: float
    height: float


def write_label_pdf(sealed: SealedRecord, path: Path) -> None:
    """Write the sticker as a PDF of its exact size; print it at 100 %."""
    from logic.records.paper.document import ArchivePdf

    text = encode(sealed)
    sticker = _lay_out(decode(text), sealed.record.technician, _measure_of_pdf())
    pdf = ArchivePdf((WIDTH_MM, sticker.height))
    pdf.set_auto_page_break(False)
    pdf.set_title("Commissioning label")
    pdf.set_creation_date(sealed.record.signed_at)
    pdf.add_page()
    pdf.draw_code(symbol(text), (WIDTH_MM - CODE_MM) / 2, sticker.code_top, CODE_MM)
    for line in sticker.lines:
        pdf.write_in(line.size, line.style)
        shown = pdf.clean(line.text)
        pdf.text((WIDTH_MM - pdf.get_string_width(shown)) / 2, line.baseline, shown)
    replace_file(path, bytes(pdf.output()), "The label")


def _measure_of_pdf() -> Measure:
    from logic.records.paper.document import ArchivePdf

    pdf = ArchivePdf((WIDTH_MM, LEAST_HEIGHT_MM))

    def measure(text: str, size: float, style: str) -> float:
        pdf.write_in(size, style)
        return pdf.get_string_width(pdf.clean(text))

    return measure


def write_label_png(sealed: SealedRecord, path: Path, dots_per_inch: int = 300) -> None:
    """Write the sticker as a black and white picture that states its size."""
    content = io.BytesIO()
    dots = (dots_per_inch, dots_per_inch)
    picture(sealed, dots_per_inch).save(content, "PNG", dpi=dots, optimize=True)
    replace_file(path, content.getvalue(), "The label")


def picture(sealed: SealedRecord, dots_per_inch: int = 300) -> "Image.Image":
    """Draw the sticker; every module of the code is a whole number of dots."""
    from PIL import Image, ImageDraw, ImageFont

    from logic.records.paper.document import FACES, FONTS

    dots = dots_per_inch / _MM_PER_INCH

    def font_of(size: float, style: str) -> ImageFont.FreeTypeFont:
        return ImageFont.truetype(FONTS / FACES[style], round(size * _MM_PER_POINT * dots))

    def measure(text: str, size: float, style: str) -> float:
        return font_of(size, style).getlength(text) / dots

    text = encode(sealed)
    sticker = _lay_out(decode(text), sealed.record.technician, measure)
    image = Image.new("L", (round(WIDTH_MM * dots), round(sticker.height * dots)), 255)
    draw = ImageDraw.Draw(image)
    _draw_code(draw, symbol(text), dots, sticker.code_top)
    for line in sticker.lines:
        font = font_of(line.size, line.style)
        draw.text((image.width / 2, line.baseline * dots), line.text, 0, font, anchor="ms")
    return image.point(lambda shade: 255 if shade > 127 else 0).convert("1")


def _draw_code(draw: "ImageDraw.ImageDraw", code: Symbol, dots: float, top_mm: float) -> None:
    module = max(1, round(CODE_MM * dots / code.size))
    left = round((WIDTH_MM * dots - module * code.size) / 2)
    top = round(top_mm * dots)
    for row, column, length in code.bars():
        x, y = left + column * module, top + row * module
        draw.rectangle((x, y, x + length * module - 1, y + module - 1), fill=0)


# What it says


def _above(label: Label, technician: Technician) -> Iterator[_Text]:
    job = "Commissioned" if label.job_kind == "commissioning" else "Repaired and measured"
    yield _Text("Second-battery charger", 8.5, "B")
    yield _Text(label.registration, 14, "B", 0.6)
    yield _Text(f"{job} {day(label.signed_at)}", 7.5)
    licence = f", licence {technician.licence}" if technician.licence else ""
    if technician.name:
        yield _Text(f"by {technician.name}{licence}", 6.5)
    if technician.workshop:
        yield _Text(technician.workshop, 6.5)


def _under(label: Label) -> Iterator[_Text]:
    fitted = label.installation
    unit, battery = fitted.charger, fitted.house_battery
    yield _Text(
        f"{voltages(fitted)}, charger "
        f"{as_stated(unit.rated_output_current_a, 'A')}, {CHEMISTRIES[battery.chemistry]} "
        f"{as_stated(battery.capacity_ah, 'Ah')}",
        7.5,
        "B",
    )
    yield _Text(f"Fuses: {fuses(fitted)}", 7, "B")
    yield _Text(_HOW_TO_READ.format(counted(len(label.readings), "reading")), 6.5)
    yield _Text(f"Record SHA-256 {in_groups(label.record_sha256)}", 5.5, air=0.8)
    if label.key_id:
        yield _Text(f"Signed; short name of the key {label.key_id}", 5.5)


# Where it lies


def _lay_out(label: Label, technician: Technician, measure: Measure) -> _Sticker:
    lines: list[_Line] = []
    bottom = _set(lines, _above(label, technician), _EDGE_MM, measure)
    code_top = bottom + _QUIET_MM
    bottom = _set(lines, _under(label), code_top + CODE_MM + _QUIET_MM, measure)
    last = _Text("Print 62 × 000 mm, at 100 %", 5.5)
    height = max(LEAST_HEIGHT_MM, math.ceil(_set([], [last], bottom, measure) + _EDGE_MM))
    last = _Text(f"Print {WIDTH_MM:g} × {height:g} mm, at 100 %", 5.5)
    _set(lines, [last], bottom, measure)
    return _Sticker(tuple(lines), code_top, height)


def _set(lines: list[_Line], texts: Iterable[_Text], top: float, measure: Measure) -> float:
    """Set texts under one another from ``top``; return where the last of them ends."""
    for text in texts:
        top += text.air
        size, broken = _fitted(text, measure)
        for piece in broken:
            top += size * _MM_PER_POINT * _LEADING
            lines.append(_Line(piece, top - 0.25 * size * _MM_PER_POINT, size, text.style))
    return top


def _fitted(text: _Text, measure: Measure) -> tuple[float, list[str]]:
    """Return a text's size in points and its lines, so that none is wider than the sticker."""
    for share in _SMALLER:
        if measure(text.text, text.size * share, text.style) <= _ROOM_MM:
            return text.size * share, [text.text]
    size, words = text.size * _SMALLER[-1], text.text.split()
    widest = max((measure(word, size, text.style) for word in words), default=0.0)
    size *= min(1.0, _ROOM_MM / max(widest, 1.0))
    lines = [""]
    for word in words:
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and measure(longer, size, text.style) > _ROOM_MM:
            lines.append(word)
        else:
            lines[-1] = longer
    return size, lines
