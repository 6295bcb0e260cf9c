"""``list`` and ``find``: which vehicles there are."""

from pathlib import Path
from typing import Any

import click

from logic.desk.store_access import opened
from logic.desk.terminal import aligned, as_json, say
from logic.records.store.vehicle_list import VehicleRow

_COLUMNS = ("plate", "last work", "state", "id", "vehicle")


@click.command(
    "list",
    help="""List the vehicles, latest work first.

    \b
    Examples:
      voltwalk-office list
      voltwalk-office list --limit 500
      voltwalk-office list --json | python3 -m json.tool
    """,
)
@click.option("--limit", default=50, show_default=True, type=click.IntRange(1))
@click.option("--json", "json_wanted", is_flag=True, help="Write JSON.")
@click.pass_obj
def list_vehicles(folder: Path, limit: int, json_wanted: bool) -> None:
    _print_list(folder, "", limit, json_wanted)


@click.command(
    help="""Find vehicles by any part of plate, description, VIN or customer.

    Case, spaces and dashes do not matter.

    \b
    Examples:
      voltwalk-office find 042
      voltwalk-office find library --json
    """
)
@click.argument("text")
@click.option("--limit", default=50, show_default=True, type=click.IntRange(1))
@click.option("--json", "json_wanted", is_flag=True, help="Write JSON.")
@click.pass_obj
def find(folder: Path, text: str, limit: int, json_wanted: bool) -> None:
    _print_list(folder, text, limit, json_wanted)


def _print_list(folder: Path, text: str, limit: int, json_wanted: bool) -> None:
    with opened(folder) as store:
        rows = store.find_vehicles(text, limit=limit)
        total = store.count_vehicles()
    if json_wanted:
        click.echo(as_json([_data(row) for row in rows]))
        return
    say(*aligned([_COLUMNS, *map(_cells, rows)]))
    if len(rows) == limit < total:
        say(f"The first {limit} of {total}; --limit shows more.", err=True)


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
