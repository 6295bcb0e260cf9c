"""The record's sheet: A4 with heading, footing and blocks that keep together.

Imports fpdf, so import this module only where a PDF is being written.
"""

from typing import Any

from fpdf.enums import MethodReturnValue, XPos, YPos

from logic.records.paper.page import INK, Paper

__all__ = ["INK", "MARGIN", "RULE", "SHADE", "SOFT", "Sheet"]

MARGIN = 15.0
SOFT = (88, 96, 104)
RULE = (176, 184, 190)
SHADE = (238, 241, 243)
_PAGES = "\u2060pages\u2060"  # word joiners never survive clean(), so no note can forge it
_WIDTH = 210 - 2 * MARGIN


class Sheet(Paper):
    """One record being written on A4; sizes in millimetres, type in points."""

    def __init__(self, heading: str, footing: str) -> None:
        super().__init__("A4")
        self.heading, self.footing = self.clean(heading), self.clean(footing)
        self.set_margins(MARGIN, MARGIN, MARGIN)
        self.set_auto_page_break(True, margin=20)
        self.alias_nb_pages(_PAGES)
        self.write_in(9)
        self.add_page()

    def header(self) -> None:
        """Name the document on every page after the first."""
        if self.page_no() == 1:
            return
        self.write_in(8, colour=SOFT)
        self.cell(0, 5, self.heading, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.rule()
        self.ln(2)

    def footer(self) -> None:
        """Number every page and name the record's hash."""
        self.set_y(-15)
        self.rule()
        self.write_in(7, colour=SOFT)
        self.cell(_WIDTH - 24, 5, self.footing)
        self.cell(24, 5, f"page {self.page_no()} of {_PAGES}")

    def rule(self) -> None:
        """Draw a thin line across the page here."""
        self.set_draw_color(*RULE)
        self.set_line_width(0.2)
        self.line(MARGIN, self.get_y(), MARGIN + _WIDTH, self.get_y())

    @property
    def room(self) -> float:
        """Millimetres left on this page."""
        return self.page_break_trigger - self.get_y()

    def keep(self, height: float) -> None:
        """Begin a new page unless ``height`` still fits on this one."""
        if height > self.room and self.get_y() > self.t_margin + 10:
            self.add_page()

    def lines(self, text: str, width: float, line: float) -> float:
        """Return the height of a text wrapped to a width, in the type chosen now."""
        height: Any = self.multi_cell(
            width, line, self.clean(text), dry_run=True, output=MethodReturnValue.HEIGHT
        )
        return float(height)

    def paragraph(self, text: str, width: float = 0, indent: float = 0, line: float = 4.4) -> None:
        """Write a text wrapped to the page and go on under it."""
        self.set_x(MARGIN + indent)
        self.multi_cell(
            width or _WIDTH - indent,
            line,
            self.clean(text),
            align="L",
            new_x=XPos.LMARGIN,
            new_y=YPos.NEXT,
        )

    def section(self, text: str, follows: float = 16) -> None:
        """Write a section's title, never alone at the foot of a page."""
        self.keep(10 + follows)
        self.ln(3)
        self.write_in(11, "B")
        self.paragraph(text, line=6)
        self.rule()
        self.ln(1.2)
        self.write_in(9)
