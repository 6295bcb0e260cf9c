"""Time-stamps of how far each device's chain of events had come (RFC 3161), kept beside the store.

What is stamped is a short text that names each device's key with its last event here. A device's
events are one chain, so a stamp of the last one proves of every event before it, and of every
record sealed by then, that it existed at that time. The authority is outside the workshop, and it
learns nothing but a hash.

Each stamp is two files in the folder ``stamps``: the text, and the authority's answer about it. A
stamp needs neither the authority nor this program to be checked: ``openssl ts -verify -data
NAME.txt -in NAME.tsr -CAfile authority.pem``.

References
----------
RFC 3161, Time-Stamp Protocol (2001); its use over HTTP is section 3.4.
"""

from __future__ import annotations

import hashlib
import re
import urllib.error
import urllib.request
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logic.errors import InputError, RecordError
from logic.records.chain import event_digest
from logic.records.files import write_whole

if TYPE_CHECKING:
    from cryptography.x509 import Certificate
    from rfc3161_client import TimeStampResponse

FOLDER = "stamps"
AUTHORITIES = "authorities.pem"
TEXT, ANSWER = ".txt", ".tsr"

Heads = Mapping[str, tuple[int, str]]
"""Each device's last signed event, by public key: its number and its digest."""

Chain = Callable[[str], Iterable[dict[str, Any]]]
"""Yields a key's signed events as they stand in an exchange file, first one first."""

_HEADER = "voltwalk-heads-1"
_HEAD = re.compile(r"([0-9a-f]{64}) ([1-9][0-9]{0,15}) ([0-9a-f]{64})")
_CERTIFICATES = 0xA0  # context tag 0 of SignedData, RFC 5652, 5.1
_LARGEST = 1_000_000  # bytes; assumed: an answer with its certificates is about 5 kB
_PATIENCE = 30.0  # seconds


@dataclass(frozen=True)
class Stamp:
    """A stamp as it lies in its folder: ``at`` is the authority's time, None if unreadable.

    ``complaint`` says what is wrong with it; ``is_proved`` whether an authority's certificate that
    is known here was found to have signed it.
    """

    name: str
    heads: Heads
    at: datetime | None = None
    complaint: str = ""
    is_proved: bool = False


def text_of(heads: Heads) -> bytes:
    """Write the heads of chains as the text that is stamped: a heading, then a line a key."""
    lines = [f"{key} {number} {sha256}" for key, (number, sha256) in sorted(heads.items())]
    return "".join(f"{line}\n" for line in (_HEADER, *lines)).encode()


def heads_in(text: bytes) -> Heads:
    """Read the text that was stamped.

    Raises
    ------
    RecordError
        It is no such text.
    """
    header, *lines = text.decode("ascii", "replace").splitlines()[:10_000] or [""]
    found = [_HEAD.fullmatch(line) for line in lines]
    if header != _HEADER or not all(found):
        raise RecordError("Its text does not name the heads of chains.")
    return {one[1]: (int(one[2]), one[3]) for one in found if one}


def _need_library() -> None:
    """Make sure that stamps can be read at all.

    Raises
    ------
    RecordError
        The package for it is not installed: it comes with the desk, not with the phone.
    """
    if find_spec("rfc3161_client") is None:
        raise RecordError(
            "Time-stamps need the package rfc3161-client, which is not installed. Install Voltwalk "
            "anew with its part for the desk: pip install 'voltwalk[desk]'."
        )


# Asking for a stamp: the only thing here that needs the network.


def obtain(
    heads: Heads,
    authority: str,
    folder: Path,
    more_roots: Sequence[Certificate] = (),
    patience: float = _PATIENCE,
) -> Stamp:
    """Have an authority stamp the heads, and keep text and answer in a store's folder.

    Parameters
    ----------
    more_roots
        Authorities' certificates beside those that were taken in.
    patience : s
        How long to wait for the authority.

    Raises
    ------
    InputError
        The authority's address is none.
    RecordError
        It does not answer, refuses, or answers something else than was asked; nothing is kept.
    """
    _need_library()
    from rfc3161_client import TimestampRequestBuilder
    from rfc3161_client.base import HashAlgorithm

    text = text_of(heads)
    asked = TimestampRequestBuilder(text, HashAlgorithm.SHA256, nonce=True, cert_req=True).build()
    content = _answered(authority, asked.as_bytes(), patience)
    answer = _response(content)
    info = answer.tst_info
    if info.nonce != asked.nonce:
        raise RecordError(
            "The authority's answer is to another question than was asked (its nonce differs), so "
            "it was not kept. Try again; if it happens again, ask another authority."
        )
    known = _each_once((*roots(folder), *more_roots))
    complaint = _against_text(answer, text) or _against_authorities(answer, text, known)
    if complaint:
        raise RecordError(f"The authority's answer was not kept: {complaint}")
    at = info.gen_time.astimezone(UTC)
    (folder / FOLDER).mkdir(parents=True, exist_ok=True)
    name = f"{at:%Y%m%dT%H%M%SZ}-{hashlib.sha256(content).hexdigest()[:8]}"
    write_whole(folder / FOLDER / f"{name}{TEXT}", text)
    write_whole(folder / FOLDER / f"{name}{ANSWER}", content)
    return Stamp(name, heads, at, is_proved=bool(known))


