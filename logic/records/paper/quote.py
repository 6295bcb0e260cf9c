"""A quote's page: what was asked for, what serves it, and how a week of it comes out.

No record: nothing of it is signed, and no vehicle or customer is named. fpdf is imported only
while it is being written.
"""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from logic.choosing import words
from logic.choosing.advice import Advice
from logic.choosing.chart import Chart, chart
from logic.records.files import replace_file
from logic.vehicle.identity import Technician
from logic.words.dates import day

if TYPE_CHECKING:
    from logic.records.paper.document import RecordPdf

_HEIGHT, _AXIS, _STRIPE = 28.0, 12.0, 2.4  # mm


def write_quote(
    advice: Advice, technician: Technician, when: datetime, version: str, path: Path
) -> None:
    """Write a quote as a PDF/A; it appears under ``path`` only once it is whole.

    Raises
    ------
    RecordError
        The file cannot be written; says why and what to do.
    """
    replace_file(path, compose_quote(advice, technician, when, version), "The quote")


def compose_quote(advice: Advice, technician: Technician, when: datetime, version: str) -> bytes:
    """Return the PDF that :func:`write_quote` writes."""
    from logic.records.paper.document import SOFT, RecordPdf
    from logic.records.paper.tables import box, bullets, pairs

    title = f"Quote: {words.headline(advice)}"
    pdf = RecordPdf(title, f"Quote, {day(when)}; not a record of work done")
    pdf.set_title(pdf.clean(title))
    pdf.set_creator(pdf.clean(f"Voltwalk {version}"))
    pdf.set_creation_date(when)
    pdf.write_in(15, "B")
    pdf.paragraph("Quote: charging the house battery", line=7)
    pdf.write_in(9.5, colour=SOFT)
    pdf.paragraph(f"{_workshop(technician)}; {day(when)}", line=4.6)
    pdf.ln(2)
    box(pdf, words.headline(advice), words.standing(advice))
    pdf.section("What serves it")
    pairs(pdf, words.answer_rows(advice))
    pdf.section("A week, begun with a full battery", follows=_HEIGHT + 20)
    _draw(pdf, chart(advice))
    pdf.write_in(8.5)
    pdf.paragraph(words.balance(advice))
    pdf.section("What was asked for")
    pairs(pdf, words.asked_rows(advice.wish))
    pdf.section("To know")
    bullets(pdf, (*advice.remarks, words.DISCLAIMER))
    pdf.section("Where the figures come from")
    pdf.write_in(7, colour=SOFT)
    for source in words.sources(advice):
        pdf.paragraph(source, line=3.2)
    return bytes(pdf.output())


def _workshop(technician: Technician) -> str:
    named = (technician.workshop, technician.phone, technician.name)
    return ", ".join(text for text in named if text) or "Workshop not named"


def _draw(pdf: "RecordPdf", shown: Chart) -> None:
    """Draw the week: charge as a line, its floor dashed, driving and sun as stripes below."""
    from logic.records.paper.document import INK, MARGIN, RULE, SHADE, SOFT, WIDTH

    left, top = MARGIN + _AXIS, pdf.get_y() + 1
    width, bottom = WIDTH - _AXIS, top + _HEIGHT

    def x(part: float) -> float:
        return left + part * width

    def y(charge: float) -> float:
        return bottom - charge * _HEIGHT

    for number, label in enumerate(shown.days):
        if number % 2:
            with pdf.filled(SHADE):
                pdf.rect(x(number / 7), top, width / 7, _HEIGHT, style="F")
        pdf.write_in(7, colour=SOFT)
        pdf.set_xy(x(number / 7), bottom + 2 * _STRIPE + 1.2)
        pdf.cell(width / 7, 3, label, align="C")
    pdf.draw_in(RULE, 0.2)
    pdf.rect(left, top, width, _HEIGHT)
    for charge in (0.0, 0.5, 1.0):
        pdf.set_xy(MARGIN, y(charge) - 1.5)
        pdf.cell(_AXIS - 1, 3, f"{charge:.0%}", align="R")
    pdf.draw_in(SOFT, 0.3)
    pdf.set_dash_pattern(dash=1.5, gap=1)
    pdf.line(left, y(shown.floor), left + width, y(shown.floor))
    pdf.set_dash_pattern()
    pdf.draw_in(INK, 0.5)
    pdf.polyline([(x(part), y(charge)) for part, charge in shown.line])
    with pdf.filled(INK):
        for begun, ended in shown.driven:
            pdf.rect(x(begun), bottom + 0.6, (ended - begun) * width, _STRIPE - 0.6, style="F")
    with pdf.filled(SOFT):
        for (begun, ended), strength in shown.sun:
            high = (_STRIPE - 0.4) * min(1.0, strength)
            low = bottom + 2 * _STRIPE
            pdf.rect(x(begun), low - high, (ended - begun) * width, high, style="F")
    pdf.write_in(7, colour=SOFT)
    pdf.set_y(bottom + 2 * _STRIPE + 5)
    sun = ", below it the sun" if shown.sun else ""
    pdf.paragraph(
        f"Line: state of charge; dashed: as low as it should go; bars under it: engine runs{sun}.",
        line=3.4,
    )
    pdf.ln(1)
