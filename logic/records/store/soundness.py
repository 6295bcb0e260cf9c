"""Bits that storage turned round in what was written once: found by reading, told in words.

SQLite's own check looks at pages, not at what stands in their texts. A signed record must fit its
hash, names and texts the digests that were written down for them, and an entry its device's
signature and what the newest backup says of it, for none of them ever changes. What another
program took out or put in shows by the chain (``own_chain``). A part is read at each opening and
the next part at the next: of a phone's store most at once, a desk's over some days.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from logic.records.keys import RENEW
from logic.records.store.backup import backups, taken_at
from logic.records.store.database import Row, open_for_reading

if TYPE_CHECKING:
    from logic.records.store.own_chain import OwnChain

RECORDS_AT_ONCE, ENTRIES_AT_ONCE, SIGNATURES_AT_ONCE = 1000, 20_000, 1000
"""Assumed: half a second's reading on a desk, a few seconds on a phone, behind the screens."""
AFTER = 3.0  # seconds; assumed: the first screens are shown by then

_MOST_TOLD = 3
_RECORDS = (
    "SELECT s.rowid, s.sha256, s.record, s.revision, s.signed_at, s.signature, v.registration"
    " FROM sealed AS s LEFT JOIN vehicle AS v USING (vehicle_id)"
    " WHERE s.rowid > ? ORDER BY s.rowid LIMIT ?"
)
_ENTRIES = (
    "SELECT e.seq, e.event_id, e.vehicle_id, e.job_id, e.at, e.device, e.kind, e.body,"
    " t.salt, t.texts, c.salt, c.name, c.contact, v.registration"
    " FROM event AS e LEFT JOIN event_text AS t USING (event_id)"
    " LEFT JOIN customer AS c USING (event_id)"
    " LEFT JOIN vehicle AS v ON v.vehicle_id = e.vehicle_id"
    " WHERE e.seq > ? ORDER BY e.seq LIMIT ?"
)
_SIGNED = (
    "SELECT e.seq, e.event_id, e.vehicle_id, e.job_id, e.at, e.device, e.kind, e.body, e.key,"
    " e.number, e.before, e.signature, v.registration"
    " FROM event AS e LEFT JOIN vehicle AS v ON v.vehicle_id = e.vehicle_id"
    " WHERE e.seq > ? AND e.signature IS NOT NULL ORDER BY e.seq LIMIT ?"
)
_SIGNED_ENTRY = (
    "SELECT event_id, vehicle_id, job_id, at, device, kind, body, key, number, before, signature"
    " FROM event WHERE event_id = ? AND signature IS NOT NULL"
)
_ENTRY = "SELECT vehicle_id, job_id, at, device, kind, body FROM event WHERE event_id = ?"
_STATEMENTS = (
    "SELECT rowid, sha256, statement FROM key_statement WHERE rowid > ? ORDER BY rowid LIMIT ?"
)
_RECORD = "SELECT record FROM sealed WHERE sha256 = ?"
_ALSO_IN_A_BACKUP = "Close the app and open it again: the record is then taken from a backup."
_IN_NO_BACKUP = (
    "No backup here has it as it was. Its print, or another device that has it, still proves it."
)


@dataclass(frozen=True)
class Found:
    """Something that is not what was written down; ``can_be_healed`` from a backup."""

    words: str
    can_be_healed: bool = False


class Reading:
    """The reading behind a running app: begun after a while, ended when the store is closed."""

    def __init__(self, store: Path, tell: Callable[[Found], None], device: str = "") -> None:
        self._store, self._tell, self._device = store, tell, device
        self._stopped = threading.Event()
        self._timer = threading.Timer(AFTER, self._read)
        self._timer.daemon = True  # nobody waits for it
        self._timer.start()

    def wait(self) -> None:
        """Return when it is over."""
        self._timer.join()

    def stop(self) -> None:
        """End it, whether it has begun or not; the next opening goes on where it was."""
        self._stopped.set()
        self._timer.cancel()
        self._timer.join()

    def _read(self) -> None:
        # Whatever keeps it from reading is told by those who need what they cannot read.
        with suppress(sqlite3.Error, OSError):
            found = list(read_some(self._store, self._stopped.is_set, self._device))
            for one in found[:_MOST_TOLD]:
                self._tell(one)
            if len(found) > _MOST_TOLD:
                self._tell(Found(f"And {len(found) - _MOST_TOLD} more of that kind."))


def read_some(
    store: Path, stopped: Callable[[], bool] = lambda: False, device: str = ""
) -> Iterator[Found]:
    """Read the next part of a store and yield what in it is not what was written down.

    ``device`` is the name that this device's entries bear, where the store does not say it.
    """
    place = _place(store)
    yield from _read_on(store, place, stopped, device)
    with suppress(OSError):  # where it cannot be kept, the same part is read once more
        _place_of(store).write_text(json.dumps(asdict(place)), encoding="utf-8")


