"""An exchange file taken into a store: all that proves itself, in any order, any number of times.

:func:`look_at_bundle` says beforehand what :func:`import_bundle` would do.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from shutil import rmtree
from typing import Literal

from logic.errors import BundleError
from logic.records.bundle.manifest import CUSTOMERS, EVENTS, KEYS, SEALED
from logic.records.bundle.reader import BundleReader, refuse_without_space
from logic.records.files import sync_folder
from logic.records.keys import key_id
from logic.records.state import Clash
from logic.records.store import photos
from logic.records.store.backup import Progress
from logic.records.store.database import errors_in_words
from logic.records.store.exchange import NOTHING_AGREED, Agreed, Merge, Refused
from logic.records.store.held_back import WORDS, Why
from logic.records.store.store import Store
from logic.records.trusted_keys import Offer, WorkshopKey
from logic.words.names import counted

Ask = Literal["withdrawals", "keys", "erasure", "date", "key"]
"""What is asked for by itself: see :class:`logic.records.store.exchange.Agreed`."""

_INCOMING = ".incoming-"
_UNCHANGED = "Nothing was changed here."


@dataclass(frozen=True)
class Signer:
    """Who signed something that came: a public key, "" for none, and its name if it is ours."""

    public: str
    name: str = ""
    is_ours: bool = False

    @property
    def words(self) -> str:
        """Say it in words."""
        if not self.public:
            return "no key (made before 0.2)"
        if self.is_ours:
            return self.name or f"a phone of ours ({key_id(self.public)})"
        return f"a key not known here ({key_id(self.public)})"


@dataclass(frozen=True)
class Imported:
    """What an import brought that was not here before.

    ``vehicles`` counts all that are in the file, ``known_events`` its entries that were here
    already; the tuples of vehicles name those that are new here, known ones with new entries, and
    those whose customer it erases. ``reopened`` are the signed jobs that it opens again,
    ``device`` what the sender calls itself, ``signers`` who signed the new entries and how many,
    ``new_keys`` what this device now says of other keys, ``open_offers`` what it could say,
    ``held`` by reason how many lines were kept aside, ``manifest`` the hash of what the file says
    of itself.
    """

    vehicles: int
    events: int
    sealed: int
    photos: int
    clashes: tuple[Clash, ...]
    known_events: int = 0
    private: int = 0
    manifest: str = ""
    new_vehicles: tuple[str, ...] = ()
    grown_vehicles: tuple[str, ...] = ()
    erased: tuple[str, ...] = ()
    reopened: tuple[str, ...] = ()
    device: str = ""
    sender: Signer = field(default_factory=lambda: Signer(""))
    signers: tuple[tuple[Signer, int], ...] = ()
    new_keys: tuple[Offer, ...] = ()
    open_offers: tuple[Offer, ...] = ()
    held: dict[Why, int] = field(default_factory=dict)
    refused: tuple[Refused, ...] = ()
    count_refused: int = 0
    repeated_numbers: int = 0

    @property
    def brought_nothing(self) -> bool:
        """Whether nothing in the file was taken in that was not here already."""
        return not (self.events or self.sealed or self.photos or self.private or self.new_keys)

    @property
    def needs_asking(self) -> tuple[Ask, ...]:
        """What more is taken in where the technician agrees to it."""
        possible: dict[Ask, bool] = {
            "withdrawals": any(offer.standing == "withdrawn" for offer in self.open_offers),
            "keys": any(offer.standing == "trusted" for offer in self.open_offers),
            "erasure": "erasure" in self.held,
            "date": "date" in self.held,
            "key": "key" in self.held and not self.sender.public,
        }
        return tuple(ask for ask, is_so in possible.items() if is_so)

    @property
    def summary(self) -> str:
        """Say it in words."""
        return " ".join(self.sentences)

    @property
    def sentences(self) -> tuple[str, ...]:
        """Say it in words, a sentence each."""
        found = []
        if not self.brought_nothing:
            found.append(
                f"New here: {counted(self.events, 'entry', 'entries')} of "
                f"{counted(self.vehicles, 'vehicle')}, "
                f"{counted(self.sealed, 'signed record')}, "
                f"{counted(self.photos, 'photo')}."
            )
        elif not (self.held or self.count_refused):
            found.append("Everything in it was here already.")
        if self.clashes:
            found.append(
                f"Answered differently on two devices: "
                f"{counted(len(self.clashes), 'step')}. Both answers are kept; open the "
                "job to choose."
            )
        return (*found, *self.remarks)

    @property
    def remarks(self) -> tuple[str, ...]:
        """Say what was kept aside or refused, and whose keys came."""
        found = []
        for offer in self.new_keys:
            what = "Believed from now on" if offer.standing == "trusted" else "Believed no more"
            found.append(f"{what}: the key of {offer.name or offer.shown}.")
        for why, count in sorted(self.held.items()):
            found.append(f"Kept aside, {counted(count, 'line')}: {WORDS[why]}.")
        if self.count_refused:
            first = self.refused[0].text.rstrip(".")
            found.append(
                f"Refused, {counted(self.count_refused, 'line')} that cannot be right "
                f"(the first: {first}). All else was looked at."
            )
        if self.repeated_numbers:
            found.append(
                "A device has numbered two entries alike: it was set back to an older copy, or its "
                "key is used on two devices. Look through the vehicle's latest entries."
            )
        return tuple(found)


def look_at_bundle(
    store: Store,
    path: Path,
    agreed: Agreed = NOTHING_AGREED,
    progress: Progress | None = None,
) -> Imported:
    """Say what :func:`import_bundle` would bring, and change nothing.

    Raises
    ------
    BundleError
        The file would be refused, with the reason.
    """
    with errors_in_words(store.folder), BundleReader.open(path) as bundle:
        counter = _Counter(bundle.total, progress)
        merge = store.look_at(agreed, bundle.signer, lambda merge: _merge(bundle, merge, counter))
        new_photos = sum(
            photos.path_of(store.photo_folder, sha256) is None
            for sha256 in merge.wanted_photos & {part.sha256 for part in bundle.photos()}
        )
    return _imported(store, merge, bundle, new_photos, ())


def import_bundle(
    store: Store,
    path: Path,
    progress: Progress | None = None,
    agreed: Agreed = NOTHING_AGREED,
    looked_at: str = "",
) -> Imported:
    """Merge another device's file; the order and number of imports make no difference.

    ``progress`` is called with the bytes done and all bytes. What does not prove itself is kept
    aside or refused, line by line; ``agreed`` is what the technician agreed to beyond that, for
    the file whose ``manifest`` hash was ``looked_at``.

    Raises
    ------
    BundleError
        The file is refused, with the reason; nothing was changed.
    RecordError
        The store could not be written; nothing was changed.
    """
    with (
        errors_in_words(store.folder),
        BundleReader.open(path) as bundle,
        _staging(store.photo_folder) as staging,
    ):
        if looked_at and looked_at != bundle.manifest_sha256:
            raise BundleError(f"It is no longer the file that was looked at. {_UNCHANGED}")
        refuse_without_space(staging, bundle.total)
        counter = _Counter(bundle.total, progress)
        staged = _stage_photos(bundle, store.photo_folder, staging, counter)
        incoming: list[Path] = []
        with (
            _taken_back_if_it_fails(incoming, store.photo_folder),
            store.merging(agreed, bundle.signer) as merge,
        ):
            _merge(bundle, merge, counter)
            merge.finish()
            _refuse_if_nothing_proves_itself(merge, bundle.signer)
            for sha256 in merge.wanted_photos & staged.keys():
                # Among the others before the events that name them are there to be seen.
                photo = staged[sha256]
                incoming.append(photo.replace(store.photo_folder / photo.name))
            sync_folder(store.photo_folder)
    shared = merge.vehicles & merge.known_vehicles if merge.new_events else set()
    clashes = tuple(_clashes(store, shared))
    return _imported(store, merge, bundle, len(incoming), clashes)


def _imported(
    store: Store,
    merge: Merge,
    bundle: BundleReader,
    new_photos: int,
    clashes: tuple[Clash, ...],
) -> Imported:
    keys = merge.workshop_keys
    return Imported(
        vehicles=len(merge.vehicles),
        events=merge.new_events,
        sealed=merge.new_sealed,
        photos=new_photos,
        clashes=clashes,
        known_events=merge.known_events,
        private=merge.new_private,
        new_vehicles=tuple(sorted(merge.vehicles - merge.known_vehicles)),
        grown_vehicles=tuple(sorted(merge.grown_vehicles & merge.known_vehicles)),
        erased=tuple(sorted(merge.erased)),
        reopened=tuple(sorted(merge.reopened)),
        device=bundle.manifest.device,
        sender=_signer(bundle.signer, keys),
        signers=tuple((_signer(one, keys), count) for one, count in merge.signers.most_common()),
        new_keys=tuple(merge.taken_offers),
        open_offers=tuple(merge.open_offers),
        manifest=bundle.manifest_sha256,
        held=dict(merge.held),
        refused=tuple(merge.refused),
        count_refused=merge.count_refused,
        repeated_numbers=merge.repeated_numbers,
    )


def _signer(public: str, keys: dict[str, WorkshopKey]) -> Signer:
    known = keys.get(public)
    is_ours = known is not None and known.is_trusted
    return Signer(public, known.name if known else "", is_ours)


def _refuse_if_nothing_proves_itself(merge: Merge, signer: str) -> None:
    """Keep nothing of a stranger's file: it would only take up room."""
    if merge.took_something or merge.is_trusted(signer):
        return
    if not merge.held["key"] and not merge.refused:
        return
    if not signer:
        raise BundleError(
            "This file carries no signature, as files made before 0.2 do: nothing in it proves "
            "who wrote it. Take it in only if you know where it comes from, and say so when "
            f"asked. {_UNCHANGED}"
        )
    raise BundleError(
        f"This file is signed by a key that is not known here ({key_id(signer)}), and nothing in "
        "it by one that is. If it comes from a phone of the workshop, compare its key's digits "
        f"with that phone and take the key in first. {_UNCHANGED}"
    )


