"""An exchange file read without trusting it: is it a bundle of ours, and not a hostile file?"""

from __future__ import annotations

import hashlib
import json
import shutil
import struct
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile

from pydantic import ValidationError

from logic.case import first_complaint
from logic.errors import BundleError
from logic.records.bundle.manifest import (
    CUSTOMERS,
    EVENTS,
    KEYS,
    LARGEST_ENTRY,
    LARGEST_LINE,
    LARGEST_MANIFEST,
    LARGEST_RATIO,
    LARGEST_SIGNATURE,
    MANIFEST,
    MANIFEST_LINE,
    PHOTO,
    SEALED,
    SIGNATURE,
    SMALL,
    VERSION,
    Manifest,
    PackedFile,
    signed_text,
)
from logic.records.keys import signature_is_good
from logic.records.record import SealSignature
from logic.records.store import photos

_NAMES = (MANIFEST, SIGNATURE, KEYS, EVENTS, CUSTOMERS, SEALED)
_BLOCK = 1 << 20
_ENCRYPTED = 0x01 | 0x40
_UNCHANGED = "Nothing was changed here."
_AGAIN = f"Have it exported again. {_UNCHANGED}"

CountBytes = Callable[[int], None]


class BundleReader:
    """An opened bundle whose outside has been checked; its parts are checked while read.

    ``signer`` is the public key that signed it, "" for none.
    """

    def __init__(self, archive: ZipFile, size: int) -> None:
        self._archive = archive
        self._refuse_hostile(size)
        self.manifest, self.signer = self._read_manifest()
        self._parts = {part.name: part for part in self.manifest.parts}
        self._refuse_undeclared()
        self.total = sum(part.bytes for part in self.manifest.parts)

    @classmethod
    @contextmanager
    def open(cls, path: Path) -> Iterator[BundleReader]:
        """Open a file as a bundle.

        Raises
        ------
        BundleError
            It is none, or a hostile one; says why. So do all readings from it.
        """
        try:
            with ZipFile(path) as archive:
                yield cls(archive, path.stat().st_size)
        except (FileNotFoundError, IsADirectoryError, PermissionError) as error:
            if error.filename != str(path):
                raise
            why = error.strerror or error
            raise BundleError(f"{path} cannot be read ({why}). Choose the bundle again.") from error
        except _UNREADABLE as error:
            raise BundleError(f"{path.name} is damaged or no bundle ({error}). {_AGAIN}") from error

    def lines(self, name: str, count: CountBytes) -> Iterator[bytes]:
        """Yield a part's lines; the last one is followed by the check of its hash.

        ``count`` is called with the bytes of each line as it is read. A bundle of version 1 has
        no statements about keys.
        """
        if name not in self._parts:
            return
        part = self._parts[name]
        seen = hashlib.sha256()
        with self._archive.open(name) as file:
            longest = LARGEST_LINE if name == SEALED else LARGEST_ENTRY
            while line := file.readline(longest):
                if len(line) >= longest:
                    raise BundleError(f"{name} holds a line without end. {_UNCHANGED}")
                seen.update(line)
                count(len(line))
                yield line
        _refuse_other(part, seen.hexdigest())

    def photos(self) -> list[PackedFile]:
        """Return the photos in it."""
        return [part for part in self.manifest.parts if PHOTO.fullmatch(part.name)]

    def save_photo(self, part: PackedFile, target: Path, count: CountBytes) -> None:
        """Copy a photo out, checked against its hash; ``count`` as for :meth:`lines`."""
        seen = hashlib.sha256()
        with self._archive.open(part.name) as file, target.open("wb") as out:
            while block := file.read(_BLOCK):
                seen.update(block)
                out.write(block)
                count(len(block))
        _refuse_other(part, seen.hexdigest())

    def _refuse_hostile(self, size: int) -> None:
        entries = self._archive.infolist()
        names = [entry.filename for entry in entries]
        for name in names:
            if name not in _NAMES and not PHOTO.fullmatch(name):
                raise BundleError(f"{name[:80]!r} has no business in a bundle. {_UNCHANGED}")
        if len(set(names)) != len(names):
            raise BundleError(f"A part stands twice in the bundle. {_UNCHANGED}")
        if any(entry.compress_type not in (ZIP_STORED, ZIP_DEFLATED) for entry in entries):
            raise BundleError(f"It is packed in a way that bundles never are. {_UNCHANGED}")
        if any(entry.flag_bits & _ENCRYPTED for entry in entries):
            raise BundleError(f"It is encrypted, which bundles never are. {_AGAIN}")
        unpacked = sum(entry.file_size for entry in entries)
        if unpacked > SMALL and unpacked > LARGEST_RATIO * size:
            raise BundleError(
                f"It would swell from {size / 1e6:.1f} MB to {unpacked / 1e6:.0f} MB: no real "
                f"bundle does. {_UNCHANGED}"
            )

    def _read_manifest(self) -> tuple[Manifest, str]:
        try:
            entry = self._archive.getinfo(MANIFEST)
        except KeyError as error:
            raise BundleError(f"It holds no {MANIFEST}, so it is no bundle. {_AGAIN}") from error
        # So much for each part that is there: a long list of nothing would swell in memory.
        if entry.file_size > LARGEST_MANIFEST + MANIFEST_LINE * len(self._archive.infolist()):
            raise BundleError(f"Its {MANIFEST} is far too large. {_UNCHANGED}")
        text = self._archive.read(MANIFEST)
        self.manifest_sha256 = hashlib.sha256(text).hexdigest()
        _refuse_other_version(text)
        try:
            manifest = Manifest.model_validate_json(text)
        except ValidationError as error:
            raise BundleError(f"{MANIFEST}: {first_complaint(error)} {_UNCHANGED}") from error
        return manifest, "" if manifest.version == 1 else self._checked_signer(text)

    def _checked_signer(self, manifest: bytes) -> str:
        """Return the key that signed the manifest, and so every part that it names."""
        try:
            entry = self._archive.getinfo(SIGNATURE)
        except KeyError as error:
            raise BundleError(f"Its signature was taken out. {_AGAIN}") from error
        if entry.file_size > LARGEST_SIGNATURE:
            raise BundleError(f"Its {SIGNATURE} is far too large. {_UNCHANGED}")
        try:
            signed = SealSignature.model_validate_json(self._archive.read(SIGNATURE))
        except ValidationError as error:
            raise BundleError(f"{SIGNATURE}: {first_complaint(error)} {_UNCHANGED}") from error
        if not signature_is_good(signed.key, signed.signature, signed_text(manifest)):
            raise BundleError(f"It was changed after it was signed. {_AGAIN}")
        return signed.key

    def _refuse_undeclared(self) -> None:
        present = {entry.filename: entry.file_size for entry in self._archive.infolist()}
        present.pop(MANIFEST)
        needed = {EVENTS, CUSTOMERS, SEALED}
        if self.manifest.version > 1:
            present.pop(SIGNATURE)
            needed.add(KEYS)
        declared = {part.name: part.bytes for part in self.manifest.parts}
        if present != declared or not needed <= declared.keys():
            raise BundleError(f"Its parts are not those that {MANIFEST} names. {_AGAIN}")
        for part in self.photos():
            if part.bytes > photos.LARGEST or part.name != f"photos/{part.sha256}":
                raise BundleError(f"{part.name} cannot be a photo. {_UNCHANGED}")


