"""Tables on the sheet: rows that keep together, wrap in every cell and repeat their heads."""

from collections.abc import Sequence
from dataclasses import dataclass

from logic.records.paper.sheet import INK, MARGIN, SHADE, SOFT, Sheet

_LINE = 4.0
_PAD = 1.1
Colour = tuple[int, int, int]


@dataclass(frozen=True)
class Detail:
    """A line under a row: what is said, and whether it matters enough for bold."""

    text: str
    bold: bool = False


@dataclass(frozen=True)
class Row:
    """One row: its cells, lines under it, and the last cell's ink where it is a verdict."""

    cells: Sequence[str]
    details: Sequence[Detail] = ()
    ink: Colour | None = None
    shaded: bool = False


class Table:
    """A table being written to a sheet; ``widths`` in millimetres."""

    def __init__(self, sheet: Sheet, widths: Sequence[float], heads: Sequence[str] = ()) -> None:
        self.sheet, self.widths, self.heads = sheet, widths, heads
        self._head()

    def _head(self) -> None:
        if not self.heads:
            return
        self.sheet.keep(18)
        row = Row(self.heads)
        self._cells(row, self._height(row))
        self.sheet.rule()

    def _height(self, row: Row) -> float:
        heights = []
        for place, (cell, width) in enumerate(zip(row.cells, self.widths, strict=True)):
            self._face(row, place)
            heights.append(self.sheet.lines(cell, width - 2, _LINE))
        return max(heights)

    def _face(self, row: Row, place: int) -> None:
        """Choose the type for one cell: heads small and bold, a verdict bold in its own ink."""
        if row.cells is self.heads:
            self.sheet.write_in(7.5, "B", SOFT)
        elif row.ink and place == len(self.widths) - 1:
            self.sheet.write_in(8.5, "B", row.ink)
        else:
            self.sheet.write_in(8.5)

    def add(self, row: Row) -> None:
        """Write one row; a page that has no room for it is left and the heads repeated."""
        sheet = self.sheet
        height = self._height(row)
        details = self._details_height(row.details)
        if height > 120:
            self._long(row)
            return
        if height + min(details, 60) + 2 * _PAD > sheet.room:
            sheet.add_page()
            self._head()
        self._shade(row, min(height + details + 2 * _PAD, sheet.room))
        sheet.set_y(sheet.get_y() + _PAD)
        self._cells(row, height)
        self._details(row.details)
        sheet.set_y(sheet.get_y() + _PAD)
        sheet.rule()

    def _shade(self, row: Row, height: float) -> None:
        if not row.shaded:
            return
        self.sheet.set_fill_color(*SHADE)
        self.sheet.rect(MARGIN, self.sheet.get_y(), sum(self.widths), height, style="F")

    def _cells(self, row: Row, height: float) -> None:
        sheet, top, left = self.sheet, self.sheet.get_y(), MARGIN
        for place, (cell, width) in enumerate(zip(row.cells, self.widths, strict=True)):
            self._face(row, place)
            sheet.set_xy(left + 1, top)
            sheet.multi_cell(width - 2, _LINE, sheet.clean(cell), align="L")
            left += width
        sheet.set_xy(MARGIN, top + height)

    def _long(self, row: Row) -> None:
        """Write a row no page could hold as plain paragraphs instead."""
        self.sheet.write_in(8.5)
        for cell in row.cells:
            self.sheet.paragraph(cell)
        self._details(row.details)
        self.sheet.rule()

    def _details_height(self, details: Sequence[Detail]) -> float:
        height = 0.0
        for detail in details:
            self.sheet.write_in(8, "B" if detail.bold else "")
            height += self.sheet.lines(detail.text, sum(self.widths) - 7, _LINE)
        return height

    def _details(self, details: Sequence[Detail]) -> None:
        for detail in details:
            self.sheet.write_in(8, "B" if detail.bold else "", INK if detail.bold else SOFT)
            self.sheet.paragraph(detail.text, indent=5, width=sum(self.widths) - 7, line=_LINE)


def pairs(sheet: Sheet, rows: Sequence[tuple[str, str]], label: float = 48) -> None:
    """Write label and words side by side, a row each."""
    for name, text in rows:
        sheet.write_in(8.5)
        sheet.keep(min(sheet.lines(text, 178 - label, _LINE), 60) + 1)
        top = sheet.get_y()
        sheet.write_in(8.5, colour=SOFT)
        sheet.set_x(MARGIN + 1)
        sheet.cell(label - 2, _LINE, sheet.clean(name))
        sheet.write_in(8.5)
        sheet.set_y(top)
        sheet.paragraph(text, width=178 - label, indent=label, line=_LINE)
        sheet.set_y(sheet.get_y() + 0.6)
