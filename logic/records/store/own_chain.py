"""Whether what this device and others signed stands in the file as it was signed, and all of it.

A signature shows a change in an entry. That an entry was taken out, or that its signature was, the
chain shows: this device's entries are numbered from 1, each names the one before, and since its
first signed entry it writes none without a signature and seals no record outside the chain.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any

from logic.records.chain import event_digest, is_signed
from logic.records.keys import shown
from logic.records.record import SealSignature
from logic.records.seal import is_signed as is_sealed_by
from logic.records.store.database import Row
from logic.records.store.event_table import COLUMNS, as_exchanged
from logic.records.store.key_table import signed_statement
from logic.records.store.settings import setting
from logic.words.dates import day
from logic.words.names import counted, in_words, uncapitalised

_ROW = ", ".join(COLUMNS)
_WITHOUT_SIGNATURE = (
    "SELECT e.kind, e.at, v.registration FROM event AS e"
    " LEFT JOIN vehicle AS v ON v.vehicle_id = e.vehicle_id"
    " WHERE e.seq > ? AND e.seq <= ? AND e.device = ? AND e.signature IS NULL"
    " AND (e.seq > ? OR e.at >= ?) ORDER BY e.seq"
)
_NAMES_THE_RECORD = (
    "SELECT device, at, key FROM event WHERE vehicle_id = ? AND kind = 'job_signed'"
    " AND json_extract(body, '$.record_sha256') = ?"
)
_ALL_SIGNED = "SELECT device, min(at) FROM event WHERE signature IS NOT NULL GROUP BY device"
_NO_ROW = 2**63 - 1


@dataclass(frozen=True)
class Missing:
    """Entries that a key of this device signed and that are not in the file."""

    key: str
    count: int
    words: str


@dataclass(frozen=True)
class OwnChain:
    """A store's file, read for what the chains in it show; ``device`` is this device's name."""

    source: sqlite3.Connection = field(repr=False)
    device: str = ""

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """This device's keys, the present one last."""
        return tuple(map(str, setting(self.source, "own_keys", ())))

    @cached_property
    def own_name(self) -> str:
        """The name that this device's entries bear."""
        return self.device or str(setting(self.source, "device", ""))

    @cached_property
    def since(self) -> str:
        """When this device began to sign, "" where it has not.

        Its first key said so in the moment of its first signed entry.
        """
        said = []
        for key in self.keys:
            rows = self.source.execute(
                "SELECT at, statement FROM key_statement WHERE key = ?1 AND by = ?1", (key,)
            )
            for at, text in rows:
                with suppress(ValueError):
                    said += [at] if signed_statement(text) else []
        signed = (self._of_key(key, "min(at)") for key in self.keys)
        return str(min(said, default="") or min((at for at in signed if at), default=""))

    def missing(self) -> Iterator[Missing]:
        """Yield what is missing from the chain of each of this device's keys."""
        for key in self.keys:
            numbers = [
                number
                for (number,) in self.source.execute(
                    "SELECT DISTINCT number FROM event WHERE key = ? ORDER BY number", (key,)
                )
            ]
            count = max(numbers, default=0) - len(numbers)
            if count > 0:
                yield Missing(key, count, self._words_of_gap(key, numbers, count))

    def is_broken_before(self, row: Row) -> bool:
        """Whether a signed entry of this device names another than the one before it.

        Not where that one is missing or is itself not what was signed: that is told for itself.
        """
        _, _, _, _, _, _, _, key, number, before, _ = row
        if key not in self.keys:
            return False
        if number == 1:
            return before is not None
        earlier = self.source.execute(
            f"SELECT {_ROW} FROM event WHERE key = ? AND number = ?", (key, number - 1)
        ).fetchall()
        found = [as_exchanged(one) for one in earlier]
        sound = [one for one in found if is_signed(one)]
        return bool(sound) and all(event_digest(one) != before for one in sound)

    def without_signature(self, after: int, until: int) -> str:
        """Say in words which entries of this device lack a signature, of rows ``after`` one.

        ``until`` is the last row that is looked at, 0 for all.
        """
        if not self.since:
            return ""
        rows_of_keys = (self._of_key(key, "min(seq)") for key in self.keys)
        first = min((row for row in rows_of_keys if row), default=_NO_ROW)
        rows = self.source.execute(
            _WITHOUT_SIGNATURE, (after, until or _NO_ROW, self.own_name, first, self.since)
        ).fetchall()
        if not rows:
            return ""
        kind, at, plate = rows[0]
        return (
            f"{counted(len(rows), 'entry of this device has', 'entries of this device have')} no "
            f"signature, though it signs what it writes since {_day(self.since)} (the first: "
            f"{plate or 'a vehicle'}, {uncapitalised(in_words(kind))}, {_day(at)}). Another "
            "program changed the file, or they came back from an older copy. Look at them, and "
            "take the readings again if in doubt."
        )

    def complaint_of_record(self, sha256: str, text: str, signature: str | None) -> str:
        """Say what a signed record lacks that its device gave it, "" where nothing."""
        record = json.loads(text)
        if chain := record.get("chain"):
            is_sound = signature and self._is_sealed(sha256, signature, chain["key"])
            return "" if is_sound else "no longer has the signature of the device that sealed it"
        for device, at, key in self.source.execute(
            _NAMES_THE_RECORD, (record["vehicle_id"], sha256)
        ):
            if key or "" < self._signs_since.get(device, "") <= at:
                return "stands outside the chain of its device, which signed all it wrote by then"
        return ""

    def complaint_of_statement(self, sha256: str, text: str) -> str:
        """Say what is wrong with a statement about a key, "" where it can be believed."""
        try:
            statement = signed_statement(text)
        except ValueError:
            return "A statement about a key cannot be read"
        if statement and statement.sha256 == sha256:
            return ""
        with suppress(ValueError, KeyError, TypeError):
            return (
                f"A statement about the key {shown(json.loads(text)['key'])} was not signed by "
                "the device that it names"
            )
        return "A statement about a key was not signed by the device that it names"

    @cached_property
    def _signs_since(self) -> dict[str, str]:
        """When each device's first signed entry was written, by the device's name."""
        found = dict(self.source.execute(_ALL_SIGNED).fetchall())
        return found | {self.own_name: self.since} if self.since else found

    def _is_sealed(self, sha256: str, signature: str, key: str) -> bool:
        try:
            read = SealSignature.model_validate_json(signature)
        except ValueError:
            return False
        return read.key == key and is_sealed_by(sha256, read)

    def _of_key(self, key: str, what: str) -> Any:
        return self.source.execute(f"SELECT {what} FROM event WHERE key = ?", (key,)).fetchone()[0]

    def _words_of_gap(self, key: str, numbers: list[int], count: int) -> str:
        first = next(want for want, number in enumerate(numbers, start=1) if want != number)
        around = self.source.execute(
            "SELECT at FROM event WHERE key = ? AND number IN (?, ?) ORDER BY number",
            (key, first - 1, numbers[first - 1]),
        ).fetchall()
        days = list(dict.fromkeys(_day(at) for (at,) in around))
        when = f"on {days[0]}" if len(days) == 1 else f"between {' and '.join(days)}"
        return (
            f"{counted(count, 'entry', 'entries')} that this device signed "
            f"{'is' if count == 1 else 'are'} no longer in its file (the first is number {first} "
            f"of {numbers[-1]}, written {when}). Another program took them out, or the file was "
            "damaged. Look through the jobs of that time; another device or a backup may still "
            "have them."
        )


def _day(at: str) -> str:
    try:
        return day(datetime.fromisoformat(at))
    except ValueError:
        return at[:10]
