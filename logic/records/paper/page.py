"""Paper of any size as PDF/A-3B, with our type embedded and nothing printed that it lacks.

Imports fpdf at the top, so import this module only where a PDF is being written.
"""

import re
import unicodedata
from pathlib import Path

from fpdf import FPDF
from fpdf.fonts import TTFFont

from logic.records.qr import Symbol

FONTS = Path(__file__).parent / "fonts"
FACES = {"": "DejaVuSans.ttf", "B": "DejaVuSans-Bold.ttf"}
FAMILY = "DejaVu"
INK = (20, 24, 28)
STAND_IN = "□"


class Paper(FPDF):
    """A PDF/A-3B document being written; sizes in millimetres, type in points.

    ``lacking`` tells whether a letter had to be replaced by a box.
    """

    def __init__(self, size: str | tuple[float, float]) -> None:
        super().__init__(format=size, enforce_compliance="PDF/A-3B")
        for style, file in FACES.items():
            self.add_font(FAMILY, style, FONTS / file)
        faces = [face for face in self.fonts.values() if isinstance(face, TTFFont)]
        self._covered = set.intersection(*(set(face.cmap) for face in faces)) | {ord("\n")}
        self.lacking = False
        self.set_lang("en")

    def clean(self, text: str) -> str:
        """Leave only what the type can show; what it lacks becomes a box, and is remembered."""
        text = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\t", " "))
        text = re.sub(r"\n{3,}", "\n\n", text.replace("\r", "\n"))
        return "".join(map(self._shown, text))

    def _shown(self, letter: str) -> str:
        if letter != "\n" and unicodedata.category(letter) in ("Cc", "Cf", "Zl", "Zp"):
            return " "
        if ord(letter) in self._covered:
            return letter
        self.lacking = True
        return STAND_IN

    def write_in(self, size: float, style: str = "", colour: tuple[int, int, int] = INK) -> None:
        """Choose size, weight and colour of what is written next."""
        self.set_font(FAMILY, style, size)
        self.set_text_color(*colour)

    def squares(self, code: Symbol, left: float, top: float, side: float) -> None:
        """Draw a QR code; ``side`` is of the dark part, the quiet zone lies outside."""
        module = side / code.size
        self.set_fill_color(0, 0, 0)
        for row, column, length in code.bars():
            self.rect(
                left + column * module, top + row * module, length * module, module, style="F"
            )
