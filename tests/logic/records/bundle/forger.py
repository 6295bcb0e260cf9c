"""A forger's exchange files: genuine ones altered in every way that needs no key of the workshop.

The forger has files that phones sent, a key of their own, and all the code. They change what
entries and records say, sign anew with their own key, take signatures out, borrow ids, set dates
ahead, erase customers, reopen jobs, make up revisions, and vouch for themselves.
"""

import copy
import hashlib
import json
import random
from zipfile import ZIP_DEFLATED, ZipFile

from logic.records.bundle.manifest import signed_text
from logic.records.chain import SIGNED, linked
from logic.records.events import new_id
from logic.records.keys import DeviceKey
from logic.records.record import Private, Record
from logic.records.seal import seal
from logic.records.trusted_keys import stated

KEYS, EVENTS, CUSTOMERS, SEALED = ("keys.jsonl", "events.jsonl", "customers.jsonl", "sealed.jsonl")
LINES = (KEYS, EVENTS, CUSTOMERS, SEALED)


def parts_of(path):
    """Return a bundle's parts by name; those made of lines as lists of JSON objects."""
    with ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    for name in LINES:
        parts[name] = [json.loads(line) for line in parts.get(name, b"").splitlines()]
    return parts


def packed(path, parts, key):
    """Write a bundle whose manifest fits its parts; signed with a key, or of version 1 for none."""
    content = {
        name: "".join(f"{json.dumps(line)}\n" for line in part).encode() if name in LINES else part
        for name, part in parts.items()
        if name not in ("manifest.json", "signature.json") and not (name == KEYS and key is None)
    }
    manifest = json.loads(parts["manifest.json"]) | {
        "version": 2 if key else 1,
        "events": len(parts[EVENTS]),
        "sealed": len(parts[SEALED]),
        "statements": len(parts[KEYS]) if key else 0,
        "parts": [
            {"name": name, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
            for name, data in content.items()
        ],
    }
    content["manifest.json"] = json.dumps(manifest).encode()
    if key:
        signature = key.sign(signed_text(content["manifest.json"]))
        said = {"key": key.public, "signature": signature}
        content["signature.json"] = json.dumps(said).encode()
    with ZipFile(path, "w", ZIP_DEFLATED) as archive:
        for name, data in content.items():
            archive.writestr(name, data)
    return path


class Forger:
    """Makes one forged file after another; ``seed`` decides which."""

    def __init__(self, genuine, victims, seed):
        self.genuine, self.victims = genuine, victims
        self.dice = random.Random(seed)
        self.key = DeviceKey.of(self.dice.randbytes(32))

    def forge(self, path):
        """Write a forged file and return the names of what was done in it."""
        parts = {name: copy.deepcopy(part) for name, part in self.dice.choice(self.genuine).items()}
        ways = self.dice.sample(self.WAYS, self.dice.randint(1, 4))
        for way in ways:
            way(self, parts)
        self.dice.choice([self._as_it_is, self._reorder, self._double])(parts)
        packed(path, parts, self.dice.choice([self.key, None]))
        return [way.__name__ for way in ways]

    # How a line is made to look signed.

    def _dress(self, event):
        """Leave the old signature, take it out, sign anew, or sign in another's name."""
        how = self.dice.randrange(4)
        if how == 1:
            for name in SIGNED:
                event.pop(name, None)
        elif how >= 2:
            number, before = self.dice.randint(1, 40), event.get("before")
            bare = {name: event[name] for name in event if name not in SIGNED}
            link = linked(bare, self.key, number, before).model_dump()
            event |= link
            if how == 3:
                event["key"] = self.dice.choice(self.genuine)[EVENTS][0]["key"]
        return event

    def _event(self, parts, **changes):
        event = copy.deepcopy(self.dice.choice(parts[EVENTS])) if parts[EVENTS] else None
        if event is None:
            event = copy.deepcopy(self.genuine[0][EVENTS][0])
        event |= changes
        return event

    def _add(self, parts, body, **changes):
        vehicle_id, job_id = self.dice.choice(self.victims)
        event = self._event(
            parts,
            event_id=new_id(),
            vehicle_id=vehicle_id,
            job_id=job_id,
            at="2026-11-01T08:00:00.000000Z",
            body=body,
        )
        parts[EVENTS].append(self._dress(event | changes))

    # What is done.

    def alter_an_entry(self, parts):
        event = self.dice.choice(parts[EVENTS])
        event["body"] = self._altered(event["body"])
        self._dress(event)

    def borrow_ids(self, parts):
        event = self.dice.choice(parts[EVENTS])
        vehicle_id, job_id = self.dice.choice(self.victims)
        name, value = self.dice.choice([("vehicle_id", vehicle_id), ("job_id", job_id)])
        event[name] = value
        self._dress(event)

    def set_dates(self, parts):
        event = self.dice.choice(parts[EVENTS])
        event["at"] = self.dice.choice(
            ["2027-12-01T00:00:00.000000Z", "2001-01-01T00:00:00.000000Z", "9999-12-31T23:59:59Z"]
        )
        self._dress(event)

    def erase_a_customer(self, parts):
        self._add(parts, {"kind": "customer_erased"}, job_id=None)

    def reopen_a_job(self, parts):
        self._add(parts, {"kind": "job_reopened", "reason": "more work"})

    def answer_a_step(self, parts):
        answer = {"kind": "reading", "value": 12.41, "typed": "12.41"}
        body = {"kind": "step_answered", "step_id": "house_voltage", "answer": answer}
        self._add(parts, body)

    def rename_a_vehicle(self, parts):
        vehicle = {"registration": "FORGED", "description": "", "vin": ""}
        self._add(parts, {"kind": "vehicle_described", "vehicle": vehicle}, job_id=None)

    def write_of_a_later_version(self, parts):
        self._add(parts, {"kind": "cable_weighed", "kilograms": 3})

    def number_beyond_measure(self, parts):
        event = self.dice.choice(parts[EVENTS])
        event["number"] = self.dice.choice([2**53 + 1, 10**30, -1, 0, 1.5])

    def make_up_a_revision(self, parts):
        if not parts[SEALED]:
            return
        old = self.dice.choice(parts[SEALED])
        record = Record.model_validate(
            old["record"] | {"revision": old["record"]["revision"] + 1, "place": "elsewhere"}
        )
        private = Private.model_validate(old["private"]) if old["private"] else None
        if private is None:
            return
        key = self.dice.choice([self.key, None])
        forged = seal(record, private, old["sha256"], key, record.chain)
        parts[SEALED].append(json.loads(forged.model_dump_json()))
        technician = old["record"]["technician"]
        body = {
            "kind": "job_signed",
            "technician": technician,
            "record_sha256": forged.sha256,
            "revision": record.revision,
        }
        self._add(parts, body, vehicle_id=record.vehicle_id, job_id=record.job_id)

    def alter_a_record(self, parts):
        if parts[SEALED]:
            sealed = self.dice.choice(parts[SEALED])
            sealed["record"]["place"] = "elsewhere"
            if self.dice.random() < 0.7:
                record = Record.model_validate(sealed["record"])
                if sealed["private"]:
                    forged = seal(
                        record,
                        Private.model_validate(sealed["private"]),
                        record.previous_sha256,
                        self.key,
                        record.chain,
                    )
                    sealed |= json.loads(forged.model_dump_json())

    def change_the_customer(self, parts):
        if parts[CUSTOMERS]:
            self.dice.choice(parts[CUSTOMERS])["name"] = "Somebody Else"

    def vouch_for_oneself(self, parts):
        from datetime import UTC, datetime

        said = stated(self.key, self.key.public, "office", "trusted", datetime.now(UTC))
        trusted = parts[EVENTS][0].get("key") if parts[EVENTS] else None
        line = json.loads(said.model_dump_json())
        if trusted and self.dice.random() < 0.7:
            line["by"] = trusted
        parts[KEYS].append(line)

    def withdraw_the_others(self, parts):
        from datetime import UTC, datetime

        for key in {event.get("key") for event in parts[EVENTS]} - {None}:
            said = stated(self.key, key, "", "withdrawn", datetime.now(UTC))
            parts[KEYS].append(json.loads(said.model_dump_json()))

    def leave_entries_out(self, parts):
        parts[EVENTS] = [one for one in parts[EVENTS] if self.dice.random() < 0.7] or parts[EVENTS]

    def _altered(self, body):
        names = [name for name in body if name != "kind"]
        if not names:
            return {"kind": "customer_erased"}
        name = self.dice.choice(names)
        value = body[name]
        if isinstance(value, dict) and value:
            return {**body, name: self._altered({"kind": value.get("kind", ""), **value})}
        if isinstance(value, str) and len(value) == 64:
            return {**body, name: hashlib.sha256(value.encode()).hexdigest()}
        if isinstance(value, int | float):
            return {**body, name: value + 1}
        return {**body, name: "forged"}

    def _as_it_is(self, parts):
        pass

    def _reorder(self, parts):
        for name in LINES:
            self.dice.shuffle(parts[name])

    def _double(self, parts):
        for name in LINES:
            parts[name] += copy.deepcopy(parts[name])

    WAYS = (
        alter_an_entry,
        borrow_ids,
        set_dates,
        erase_a_customer,
        reopen_a_job,
        answer_a_step,
        rename_a_vehicle,
        write_of_a_later_version,
        number_beyond_measure,
        make_up_a_revision,
        alter_a_record,
        change_the_customer,
        vouch_for_oneself,
        withdraw_the_others,
        leave_entries_out,
    )