# What zipfile and zlib raise on damaged or hand-made files.
_UNREADABLE = (
    BadZipFile,
    EOFError,
    NotImplementedError,
    UnicodeDecodeError,
    struct.error,
    zlib.error,
)


def refuse_without_space(folder: Path, needed: int) -> None:
    """Refuse what would fill the storage: twice its size is wanted while it is taken in."""
    free = shutil.disk_usage(folder).free
    if free < 2 * needed:
        raise BundleError(
            f"The bundle needs {2 * needed / 1e6:.0f} MB of storage and {free / 1e6:.0f} MB are "
            f"free. Free some space and import it again. {_UNCHANGED}"
        )


def _refuse_other(part: PackedFile, sha256: str) -> None:
    if sha256 != part.sha256:
        raise BundleError(f"{part.name} is not what was packed: its hash differs. {_AGAIN}")


def _refuse_other_version(text: bytes) -> None:
    try:
        stated = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BundleError(f"Its {MANIFEST} cannot be read ({error}). {_AGAIN}") from error
    version = stated.get("version") if isinstance(stated, dict) else None
    if isinstance(version, int) and not 1 <= version <= VERSION:
        raise BundleError(
            f"It is a bundle of version {version}, this app reads versions 1 to {VERSION}. "
            f"{'Update this app' if version > VERSION else 'Export it again'}. {_UNCHANGED}"
        )
