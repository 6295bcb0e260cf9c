"""Copies that sharing leaves in the phone's Downloads folder: noted, so that an erasure finds them.

Another app may read such a copy long after it was shared, so it stays until the customer in it is
erased. No Kivy; the phone itself is asked by ``mobile.ui.device``.
"""

from collections.abc import Collection
from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logic.records.store.store import Store

_SETTING = "shared_copies"
_MOST = 2000  # assumed: years of sharing


@dataclass(frozen=True)
class SharedCopy:
    """One copy: the phone's own address for it, its name, and the vehicle, "" for all of them."""

    uri: str
    name: str
    vehicle_id: str = ""


def note(store: "Store", copy: SharedCopy) -> None:
    """Note a copy that was shared."""
    kept = _kept(store)
    store.set_setting(_SETTING, [astuple(one) for one in (*kept[-_MOST:], copy)])


def of_vehicle(store: "Store", vehicle_id: str) -> tuple[SharedCopy, ...]:
    """Return the copies that may name a vehicle's customer."""
    return tuple(one for one in _kept(store) if one.vehicle_id in ("", vehicle_id))


def forget(store: "Store", gone: Collection[SharedCopy]) -> None:
    """Let go of the notes of copies that are deleted."""
    store.set_setting(_SETTING, [astuple(one) for one in _kept(store) if one not in gone])


def _kept(store: "Store") -> list[SharedCopy]:
    return [SharedCopy(*values) for values in store.setting(_SETTING, [])]
