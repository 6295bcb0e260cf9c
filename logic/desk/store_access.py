"""The store a command works on, and a vehicle by whatever a person calls it."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from logic.desk.terminal import say
from logic.errors import InputError, RecordError
from logic.records.store.store import FILE, Store
from logic.records.store.unfinished import WRITTEN
from logic.records.store.vehicle_list import VehicleRow

_ID = 32
_SHORT_ID = 12
_FEW = 8
_MOST_NOTED = 5000  # assumed: far more places than a desk writes to


@contextmanager
def opened(folder: Path, create: bool = False) -> Iterator[Store]:
    """Open the store; without ``create``, one that is not there is an error and not made.

    Raises
    ------
    RecordError
        There is no store, or it cannot be used.
    """
    if not create and not (folder / FILE).exists():
        raise RecordError(
            f"There is no store in {folder}. Say where it is with --store FOLDER, or take a "
            "bundle in with 'voltwalk-office import'."
        )
    with Store.open(folder) as store:
        yield store
        for notice in store.notices:
            say(notice, err=True)


def note_written(store: Store, what: str, path: Path, vehicle_id: str = "") -> None:
    """Note what this desk writes outside the store's folder, so that an erasure finds it there.

    ``what`` is "backup" or "export"; without a vehicle it may hold any of them.
    """
    noted = {"what": what, "path": str(path.resolve()), "vehicle_id": vehicle_id}
    others = [one for one in store.setting(WRITTEN, []) if one != noted]
    store.set_setting(WRITTEN, [*others[-_MOST_NOTED:], noted])


def vehicle_of(store: Store, called: str, whole: bool = False) -> VehicleRow:
    """Find the one vehicle a person means: by id, its beginning, its plate, or part of it.

    ``whole`` takes the whole plate or an id only, for what cannot be undone.

    Raises
    ------
    InputError
        None fits, or more than one; names those that fit.
    """
    found = store.find_vehicles(called, limit=_FEW) if _plain(called) else []
    exact = [row for row in found if _plain(row.registration) == _plain(called)]
    fitting = exact or ([] if whole else found) or _by_id(store, called)
    if len(fitting) == 1:
        return fitting[0]
    if not fitting:
        raise InputError(
            f"No vehicle fits '{called}'. Look for it with 'voltwalk-office find'.", "vehicle"
        )
    named = "; ".join(f"{row.registration} ({row.vehicle_id[:_SHORT_ID]})" for row in fitting)
    raise InputError(f"More than one vehicle fits '{called}': {named}. Give more.", "vehicle")


def _by_id(store: Store, called: str) -> list[VehicleRow]:
    wanted = called.strip().lower()
    if len(wanted) < _FEW or len(wanted) > _ID or not set(wanted) <= set("0123456789abcdef"):
        return []
    return [row for row in every_vehicle(store) if row.vehicle_id.startswith(wanted)]


def every_vehicle(store: Store, step: int = 500) -> Iterator[VehicleRow]:
    """Yield all vehicles, a page at a time."""
    for offset in range(0, store.count_vehicles(), step):
        yield from store.find_vehicles(limit=step, offset=offset)


def _plain(text: str) -> str:
    return "".join(filter(str.isalnum, text.casefold()))
