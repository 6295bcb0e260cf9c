"""Is a signed record what was signed, and if not, what is different?

The check works on the JSON text itself and not on our own reading of it, so that a record
stays verifiable by any later version and by anybody with a JSON and a SHA-256 library.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from pydantic import ValidationError

from logic.case import first_complaint
from logic.errors import BrokenSealError
from logic.records.keys import key_id
from logic.records.record import SealedRecord, SealSignature
from logic.records.seal import canonical, is_signed, parts

LARGEST = 64_000_000  # bytes; assumed: a record without its photos is well under 1 MB
_MOST_VALUES = 200_000  # assumed: five times those of two signatures drawn without lifting a finger
_ON_TOP = frozenset({"record", "private", "sha256", "parts", "signature"})
_NOT_ONE = "This is not a signed record"
_NO_PARTS = (ValueError, KeyError, TypeError, RecursionError)  # of what is no record of ours


@dataclass(frozen=True)
class SealCheck:
    """The answer: ``intact``, or ``complaints`` that say what is different.

    ``remarks`` say what could not be checked. ``sealed`` is the record, where it could be read;
    ``text`` its canonical JSON, which is what was hashed. ``pages_not_compared`` says of a print
    whose record is intact why its pages could not be held against it, ``left_out`` what they do
    not show although it is at hand.
    """

    sha256: str
    text: bytes
    complaints: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    sealed: SealedRecord | None = None
    signature: SealSignature | None = None
    pages_not_compared: str = ""
    left_out: tuple[str, ...] = ()

    @property
    def intact(self) -> bool:
        """Whether everything that could be checked is what was signed."""
        return not self.complaints


def check(
    file: bytes | SealedRecord, known_sha256: str = "", original: SealedRecord | None = None
) -> SealCheck:
    """Check a record, as a file's bytes or as an object, against its own seal.

    ``known_sha256`` is the hash from a label, a PDF's print or another phone; ``original`` a
    copy that is trusted: with it the answer names every value that differs.

    Raises
    ------
    BrokenSealError
        There is no record in it that could be checked at all.
    """
    data = strict_json(file.model_dump_json().encode() if isinstance(file, SealedRecord) else file)
    record, private, stated = _record_private_and_seal(data)
    text = _canonical(record)
    computed = sha256(text).hexdigest()
    complaints = [
        *_against_seal(data, record, computed, stated),
        *_against_private(record, private),
        *_beside_the_record(data, stated == computed),
    ]
    signature, unsigned = _signature(data.get("signature"), record.get("chain"), computed)
    complaints += unsigned
    if known_sha256 and known_sha256.lower() != computed:
        complaints.append(f"Its hash is {computed}, but {known_sha256.lower()} was expected.")
    if original is not None:
        complaints += differences(original.record.model_dump(mode="json"), record)
    sealed, unread = _as_object(data)
    remarks = [unread] if unread else []
    if private is None:
        remarks.append("Names and signatures were left out or erased, so they were not checked.")
    return SealCheck(computed, text, tuple(complaints), tuple(remarks), sealed, signature)


def chain_complaints(revisions: Sequence[SealedRecord]) -> tuple[str, ...]:
    """Check that a job's revisions are all there, each once, and each names the one before it."""
    by_number: dict[int, list[SealedRecord]] = {}
    for sealed in revisions:
        by_number.setdefault(sealed.record.revision, []).append(sealed)
    complaints = []
    before: list[SealedRecord] = []
    due = 1
    for number, found in sorted(by_number.items()):
        if number == due + 1:
            complaints.append(f"Revision {due} is missing.")
        elif number > due:
            complaints.append(f"Revisions {due} to {number - 1} are missing.")
        if len(found) > 1:
            complaints.append(
                f"Revision {number} was signed on two devices that did not know of each other, or "
                "one of its records was made up later."
            )
        named = {sealed.record.previous_sha256 for sealed in found}
        there = {None} if number == 1 else {sealed.sha256 for sealed in before}
        if number == due and not named <= there:
            complaints.append(f"Revision {number} does not name the one before it.")
        before, due = found, number + 1
    return tuple(complaints)


def differences(one: Any, other: Any, path: str = "") -> list[str]:
    """Name each value in which two records differ: what it was and what it is now."""
    if isinstance(one, dict) and isinstance(other, dict):
        names = {**one, **other}
        inner = [(f"{path}.{name}", one.get(name, _NONE), other.get(name, _NONE)) for name in names]
    elif isinstance(one, list) and isinstance(other, list):
        longest = range(max(len(one), len(other)))
        inner = [(f"{path}[{n}]", _item(one, n), _item(other, n)) for n in longest]
    elif one == other and isinstance(one, bool) == isinstance(other, bool):
        return []
    else:
        return [f"{path.lstrip('.')} was {_shown(one)} and is {_shown(other)}."]
    return [text for name, was, now in inner for text in differences(was, now, name)]


def strict_json(text: bytes) -> Any:
    """Read JSON that has one meaning only: no repeated names, no NaN, no endless nesting.

    It is UTF-8 (RFC 8259, 8.1): in another encoding the same bytes may be something else as well.

    Raises
    ------
    BrokenSealError
        Says what is wrong with the text.
    """
    if len(text) > LARGEST:
        raise BrokenSealError(f"{_NOT_ONE}: it is far too large ({len(text) / 1e6:.0f} MB).")
    refuse_too_many_values(text)
    try:
        plain = text.decode("utf-8-sig")
        return json.loads(plain, object_pairs_hook=_once, parse_constant=_never)
    except UnicodeDecodeError as error:
        raise BrokenSealError(
            f"{_NOT_ONE}: it is no text in UTF-8. Choose the .json file as it was written."
        ) from error
    except RecursionError as error:
        raise BrokenSealError(f"{_NOT_ONE}: it is nested without end.") from error
    except ValueError as error:
        raise BrokenSealError(
            f"{_NOT_ONE}: it is no proper JSON ({error}). Get the file again from where it came."
        ) from error


