"""``verify``: is a record what was signed, and are its job's revisions one chain?"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import click

from logic.desk.terminal import INPUT_FILE, read_input
from logic.errors import AppError, InputError
from logic.records.record import SealedRecord
from logic.records.store.store import FILE, Store
from logic.records.verify import SealCheck, chain_complaints, check

LEAST_DIGITS = 12
"""As few digits of a hash as tell any workshop's records apart: 48 bits."""


@click.command(
    help="""Say whether signed records are what was signed, or what was changed.

    FILE is a printed record (PDF) or a sealed record (JSON); - reads it from the standard input.
    --hash compares with the hash from a label or a print; the digits that a sticker shows are
    enough.

    Each revision of a job names the hash of the one before it. So the revisions that are given
    are held against each other, and against those in the store where it has the job: one that is
    missing, does not name the one before it, or is there twice is named.

    Exit status 1 if any is not intact, or does not fit the other revisions of its job.

    \b
    Examples:
      voltwalk-office verify record.pdf
      voltwalk-office verify record.json --hash 8d626812103f...
      voltwalk-office verify archive/*.pdf && echo all intact
    """
)
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=INPUT_FILE)
@click.option("--hash", "known", default="", help="SHA-256 from a label or a print.")
@click.pass_context
def verify(context: click.Context, files: tuple[Path, ...], known: str) -> None:
    wanted = hash_digits(known)
    with _store_if_there_is_one(context.obj) as store:
        checked = [_checked(store, file, wanted) for file in files]
        intact = [found.sealed for found in checked if found and found.intact and found.sealed]
        chained = [_is_chained(store, revisions) for revisions in _by_job(intact)]
    sound = all(found is not None and found.intact for found in checked) and all(chained)
    context.exit(0 if sound else 1)


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


@contextmanager
def _store_if_there_is_one(folder: Path) -> Iterator[Store | None]:
    if not (folder / FILE).exists():
        yield None
        return
    from logic.desk.store_access import opened

    with opened(folder) as store:
        yield store


def _checked(store: Store | None, file: Path, known: str) -> SealCheck | None:
    """Check one file and print the answer; ``None`` where there is no record in it."""
    try:
        found = _check(store, read_input(file), file.name)
    except AppError as error:
        click.echo(f"{file}: {error}", err=True)
        return None
    if not found.sha256.startswith(known):
        found = replace(
            found,
            complaints=(
                *found.complaints,
                f"Its hash is {found.sha256}, but {known} was expected.",
            ),
        )
    click.echo(f"{file}: {_intact_record(found) if found.intact else 'NOT INTACT'}")
    for line in (*found.complaints, *found.remarks):
        click.echo(f"  {line}")
    return found


def _check(store: Store | None, content: bytes, name: str) -> SealCheck:
    if content.lstrip()[:5] == b"%PDF-":
        from logic.records.paper.reader import check_pdf_bytes

        return check_pdf_bytes(content, name)
    found = check(content)
    if found.intact or found.sealed is None or store is None:
        return found
    return check(content, original=_original(store, found.sealed))


def _original(store: Store, claimed: SealedRecord) -> SealedRecord | None:
    """Return our own copy of a record that is not intact, so that each change can be named."""
    kept = store.sealed(claimed.record.job_id)
    return next((one for one in kept if one.record.revision == claimed.record.revision), None)


def _intact_record(found: SealCheck) -> str:
    if found.sealed is None:
        return f"intact, SHA-256 {found.sha256}"
    record = found.sealed.record
    return (
        f"intact: {record.vehicle.registration}, {record.job_kind}, revision {record.revision}, "
        f"SHA-256 {found.sha256}"
    )


# The chain of a job's revisions.


def _by_job(records: list[SealedRecord]) -> list[list[SealedRecord]]:
    jobs: dict[str, list[SealedRecord]] = {}
    for sealed in records:
        jobs.setdefault(sealed.record.job_id, []).append(sealed)
    return list(jobs.values())


def _is_chained(store: Store | None, given: list[SealedRecord]) -> bool:
    """Hold a job's revisions, and the store's, against each other, and print what is wrong."""
    record = given[0].record
    kept = store.sealed(record.job_id) if store else ()
    revisions = {sealed.sha256: sealed for sealed in (*given, *kept)}
    if len(revisions) == 1 and not kept:
        return True  # a single revision by itself: there is nothing to hold it against
    complaints = [*_against_store(given, kept), *chain_complaints(tuple(revisions.values()))]
    job = f"{record.vehicle.registration}, {record.job_kind}"
    if complaints:
        click.echo(f"{job}: the revisions are NOT ONE CHAIN")
        for line in complaints:
            click.echo(f"  {line}")
    elif len(revisions) > 1:
        click.echo(f"{job}: {len(revisions)} revisions, one chain")
    return not complaints


def _against_store(given: list[SealedRecord], kept: tuple[SealedRecord, ...]) -> Iterator[str]:
    ours = {sealed.record.revision: sealed.sha256 for sealed in kept}
    for sealed in given:
        number = sealed.record.revision
        if number in ours and all(sealed.sha256 != one.sha256 for one in kept):
            yield (
                f"The store holds another record as revision {number} of this job, "
                f"SHA-256 {ours[number]}."
            )
