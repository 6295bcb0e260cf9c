"""What a store gives to another device and takes from it, line by line; the file is the bundle's.

A line is hearsay until it proves itself. An event is taken in when a key that the workshop trusts
signed it, or, where release 0.1.0 wrote it, when such a key signed the file that it came in; a
customer when the event has its digest; a signed record when an event that was taken in names it.
What proves nothing yet is held back and looked at again later, so the order of files and their
number make no difference. What can never prove itself is refused, alone: the rest goes on.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, TypeAdapter, ValidationError

from logic.case import first_complaint
from logic.errors import BrokenSealError, BundleError
from logic.quantities import Data
from logic.records.chain import SIGNED, Link, is_signed
from logic.records.customer_names import CustomerNames
from logic.records.events import CustomerErased, Digest, Event, Id, JobReopened, Moment
from logic.records.keys import DeviceKey
from logic.records.record import SealedRecord
from logic.records.store import (
    event_table,
    held_back,
    key_table,
    private_tables,
    sealed_table,
    text_table,
    vehicle_table,
)
from logic.records.store.database import Row, timestamp
from logic.records.store.held_back import Held, Part, Why
from logic.records.store.held_words import without_erased_words
from logic.records.store.private_tables import (
    customer_digest,
    erase_covered,
    names_of,
    unlisted_texts,
    write_customer,
)
from logic.records.store.unfinished import clear_unfinished, names_unfinished, remember_unlisted
from logic.records.trusted_keys import KeyStatement, Offer, WorkshopKey, offers
from logic.records.verify import check, strict_json
from logic.vehicle.identity import Customer

if TYPE_CHECKING:
    from sqlite_utils import Database

EVENT_COLUMNS = event_table.COLUMNS
CUSTOMER_COLUMNS = ("event_id", "salt", "name", "contact")
TEXT_COLUMNS = ("event_id", "salt", "texts")

FASTEST_CLOCK = timedelta(days=2)  # assumed: more ahead than that is a clock set wrong
MOST_HELD_BACK = 20_000  # lines; assumed: some years of a phone whose key nobody vouched for
MOST_REFUSED = 1000  # lines of one file; assumed: a real one has none
MOST_STATEMENTS = 10_000  # about keys; assumed: far above any workshop's
_MOST_TOLD = 20

_PHOTOS = (
    "SELECT DISTINCT coalesce(json_extract(body, '$.sha256'), json_extract(body,"
    " '$.answer.sha256'), json_extract(body, '$.installation.charger.plate_photo'))"
    " FROM event WHERE vehicle_id = ?"
    " AND kind IN ('photo_taken', 'step_answered', 'installation_described')"
)


_COUNT_PRIVATE = (
    "SELECT (SELECT count(*) FROM customer) + (SELECT count(*) FROM event_text)"
    " + (SELECT count(*) FROM sealed_private)"
)


class Snapshot:
    """A store as it was at one moment; see :meth:`Store.snapshot`."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def events(self, vehicle_id: str) -> Iterator[Row]:
        """Yield a vehicle's events as rows of ``EVENT_COLUMNS``, oldest first."""
        return event_table.rows_of(self._db, vehicle_id)

    def carried_on(self, vehicle_id: str) -> Iterator[str]:
        """Yield the lines of a vehicle that only a newer version of the app can read."""
        return held_back.of_later_versions(self._db, vehicle_id)

    def customers(self, vehicle_id: str) -> Iterator[Row]:
        """Yield what is known of a vehicle's customers as rows of ``CUSTOMER_COLUMNS``."""
        query = f"SELECT {', '.join(CUSTOMER_COLUMNS)} FROM customer WHERE vehicle_id = ?"
        yield from self._db.conn.execute(query, (vehicle_id,))

    def sealed(self, vehicle_id: str) -> tuple[SealedRecord, ...]:
        """Return a vehicle's signed records, oldest first."""
        return sealed_table.of_vehicle(self._db, vehicle_id)

    def texts(self, vehicle_id: str, *, with_customers: bool) -> Iterator[Row]:
        """Yield what a person wrote freely as rows of ``TEXT_COLUMNS``.

        Without the customers, what names them or may is left out as well.
        """
        names = None if with_customers else names_of(self._db, vehicle_id)
        for event_id, _, salt, texts in text_table.rows_of(self._db, vehicle_id, but=names):
            yield event_id, salt, json.loads(texts)

    def statements(self) -> tuple[KeyStatement, ...]:
        """Return what keys said of each other."""
        return key_table.statements(self._db)

    def photos(self, vehicle_id: str) -> set[str]:
        """Return the SHA-256 of each photo that a vehicle's events name."""
        return _photos(self._db, vehicle_id)


