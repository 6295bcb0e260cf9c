"""A device's own key, and whether a signature was made with the key that it names.

Each device signs with an Ed25519 key of its own: every event it writes down, every seal, every
exchange file. A signature proves that whoever made it had that device's key, and that not one
character was changed since. It does not prove who held the phone, nor what the clock said.

The secret half lies in ``device.key`` beside the store, readable by the app alone and wrapped by
the phone's key store where there is one. It goes into no backup and no exchange file: a phone
that is lost or restored gets a new key, which another device of the workshop vouches for.

References
----------
RFC 8032, EdDSA (2017): Ed25519.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from logic.errors import RecordError
from logic.records.files import sync_folder

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

KEY_FILE = "device.key"
RENEW = "device.key.renew"
"""Lies beside a store that was set back: its key has signed what is no longer here."""
RETIRED = "device.key.retired"
ID_DIGITS = 16
SHOWN_DIGITS = 32
"""As many digits of a fingerprint as two people compare: 128 bits."""


class Wrapping(Protocol):
    """The phone's own key store: what it wraps can be opened on this phone alone.

    Where the key store refuses both raise ``AppError``. A ``RecordError`` of ``unwrap`` says that
    the secret never opens here again: then the key is set aside and a new one made.
    """

    def wrap(self, secret: bytes) -> bytes:
        """Return the secret in a form that only :meth:`unwrap` on this phone opens."""

    def unwrap(self, wrapped: bytes) -> bytes:
        """Return the secret that was wrapped."""


@dataclass(frozen=True)
class DeviceKey:
    """An Ed25519 key pair; ``public`` is the public half, 64 hexadecimal digits."""

    public: str
    secret: bytes

    def __repr__(self) -> str:
        """Leave the secret out: this may stand in a trouble report."""
        return f"DeviceKey({self.public})"

    @classmethod
    def fresh(cls) -> DeviceKey:
        """Return a new key."""
        return cls.of(secrets.token_bytes(32))

    @classmethod
    def of(cls, secret: bytes) -> DeviceKey:
        """Return the key of a secret of 32 bytes."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        private = Ed25519PrivateKey.from_private_bytes(secret)
        return cls(private.public_key().public_bytes_raw().hex(), secret)

    @property
    def key_id(self) -> str:
        """The key's short name; see :func:`key_id`."""
        return key_id(self.public)

    def sign(self, text: bytes) -> str:
        """Return the signature under a text, 128 hexadecimal digits."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return Ed25519PrivateKey.from_private_bytes(self.secret).sign(text).hex()


def key_id(public: str) -> str:
    """Name a public key in 16 digits: to find it by, never to trust it by."""
    return fingerprint(public)[:ID_DIGITS]


def fingerprint(public: str) -> str:
    """Return the SHA-256 of a public key's 32 bytes, in hexadecimal."""
    return hashlib.sha256(bytes.fromhex(public)).hexdigest()


def shown(public: str) -> str:
    """Write what two people compare of a key: 32 digits of its fingerprint, four by four."""
    digits = fingerprint(public)[:SHOWN_DIGITS]
    return " ".join(digits[at : at + 4] for at in range(0, SHOWN_DIGITS, 4))


def is_weak(public: str) -> bool:
    """Whether a public key is a point of small order, for which anybody can make signatures.

    References
    ----------
    RFC 8032, 5.1.7: a check without the cofactor takes such keys as they come. The points' y
    coordinates: value from memory, proved by the test.
    """
    y = int.from_bytes(bytes.fromhex(public), "little") & (2**255 - 1)
    return y % _P in _SMALL_ORDER


_P = 2**255 - 19
_EIGHTH = 0x05FC536D880238B13933C6D305ACDFD5F098EFF289F4C345B027B2C28F95E826
_SMALL_ORDER = (0, 1, _P - 1, _EIGHTH, _P - _EIGHTH)


def signature_is_good(public: str, signature: str, text: bytes) -> bool:
    """Whether a signature was made under this very text with the secret of this public key."""
    from cryptography.exceptions import InvalidSignature

    try:
        if is_weak(public):
            return False
        _public_key(public).verify(bytes.fromhex(signature), text)
    except (InvalidSignature, ValueError):
        return False
    return True


