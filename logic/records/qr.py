"""QR codes (ISO/IEC 18004) as plain squares, for the PDF, the label and the screen."""

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Symbol:
    """A QR code's modules, row by row, without the quiet zone."""

    version: int
    rows: tuple[tuple[bool, ...], ...]

    @property
    def size(self) -> int:
        """Modules along one side."""
        return len(self.rows)

    def bars(self) -> Iterator[tuple[int, int, int]]:
        """Yield the dark modules in bars: (row, first column, length)."""
        for row, line in enumerate(self.rows):
            start = None
            for column, dark in enumerate((*line, False)):
                if dark and start is None:
                    start = column
                elif not dark and start is not None:
                    yield row, start, column - start
                    start = None


def symbol(text: str, correction: str = "M") -> Symbol:
    """Encode a text; ``correction`` is L, M, Q or H, kept as asked.

    Raises
    ------
    ValueError
        The text is longer than any QR code holds.
    """
    import segno

    code = segno.make_qr(text, error=correction, boost_error=False)
    rows = tuple(tuple(bool(module) for module in row) for row in code.matrix)
    return Symbol(int(code.version), rows)


def hash_text(sha256: str) -> str:
    """Say a record's hash the way its QR code carries it, in the compact capital alphabet."""
    return f"SHA-256:{sha256.upper()}"
