"""The keys of the workshop's phones and desk, in words. No Kivy."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from logic.words.dates import day

if TYPE_CHECKING:
    from logic.records.record import SealedRecord
    from logic.records.store.store import Store


@dataclass(frozen=True)
class OwnKey:
    """This phone's key: what others call the phone, and the digits that they compare."""

    public: str
    name: str
    compare: str


@dataclass(frozen=True)
class KeyLine:
    """Another device's key; ``withdrawn`` where it counts no more."""

    public: str
    text: str
    second: str
    withdrawn: bool


def own_key(store: "Store") -> OwnKey:
    """Return this phone's key.

    Raises
    ------
    RecordError
        It cannot be read or written.
    """
    from logic.records.keys import shown

    public = store.own_key
    known = store.workshop_keys().get(public)
    return OwnKey(public, known.name if known else store.device, in_two_lines(shown(public)))


def in_two_lines(compare: str) -> str:
    """Set the groups of digits that two people compare in two lines of four."""
    groups = compare.split()
    half = len(groups) // 2
    return f"{' '.join(groups[:half])}\n{' '.join(groups[half:])}"


def rename(store: "Store", name: str) -> None:
    """Call this phone by another name; nothing changes where that is empty."""
    name = " ".join(name.split())[:64]
    if name and name != own_key(store).name:
        store.say_of_key(store.own_key, name, "trusted")


def other_keys(store: "Store") -> tuple[KeyLine, ...]:
    """List the other devices' keys, those that count first."""
    own = store.own_key
    others = [key for key in store.workshop_keys().values() if key.public != own]
    others.sort(key=lambda key: (not key.is_trusted, key.name.casefold(), key.public))
    return tuple(
        KeyLine(
            key.public,
            key.name or f"Key {key.key_id}",
            _said(key.is_own, key.is_trusted, day(key.at), key.shown),
            not key.is_trusted,
        )
        for key in others
    )


def signer_words(store: "Store", sealed: "SealedRecord") -> str:
    """Say whose key a record was signed with."""
    from logic.records.keys import key_id

    if sealed.signature is None:
        return "Sealed, not signed: made before 0.2."
    public = sealed.signature.key
    known = store.workshop_keys().get(public)
    if known is None:
        return f"Signed with a key that this phone does not know ({key_id(public)})."
    name = known.name or known.key_id
    if not known.is_trusted:
        return f"Signed with a key that was withdrawn since ({name})."
    return f"Signed with the workshop's key of {name}."


def held_back_words(store: "Store") -> str:
    """Say what came from other devices and is kept aside, "" for nothing."""
    from logic.records.store.held_back import WORDS
    from logic.words.names import counted

    counts = store.held_back()
    told = [f"{counted(count, 'line')} {WORDS[why]}" for why, count in sorted(counts.items())]
    return f"Kept aside: {'; '.join(told)}." if told else ""


def _said(is_own: bool, is_trusted: bool, since: str, compare: str) -> str:
    if is_own:
        return f"this phone's earlier key · {compare}"
    what = "believed" if is_trusted else "withdrawn"
    return f"{what} since {since} · {compare}"
