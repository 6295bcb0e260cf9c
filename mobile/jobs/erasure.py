"""A customer's data erased on request: what goes, what is asked about, what is told. No Kivy."""

from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING

from logic.records.state import VehicleState
from logic.records.store.erasure import Erased
from logic.records.store.traces import Trace, Traces
from logic.words.names import capitalised, counted
from mobile.jobs.phone_store import open_store

if TYPE_CHECKING:
    from logic.records.store.store import Store
    from mobile.jobs.workplace import Workplace


def can_be_erased(store: "Store", vehicle: VehicleState) -> bool:
    """Whether anything of the vehicle's customer is here: name, contact or a signature."""
    named = bool(vehicle.customer.name or vehicle.customer.contact)
    return named or store.holds_signatures(vehicle.vehicle_id)


def goes_words(found: Traces) -> str:
    """Say what is erased in any case."""
    texts = (
        f", and the words of {counted(len(found.sure), 'entry', 'entries')} that name the customer"
        if found.sure
        else ""
    )
    return (
        f"Name, contact and signatures of this vehicle's customer{texts} are erased on this phone "
        "for good: in its records, backups and files. The technical records stay and can still be "
        "verified."
    )


def line(trace: Trace) -> str:
    """Say where a text stands, as a line of its own."""
    return capitalised(trace.where)


def erase(folder: Path, vehicle_id: str, also: Collection[str]) -> Erased:
    """Erase a vehicle's customer; slow, and safe off the store's thread.

    ``also`` are the entries whose words may name the customer and shall go as well. A PDF is
    written anew, without the names, when it is asked for.

    Raises
    ------
    RecordError
        It could not be written; says what to do.
    """
    with open_store(folder) as store:
        return store.erase_customer(vehicle_id, also)


def forget_what_is_in_hand(work: "Workplace", vehicle_id: str) -> None:
    """Take the vehicle's job out of hand: what is typed in it and not yet given may be a name.

    A backup under way is waited for: it was begun while the name was still there.
    """
    work.store_file.finish_backup()
    if work.walk is not None and work.walk.vehicle_id == vehicle_id:
        work.walk = None
    if work.callback is not None and work.callback.vehicle_id == vehicle_id:
        work.callback = None
