"""A number as it is written everywhere: with a real minus, as short as it is exact.

Apart from :mod:`logic.words.figures`, which knows quantities: the first screen needs no more.
"""

from decimal import Decimal

MINUS = "−"


def number(value: float, decimals: int | None = None) -> str:
    """Write a number with a real minus; without ``decimals``, as short as it is exact."""
    text = f"{value:.{decimals}f}" if decimals is not None else f"{Decimal(f'{value:.12g}'):f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)