def read_whole(store: Path) -> Iterator[Found]:
    """Read a store from its beginning to its end, and yield the same."""
    place = _Place()
    while True:
        yield from _read_on(store, place, lambda: False, "")
        if place.is_at_the_beginning:
            return


def _read_on(
    store: Path, place: _Place, stopped: Callable[[], bool], device: str
) -> Iterator[Found]:
    from logic.records.store.own_chain import OwnChain  # not on the start path

    with ExitStack() as opened:
        source = opened.enter_context(_open(store))
        copies = []
        for path in backups(store.parent):
            with suppress(sqlite3.DatabaseError):
                copies.append((path, opened.enter_context(_open(path))))
        texts = opened.enter_context(closing(open_for_reading(store)))
        texts.text_factory = lambda data: data.decode(errors="replace")
        chain = OwnChain(texts, device)
        yield from _missing(chain, place, is_renewed=(store.parent / RENEW).exists())
        yield from _statements(texts, chain, place, stopped)
        yield from _records(source, [copy for _, copy in copies], chain, place, stopped)
        before = place.entry
        yield from _entries(source, copies[:1], place, stopped)
        if words := chain.without_signature(before, place.entry):
            yield Found(words)
        yield from _signatures(source, [copy for _, copy in copies], chain, place, stopped)


@dataclass
class _Place:
    """How far was read: the last row of each table, 0 where the next part begins anew.

    ``told`` is what was said to be missing of the chains of keys that are out of use: a rescue
    leaves such gaps, and nobody wants to read of them at each start.
    """

    record: int = 0
    entry: int = 0
    signature: int = 0
    statement: int = 0
    told: list[str] = field(default_factory=list)

    @property
    def is_at_the_beginning(self) -> bool:
        return not (self.record or self.entry or self.signature or self.statement)


def _open(path: Path) -> closing[sqlite3.Connection]:
    connection = open_for_reading(path)
    connection.text_factory = bytes  # a text with a bit turned round need be none any more
    return closing(connection)


def _missing(chain: OwnChain, place: _Place, *, is_renewed: bool) -> Iterator[Found]:
    for missing in chain.missing():
        mark = f"{missing.key} {missing.count}"
        is_in_use = missing.key == chain.keys[-1] and not is_renewed
        if is_in_use or mark not in place.told:
            yield Found(missing.words)
        if not is_in_use and mark not in place.told:
            place.told.append(mark)


def _part(
    source: sqlite3.Connection,
    query: str,
    place: _Place,
    table: Literal["record", "entry", "signature", "statement"],
    most: int,
    stopped: Callable[[], bool],
) -> Iterator[Row]:
    """Yield the next rows of a table, their number first, and note how far that is.

    ``most`` is how many are read at once; after the table's last row it begins anew.
    """
    count = 0
    for row in source.execute(query, (getattr(place, table), most)):
        if stopped():
            return
        count += 1
        setattr(place, table, row[0])
        yield row
    if count < most:
        setattr(place, table, 0)


def _statements(
    texts: sqlite3.Connection, chain: OwnChain, place: _Place, stopped: Callable[[], bool]
) -> Iterator[Found]:
    for _, *statement in _part(texts, _STATEMENTS, place, "statement", SIGNATURES_AT_ONCE, stopped):
        if complaint := chain.complaint_of_statement(*statement):
            yield Found(
                f"{complaint}. It is not believed. Another program wrote it into the file, or the "
                "storage changed it: find out who had this file."
            )


def _records(
    source: sqlite3.Connection,
    copies: list[sqlite3.Connection],
    chain: OwnChain,
    place: _Place,
    stopped: Callable[[], bool],
) -> Iterator[Found]:
    for row in _part(source, _RECORDS, place, "record", RECORDS_AT_ONCE, stopped):
        _, sha256, record, revision, signed_at, signature, plate = row
        named = (
            f"The signed record of {_word(plate)}, revision {revision}, signed "
            f"{_word(signed_at)[:10]},"
        )
        if not _fits(record, sha256):
            kept = any(
                _fits(text, sha256)
                for copy in copies
                for (text,) in copy.execute(_RECORD, (sha256.decode("ascii", "replace"),))
            )
            yield Found(
                f"{named} is no longer what was signed: the storage changed it. "
                f"{_ALSO_IN_A_BACKUP if kept else _IN_NO_BACKUP}",
                can_be_healed=kept,
            )
        elif complaint := _complaint_of_seal(chain, sha256, record, signature):
            yield Found(
                f"{named} {complaint}. Another program changed it. Its print, or another device "
                "that has it, shows what was signed."
            )


