"""Which keys are the workshop's: a device believes its own word about a key and nobody else's.

What the devices that it trusts say of other keys, in the files that they send, is an offer: a new
key to take in, one to stop believing. The technician is asked, and with the answer this device
says so itself. So no file, and no lost phone, changes whom a device believes.

A withdrawn key counts for nothing from then on. What its device had written before, and is here,
stays.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from pydantic import Field

from logic.quantities import Data
from logic.records.events import Digest, Moment
from logic.records.keys import DeviceKey, key_id, shown, signature_is_good
from logic.records.seal import canonical, digest

Standing = Literal["trusted", "withdrawn"]

_HEADER = b"voltwalk-key-1\n"


class KeyStatement(Data):
    """One key says of another that it is the workshop's, under a name, or no longer is."""

    kind: Literal["voltwalk-key"] = "voltwalk-key"
    key: Digest
    name: str = Field("", max_length=64)
    standing: Standing
    at: Moment
    by: Digest
    signature: str = Field("", pattern=r"^([0-9a-f]{128})?$")

    @property
    def text(self) -> bytes:
        """What is signed: a heading and the statement's canonical JSON without the signature."""
        return _HEADER + canonical(self.model_dump(mode="json", exclude={"signature"}))

    @property
    def sha256(self) -> str:
        """The SHA-256 of the whole statement's canonical JSON."""
        return digest(self.model_dump(mode="json"))

    @property
    def is_signed(self) -> bool:
        """Whether the key that it names as its author made it."""
        return signature_is_good(self.by, self.signature, self.text)


def stated(own: DeviceKey, key: str, name: str, standing: Standing, at: datetime) -> KeyStatement:
    """Say of a key that it is the workshop's, or no longer is, and sign that."""
    unsigned = KeyStatement(key=key, name=name[:64], standing=standing, at=at, by=own.public)
    # Through its own JSON, so that what is signed is what a reader will parse.
    unsigned = KeyStatement.model_validate_json(unsigned.model_dump_json())
    return unsigned.model_copy(update={"signature": own.sign(unsigned.text)})


@dataclass(frozen=True)
class WorkshopKey:
    """A key that is the workshop's or was; ``is_own`` where it is this device's, now or before.

    ``at`` is when this device said so.
    """

    public: str
    name: str
    standing: Standing
    at: datetime
    is_own: bool = False

    @property
    def key_id(self) -> str:
        """The key's short name."""
        return key_id(self.public)

    @property
    def shown(self) -> str:
        """What two people compare of it."""
        return shown(self.public)

    @property
    def is_trusted(self) -> bool:
        """Whether what it signs is taken as the workshop's own."""
        return self.standing == "trusted"


def workshop_keys(
    statements: Iterable[KeyStatement], own: Collection[str]
) -> dict[str, WorkshopKey]:
    """Work out what a device thinks of each key, from what its own keys said.

    ``own`` are this device's own keys, now and before. The latest word counts, a withdrawal before
    a trust of the same moment. No statement's signature is checked here: give signed ones alone.
    """
    said = sorted(
        (one for one in statements if one.by in own),
        key=lambda one: (one.at, one.standing, one.sha256),
    )
    names = {one.key: one.name for one in said if one.name}
    return {
        one.key: WorkshopKey(
            public=one.key,
            name=names.get(one.key, ""),
            standing=one.standing,
            at=one.at,
            is_own=one.key in own,
        )
        for one in said
    }


@dataclass(frozen=True)
class Offer:
    """What a trusted device says of a key, and this one does not yet; ``by`` is its name."""

    public: str
    name: str
    standing: Standing
    by: str

    @property
    def shown(self) -> str:
        """What two people compare of the key."""
        return shown(self.public)


def offers(
    statements: Iterable[KeyStatement], known: Mapping[str, WorkshopKey]
) -> tuple[Offer, ...]:
    """Return what devices that are trusted say of keys, beyond what this one says itself.

    A key that any of them has withdrawn is not offered as new, and one that was withdrawn here is
    not offered again.
    """
    latest: dict[tuple[str, str], KeyStatement] = {}
    for one in sorted(statements, key=lambda one: (one.at, one.standing, one.sha256)):
        author = known.get(one.by)
        if author is not None and author.is_trusted and not author.is_own:
            latest[one.by, one.key] = one
    gone = {one.key for one in latest.values() if one.standing == "withdrawn"}
    found = {}
    for one in latest.values():
        here = known.get(one.key)
        if one.standing == "withdrawn":
            asked = here is not None and here.is_trusted and not here.is_own and here.at < one.at
        else:
            asked = here is None and one.key not in gone
        if asked and one.key not in found:
            name = here.name if here else one.name
            by = known[one.by].name or known[one.by].key_id
            found[one.key] = Offer(one.key, name, one.standing, by)
    return tuple(found[key] for key in sorted(found))
