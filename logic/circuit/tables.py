"""Reads the tables of figures beside this module; every row carries unit and source.

A row is ``{value or points, unit, source}``; ``assumed = true`` marks a figure that has no
published source. A curve (``points``) is one row: all its points come from that source.
"""

import tomllib
from bisect import bisect_right
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from logic.errors import DataFileError

FOLDER = Path(__file__).parent


@dataclass(frozen=True)
class FigureRow:
    """One figure or one curve, with where it comes from."""

    unit: str
    source: str
    value: float
    points: tuple[tuple[float, float], ...] = ()
    assumed: bool = False


def row(table: str, name: str) -> FigureRow:
    """Return one row; ``name`` is its dotted path in ``<table>.toml``."""
    try:
        return _rows(table)[name]
    except KeyError:
        raise DataFileError(
            "no such row; add it or correct the name.", f"{table}.toml", name
        ) from None


@cache
def number(table: str, name: str) -> float:
    """Return one figure, in the unit that its row states.

    Raises
    ------
    DataFileError
        No such row.
    """
    return row(table, name).value


def curve(table: str, name: str, x: float) -> float:
    """Return a curve's value at ``x``, straight between its points and level outside them.

    Parameters
    ----------
    table, name
        As for :func:`row`.
    x : the unit named beside the row

    Returns
    -------
    the unit that the row states
    """
    return interpolated(row(table, name).points, x)


def interpolated(points: tuple[tuple[float, float], ...], x: float) -> float:
    """Return a value between points in rising order, level outside them.

    Parameters
    ----------
    points : of shape (points, 2), x rising
    x : as ``points[:, 0]``

    Returns
    -------
    as ``points[:, 1]``
    """
    if x <= points[0][0]:
        return points[0][1]
    if x >= points[-1][0]:
        return points[-1][1]
    after = bisect_right(points, (x, float("inf")))
    (x0, y0), (x1, y1) = points[after - 1], points[after]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


@cache
def _rows(table: str) -> dict[str, FigureRow]:
    return read(FOLDER / f"{table}.toml")


def read(path: Path) -> dict[str, FigureRow]:
    """Read a table file.

    Raises
    ------
    DataFileError
        Names the file, the row and what is missing.
    """
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise DataFileError(f"cannot be read ({error}). Put the file right.", path.name) from error
    found: dict[str, FigureRow] = {}
    _collect(data, "", path.name, found)
    return found


def _collect(data: dict[str, Any], prefix: str, file: str, found: dict[str, FigureRow]) -> None:
    for key, item in data.items():
        name = f"{prefix}{key}"
        if not isinstance(item, dict):
            raise DataFileError(f"'{key}' is not inside a row.", file, prefix.rstrip("."))
        if "unit" in item or "source" in item or "value" in item or "points" in item:
            found[name] = _row(item, file, name)
        else:
            _collect(item, f"{name}.", file, found)


def _row(item: dict[str, Any], file: str, name: str) -> FigureRow:
    for key in ("unit", "source"):
        if not item.get(key):
            raise DataFileError(f"has no {key}; every figure needs one.", file, name)
    points = tuple((float(x), float(y)) for x, y in item.get("points", ()))
    if points != tuple(sorted(points)) or len({x for x, _ in points}) != len(points):
        raise DataFileError("its points must rise from left to right.", file, name)
    if not points and "value" not in item:
        raise DataFileError("has neither value nor points.", file, name)
    return FigureRow(
        unit=str(item["unit"]),
        source=str(item["source"]),
        value=float(item.get("value", points[0][1] if points else 0.0)),
        points=points,
        assumed=bool(item.get("assumed", False)),
    )