def refuse_too_many_values(text: bytes) -> None:
    """Refuse JSON of far too many values before it is read: each takes a hundred bytes or more.

    What stands between values is counted; in a text such a sign counts as well.

    Raises
    ------
    BrokenSealError
        There are more than any record of ours has.
    """
    if sum(text.count(sign) for sign in (b",", b"[", b"{", b":")) > _MOST_VALUES:
        raise BrokenSealError(f"{_NOT_ONE}: it has far too many values in it.")


_NONE = object()


def _item(items: list[Any], number: int) -> Any:
    return items[number] if number < len(items) else _NONE


def _shown(value: Any) -> str:
    if value is _NONE:
        return "absent"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 80 else f"{text[:77]}…"


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name stands twice in one object")
    return found


def _never(constant: str) -> Any:
    raise ValueError(f"{constant} is no JSON number")


def _record_private_and_seal(data: Any) -> tuple[dict[str, Any], dict[str, Any] | None, str]:
    if not isinstance(data, dict) or not isinstance(data.get("record"), dict):
        raise BrokenSealError(f"{_NOT_ONE}: it has no part named 'record'.")
    record, private, stated = data["record"], data.get("private"), data.get("sha256")
    if record.get("kind") != "voltwalk-record":
        raise BrokenSealError(f"{_NOT_ONE}: its kind is {_shown(record.get('kind'))}.")
    if not isinstance(stated, str) or not isinstance(private, dict | None):
        raise BrokenSealError(f"{_NOT_ONE}: its seal is missing or of the wrong form.")
    return record, private, stated


def _canonical(value: Any) -> bytes:
    try:
        return canonical(value)
    except (ValueError, RecursionError) as error:
        raise BrokenSealError(
            f"{_NOT_ONE}: it cannot be put in canonical form ({error})."
        ) from error


def _against_seal(
    data: dict[str, Any], record: dict[str, Any], computed: str, stated: str
) -> Iterator[str]:
    if computed == stated:
        return
    changed = list(_changed_parts(data.get("parts"), record))
    yield from changed
    if not changed:
        yield (
            "The record and its hash do not belong together. What was changed cannot be told "
            "from this file alone: compare it with another copy."
        )


def _changed_parts(stated: Any, record: dict[str, Any]) -> Iterator[str]:
    if not isinstance(stated, dict) or not stated:
        return
    try:
        present = parts(record)
    except _NO_PARTS:
        return
    for name in {**stated, **present}:
        if name not in present:
            yield f"{_part(name)} was taken out after signing."
        elif name not in stated:
            yield f"{_part(name)} was put in after signing."
        elif stated[name] != present[name]:
            yield f"{_part(name)} was changed after signing; it now says {_value(record, name)}."


def _beside_the_record(data: dict[str, Any], fits: bool) -> Iterator[str]:
    """Name what no hash covers and no record has: it could show a reader something else."""
    for name in sorted(data.keys() - _ON_TOP):
        yield f"It has a part named {_shown(name)}, which no signed record has."
    stated, record = data.get("parts"), data["record"]
    if not stated or not fits:
        return  # where the hash does not fit, they name what was changed
    try:
        present = parts(record)
    except _NO_PARTS:
        present = {}
    if stated != present:
        yield "The short digests of its parts were changed: no hash covers them, only the record."


def _part(name: str) -> str:
    section, _, rest = name.partition(".")
    return f"Step {rest}" if section == "steps" else name


def _value(record: dict[str, Any], name: str) -> str:
    section, _, rest = name.partition(".")
    if section == "steps":
        steps = [step for step in record["steps"] if step["step_id"] == rest]
        return _shown(steps[-1].get("text") or steps[-1])
    return _shown(record[section][rest] if rest else record[section])


def _against_private(record: dict[str, Any], private: dict[str, Any] | None) -> Iterator[str]:
    if private is not None and sha256(_canonical(private)).hexdigest() != record.get(
        "private_sha256"
    ):
        yield "The customer's name or a signature is not the one that was signed with."


def _signature(
    stated: Any, chain: Any, sha256: str
) -> tuple[SealSignature | None, tuple[str, ...]]:
    """Return the good signature under a record, and what is wrong where there is none."""
    if stated is None:
        if chain is None:
            return None, ()
        return None, (
            "Its signature was taken out: the record says that a device's key signed it.",
        )
    try:
        signature = SealSignature.model_validate(stated)
    except ValidationError:
        return None, ("Its signature is none: it is of the wrong form.",)
    if not is_signed(sha256, signature):
        return None, (
            f"The signature was not made under this record with the key {key_id(signature.key)} "
            "that it names.",
        )
    if isinstance(chain, dict) and chain.get("key") != signature.key:
        return None, ("It is signed with another key than the record names.",)
    return signature, ()


def _as_object(data: dict[str, Any]) -> tuple[SealedRecord | None, str]:
    try:
        return SealedRecord.model_validate_json(json.dumps(data)), ""
    except (ValidationError, ValueError) as error:
        why = first_complaint(error) if isinstance(error, ValidationError) else str(error)
        return None, f"The record can be checked but not shown by this version: {why}"
