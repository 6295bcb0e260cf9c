"""The label as a sticker: 62 mm wide, its code about 40 mm, as PDF or as a picture.

fpdf, segno and PIL are imported only while a sticker is being made.
"""

import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from logic.records.files import replace_file
from logic.records.label.encoding import Label, decode, encode
from logic.records.qr import Symbol, symbol
from logic.records.record import SealedRecord
from logic.words.dates import day
from logic.words.figures import as_stated
from logic.words.names import CHEMISTRIES, counted

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

WIDTH_MM, HEIGHT_MM = 62.0, 86.0
CODE_MM = 40.0
_TOP_MM = 24.0
_MM_PER_INCH = 25.4
_MM_PER_POINT = _MM_PER_INCH / 72


@dataclass(frozen=True)
class _Line:
    """A line of the sticker: its baseline from the top in mm, its type in points."""

    text: str
    baseline: float
    size: float
    style: str = ""


def write_label_pdf(sealed: SealedRecord, path: Path) -> None:
    """Write the sticker as a PDF of its exact size; print it at 100 %."""
    from logic.records.paper.document import ArchivePdf

    text = encode(sealed)
    pdf = ArchivePdf((WIDTH_MM, HEIGHT_MM))
    pdf.set_auto_page_break(False)
    pdf.set_title("Commissioning label")
    pdf.set_creation_date(sealed.record.signed_at)
    pdf.add_page()
    pdf.draw_code(symbol(text), (WIDTH_MM - CODE_MM) / 2, _TOP_MM, CODE_MM)
    for line in _lines(decode(text), sealed.record.technician.workshop):
        pdf.write_in(line.size, line.style)
        shown = _fitted(pdf.clean(line.text), pdf.get_string_width, 58.0)
        pdf.text((WIDTH_MM - pdf.get_string_width(shown)) / 2, line.baseline, shown)
    replace_file(path, bytes(pdf.output()), "The label")


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
    text = encode(sealed)
    image = Image.new("L", (round(WIDTH_MM * dots), round(HEIGHT_MM * dots)), 255)
    draw = ImageDraw.Draw(image)
    _draw_code(draw, symbol(text), dots)
    for line in _lines(decode(text), sealed.record.technician.workshop):
        font = ImageFont.truetype(
            FONTS / FACES[line.style], round(line.size * _MM_PER_POINT * dots)
        )
        shown = _fitted(line.text, font.getlength, 58.0 * dots)
        draw.text((image.width / 2, line.baseline * dots), shown, 0, font, anchor="ms")
    return image.point(lambda shade: 255 if shade > 127 else 0).convert("1")


def _draw_code(draw: "ImageDraw.ImageDraw", code: Symbol, dots: float) -> None:
    module = max(1, round(CODE_MM * dots / code.size))
    left = round((WIDTH_MM * dots - module * code.size) / 2)
    top = round(_TOP_MM * dots)
    for row, column, length in code.bars():
        x, y = left + column * module, top + row * module
        draw.rectangle((x, y, x + length * module - 1, y + module - 1), fill=0)


def _lines(label: Label, workshop: str) -> tuple[_Line, ...]:
    unit, battery = label.installation.charger, label.installation.house_battery
    fitted = (
        f"{as_stated(label.installation.nominal_voltage_v, 'V')}, charger "
        f"{as_stated(unit.rated_output_current_a, 'A')}, {CHEMISTRIES[battery.chemistry]} "
        f"{as_stated(battery.capacity_ah, 'Ah')}"
    )
    job = "Commissioned" if label.job_kind == "commissioning" else "Repaired and measured"
    return (
        _Line("Second-battery charger", 6.5, 9, "B"),
        _Line(label.registration, 13, 15, "B"),
        _Line(f"{job} {day(label.signed_at)}", 17, 7.5),
        _Line(workshop, 20.2, 6.5),
        _Line(fitted, 69.5, 7.5, "B"),
        _Line(
            f"The code holds {counted(len(label.readings), 'reading')} to compare with.", 73, 6.5
        ),
        _Line("Scan it before fault-finding.", 76, 6.5),
        _Line(f"Record SHA-256 {label.record_sha256[:16]}…", 80, 5.5),
        _Line(f"Print {WIDTH_MM:g} × {HEIGHT_MM:g} mm, at 100 %", 83, 5.5),
    )


def _fitted(text: str, width_of: Callable[[str], float], room: float) -> str:
    """Shorten a text that would run off the sticker."""
    while len(text) > 1 and width_of(text) > room:
        text = text[:-2].rstrip() + "…"
    return text
