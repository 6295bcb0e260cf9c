"""``label``: what a sticker's code says."""

from pathlib import Path

import click

from logic.desk.terminal import as_json, read_text


@click.command(
    help="""Say what a label's code says, from a scanner or pasted; - reads the standard
    input.

    With --case, write it as a case whose baseline is the label's readings: add today's readings
    and give it to 'diagnose'.

    \b
    Examples:
      voltwalk-office label "VOLTWALK:AEASGRLHRGV4..."
      voltwalk-office label - --case < scanned.txt > case.json
    """
)
@click.argument("code")
@click.option("--case", "case_wanted", is_flag=True, help="Write a case with this baseline.")
def label(code: str, case_wanted: bool) -> None:
    from logic.records.label.encoding import decode

    text = read_text(Path("-")).decode("utf-8", "replace") if code == "-" else code
    said = decode(text).model_dump(mode="json", exclude_none=True)
    if case_wanted:
        said = {
            "installation": said["installation"],
            "readings": [],
            "baseline": said["readings"],
        }
    click.echo(as_json(said))
