"""The seal on a record: canonical JSON, SHA-256, and the chain from revision to revision.

The seal shows that a record is what it was when it was sealed. It cannot show who made it:
whoever can rewrite the record and every copy of its hash (label, PDF, other phones) can make
a new one. So the hash is worth what the copies are worth that were handed out.

References
----------
RFC 8785, JSON Canonicalization Scheme (2020). FIPS 180-4, SHA-256.
"""

from __future__ import annotations

import hashlib
import secrets
from typing import Any

from logic.records.record import Private, Record, SealedRecord


def canonical(value: Any) -> bytes:
    """Write JSON data as its one canonical text (RFC 8785)."""
    import rfc8785

    return rfc8785.dumps(value)


def digest(value: Any) -> str:
    """Return the SHA-256 of JSON data's canonical text, in hexadecimal."""
    return hashlib.sha256(canonical(value)).hexdigest()


def fresh_salt() -> str:
    """Return a salt for :class:`~logic.records.record.Private`."""
    return secrets.token_hex(16)


def seal(record: Record, private: Private, previous_sha256: str | None) -> SealedRecord:
    """Close a record: name the revision before it, bind its private part, and hash it."""
    bound = record.model_copy(
        update={
            "previous_sha256": previous_sha256,
            "private_sha256": digest(private.model_dump(mode="json")),
        }
    )
    # Through its own JSON, so that what is hashed is what a reader will parse.
    bound = Record.model_validate_json(bound.model_dump_json())
    data = bound.model_dump(mode="json")
    return SealedRecord(record=bound, private=private, sha256=digest(data), parts=parts(data))


def parts(record: dict[str, Any]) -> dict[str, str]:
    """Return a short digest of each part of a record, to say later which part differs.

    Sixteen digits each: a help for the reader, no proof; the seal alone is that.
    """
    found: dict[str, str] = {}
    for name, value in record.items():
        if name == "steps":
            found |= {f"steps.{step['step_id']}": digest(step)[:16] for step in value}
        elif isinstance(value, dict):
            found |= {f"{name}.{key}": digest(part)[:16] for key, part in value.items()}
        else:
            found[name] = digest(value)[:16]
    return found
