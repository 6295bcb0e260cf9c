"""The store opened as on this phone: with the phone's own key store, where it has one. No Kivy.

Screens and their workers open it here and nowhere else: opened without, the store could not use
the key that the phone signs with, and would set it aside.
"""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logic.records.keys import Wrapping
    from logic.records.store.store import Store
    from logic.records.store.store_file import StoreFile

_key_store: "Wrapping | None" = None


def use_key_store(wrapping: "Wrapping | None") -> None:
    """Have every store be opened with this; None where the machine has no key store."""
    global _key_store  # noqa: PLW0603 - a phone has one key store, as it has one clock
    _key_store = wrapping


def open_store(folder: Path) -> "Store":
    """Open a folder's store; as :meth:`logic.records.store.store.Store.open`."""
    from logic.records.store.store import Store

    return Store.open(folder, wrapping=_key_store)


def open_store_file(folder: Path) -> "StoreFile":
    """Open a folder's store as far as the first screen needs it."""
    from logic.records.store.store_file import StoreFile

    return StoreFile.open(folder, wrapping=_key_store)
