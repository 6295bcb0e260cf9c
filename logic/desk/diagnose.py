"""``diagnose``: what a case's readings point to. Without the store, so that it starts quickly."""

from pathlib import Path

import click

import logic
from logic.desk.terminal import INPUT_FILE, escaped, read_text


@click.command(
    help="""Say what a case's readings point to, as JSON.

    CASE is a file with "installation", "readings" and, if there is one, "baseline"; - reads the
    standard input. The answer has findings, marginals, next_readings, suspect_readings and
    verdicts. It advises; the technician decides.

    \b
    Examples:
      voltwalk-office diagnose case.json
      voltwalk-office diagnose - < case.json | python3 -m json.tool
    """
)
@click.argument("case", type=INPUT_FILE)
def diagnose(case: Path) -> None:
    from logic.case import Case

    click.echo(escaped(logic.diagnose(Case.from_json(read_text(case))).model_dump_json()))
