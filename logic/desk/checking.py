"""``verify`` and ``label``: is a record what was signed, and what does a sticker's code say."""

import re
from pathlib import Path

import click

from logic.desk import manual
from logic.desk.files import INPUT_FILE, as_json, read_input
from logic.errors import AppError, InputError
from logic.records.record import SealedRecord
from logic.records.verify import SealCheck, check

LEAST_DIGITS = 12
"""As few digits of a hash as tell any workshop's records apart: 48 bits."""


@click.command(help=manual.VERIFY)
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=INPUT_FILE)
@click.option("--hash", "known", default="", help="SHA-256 from a label or a print.")
@click.pass_context
def verify(context: click.Context, files: tuple[Path, ...], known: str) -> None:
    """Check each file and say so; exit with 1 if any is not intact."""
    wanted = hash_digits(known)
    sound = [_verify(context.obj, file, wanted) for file in files]
    context.exit(0 if all(sound) else 1)


def hash_digits(known: str) -> str:
    """Return a hash's digits as typed, scanned from a print, or as far as a sticker shows them.

    Raises
    ------
    InputError
        It is no such hash, or too little of one to tell records apart.
    """
    digits = known.strip().lower().removeprefix("sha-256").strip(" :.…")
    if known and not re.fullmatch(f"[0-9a-f]{{{LEAST_DIGITS},64}}", digits):
        raise InputError(
            f"'{known}' is no SHA-256: give its 64 hexadecimal digits, or at least the first "
            f"{LEAST_DIGITS}.",
            "hash",
        )
    return digits


def _verify(folder: Path, file: Path, known: str) -> bool:
    try:
        found = _check(folder, read_input(file), file.name)
    except AppError as error:
        click.echo(f"{file}: {error}", err=True)
        return False
    complaints = found.complaints
    if not found.sha256.startswith(known):
        complaints += (f"Its hash is {found.sha256}, but {known} was expected.",)
    click.echo(f"{file}: {'NOT INTACT' if complaints else _said(found)}")
    for line in (*complaints, *found.remarks):
        click.echo(f"  {line}")
    return not complaints


def _check(folder: Path, content: bytes, name: str) -> SealCheck:
    if content.lstrip()[:5] == b"%PDF-":
        from logic.records.paper.reader import check_pdf_bytes

        return check_pdf_bytes(content, name)
    found = check(content)
    if found.intact or found.sealed is None:
        return found
    return check(content, original=_original(folder, found.sealed))


def _original(folder: Path, claimed: SealedRecord) -> SealedRecord | None:
    """Return our own copy of a record that is not intact, so that each change can be named."""
    from logic.desk.common import opened
    from logic.records.store.store import FILE

    if not (folder / FILE).exists():
        return None
    with opened(folder) as store:
        kept = store.sealed(claimed.record.job_id)
    return next((one for one in kept if one.record.revision == claimed.record.revision), None)


def _said(found: SealCheck) -> str:
    if found.sealed is None:
        return f"intact, SHA-256 {found.sha256}"
    record = found.sealed.record
    return (
        f"intact: {record.vehicle.registration}, {record.job_kind}, revision {record.revision}, "
        f"SHA-256 {found.sha256}"
    )


@click.command(help=manual.LABEL)
@click.argument("code")
@click.option("--case", "case_wanted", is_flag=True, help="Write a case with this baseline.")
def label(code: str, case_wanted: bool) -> None:
    """Say what a label's code says."""
    from logic.records.label.encoding import decode

    text = read_input(Path("-")).decode("utf-8", "replace") if code == "-" else code
    said = decode(text).model_dump(mode="json", exclude_none=True)
    if case_wanted:
        said = {
            "installation": said["installation"],
            "readings": [],
            "baseline": said["readings"],
        }
    click.echo(as_json(said))