class _Counter:
    """Bytes read so far; passes them on two hundred times at most."""

    def __init__(self, total: int, progress: Progress | None) -> None:
        self._total = total
        self._progress = progress
        self._done = 0

    def add(self, more: int) -> None:
        before, self._done = self._done, self._done + more
        step = max(1, self._total // 200)
        passed = before // step != self._done // step or self._done == self._total
        if self._progress and passed:
            self._progress(self._done, self._total)


def _merge(bundle: BundleReader, merge: Merge, counter: _Counter) -> None:
    """Hand the lines over: whom to believe first, then what happened, and what was signed."""
    declared = bundle.manifest
    for name, most, add in (
        (KEYS, declared.statements, merge.add_statement),
        (EVENTS, declared.events, merge.add_event),
        (CUSTOMERS, declared.events, merge.add_customer),
        (SEALED, declared.sealed, merge.add_sealed),
    ):
        for number, line in enumerate(bundle.lines(name, counter.add), start=1):
            if number > most:
                raise BundleError(f"{name} holds more lines than it says. {_UNCHANGED}")
            add(line)


def _clashes(store: Store, vehicle_ids: set[str]) -> Iterator[Clash]:
    """Name the clashes of vehicles that both devices knew; a new one cannot have any here."""
    for vehicle_id in sorted(vehicle_ids):
        for job in store.vehicle(vehicle_id).jobs:
            for step_id in job.clashes:
                yield Clash(vehicle_id, job.job_id, step_id)


# Photos.


@contextmanager
def _staging(photo_folder: Path) -> Iterator[Path]:
    photo_folder.mkdir(parents=True, exist_ok=True)
    for left in photo_folder.glob(f"{_INCOMING}*"):
        rmtree(left, ignore_errors=True)  # of an import that was killed
    with tempfile.TemporaryDirectory(prefix=_INCOMING, dir=photo_folder) as folder:
        yield Path(folder)


def _stage_photos(
    bundle: BundleReader, photo_folder: Path, staging: Path, counter: _Counter
) -> dict[str, Path]:
    """Unpack the photos that are not here yet; return their files by SHA-256, on storage."""
    staged = {}
    for packed in bundle.photos():
        if photos.path_of(photo_folder, packed.sha256):
            counter.add(packed.bytes)
            continue
        target = staging / packed.sha256
        bundle.save_photo(packed, target, counter.add)
        staged[packed.sha256] = photos.with_proper_ending(target)
    photos.bring_to_storage(list(staged.values()))
    return staged


@contextmanager
def _taken_back_if_it_fails(moved: list[Path], photo_folder: Path) -> Iterator[None]:
    try:
        yield
    except BaseException:
        for path in moved:
            path.unlink(missing_ok=True)
        sync_folder(photo_folder)
        raise
