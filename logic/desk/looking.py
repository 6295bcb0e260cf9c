"""``list`` and ``find``: which vehicles there are."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from logic.desk import manual
from logic.desk.common import opened
from logic.desk.files import as_json
from logic.records.store.present import VehicleRow

_COLUMNS = ("plate", "last work", "state", "id", "vehicle")


@click.command("list", help=manual.LIST)
@click.option("--limit", default=50, show_default=True, type=click.IntRange(1))
@click.option("--json", "json_wanted", is_flag=True, help="Write JSON.")
@click.pass_obj
def list_vehicles(folder: Path, limit: int, json_wanted: bool) -> None:
    """List the vehicles."""
    _tell(folder, "", limit, json_wanted)


@click.command(help=manual.FIND)
@click.argument("text")
@click.option("--limit", default=50, show_default=True, type=click.IntRange(1))
@click.option("--json", "json_wanted", is_flag=True, help="Write JSON.")
@click.pass_obj
def find(folder: Path, text: str, limit: int, json_wanted: bool) -> None:
    """Find vehicles by a part of what is known of them."""
    _tell(folder, text, limit, json_wanted)


def _tell(folder: Path, text: str, limit: int, json_wanted: bool) -> None:
    with opened(folder) as store:
        rows = store.find_vehicles(text, limit=limit)
        total = store.count_vehicles()
    if json_wanted:
        click.echo(as_json([_data(row) for row in rows]))
        return
    click.echo("\n".join(aligned([_COLUMNS, *map(_cells, rows)])))
    if len(rows) == limit < total:
        click.echo(f"The first {limit} of {total}; --limit shows more.", err=True)


def _state(row: VehicleRow) -> str:
    if row.open_job:
        return f"{row.open_job_kind} open"
    return "signed" if row.signed else "no job yet"


def _cells(row: VehicleRow) -> tuple[str, ...]:
    last = f"{row.last_at.astimezone():%Y-%m-%d %H:%M}"
    return (row.registration, last, _state(row), row.vehicle_id[:12], row.description)


def _data(row: VehicleRow) -> dict[str, Any]:
    return {
        "vehicle_id": row.vehicle_id,
        "registration": row.registration,
        "description": row.description,
        "customer": row.customer,
        "last_at": row.last_at.isoformat(),
        "state": _state(row),
    }


def aligned(rows: Iterable[tuple[str, ...]]) -> list[str]:
    """Set rows in columns, two spaces apart."""
    lines = list(rows)
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    ]
