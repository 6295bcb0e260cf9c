"""A customer's data erased on request: what goes, what is asked about, what is told. No Kivy."""

from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING

from logic.records.store.erasure import Erased
from logic.records.store.store import Store
from logic.records.store.traces import Trace, Traces
from logic.words.names import capitalised, counted

if TYPE_CHECKING:
    from mobile.jobs.workplace import Workplace


def can_be_erased(work: "Workplace", vehicle_id: str) -> bool:
    """Whether anything of the vehicle's customer is here: name, contact or a signature."""
    state = work.store.vehicle(vehicle_id)
    if state.customer.name or state.customer.contact:
        return True
    records = (sealed for job in state.jobs for sealed in work.store.sealed(job.job_id))
    return any(sealed.private is not None for sealed in records)


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
    with Store.open(folder) as store:
        return store.erase_customer(vehicle_id, also)


def forget_what_is_in_hand(work: "Workplace", vehicle_id: str) -> None:
    """Take the vehicle's job out of hand: what is typed in it and not yet given may be a name."""
    if work.walk is not None and work.walk.vehicle_id == vehicle_id:
        work.walk = None
    if work.callback is not None and work.callback.vehicle_id == vehicle_id:
        work.callback = None
