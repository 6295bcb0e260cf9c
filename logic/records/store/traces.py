"""Where a vehicle's customer is named in the store: what can be erased, what is offered, what not.

Sure is what holds the whole name, a telephone number or an address; possible is what holds a part
of the name, which may be another word. Neither can be erased from an event of release 0.1.0 or
from a sealed record: the one is never changed, the other would no longer be what was signed.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from logic.records.customer_names import CustomerNames
from logic.records.named_texts import places_named
from logic.records.store import sealed_table, text_table
from logic.records.store.database import Row
from logic.records.store.held_back import Held
from logic.records.store.held_words import held_words
from logic.records.store.private_tables import names_of
from logic.words.dates import day
from logic.words.names import in_words, uncapitalised

if TYPE_CHECKING:
    from sqlite_utils import Database

_WHAT = {
    "vehicle_described": "the vehicle's description",
    "installation_described": "words about the unit",
    "job_opened": "the complaint",
    "step_answered": "an answer",
    "step_skipped": "the reason for leaving out",
    "step_noted": "a note",
    "photo_taken": "a photo's caption",
    "exception_explained": "an explanation",
    "cause_concluded": "the cause and the repair",
    "job_reopened": "the reason for opening again",
}


@dataclass(frozen=True)
class Trace:
    """One text that names the customer or may: where it stands, in words, and the text itself.

    ``is_held`` where it is in what is held back: another's words of an entry, perhaps.
    """

    event_id: str
    where: str
    text: str = ""
    is_held: bool = False


@dataclass(frozen=True)
class Traces:
    """What was found: ``sure`` and ``possible`` can be erased, ``fixed`` cannot."""

    names: CustomerNames
    sure: tuple[Trace, ...] = ()
    possible: tuple[Trace, ...] = ()
    fixed: tuple[Trace, ...] = ()


def traces(db: Database, vehicle_id: str, also: CustomerNames) -> Traces:
    """Look through a vehicle's events and records; ``also`` is what else the customer goes by."""
    names = names_of(db, vehicle_id) + also
    apart = text_table.texts_of(db, vehicle_id)
    sure: list[Trace] = []
    possible: list[Trace] = []
    fixed: list[Trace] = []
    for row in _rows(db, vehicle_id):
        event_id, body = row[0], json.loads(row[-1])
        texts = apart.get(event_id) or text_table.free_texts(body)
        found = Trace(event_id, _where(row, body), " / ".join(texts.values()))
        if any(map(names.surely_in, texts.values())):
            (sure if event_id in apart else fixed).append(found)
        elif any(map(names.maybe_in, texts.values())):
            (possible if event_id in apart else fixed).append(found)
    for one in held_words(db, vehicle_id):
        named = [text for text in one.words if names.surely_in(text) or names.maybe_in(text)]
        found = Trace(one.held.event_id, _where_held(one.held), " / ".join(named), is_held=True)
        if named:
            can_go = sure if one.surely_name(names) else possible
            (fixed if one.held.part == "sealed" else can_go).append(found)
    fixed += _in_records(db, vehicle_id, names)
    return Traces(names, tuple(sure), tuple(possible), tuple(fixed))


def _rows(db: Database, vehicle_id: str) -> Iterator[Row]:
    kinds = ", ".join(f"'{kind}'" for kind in text_table.FREE_TEXTS)
    yield from db.conn.execute(
        f"SELECT event_id, at, kind, body FROM event WHERE vehicle_id = ? AND kind IN ({kinds})"
        " ORDER BY at, event_id",
        (vehicle_id,),
    )


def _where(row: Row, body: dict[str, str]) -> str:
    _, at, kind, _ = row
    step = f" at “{in_words(body['step_id'])}”" if "step_id" in body else ""
    return f"{_WHAT[kind]}{step}, {day(datetime.fromisoformat(at))}"


def _where_held(held: Held) -> str:
    what = {"event": "an entry", "customer": "words", "sealed": "a signed record"}[held.part]
    return f"{what} kept aside from another device, {day(datetime.fromisoformat(held.at))}"


def _in_records(db: Database, vehicle_id: str, names: CustomerNames) -> Iterator[Trace]:
    for sealed in sealed_table.of_vehicle(db, vehicle_id):
        record = sealed.record
        places = places_named(record, names)
        if record.place and "the place of signing" not in places:
            places = ("the place of signing", *places)  # it may be where the customer lives
        if places:
            name = uncapitalised(in_words(record.job_kind))
            yield Trace(
                "",
                f"signed record of the {name}, revision {record.revision}, "
                f"{day(record.signed_at)}: {', '.join(places)}",
            )