def _answered(authority: str, question: bytes, patience: float) -> bytes:
    if not re.match(r"https?://[^/\s]", authority, re.IGNORECASE):
        raise InputError(
            f"'{authority}' is no address of a time-stamp authority: it begins with https:// or "
            "http://.",
            "authority",
        )
    headers = {"Content-Type": "application/timestamp-query"}
    try:
        request = urllib.request.Request(authority, question, headers)
        with urllib.request.urlopen(request, timeout=patience) as answer:
            content: bytes = answer.read(_LARGEST + 1)
    except urllib.error.HTTPError as error:
        raise RecordError(
            f"The authority at {authority} refused: it answered {error.code} {error.reason}. Check "
            "the address, or try again later."
        ) from error
    except TimeoutError as error:
        raise _silent(authority, f"no answer within {patience:g} seconds") from error
    except (OSError, ValueError) as error:  # URLError is an OSError; so is a lost connection
        reason = getattr(error, "reason", error)
        if isinstance(reason, TimeoutError):
            raise _silent(authority, f"no answer within {patience:g} seconds") from error
        raise _silent(authority, str(reason)) from error
    if len(content) > _LARGEST:
        raise RecordError(f"The answer from {authority} is far too large to be a time-stamp.")
    return content


def _silent(authority: str, why: str) -> RecordError:
    return RecordError(
        f"The authority at {authority} cannot be reached ({why}). Check the address and the "
        "network, then try again."
    )


def _response(content: bytes) -> TimeStampResponse:
    """Read an answer that grants a stamp.

    Raises
    ------
    RecordError
        It is none, or the authority refuses.
    """
    from rfc3161_client import decode_timestamp_response

    try:
        answer = decode_timestamp_response(_in_order(content))
        status, said = answer.status, "; ".join(answer.status_string)
    except ValueError as error:
        raise RecordError(
            "The authority's answer cannot be read as a time-stamp, so it was not kept. Check that "
            "the address is that of a time-stamp authority (RFC 3161), or ask another one."
        ) from error
    if status != 0:
        why = f": {said}" if said else ""
        raise RecordError(f"The authority refuses to stamp (status {status}{why}).")
    try:
        _ = answer.tst_info.gen_time
    except ValueError as error:
        raise RecordError("The authority's answer grants a stamp but holds none.") from error
    return answer


def _in_order(answer: bytes) -> bytes:
    """Return an answer with its certificates in the order of DER, which some authorities ignore.

    The library refuses them in any other order. They are not under the signature, and as a set
    (X.690, 11.6; RFC 5652, 5.1) their order says nothing. What is no answer comes back as it is.
    """
    try:
        _, token = _values(answer, *_inside(answer, 0))
        _, content = _values(answer, *_inside(answer, token[0]))
        ((signed, _),) = _values(answer, *_inside(answer, content[0]))
        for start, end in _values(answer, *_inside(answer, signed)):
            if answer[start] == _CERTIFICATES:
                first, _ = _inside(answer, start)
                each = sorted(answer[at:until] for at, until in _values(answer, first, end))
                return answer[:first] + b"".join(each) + answer[end:]
    except (ValueError, IndexError):
        return answer  # the library says what is wrong with it
    return answer


def _inside(content: bytes, start: int) -> tuple[int, int]:
    """Return where the inside of a DER value begins and ends (X.690, 8.1.3)."""
    length, first = content[start + 1], start + 2
    if length >= 128:
        first += length - 128
        length = int.from_bytes(content[start + 2 : first], "big")
    if first + length > len(content):
        raise ValueError("a value is longer than what is left")
    return first, first + length


def _values(content: bytes, start: int, end: int) -> list[tuple[int, int]]:
    """Return where each DER value between two places begins and ends."""
    found = []
    while start < end:
        found.append((start, _inside(content, start)[1]))
        start = found[-1][1]
    return found


# Checking, without the network.


