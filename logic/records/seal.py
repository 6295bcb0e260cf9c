"""The seal on a record: canonical JSON, SHA-256, and the chain from revision to revision.

The seal shows that a record is what it was when it was sealed. Who sealed it is shown by the
device's signature under it; what was sealed by release 0.1.0 has none, and its hash is worth what
the copies are worth that were handed out (label, PDF, other phones). ``trust.md`` has the whole.

References
----------
RFC 8785, JSON Canonicalization Scheme (2020). FIPS 180-4, SHA-256.
"""

from __future__ import annotations

import hashlib
import secrets
from typing import Any

from logic.records.keys import DeviceKey, signature_is_good
from logic.records.record import ChainHead, Private, Record, SealedRecord, SealSignature


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


def seal(
    record: Record,
    private: Private,
    previous_sha256: str | None,
    key: DeviceKey | None = None,
    chain: ChainHead | None = None,
) -> SealedRecord:
    """Close a record: name the revision before it, bind its private part, hash it and sign it.

    ``chain`` is how far the device of ``key`` had come.
    """
    bound = record.model_copy(
        update={
            "previous_sha256": previous_sha256,
            "chain": chain,
            "private_sha256": digest(private.model_dump(mode="json")),
        }
    )
    # Through its own JSON, so that what is hashed is what a reader will parse.
    bound = Record.model_validate_json(bound.model_dump_json())
    data = bound.model_dump(mode="json")
    sha256 = digest(data)
    return SealedRecord(
        record=bound,
        private=private,
        sha256=sha256,
        parts=parts(data),
        signature=signed(sha256, key) if key else None,
    )


def signed_text(sha256: str) -> bytes:
    """Return what a device signs of a record: a heading, and the record's hash as a line."""
    return f"voltwalk-seal-1\n{sha256}\n".encode()


def signed(sha256: str, key: DeviceKey) -> SealSignature:
    """Sign a record's hash."""
    return SealSignature(key=key.public, signature=key.sign(signed_text(sha256)))


def is_signed(sha256: str, signature: SealSignature) -> bool:
    """Whether the signature was made under this very hash with the key that it names."""
    return signature_is_good(signature.key, signature.signature, signed_text(sha256))


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