@dataclass(frozen=True)
class Agreed:
    """What the technician agreed to have taken in beyond what proves itself.

    ``unsigned``: entries of a file without a signature, as release 0.1.0 made them; ``erasures``:
    erasures of customers; ``ahead``: entries dated ahead, with their date as it stands; ``keys``:
    keys that a trusted device vouches for; ``withdrawals``: no longer believing a key.
    """

    unsigned: bool = False
    erasures: bool = False
    ahead: bool = False
    keys: bool = False
    withdrawals: bool = False


NOTHING_AGREED = Agreed()


@dataclass(frozen=True)
class Refused:
    """A line that can never be taken in, and why; ``vehicle_id`` "" where it names none."""

    vehicle_id: str
    text: str


class _CustomerDigest(Data):
    kind: Literal["customer_described"]
    sha256: Digest


class _Envelope(Data):
    """An event as exchanged, whatever it says; in one that describes a customer stands a digest."""

    event_id: Id
    vehicle_id: Id
    job_id: Id | None = None
    at: Moment
    device: str = Field("", max_length=64)
    body: dict[str, Any]


class CustomerLine(Data):
    """The name and contact behind one event's digest."""

    event_id: Id
    salt: str = Field(pattern=r"^[0-9a-f]{32}$")
    name: str = Field(max_length=120)
    contact: str = Field(max_length=200)


class TextLine(Data):
    """What a person wrote freely in one event, behind the digest in it."""

    event_id: Id
    salt: str = Field(pattern=r"^[0-9a-f]{32}$")
    texts: dict[Annotated[str, Field(max_length=60)], Annotated[str, Field(max_length=2000)]]


@dataclass(frozen=True)
class _Line:
    """An event line that was read: its row, who answers for it, and whether we know its kind."""

    row: Row
    text: str
    key: str
    is_known_kind: bool

    @property
    def event_id(self) -> str:
        return str(self.row[0])

    @property
    def vehicle_id(self) -> str:
        return str(self.row[1])

    @property
    def is_signed(self) -> bool:
        return self.row[-1] is not None

    def held(self, why: Why) -> Held:
        return Held(
            "event", self.vehicle_id, self.event_id, str(self.row[3]), why, self.key, self.text
        )


