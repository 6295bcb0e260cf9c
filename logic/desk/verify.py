"""``verify``: is a record what was signed, by whom, and are its job's revisions one chain?"""

import json
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import click

from logic.desk.terminal import INPUT_FILE, read_input, read_text, say
from logic.errors import AppError, InputError, RecordError
from logic.records.keys import key_id, shown
from logic.records.label.encoding import Label
from logic.records.record import SealedRecord
from logic.records.store.photos import path_of
from logic.records.store.store import FILE, Store
from logic.records.verify import SealCheck, chain_complaints, check
from logic.words.dates import day_and_time
from logic.words.digits import without_groups

INTACT = 0
NOT_INTACT = 1
UNKNOWN_KEY = 3
NOT_COMPARED = 4
NOT_SIGNED = 5
UNREAD = 6
_WORST_FIRST = (NOT_INTACT, UNKNOWN_KEY, NOT_SIGNED, UNREAD, NOT_COMPARED, INTACT)

Photo = Callable[[str], Path | None]


@click.command(
    help="""Say whether signed records are what was signed, or what was changed.

    FILE is a printed record (PDF) or a sealed record (JSON); - reads it from the standard input.
    The record in a PDF is printed again, and the PDF must be that very print. Photos lie in it as
    they were taken; --photos names a folder with the originals of others.

    --hash compares with the hash from a print or a sticker: all 64 digits, spaces do no harm. A
    part of them is no proof, for a forged record can be made to match it.

    --label compares with what the code on the unit says, from a scanner or pasted; - reads it
    from the standard input. It hangs on the vehicle, out of reach of whoever forges a record.

    Who signed is looked up in the store's list of keys ('voltwalk-office keys'). --key names a
    key that you were given by the workshop itself, where there is no store. Release 0.1.0 signed
    nothing, and anybody can make such a record: it is vouched for by the store that holds it, or
    by a --hash that you have from elsewhere, not by a label without a signature.

    --print writes the record that is inside FILE anew as a PDF: what was signed, whatever the pages
    of FILE show.

    Each revision of a job names the hash of the one before it. So the revisions that are given
    are held against each other, and against those in the store where it has the job: one that is
    missing, does not name the one before it, or is there twice is named.

    \b
    Exit status, the worst of all files:
      0  intact
      1  not intact, not one chain of revisions, or no record
      3  the record is intact, but signed with a key that is not known here
      4  the record is intact, but the pages were not compared with it, or leave out photos or
         names that are at hand: print it anew
      5  the record fits its hash, but nobody signed it and nothing here vouches for it
      6  the record fits its hash, but this version cannot read it
    In this order: 1, 3, 5, 6, 4, 0. 2 is a wrong call.

    \b
    Examples:
      voltwalk-office verify record.pdf
      voltwalk-office verify record.json --hash "8d626812 103fcb8c ..."
      voltwalk-office verify record.pdf --label "VOLTWALK:AIASGRLH..." --key 3b6a27bc...
      voltwalk-office verify archive/*.pdf && echo all intact
    """
)
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=INPUT_FILE)
@click.option("--hash", "known", default="", help="SHA-256 from a print or a sticker.")
@click.option("--label", "code", default="", help="What the code on the unit says.")
@click.option("--key", "named", multiple=True, help="A key of the workshop's: its 64 digits.")
@click.option(
    "--photos",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="A folder with the photos, each named by its SHA-256.",
)
@click.option(
    "--print",
    "anew",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Print the record in FILE anew into this PDF.",
)
@click.pass_context
def verify(
    context: click.Context,
    files: tuple[Path, ...],
    known: str,
    code: str,
    named: tuple[str, ...],
    photos: Path | None,
    anew: Path | None,
) -> None:
    if anew and len(files) > 1:
        raise InputError("Give one FILE with --print: there is one PDF to print.", "print")
    if anew and anew.resolve() == files[0].resolve():
        raise InputError("Name another file with --print: it must not replace FILE.", "print")
    wanted, keys = hash_digits(known), frozenset(map(key_digits, named))
    with _store_if_there_is_one(context.obj) as store:
        at_hand = _AtHand(store, context.obj, wanted, _label(code), keys, photos, anew)
        answers = [_checked(at_hand, file) for file in files]
        latest = _latest(store, answers)
        for answer in answers:
            _tell(answer, latest)
        intact = [answer.sealed for answer in answers if answer.sealed]
        chained = [_chain(store, revisions) for revisions in _by_job(intact)]
    context.exit(_worst(*(answer.status for answer in answers), *chained))


