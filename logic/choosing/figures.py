"""The figures that the advice stands on, from ``choosing.toml``; each has unit and source."""

from functools import cache
from pathlib import Path

from logic.circuit import tables
from logic.circuit.tables import FigureRow


@cache
def rows() -> dict[str, FigureRow]:
    """Return every row by its dotted name."""
    return tables.read(Path(__file__).with_name("choosing.toml"))


def number(name: str) -> float:
    """Return one figure, in the unit that its row states."""
    return rows()[name].value


def sizes(name: str) -> tuple[float, ...]:
    """Return the sizes of a row of what is sold, smallest first."""
    return tuple(size for size, _ in rows()[name].points)