def kept(folder: Path, more_roots: Sequence[Certificate] = ()) -> list[Stamp]:
    """Return every stamp in a store's folder as it stands, oldest first.

    Raises
    ------
    RecordError
        No stamp can be checked here, or the authorities' certificates cannot be read.
    """
    _need_library()
    known = _each_once((*roots(folder), *more_roots))
    answers = sorted((folder / FOLDER).glob(f"*{ANSWER}"))
    found = [_checked(path, known) for path in answers]
    return sorted(found, key=lambda stamp: stamp.at or datetime.max.replace(tzinfo=UTC))


def _checked(path: Path, known: Sequence[Certificate]) -> Stamp:
    heads: Heads = {}
    at = None
    try:
        text = path.with_suffix(TEXT).read_bytes()
        heads = heads_in(text)
        answer = _response(path.read_bytes())
        at = answer.tst_info.gen_time.astimezone(UTC)
        complaint = _against_text(answer, text) or _against_authorities(answer, text, known)
    except RecordError as error:
        complaint = str(error)
    except OSError as error:
        complaint = f"{error.filename or path} cannot be read ({error.strerror or error})."
    return Stamp(path.stem, heads, at, complaint, is_proved=bool(known) and not complaint)


def _against_text(answer: TimeStampResponse, text: bytes) -> str:
    imprint = answer.tst_info.message_imprint
    if imprint.message != hashlib.sha256(text).digest():
        return "It stamps another text than the one that is kept with it."
    return ""


def _against_authorities(
    answer: TimeStampResponse, text: bytes, known: Sequence[Certificate]
) -> str:
    from cryptography import x509
    from rfc3161_client import VerificationError, VerifierBuilder

    if not known:
        return ""
    try:
        VerifierBuilder(roots=list(known)).build().verify_message(answer, text)
    except (VerificationError, ValueError, x509.ExtensionNotFound) as error:
        return f"No authority whose certificate is known here signed it ({error})."
    return ""


def roots(folder: Path) -> list[Certificate]:
    """Return the authorities' certificates that were taken in, none at first.

    Raises
    ------
    RecordError
        Their file cannot be read.
    """
    path = folder / FOLDER / AUTHORITIES
    return certificates(path) if path.exists() else []


def _each_once(some: Iterable[Certificate]) -> list[Certificate]:
    return list(dict.fromkeys(some))


def certificates(file: Path) -> list[Certificate]:
    """Read an authority's certificates, PEM or DER.

    Raises
    ------
    RecordError
        There is none in the file.
    """
    from cryptography import x509

    try:
        content = file.read_bytes()
        if content.startswith(b"0"):  # a DER sequence; PEM is text
            return [x509.load_der_x509_certificate(content)]
        return x509.load_pem_x509_certificates(content)
    except OSError as error:
        raise RecordError(f"{file} cannot be read ({error.strerror or error}).") from error
    except ValueError as error:
        raise RecordError(
            f"{file} holds no certificate. Give the authority's certificate as PEM or DER."
        ) from error


def take_in(more: Sequence[Certificate], folder: Path) -> None:
    """Keep authorities' certificates, so that their stamps are proved without naming them again.

    Raises
    ------
    RecordError
        The file with those that were taken in before cannot be read.
    """
    from cryptography.hazmat.primitives.serialization import Encoding

    known = roots(folder)
    new = [one for one in more if one not in known]
    if new:
        (folder / FOLDER).mkdir(parents=True, exist_ok=True)
        pem = b"".join(one.public_bytes(Encoding.PEM) for one in (*known, *new))
        write_whole(folder / FOLDER / AUTHORITIES, pem)


# Which stamp covers a record.


def covering(stamps: Iterable[Stamp], key: str, record_sha256: str, chain: Chain) -> Stamp | None:
    """Return the oldest stamp of a chain at or after the event that signed a record, proved first.

    ``chain`` is asked for the events of ``key``. From the signing event to the stamped one each
    must be there and name the one before it, so that the stamp's digest could not be had without
    that event.
    """
    sound = [one for one in stamps if not one.complaint and key in one.heads]
    if not sound:
        return None
    reached: dict[int, str] = {}
    before = ""
    for event in chain(key):
        body = event["body"]
        signs = body.get("kind") == "job_signed" and body.get("record_sha256") == record_sha256
        if event["before"] == before if reached else signs:
            before = event_digest(event)
            reached[event["number"]] = before
    fitting = [one for one in sound if reached.get(one.heads[key][0]) == one.heads[key][1]]
    return next(iter(sorted(fitting, key=lambda one: not one.is_proved)), None)