class Merge:
    """Another device's lines being added, all or none; see :meth:`Store.merging`.

    ``vehicles`` are all that the lines belong to, ``known_vehicles`` those of them that were here
    before, ``grown_vehicles`` those with new events, ``erased`` those whose customer is erased by
    it, ``reopened`` the signed jobs that it opens again. ``signers`` counts the new events by the
    key that signed them, "" for none; ``held`` counts by reason what was held back.
    """

    def __init__(
        self,
        db: Database,
        agreed: Agreed = NOTHING_AGREED,
        signer: str = "",
        key: DeviceKey | None = None,
    ) -> None:
        self._db, self._key = db, key
        self._agreed, self._signer = agreed, signer
        self._latest = timestamp(datetime.now(UTC) + FASTEST_CLOCK)
        self._private_before = self._count_private()
        self._known_trusted: set[str] | None = None
        self._job_of: dict[str, str] = {}
        self._looking_again = False
        self.vehicles: set[str] = set()
        self.known_vehicles: set[str] = set()
        self.grown_vehicles: set[str] = set()
        self.erased: set[str] = set()
        self.reopened: set[str] = set()
        self.signers: Counter[str] = Counter()
        self.held: Counter[Why] = Counter()
        self.refused: list[Refused] = []
        self.count_refused = 0
        self.new_events = 0
        self.known_events = 0
        self.new_sealed = 0
        self.new_private = 0
        self.erased_names: dict[str, CustomerNames] = {}
        self.repeated_numbers = 0
        self._wanted: set[str] | None = None
        self.workshop_keys: dict[str, WorkshopKey] = {}
        self.taken_offers: list[Offer] = []
        self.open_offers: list[Offer] = []
        self._heard: list[KeyStatement] = []

    # Whom to believe.

    def add_statement(self, line: bytes) -> None:
        """Hear what one key says of another; what comes of it is settled before the first event."""
        try:
            statement = KeyStatement.model_validate(strict_json(line))
        except _UNREADABLE:
            self._refuse("", "A statement about a key cannot be read.")
            return
        if statement.by not in self._trusted:
            return  # a stranger's word is nobody's matter
        if statement.is_signed:
            self._heard.append(statement)
        else:
            self._refuse("", "A statement about a key was not signed by whom it names.")

    def _settle_keys(self) -> None:
        """Say of the keys that were spoken of what the technician agreed to say."""
        heard, self._heard = self._heard, []
        for offer in offers(heard, key_table.workshop_keys(self._db)):
            is_new = offer.standing == "trusted"
            if self._key and (self._agreed.keys if is_new else self._agreed.withdrawals):
                key_table.say(self._db, self._key, offer.public, offer.name, offer.standing)
                self._known_trusted = None
                self.taken_offers.append(offer)
            else:
                self.open_offers.append(offer)

    # What happened.

    def add_event(self, line: bytes) -> None:
        """Take an event in, hold it back, or refuse it."""
        self._settle_keys()
        try:
            read = self._read(line)
        except _UNREADABLE as error:
            self._refuse(_vehicle_of(line), _reason(error))
            return
        self._judge(read, self._agreed)

    def _read(self, line: bytes, signer: str | None = None) -> _Line:
        """Read an event's line.

        Raises
        ------
        ValueError
            It can never be taken in; the text says why. ``BrokenSealError`` likewise.
        """
        data = strict_json(line)
        if not isinstance(data, dict):
            raise ValueError("it is no event")
        given = {name: data.pop(name) for name in SIGNED if name in data}
        envelope = _Envelope.model_validate(data)
        at = timestamp(envelope.at)
        signed: Row = event_table.UNSIGNED
        if given:
            link = Link.model_validate(given)
            if data["at"] != at or not is_signed({**data, **given}):
                raise ValueError("it was changed after it was signed")
            signed = (link.key, link.number, link.before, link.signature)
        kind = str(envelope.body.get("kind", ""))
        row = (
            envelope.event_id,
            envelope.vehicle_id,
            envelope.job_id,
            at,
            envelope.device,
            kind,
            json.dumps(envelope.body, ensure_ascii=False, separators=(",", ":")),
            *signed,
        )
        by = signed[0] or (self._signer if signer is None else signer)
        complaint = _complaint_of_body(envelope, kind)
        if complaint and not given:
            raise ValueError(complaint)
        return _Line(row, line.decode().strip(), by, not complaint)

    def _judge(self, line: _Line, agreed: Agreed, held: Held | None = None) -> bool:
        """Take a line in or hold it back; say whether it is in the store now."""
        why = self._why_not(line, agreed)
        if why is None:
            self._take(line)
            held_back.release_event(self._db, line.event_id)
        elif held is None or held.why != why:
            self._hold(line.held(why))
        return why is None

    def _why_not(self, line: _Line, agreed: Agreed) -> Why | None:
        here = event_table.row_with_id(self._db, line.event_id)
        if here and _is_same(here, line.row):
            return None
        if line.key not in self._trusted and not (line.key == "" and agreed.unsigned):
            return "key"
        if not line.is_known_kind:
            return "kind"
        if line.row[3] > self._latest and not agreed.ahead:
            return "date"
        if line.row[5] == "customer_erased" and not agreed.erasures:
            return "erasure"
        if here and not (here[-1] is None and line.is_signed):
            return "other"
        return "other" if self._belongs_elsewhere(line) else None

    def _belongs_elsewhere(self, line: _Line) -> bool:
        """Whether its job is another vehicle's; unsigned entries cannot keep a signed one out."""
        job_id = line.row[2]
        if job_id is None:
            return False
        if job_id not in self._job_of:
            found = self._db.conn.execute(
                "SELECT vehicle_id FROM job WHERE job_id = ?", (job_id,)
            ).fetchone()
            self._job_of[job_id] = found[0] if found else line.vehicle_id
        owner = self._job_of[job_id]
        if owner != line.vehicle_id and line.is_signed:
            strangers = event_table.unsigned_of_job(self._db, owner, job_id)
            if strangers is not None:
                for row in strangers:
                    self._set_aside(row)
                    event_table.take_out(self._db, row)
                vehicle_table.forget_job(self._db, job_id)
                self._note_vehicle(owner)
                self._job_of[job_id] = line.vehicle_id
        return self._job_of[job_id] != line.vehicle_id

    def _set_aside(self, row: Row) -> None:
        """Keep an unsigned entry that gives way to a signed one where it can be looked at."""
        old = json.dumps(event_table.as_exchanged(row), ensure_ascii=False)
        held_back.put(
            self._db, Held("event", str(row[1]), str(row[0]), str(row[3]), "displaced", "", old)
        )

    def _take(self, line: _Line) -> None:
        self._note_vehicle(line.vehicle_id)
        here = event_table.row_with_id(self._db, line.event_id)
        if here and _is_same(here, line.row):
            self.known_events += 1
            return
        if here:
            self._set_aside(here)
            self._note_vehicle(str(here[1]))
            private_tables.forget(self._db, line.event_id)  # the forged entry's words and names
            event_table.take_out(self._db, here)
        event_table.write_row(self._db, line.row)
        self._note_taken(line)

    def _note_taken(self, line: _Line) -> None:
        _, vehicle_id, job_id, _, _, kind, _, key, number, *_ = line.row
        self.new_events += 1
        self.grown_vehicles.add(vehicle_id)
        self.signers[key or ""] += 1
        if kind == CustomerErased().kind:
            self.erased.add(vehicle_id)
        if kind == JobReopened().kind:
            self.reopened.add(job_id)
        if key and self._db.conn.execute(
            "SELECT count(*) FROM event WHERE key = ? AND number = ?", (key, number)
        ).fetchone() != (1,):
            self.repeated_numbers += 1

    # Who the customers are, and what was written freely.

    def add_customer(self, line: bytes) -> None:
        """Take in whom an event describes, or the words behind it, if it has their digest."""
        try:
            told = _PRIVATE.validate_python(strict_json(line))
        except (ValidationError, BrokenSealError) as error:
            self._refuse("", _reason(error))
            return
        self._take_private(told, line)

    def _take_private(self, told: CustomerLine | TextLine, line: bytes) -> bool:
        query = "SELECT vehicle_id, body FROM event WHERE event_id = ?"
        event = self._db.conn.execute(query, (told.event_id,)).fetchone()
        if event is None:
            held = self._held_event(told.event_id)
            if held:
                text = line.decode().strip()
                self._hold(Held("customer", held[0], told.event_id, held[1], "waits", "", text))
            else:
                self._refuse("", "A customer or a text belongs to no entry.")
            return False
        vehicle_id, body = event[0], json.loads(event[1])
        if isinstance(told, CustomerLine):
            described = Customer(name=told.name, contact=told.contact)
            fits = body.get("sha256") == customer_digest(told.salt, described)
            row: Row = (told.event_id, vehicle_id, told.salt, told.name, told.contact)
        else:
            fits = body.get("texts_sha256") == text_table.text_digest(told.salt, told.texts)
            written = json.dumps(told.texts, ensure_ascii=False)
            row = (told.event_id, vehicle_id, told.salt, written)
        if not fits:
            self._refuse(vehicle_id, "A customer or a text is not what was written down.")
            return False
        (write_customer if isinstance(told, CustomerLine) else text_table.write)(self._db, row)
        self._note_vehicle(vehicle_id)
        return True

    def _held_event(self, event_id: str) -> Row | None:
        found: Row | None = self._db.conn.execute(
            "SELECT vehicle_id, at FROM held_back WHERE event_id = ? AND part = 'event'",
            (event_id,),
        ).fetchone()
        return found

    # What was signed.

    def add_sealed(self, line: bytes) -> None:
        """Take in a signed record, if an event that was taken in names it."""
        try:
            found = check(line)
        except BrokenSealError as error:
            self._refuse("", str(error))
            return
        if not found.intact or found.sealed is None:
            self._refuse("", " ".join((*found.complaints, *found.remarks)))
            return
        self._take_sealed(found.sealed, found.text)

    def _take_sealed(self, sealed: SealedRecord, text: bytes) -> bool:
        """Take in a record that :func:`check` found intact, its signature among the rest."""
        record = sealed.record
        signature = sealed.signature
        named = self._db.conn.execute(
            "SELECT vehicle_id, job_id, json_extract(body, '$.revision'), key FROM event"
            " WHERE vehicle_id = ? AND kind = 'job_signed'"
            " AND json_extract(body, '$.record_sha256') = ?",
            (record.vehicle_id, sealed.sha256),
        ).fetchall()
        # An entry of another key may name it too, who knows why: the signing device's counts.
        by = [row for row in named if signature is None or row[3] == signature.key]
        if not by:
            self._hold_sealed(sealed)
            return False
        if (record.vehicle_id, record.job_id, record.revision) not in [row[:3] for row in by]:
            self._refuse(
                record.vehicle_id, "A signed record is of another job than the entry that names it."
            )
            return False
        self.new_sealed += sealed_table.write(self._db, sealed, text)
        self._note_vehicle(record.vehicle_id)
        return True

    def _hold_sealed(self, sealed: SealedRecord) -> None:
        """Hold a record back without its names until an entry names it."""
        record = sealed.record
        nameless = sealed.model_copy(update={"private": None}).model_dump_json()
        self._hold(
            Held(
                "sealed", record.vehicle_id, "", timestamp(record.signed_at), "waits", "", nameless
            )
        )

    # The end.

    def _settle(self) -> None:
        self._settle_keys()
        self._looking_again = True
        while self._look_again():
            pass
        self._looking_again = False
        for vehicle_id in self.vehicles:
            typed = names_unfinished(self._db, vehicle_id)
            names = typed + erase_covered(self._db, vehicle_id)
            remember_unlisted(self._db, unlisted_texts(self._db, vehicle_id, names))
            if vehicle_id in self.erased & self.known_vehicles:
                clear_unfinished(self._db, vehicle_id, names)
                known = self.erased_names.get(vehicle_id, CustomerNames())
                self.erased_names[vehicle_id] = known + names

    def finish(self) -> None:
        """Look at what was held back again, erase what is erased, and work out the lists anew.

        Once, when all lines were handed over and before what was taken in is kept.
        """
        self._settle()
        # A vehicle all of whose entries gave way to signed ones is none any more.
        self.vehicles = {one for one in self.vehicles if vehicle_table.refresh(self._db, one)}
        self.new_private = max(0, self._count_private() - self._private_before)
        self.workshop_keys = key_table.workshop_keys(self._db)
        _ = self.wanted_photos  # while the merge can still be asked

    @property
    def wanted_photos(self) -> set[str]:
        """The SHA-256 of each photo that the vehicles' events name."""
        if self._wanted is None:
            self._wanted = {one for vehicle in self.vehicles for one in _photos(self._db, vehicle)}
        return self._wanted

    @property
    def took_something(self) -> bool:
        """Whether anything was taken in, or was here already."""
        return bool(self.vehicles or self.known_events)

    def is_trusted(self, public: str) -> bool:
        """Whether a key is the workshop's."""
        return public in self._trusted

    def _look_again(self) -> bool:
        may_go = held_back.that_may_go(self._db, self._trusted, self._latest)
        return sum([self._look_at(held) for held in may_go]) > 0

    def _look_at(self, held: Held) -> bool:
        kept = without_erased_words(self._db, held)
        if kept != held:
            held_back.release(self._db, held)
            if kept is None:
                return False
            held_back.put(self._db, kept)
            held = kept
        line = held.line.encode()
        part: Part = held.part
        if part == "event":
            try:
                read = self._read(line, held.key)
            except _UNREADABLE:  # this version of the app reads events otherwise
                return False
            return self._judge(read, NOTHING_AGREED, held)
        if part == "customer":
            self._take_private(_PRIVATE.validate_json(line), line)
        else:
            found = check(line)
            if not found.intact or found.sealed is None:
                return False
            if not self._take_sealed(found.sealed, found.text):
                return False
        held_back.release(self._db, held)
        return True

    def _hold(self, held: Held) -> None:
        """Hold a line back; lines of the file under way are counted, whether new here or not."""
        if not self._looking_again:
            self.held[held.why] += 1
        kept = without_erased_words(self._db, held)
        if kept != held:
            held_back.release(self._db, held)  # it may have been kept with its words before
        if kept is None or not held_back.put(self._db, kept):
            return
        if held_back.count(self._db) > MOST_HELD_BACK:
            raise BundleError(
                "Most of this file may not be taken in, and it is too much to keep aside. Have "
                "its sender's key vouched for first, then take it in again. Nothing was changed "
                "here."
            )

    def _refuse(self, vehicle_id: str, text: str) -> None:
        self.count_refused += 1
        if self.count_refused > MOST_REFUSED:
            raise BundleError(
                f"More than {MOST_REFUSED} lines of this file cannot be right ({text[:200]}). Have "
                "it made again. Nothing was changed here."
            )
        if len(self.refused) < _MOST_TOLD:
            self.refused.append(Refused(vehicle_id, text[:500]))

    @property
    def _trusted(self) -> set[str]:
        if self._known_trusted is None:
            keys = key_table.workshop_keys(self._db).values()
            own = key_table.own_keys(self._db)
            self._known_trusted = {key.public for key in keys if key.is_trusted} | set(own[-1:])
        return self._known_trusted

    def _count_private(self) -> int:
        return int(self._db.conn.execute(_COUNT_PRIVATE).fetchone()[0])

    def _note_vehicle(self, vehicle_id: str) -> None:
        if vehicle_id in self.vehicles:
            return
        self.vehicles.add(vehicle_id)
        query = "SELECT 1 FROM vehicle WHERE vehicle_id = ?"
        if self._db.conn.execute(query, (vehicle_id,)).fetchone():
            self.known_vehicles.add(vehicle_id)