def _entries(
    source: sqlite3.Connection,
    newest: list[tuple[Path, sqlite3.Connection]],
    place: _Place,
    stopped: Callable[[], bool],
) -> Iterator[Found]:
    from logic.words.dates import day  # not on the start path

    for row in _part(source, _ENTRIES, place, "entry", ENTRIES_AT_ONCE, stopped):
        _, event_id, *event, _, _, _, _, _, plate = row
        named = f"An entry of {_word(plate)} ({_word(event[4])}, {_word(event[2])[:10]})"
        if not _fits_its_digest(row):
            yield Found(
                f"{named} no longer has the words that were written down: the storage changed "
                "them. Look at it, and write them anew if need be."
            )
        for path, copy in newest:
            then = copy.execute(_ENTRY, (event_id.decode("ascii", "replace"),)).fetchone()
            if then is not None and list(then) != event:
                yield Found(
                    f"{named} reads differently in the backup of {day(taken_at(path))}, though "
                    "entries never change: the storage changed one of the two. Look at it, and "
                    "take the reading again if in doubt."
                )


def _complaint_of_seal(
    chain: OwnChain, sha256: bytes, record: bytes, signature: bytes | None
) -> str:
    try:
        signed_with = signature.decode() if signature else None
        return chain.complaint_of_record(_text(sha256), _text(record), signed_with)
    except (ValueError, KeyError, TypeError, RecursionError):
        return "cannot be read"


def _signatures(
    source: sqlite3.Connection,
    copies: list[sqlite3.Connection],
    chain: OwnChain,
    place: _Place,
    stopped: Callable[[], bool],
) -> Iterator[Found]:
    for _, *entry, plate in _part(source, _SIGNED, place, "signature", SIGNATURES_AT_ONCE, stopped):
        if not _is_signed(entry):
            kept = any(
                _is_signed(list(row))
                for copy in copies
                for row in _signed_in(copy, _text(entry[0]))
            )
            advice = (
                "Close the app and open it again: the entry is then taken from a backup."
                if kept
                else "Look at it, and take the reading again if in doubt."
            )
            yield Found(
                f"An entry of {_word(plate)} ({_word(entry[5])}, {_word(entry[3])[:10]}) is not "
                f"what its device signed: the storage changed it. {advice}",
                can_be_healed=kept,
            )
        elif chain.is_broken_before(_decoded(entry)):
            yield Found(
                f"An entry of {_word(plate)} ({_word(entry[5])}, {_word(entry[3])[:10]}) does not "
                "follow the one that this device signed before it. Somebody has this device's key, "
                "or put an older copy of the file in its place. Look at it, and take the reading "
                "again if in doubt."
            )


def _signed_in(copy: sqlite3.Connection, event_id: str) -> list[tuple[bytes | int | None, ...]]:
    """Return an entry's row in a backup; none where that is of a release without signatures."""
    columns = {name for _, name, *_ in copy.execute("PRAGMA table_info(event)")}
    return copy.execute(_SIGNED_ENTRY, (event_id,)).fetchall() if b"signature" in columns else []


def _is_signed(entry: list[bytes | int | None]) -> bool:
    from logic.records.chain import is_signed
    from logic.records.store.event_table import as_exchanged

    try:
        return is_signed(as_exchanged(_decoded(entry)))
    except (ValueError, KeyError, TypeError, RecursionError):
        return False


def _decoded(entry: list[bytes | int | None]) -> tuple[str | int | None, ...]:
    return tuple(one.decode() if isinstance(one, bytes) else one for one in entry)


def _fits_its_digest(row: tuple[bytes | int | None, ...]) -> bool:
    """Whether an entry's words, or its customer, are those whose digest stands in it."""
    *_, body, salt, texts, customers_salt, name, contact, _ = row
    if salt is None and customers_salt is None:
        return True
    from logic.records.store.private_tables import customer_digest
    from logic.records.store.text_table import text_digest
    from logic.vehicle.identity import Customer

    try:
        stated = json.loads(_text(body))
        if salt is not None:
            return bool(
                stated["texts_sha256"] == text_digest(_text(salt), json.loads(_text(texts)))
            )
        customer = Customer.model_construct(name=_text(name), contact=_text(contact))
        return bool(stated["sha256"] == customer_digest(_text(customers_salt), customer))
    except (ValueError, KeyError, TypeError, RecursionError):
        return False


def _fits(record: bytes, sha256: bytes) -> bool:
    return hashlib.sha256(record).hexdigest().encode() == sha256


def _text(value: bytes | int | None) -> str:
    return value.decode() if isinstance(value, bytes) else ""


def _word(value: bytes | None) -> str:
    return value.decode("utf-8", "replace").replace("_", " ") if value else "a vehicle"


def _place_of(store: Path) -> Path:
    return store.with_name(f"{store.name}.read")


def _place(store: Path) -> _Place:
    try:
        kept = json.loads(_place_of(store).read_text(encoding="utf-8"))
        told = [str(one) for one in kept.pop("told")]
        return _Place(**{name: int(row) for name, row in kept.items()}, told=told)
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return _Place()
