"""``diagnose``: what a case's readings point to. Without the store, so that it starts quickly."""

from pathlib import Path

import click

import logic
from logic.desk import manual
from logic.desk.files import INPUT_FILE, read_input


@click.command(help=manual.DIAGNOSE)
@click.argument("case", type=INPUT_FILE)
def diagnose(case: Path) -> None:
    """Print the diagnosis of a case as JSON."""
    from logic.case import Case

    click.echo(logic.diagnose(Case.from_json(read_input(case))).model_dump_json())
