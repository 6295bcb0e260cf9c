"""Vehicles to and from another phone as one file: what goes, where it lies, what came. No Kivy.

:func:`send`, :func:`look`, :func:`look_at_stream` and :func:`receive` are slow and run off the
drawing thread; each opens a store of its own, because a store belongs to the thread that opened it.
"""

import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import astuple, dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, TYPE_CHECKING

from logic.errors import BundleError, RecordError
from logic.records.state import Clash
from logic.records.store.kept_files import BUNDLES
from logic.words.names import counted
from mobile.jobs.phone_store import open_store

if TYPE_CHECKING:
    from logic.records.bundle.importing import Imported
    from logic.records.store.exchange import Agreed
    from logic.records.store.store import Store

FOLDER = BUNDLES
ENDING = ".voltwalk"
# No registered type: a phone would add a second ending to a file declared a zip.
MIME_TYPE = "application/octet-stream"
LARGEST = 4_000_000_000  # bytes; assumed: far above what a workshop's photos come to

_TO_SETTLE = "clashes_that_came"
_INCOMING = "received"
_BLOCK = 1 << 20


class Progress:
    """How far the work is; written by the worker, read by the screen."""

    def __init__(self) -> None:
        self.done, self.total = 0, 0

    def tell(self, done: int, total: int) -> None:
        """Take note of how far it is."""
        self.done, self.total = done, total

    @property
    def part(self) -> float:
        """How far it is, from 0 to 1."""
        return min(1.0, self.done / self.total) if self.total else 0.0


@dataclass(frozen=True)
class Sent:
    """A file that is ready to be handed on, and what is in it in words."""

    path: Path
    words: str
    missing: str


def send(
    folder: Path, vehicle_id: str, with_customer: bool, now: datetime, progress: Progress
) -> Sent:
    """Write one vehicle, or with "" all of them, as one file in the store's folder.

    Raises
    ------
    RecordError
        It could not be written; says what to do.
    """
    from logic.records.bundle.exporting import export_bundle  # not on the start path

    with open_store(folder) as store:
        path = _path(store, vehicle_id, with_customer, now)
        _make_room(path)
        wanted = [vehicle_id] if vehicle_id else None
        done = export_bundle(store, path, wanted, with_customer, progress.tell)
    words = (
        f"{counted(done.vehicles, 'vehicle')}, {counted(done.sealed, 'signed record')}, "
        f"{counted(done.photos, 'photo')}; {path.stat().st_size / 1e6:.1f} MB."
    )
    gone = len(done.missing_photos)
    missing = f"{counted(gone, 'photo')} not in it: no longer on this phone." if gone else ""
    return Sent(path, words, missing)


@dataclass(frozen=True)
class Incoming:
    """A file that is to be taken in or left, and what it would bring."""

    path: Path
    would: "Imported"


def look(folder: Path, path: Path, progress: Progress) -> Incoming:
    """Say what a file would bring; nothing is taken in.

    Raises
    ------
    BundleError
        The file is refused, with the reason.
    """
    from logic.records.bundle.importing import look_at_bundle  # not on the start path

    with open_store(folder) as store:
        return Incoming(path, look_at_bundle(store, path, progress=progress.tell))


def look_at_stream(
    folder: Path, stream: IO[bytes], progress: Progress, largest: int = LARGEST
) -> Incoming:
    """Keep what another app hands over as a file, and look at it; as :func:`look`.

    Raises
    ------
    BundleError
        Also where the stream breaks off or does not end; nothing is kept.
    """
    copy = _received(folder)
    copy.parent.mkdir(parents=True, exist_ok=True)
    try:
        _copy(stream, copy, largest)
        return look(folder, copy, progress)
    except BaseException:
        copy.unlink(missing_ok=True)
        raise


def receive(
    folder: Path, path: Path, agreed: "Agreed", progress: Progress, looked_at: str = ""
) -> "Imported":
    """Take a file in; its clashes are remembered until they are settled.

    ``looked_at`` is the manifest's hash of the file that was looked at.

    Raises
    ------
    BundleError
        The file is refused, with the reason; nothing was changed.
    """
    from logic.records.bundle.importing import import_bundle  # not on the start path

    with open_store(folder) as store:
        came = import_bundle(store, path, progress.tell, agreed, looked_at)
        store.follow_erasures()
        if came.clashes:
            _remember(store, dict.fromkeys((*_remembered(store), *came.clashes)))
    leave(folder)
    return came


def leave(folder: Path) -> None:
    """Forget the file that another app handed over."""
    _received(folder).unlink(missing_ok=True)


def trust(folder: Path, public: str, name: str) -> None:
    """Take the key of another device for the workshop's.

    Raises
    ------
    RecordError
        It cannot be the key of another device.
    """
    with open_store(folder) as store:
        store.say_of_key(public, name, "trusted")


def _received(folder: Path) -> Path:
    return folder / FOLDER / f"{_INCOMING}{ENDING}"


def to_settle(store: "Store") -> tuple[Clash, ...]:
    """Return the clashes that came with a file and still stand; the settled are forgotten."""
    remembered = _remembered(store)
    standing = tuple(one for one in remembered if _stands(store, one))
    if len(standing) < len(remembered):
        _remember(store, standing)
    return standing


def _remembered(store: "Store") -> list[Clash]:
    return [Clash(*ids) for ids in store.setting(_TO_SETTLE, [])]


def _remember(store: "Store", clashes: Iterable[Clash]) -> None:
    store.set_setting(_TO_SETTLE, [astuple(clash) for clash in clashes])


def _stands(store: "Store", clash: Clash) -> bool:
    with suppress(RecordError):
        return clash.step_id in store.job(clash.job_id).clashes
    return False


def _path(store: "Store", vehicle_id: str, with_customer: bool, now: datetime) -> Path:
    subject = "all-vehicles"
    if vehicle_id:
        described = store.vehicle(vehicle_id).vehicle
        plate = described.registration if described else ""
        subject = re.sub(r"[^A-Za-z0-9]+", "-", plate).strip("-") or "vehicle"
    customer = "" if with_customer else " without customer"
    name = f"{subject} {now.astimezone():%Y-%m-%d %H%M}{customer}{ENDING}"
    return store.folder / FOLDER / name


def _make_room(path: Path) -> None:
    """Delete what was made of the same before, and what a dying phone left half written."""
    path.parent.mkdir(parents=True, exist_ok=True)
    subject = path.name.partition(" ")[0]
    for old in [*path.parent.glob(f"{subject} *"), *path.parent.glob("*.unfinished")]:
        old.unlink(missing_ok=True)


def _copy(stream: IO[bytes], target: Path, largest: int) -> None:
    size = 0
    try:
        with stream, target.open("wb") as copy:
            while block := stream.read(_BLOCK):
                size += len(block)
                if size > largest:
                    break
                copy.write(block)
    except OSError as error:
        raise BundleError(
            f"The file could not be fetched ({error.strerror or error}). Save it on this phone, "
            "then choose it again. Nothing was changed here."
        ) from error
    if size > largest:
        raise BundleError(
            f"The file is larger than {largest / 1e6:.0f} MB, which no real one is. "
            "Nothing was changed here."
        )