_PRIVATE: TypeAdapter[CustomerLine | TextLine] = TypeAdapter(CustomerLine | TextLine)
_UNREADABLE = (BrokenSealError, ValueError, OverflowError, RecursionError)


def _complaint_of_body(envelope: _Envelope, kind: str) -> str:
    """Say why this version cannot read what an event says, "" where it can."""
    try:
        if kind == "customer_described":
            _CustomerDigest.model_validate(envelope.body)
        else:
            Event.model_validate(envelope.model_dump())
    except ValidationError as error:
        return first_complaint(error)
    return ""


def _is_same(here: Row, there: Row) -> bool:
    """Whether two rows of one id say the same, and the one here is signed if the other is."""
    if here[:6] != there[:6] or not event_table.same_body(here[6], there[6]):
        return False
    return here[7:] == there[7:] or there[-1] is None


def _vehicle_of(line: bytes) -> str:
    """Return the vehicle that a broken line names, as far as that can be told."""
    try:
        found = json.loads(line)["vehicle_id"]
        return TypeAdapter(Id).validate_python(found)
    except (ValueError, KeyError, TypeError, RecursionError):
        return ""


def _reason(error: Exception) -> str:
    return first_complaint(error) if isinstance(error, ValidationError) else str(error)


def _photos(db: Database, vehicle_id: str) -> set[str]:
    return {sha256 for (sha256,) in db.conn.execute(_PHOTOS, (vehicle_id,)) if sha256}