def _worst(*statuses: int) -> int:
    return next(status for status in _WORST_FIRST if status in statuses)


def hash_digits(known: str) -> str:
    """Return a hash's digits as typed, in groups or not, or scanned from a print.

    Raises
    ------
    InputError
        It is no such hash, or a part of one.
    """
    digits = without_groups(known).removeprefix("sha-256").strip(":.…")
    if not known or re.fullmatch(r"[0-9a-f]{64}", digits):
        return digits
    if re.fullmatch(r"[0-9a-f]{4,63}", digits):
        raise InputError(
            f"'{known}' is {len(digits)} digits of a SHA-256: give all 64. A record can be forged "
            "to match a part of them. They stand at the foot of each page of the print and on the "
            "sticker.",
            "hash",
        )
    raise InputError(f"'{known}' is no SHA-256: give its 64 hexadecimal digits.", "hash")


def key_digits(named: str) -> str:
    """Return a public key's digits.

    Raises
    ------
    InputError
        It is no key; a key's short name is not enough.
    """
    digits = without_groups(named).removeprefix("voltwalk-key:")
    if not re.fullmatch(r"[0-9a-f]{64}", digits):
        raise InputError(
            f"'{named}' is no key: give all its 64 digits, as the workshop's own device shows "
            "them.",
            "key",
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


# One file.


@dataclass(frozen=True)
class _AtHand:
    """What there is to hold a file against."""

    store: Store | None
    folder: Path
    sha256: str
    label: Label | None
    keys: frozenset[str]
    photos: Path | None
    anew: Path | None

    def photo(self, sha256: str) -> Path | None:
        """Find a photo in the folder that was named, then in the store."""
        named = path_of(self.photos, sha256) if self.photos else None
        return named or (self.store.photo_path(sha256) if self.store else None)


@dataclass(frozen=True)
class _Answer:
    """What is to be said of one file; ``found`` is ``None`` where there is no record in it."""

    file: Path
    status: int
    found: SealCheck | None = None
    remarks: tuple[str, ...] = ()
    error: str = ""

    @property
    def sealed(self) -> SealedRecord | None:
        """The record, where it is intact and can be read."""
        return self.found.sealed if self.found and self.found.intact else None


def _checked(at_hand: _AtHand, file: Path) -> _Answer:
    try:
        content = read_input(file)
        found = _check(at_hand, content, file.name)
    except AppError as error:
        return _Answer(file, NOT_INTACT, error=str(error))
    if at_hand.anew:
        _print_anew(at_hand, at_hand.anew, content, found)
    found = replace(
        found,
        complaints=(
            *found.complaints,
            *_against_witnesses(at_hand, found),
            *_unread_against_store(at_hand.store, found),
        ),
        left_out=(*found.left_out, *(_names_left_out(at_hand, found) if _is_pdf(content) else ())),
    )
    if not found.intact:
        return _Answer(file, NOT_INTACT, found, found.remarks)
    signer, status = _signer(at_hand, found)
    if found.sealed is None:
        status = _worst(status, UNREAD)
    if found.pages_not_compared or found.left_out:
        status = _worst(status, NOT_COMPARED)
    return _Answer(file, status, found, (*found.remarks, signer, *_stamped(at_hand, found)))


def _tell(answer: _Answer, latest: dict[str, int]) -> None:
    """Print what is to be said of a file; ``latest`` has each job's last revision."""
    file, found = answer.file, answer.found
    if found is None:
        say(f"{file}: {answer.error}", err=True)
        return
    if not found.intact:
        say(f"{file}: NOT INTACT", *_indented(found.complaints), *_indented(answer.remarks))
        return
    intact = ", ".join(_how_intact(answer, found, latest))
    details = (*found.left_out, found.pages_not_compared, *answer.remarks)
    if found.pages_not_compared:
        head = f"the record inside is {intact}; these pages were NOT compared with it: print it"
        head = f"{head} anew (--print)"
    elif found.left_out:
        head = f"the record inside is {intact}; these pages LEAVE OUT what is at hand: print it"
        head = f"{head} anew (--print)"
    else:
        say(f"{file}: {intact}: {_named(found)}", *_indented(details))
        return
    say(f"{file}: {head}", *_indented((_named(found), *details)))


def _how_intact(answer: _Answer, found: SealCheck, latest: dict[str, int]) -> Iterator[str]:
    """Yield all that the first line has to say, so that nobody takes it for more."""
    yield "intact" if found.sealed else "as its hash says, but NOT READ by this version"
    if answer.status == NOT_SIGNED:
        yield "NOT SIGNED"
    if found.sealed:
        record = found.sealed.record
        last = latest.get(record.job_id, 0)
        if last > record.revision:
            yield f"but revision {last} replaced it"


def _indented(lines: Sequence[str]) -> list[str]:
    return [f"  {line}" for line in lines if line]


def _check(at_hand: _AtHand, content: bytes, name: str) -> SealCheck:
    if _is_pdf(content):
        from logic.records.paper.reader import check_pdf_bytes

        return check_pdf_bytes(content, name, originals=at_hand.photo)
    found = check(content)
    if found.intact or at_hand.store is None:
        return found
    return check(content, original=_original(at_hand.store, found))


def _is_pdf(content: bytes) -> bool:
    """Return whether a viewer may take a file for a PDF, whatever else it can be read as.

    Viewers look for its sign in so many bytes (PDF Reference 1.7, appendix H.3, note 13).
    """
    return b"%PDF-" in content[:1024]


def _print_anew(at_hand: _AtHand, path: Path, content: bytes, found: SealCheck) -> None:
    """Print what was signed, with the photos on the pages that were given and those at hand.

    Raises
    ------
    RecordError
        There is nothing that was signed, or the file cannot be written.
    """
    from logic.records.paper.reader import photos_on
    from logic.records.paper.report import write_pdf

    original = check(found.sealed).intact if found.sealed else False
    if found.sealed is None or not original:
        raise RecordError("The record is not what was signed, so there is nothing to print anew.")
    shown = photos_on(content, path.name) if _is_pdf(content) else {}
    sealed = found.sealed if found.sealed.private else _kept(at_hand, found) or found.sealed
    write_pdf(sealed, lambda sha256: shown.get(sha256) or at_hand.photo(sha256), path)
    say(f"{path}: what was signed, printed anew")


def _original(store: Store, found: SealCheck) -> SealedRecord | None:
    """Return our own copy of a record that is not intact, so that each change can be named."""
    job_id, revision = _claimed(found)
    return next((one for one in store.sealed(job_id) if one.record.revision == revision), None)


def _claimed(found: SealCheck) -> tuple[str, object]:
    """Return the job and the revision that a record names, whether or not it can be read."""
    record = json.loads(found.text)
    return str(record.get("job_id")), record.get("revision")


def _kept(at_hand: _AtHand, found: SealCheck) -> SealedRecord | None:
    """Return the store's copy of this very record."""
    if at_hand.store is None:
        return None
    kept = at_hand.store.sealed(_claimed(found)[0])
    return next((one for one in kept if one.sha256 == found.sha256), None)


def _names_left_out(at_hand: _AtHand, found: SealCheck) -> Iterator[str]:
    if found.sealed is None or found.sealed.private:
        return
    kept = _kept(at_hand, found)
    if kept and kept.private:
        yield "The names and signatures are left out, and the store holds them."


def _named(found: SealCheck) -> str:
    if found.sealed is None:
        return f"SHA-256 {found.sha256}"
    record = found.sealed.record
    return (
        f"{record.vehicle.registration}, {record.job_kind}, revision {record.revision}, "
        f"SHA-256 {found.sha256}"
    )


def _against_witnesses(at_hand: _AtHand, found: SealCheck) -> Iterator[str]:
    """Compare with the hash and the label that were given."""
    if at_hand.sha256 and at_hand.sha256 != found.sha256:
        yield f"Its hash is {found.sha256}, but {at_hand.sha256} was expected."
    if at_hand.label is None:
        return
    if found.sealed is None:
        yield "Its label cannot be compared: this version cannot read the record."
    else:
        from logic.records.label.comparison import against_record

        yield from against_record(at_hand.label, found.sealed)


def _label(code: str) -> Label | None:
    if not code:
        return None
    from logic.records.label.encoding import decode

    return decode(read_text(Path("-")).decode("utf-8", "replace") if code == "-" else code)


# Who signed it, and who witnessed that.


def _signer(at_hand: _AtHand, found: SealCheck) -> tuple[str, int]:
    """Say whose signature is under a record, and return the status that follows from it."""
    if found.signature is None:
        return _unsigned(at_hand, found)
    public = found.signature.key
    name = key_id(public)
    if public in at_hand.keys:
        return f"Signed with the key {name}, which you named.", INTACT
    known = at_hand.store.workshop_keys().get(public) if at_hand.store else None
    if known and known.is_trusted:
        return f"Signed by a device of ours: {known.name or 'no name'}, key {name}.", INTACT
    if known:
        said = f"Signed with the key {name} ({known.name or 'no name'}), which was ours and is not"
        said = f"{said} since {day_and_time(known.at)}"
        if _is_held(at_hand.store, found):
            return f"{said}; the record was here before.", INTACT
        return f"{said}.", UNKNOWN_KEY
    return (
        f"Signed with a key that is not known here: {name}. Compare it with what the workshop's "
        f"own device shows: {shown(public)}. The whole key: {public}",
        UNKNOWN_KEY,
    )


def _unsigned(at_hand: _AtHand, found: SealCheck) -> tuple[str, int]:
    if at_hand.keys:
        return "Not signed at all, so not with the key that you named either.", UNKNOWN_KEY
    said = "Sealed, not signed, as before release 0.2"
    if _is_held(at_hand.store, found):
        return f"{said}; the store holds this very record.", INTACT
    if at_hand.sha256 == found.sha256:
        return f"{said}; its hash is the one that you gave.", INTACT
    if at_hand.label:
        said = f"{said}, and so is the label: whoever made the one could make the other"
    return (
        f"{said}. Anybody can make such a record. Compare its hash (--hash) with the sticker at "
        "the unit or the customer's copy, or ask the workshop that holds it.",
        NOT_SIGNED,
    )


def _stamped(at_hand: _AtHand, found: SealCheck) -> Iterator[str]:
    """Say which time-stamp proves that the record existed at its time."""
    if at_hand.store is None or found.signature is None:
        return
    from logic.desk.timestamps import covering, kept

    if not any(at_hand.folder.glob("stamps/*.tsr")):
        return
    key = found.signature.key
    try:
        stamp = covering(kept(at_hand.folder), key, found.sha256, at_hand.store.chain_of)
    except RecordError as error:
        yield f"Whether a time-stamp covers it could not be checked. {error}"
        return
    if stamp is None or stamp.at is None:
        yield "No time-stamp that is kept here covers it."
        return
    at = f"{stamp.at:%Y-%m-%d %H:%M:%S} UTC"
    if stamp.is_proved:
        yield f"Time-stamped: it existed at {at} (stamp {stamp.name})."
    else:
        yield (
            f"Time-stamped {at} (stamp {stamp.name}), which is not proved here: give the "
            "authority's certificate to 'voltwalk-office stamp --check --ca FILE'."
        )


# The chain of a job's revisions.


def _by_job(records: list[SealedRecord]) -> list[list[SealedRecord]]:
    jobs: dict[str, list[SealedRecord]] = {}
    for sealed in records:
        jobs.setdefault(sealed.record.job_id, []).append(sealed)
    return list(jobs.values())


def _chain(store: Store | None, given: list[SealedRecord]) -> int:
    """Hold a job's revisions, and the store's, against each other, and print what is to be said."""
    record = given[0].record
    kept = store.sealed(record.job_id) if store else ()
    revisions = {sealed.sha256: sealed for sealed in (*given, *kept)}
    job = f"{record.vehicle.registration}, {record.job_kind}"
    if store:
        say(*(f"{job}: {line}" for line in _not_held(store, given, kept)))
    complaints = list(_against_store(store, given, kept))
    if len(revisions) == 1 and not kept and not complaints:
        say(*(f"{job}: {line}" for line in _one_before(given[0])))
        return INTACT  # a single revision by itself: there is nothing to hold it against
    complaints += chain_complaints(tuple(revisions.values()))
    if complaints:
        say(f"{job}: the revisions are NOT ONE CHAIN", *_indented(complaints))
        return NOT_INTACT
    if len(revisions) > 1:
        say(f"{job}: {len(revisions)} revisions, one chain")
    return INTACT


def _one_before(sealed: SealedRecord) -> Iterator[str]:
    before = sealed.record.previous_sha256
    if before:
        yield (
            f"revision {sealed.record.revision} names one before it, SHA-256 {before}, which was "
            "not given. Give it too, to have the chain checked."
        )


def _not_held(
    store: Store, given: list[SealedRecord], kept: tuple[SealedRecord, ...]
) -> Iterator[str]:
    held = {one.record.revision for one in kept}
    for sealed in given:
        number = sealed.record.revision
        job_id = sealed.record.job_id
        if number in held or not _has_job(store, job_id) or sealed.sha256 in _known(store, job_id):
            continue
        yield (
            f"the store has this job, but no record of its revision {number}. Ask who gave "
            "you this one, and take in the exchange file of the phone that signed it."
        )


def _has_job(store: Store, job_id: str) -> bool:
    try:
        store.job(job_id)
    except RecordError:
        return False
    return True


def _known(store: Store, job_id: str) -> dict[str, int]:
    """Return a job's revisions that the store has, or knows to be signed, by their hashes."""
    signed = store.job(job_id).signed if _has_job(store, job_id) else ()
    return {one.record_sha256: one.revision for one in signed} | {
        one.sha256: one.record.revision for one in store.sealed(job_id)
    }


def _is_held(store: Store | None, found: SealCheck) -> bool:
    """Return whether the store has a record, or knows that it was signed."""
    return store is not None and found.sha256 in _known(store, _claimed(found)[0])


def _latest(store: Store | None, answers: list[_Answer]) -> dict[str, int]:
    """Return the last revision of each job that is known here or stands in a file of ours."""
    latest: dict[str, int] = {}
    for answer in answers:
        if answer.sealed:
            job_id, revision = answer.sealed.record.job_id, answer.sealed.record.revision
            known = _known(store, job_id).values() if store else ()
            ours = revision if answer.status in (INTACT, NOT_COMPARED) else 0
            latest[job_id] = max(latest.get(job_id, 0), ours, *known)
    return latest


def _unread_against_store(store: Store | None, found: SealCheck) -> Iterator[str]:
    """Hold a record that cannot be read against what the store has of the job that it names."""
    if store is None or found.sealed:
        return
    job_id, revision = _claimed(found)
    known = _known(store, job_id)
    if not known or found.sha256 in known:
        return
    if not isinstance(revision, int) or revision <= max(known.values()):
        yield (
            f"The store has this job and knows its revisions up to {max(known.values())}; this "
            "record is none of them."
        )


def _against_store(
    store: Store | None, given: list[SealedRecord], kept: tuple[SealedRecord, ...]
) -> Iterator[str]:
    ours = {sealed.record.revision: sealed.sha256 for sealed in kept}
    for sealed in given:
        number = sealed.record.revision
        known = _known(store, sealed.record.job_id) if store else {}
        if sealed.sha256 in known or number not in known.values():
            continue
        due = ours.get(number) or next(sha256 for sha256, one in known.items() if one == number)
        yield f"The store holds another record as revision {number} of this job, SHA-256 {due}."
