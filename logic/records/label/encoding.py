"""The label: a vehicle's commissioning in one QR code, for the sticker on the unit.

It needs no store and no network, and it never holds a customer's name. ``label.md`` beside
this file describes the code so that anybody can read it; how the installation and the readings
lie in bytes is in :mod:`logic.records.label.wire`.
"""

import base64
import binascii
import zlib
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone

from pydantic import Field, ValidationError

from logic.case import Reading
from logic.errors import LabelError
from logic.quantities import Data
from logic.records.baseline import readings_of
from logic.records.events import Digest, Id, JobKind, Moment
from logic.records.keys import key_id
from logic.records.label.wire import (
    NewerVersionError,
    Reader,
    Writer,
    by_importance,
    extras_of,
    read_installation,
    read_readings,
    with_extras,
    write_extras,
    write_installation,
    write_readings,
)
from logic.records.record import SealedRecord
from logic.vehicle.installation import Installation

PREFIX = "VOLTWALK:"
VERSION = 3
# Each version is still written where it suffices, so that an older Voltwalk reads the label: 1 is
# release 0.1.0's, for a record that is not signed, 2 for one that is, 3 where there are extras.
_UNSIGNED, _SIGNED = 1, 2
_HAS_SIGNATURE = 1  # flag in a version 3's second byte; the others are for later versions
MOST_CHARACTERS = 600
"""Capital letters and digits that a QR code of version 15 holds at level M (ISO/IEC 18004)."""

_CHECKSUM = 4
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_JOB_KINDS: tuple[JobKind, ...] = ("commissioning", "callback")


class Label(Data):
    """What a label says; ``readings`` serve as the baseline of a later case.

    ``left_out`` counts readings that the record has and the label does not: the code had no room
    for them, or their point is not put on labels. ``signature`` is the signing device's under the
    record's hash, ``key_id`` its key's short name; a record that was sealed without has neither.
    """

    version: int
    vehicle_id: Id
    registration: str = Field(min_length=1, max_length=20)
    job_kind: JobKind
    revision: int = Field(ge=1)
    signed_at: Moment
    record_sha256: Digest
    key_id: str | None = Field(None, pattern=r"^[0-9a-f]{16}$")
    signature: str | None = Field(None, pattern=r"^[0-9a-f]{128}$")
    installation: Installation
    readings: tuple[Reading, ...]
    left_out: int = 0


def encode(sealed: SealedRecord) -> str:
    """Write a signed record's baseline as a label's text, for one QR code of level M.

    Figures are rounded to the steps given in ``label.md``. Where the readings would not all
    fit, those least worth comparing are left out and counted.

    Raises
    ------
    RecordError
        The record has a figure that is none: it was made by something else.
    """
    taken = readings_of(sealed.record)
    readings = by_importance(taken)
    for kept in range(len(readings), 0, -1):
        text = _text(sealed, readings[:kept], len(taken) - kept)
        if len(text) <= MOST_CHARACTERS:
            return text
    return _text(sealed, (), len(taken))


def _text(sealed: SealedRecord, readings: Sequence[Reading], left_out: int) -> str:
    record = sealed.record
    out, extras = Writer(), extras_of(record.installation)
    if extras:
        out.byte(VERSION)
        out.byte(_HAS_SIGNATURE if sealed.signature else 0)
    else:
        out.byte(_SIGNED if sealed.signature else _UNSIGNED)
    out.raw(bytes.fromhex(record.vehicle_id))
    out.raw(bytes.fromhex(sealed.sha256))
    if sealed.signature:
        out.raw(bytes.fromhex(key_id(sealed.signature.key)))
        out.raw(bytes.fromhex(sealed.signature.signature))
    out.byte(_JOB_KINDS.index(record.job_kind))
    out.unsigned(record.revision)
    _write_moment(out, record.signed_at)
    out.text(record.vehicle.registration)
    write_installation(out, record.installation)
    out.byte(left_out)
    write_readings(out, readings)
    if extras:
        write_extras(out, extras)
    body = bytes(out)
    checked = body + zlib.crc32(body).to_bytes(_CHECKSUM, "big")
    return PREFIX + base64.b32encode(checked).decode().rstrip("=")


def decode(text: str) -> Label:
    """Read a label's text, from the camera or pasted; spaces and small letters do no harm.

    Raises
    ------
    LabelError
        The code is foreign, damaged, or written by a newer version; says what to do.
    """
    body = _checked(text)
    if body[0] > VERSION:
        raise LabelError(
            f"This label was written by a newer version (format {body[0]}; this one reads up to "
            f"{VERSION}). Update Voltwalk, then scan it again."
        )
    try:
        return _read(Reader(body))
    except NewerVersionError as error:
        raise LabelError(
            f"This label was written by a newer version: it names a {error} that this one does "
            "not know. Update Voltwalk, then scan it again."
        ) from error
    except (ValueError, OverflowError) as error:  # ValidationError is a ValueError
        raise LabelError(
            f"The label's code cannot be right: {_reason(error)} Take the readings anew instead."
        ) from error


def _checked(text: str) -> bytes:
    """Return the bytes of a text that is whole and ours, without their checksum."""
    compact = "".join(text[: 4 * MOST_CHARACTERS].split()).upper()
    if not compact.startswith(PREFIX):
        raise LabelError(
            f"This is not a commissioning label: its text does not begin with {PREFIX} "
            "Scan the square code on the sticker at the charger."
        )
    digits = compact.removeprefix(PREFIX)
    try:
        content = base64.b32decode(digits + "=" * (-len(digits) % 8))
    except (binascii.Error, ValueError):
        content = b""
    body, checksum = content[:-_CHECKSUM], content[-_CHECKSUM:]
    if not body or zlib.crc32(body).to_bytes(_CHECKSUM, "big") != checksum:
        raise LabelError(
            "The label's code is damaged or incomplete: its checksum does not fit. Clean the "
            "sticker and scan the whole code again."
        )
    return body


def _read(source: Reader) -> Label:
    version = source.byte()
    flags = source.byte() if version > _SIGNED else _HAS_SIGNATURE * (version == _SIGNED)
    if flags > _HAS_SIGNATURE:
        raise NewerVersionError("kind of label")
    label = Label(
        version=version,
        vehicle_id=source.raw(16).hex(),
        record_sha256=source.raw(32).hex(),
        key_id=source.raw(8).hex() if flags else None,
        signature=source.raw(64).hex() if flags else None,
        job_kind=source.choice(_JOB_KINDS, source.byte(), "kind of job"),
        revision=source.unsigned(),
        signed_at=_read_moment(source),
        registration=source.text(),
        installation=read_installation(source),
        left_out=source.byte(),
        readings=read_readings(source),
    )
    if version > _SIGNED:
        installation = with_extras(source, label.installation)
        label = label.model_copy(update={"installation": installation})
    source.end()
    return label


def _write_moment(out: Writer, moment: datetime) -> None:
    offset = moment.utcoffset() or timedelta()
    out.signed((moment - _EPOCH) // timedelta(minutes=1))
    out.signed(round(offset / timedelta(minutes=1)))


def _read_moment(source: Reader) -> datetime:
    moment = _EPOCH + timedelta(minutes=source.signed())
    return moment.astimezone(timezone(timedelta(minutes=source.signed())))


def _reason(error: Exception) -> str:
    if isinstance(error, ValidationError):
        first = error.errors(include_url=False)[0]
        field = ".".join(str(part) for part in first["loc"])
        return f"{field}: {first['msg']}."
    return f"{error}."
