"""Which keys are the workshop's: statements that one key signs about another.

Each device trusts its own key and whatever key a trusted key vouches for, until a trusted key
withdraws it. What a device trusts follows from the set of statements that it has and from its own
keys, whatever the order in which the statements came.

A withdrawn key counts for nothing from then on: neither what comes with its signature nor whom it
alone vouched for. What its device had written before, and is here, stays.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from pydantic import AwareDatetime, Field

from logic.quantities import Data
from logic.records.events import Digest
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
    at: AwareDatetime
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

    ``by`` is the name of the device that said so last.
    """

    public: str
    name: str
    standing: Standing
    at: datetime
    by: str
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
    """Work out what is to be thought of each key that trusted keys spoke of.

    ``own`` are this device's own keys, now and before. Of what one key says of another its latest
    word counts. A withdrawal by any key that was ever vouched for counts, to be on the safe side,
    until this device itself vouches for the key again. No statement's signature is checked here:
    give those alone that are signed.
    """
    ordered = sorted(statements, key=lambda one: (one.at, one.standing, one.sha256))
    latest: dict[tuple[str, str], KeyStatement] = {}
    for one in ordered:
        latest.pop((one.by, one.key), None)
        latest[one.by, one.key] = one
    said = list(latest.values())
    mine = {one.key: one for one in said if one.by in own}
    ever = _reached(own, said, without=())
    withdrawn = {
        one.key
        for one in said
        if one.standing == "withdrawn"
        and one.by in ever
        and (one.key not in own or one.by in own)
        and not _is_believed_again(one, mine.get(one.key))
    }
    trusted = _reached(own, said, without=withdrawn)
    names = {one.key: one.name for one in ordered if one.name and one.by in ever}
    return _described(said, names, own, ever, trusted, withdrawn)


def _is_believed_again(withdrawal: KeyStatement, own_word: KeyStatement | None) -> bool:
    """Whether this device itself vouched for a key after somebody had withdrawn it."""
    return own_word is not None and own_word.standing == "trusted" and own_word.at > withdrawal.at


def _reached(own: Collection[str], said: list[KeyStatement], without: Collection[str]) -> set[str]:
    """Follow who vouches for whom from this device's own keys, never through some keys."""
    reached = set(own) - set(without)
    while True:
        more = {
            one.key
            for one in said
            if one.standing == "trusted" and one.by in reached and one.key not in without
        }
        if more <= reached:
            return reached
        reached |= more


def _described(
    said: list[KeyStatement],
    names: dict[str, str],
    own: Collection[str],
    ever: set[str],
    trusted: set[str],
    withdrawn: set[str],
) -> dict[str, WorkshopKey]:
    found = {}
    for one in said:  # the latest word about a key is told
        standing: Standing = "trusted" if one.key in trusted else "withdrawn"
        known = one.key in trusted or one.key in withdrawn
        if known and one.by in ever and one.standing == standing:
            found[one.key] = WorkshopKey(
                public=one.key,
                name=names.get(one.key, ""),
                standing=standing,
                at=one.at,
                by=names.get(one.by, key_id(one.by)),
                is_own=one.key in own,
            )
    return found