@lru_cache(maxsize=64)
def _public_key(public: str) -> Ed25519PublicKey:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    return Ed25519PublicKey.from_public_bytes(bytes.fromhex(public))


def ask_for_new_key(folder: Path) -> None:
    """Have this device sign with a new key from now on, for which its present one vouches.

    After a store was set back to an older copy: the numbers that its key would go on from are
    taken already, in what other devices have.
    """
    (folder / RENEW).touch()


def retired_key(folder: Path, wrapping: Wrapping | None = None) -> DeviceKey | None:
    """Take the present key out of use where a new one was asked for.

    Returns the key that was taken out of use last and has not vouched for its successor yet; once
    it has, call :func:`forget_retired`.

    Raises
    ------
    RecordError
        The files cannot be written.
    """
    path, retired = folder / KEY_FILE, folder / RETIRED
    try:
        if (folder / RENEW).exists():
            if path.exists():
                path.replace(retired)
            (folder / RENEW).unlink()
        return _read(retired, wrapping) if retired.exists() else None
    except (ValueError, KeyError, TypeError, RecordError):
        return None  # it cannot vouch for anybody any more
    except OSError as error:
        raise _unusable(path, error) from error


def forget_retired(folder: Path) -> None:
    """Delete the key that was taken out of use: its successor is vouched for."""
    with suppress(OSError):
        (folder / RETIRED).unlink(missing_ok=True)


def own_key(folder: Path, wrapping: Wrapping | None = None) -> tuple[DeviceKey, str]:
    """Return this device's key, made when first asked for, and a notice in words ("" for none).

    A key file that cannot be used is set aside under another name and a new key made.

    Raises
    ------
    RecordError
        The file cannot be read or written; says what to do.
    """
    path = folder / KEY_FILE
    notice = ""
    try:
        if path.exists():
            try:
                return _read(path, wrapping), ""
            except (ValueError, KeyError, TypeError, RecordError) as error:
                aside = path.with_name(f"{KEY_FILE}.set-aside-{datetime.now(UTC):%Y%m%d%H%M%S}")
                path.replace(aside)
                notice = (
                    f"This phone's signing key could not be used ({error}). A new one was made: "
                    "have another phone of the workshop, or the desk, vouch for it under 'Keys of "
                    "the workshop'."
                )
        return _written(path, wrapping), notice
    except OSError as error:
        raise _unusable(path, error) from error


def _unusable(path: Path, error: OSError) -> RecordError:
    if isinstance(error, PermissionError):
        return RecordError(
            "The records may not be written here, so this was not saved. Give the app leave to "
            f"read and write {error.filename or path}."
        )
    return RecordError(
        f"This phone's signing key at {path} cannot be used ({error.strerror or error}). Check "
        "that there is space and that the app may write there, then try again."
    )


def _read(path: Path, wrapping: Wrapping | None) -> DeviceKey:
    stated = json.loads(path.read_text(encoding="ascii"))
    secret = bytes.fromhex(stated["secret"])
    if stated["wrapped"]:
        if wrapping is None:
            raise ValueError("it was wrapped by a phone's key store, and there is none here")
        secret = wrapping.unwrap(secret)
    key = DeviceKey.of(secret)
    if key.public != stated["public"]:
        raise ValueError("its two halves do not belong together")
    return key


def _written(path: Path, wrapping: Wrapping | None) -> DeviceKey:
    """Make a key; where another process of the app was faster, return the key that it made."""
    key = DeviceKey.fresh()
    kept = wrapping.wrap(key.secret) if wrapping else key.secret
    text = json.dumps({"public": key.public, "wrapped": bool(wrapping), "secret": kept.hex()})
    unfinished = path.with_name(f".{KEY_FILE}.{secrets.token_hex(4)}.unfinished")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL
    with os.fdopen(os.open(unfinished, flags, 0o600), "w", encoding="ascii") as file:
        file.write(text + "\n")
        file.flush()
        os.fsync(file.fileno())
    try:
        # A link never replaces a file that is there; some card file systems have no links.
        try:
            os.link(unfinished, path)
        except FileExistsError:
            return _read(path, wrapping)
        except (OSError, AttributeError):
            unfinished.replace(path)
        sync_folder(path.parent)
        return key
    finally:
        unfinished.unlink(missing_ok=True)
