"""How likely each fault is before anything is read, alone and as one of two."""

from functools import lru_cache

from logic.case import FaultId
from logic.diagnosis.catalogue import Fault, Way, catalogue, fault
from logic.vehicle.installation import Chemistry, Control, Installation

# Two independent faults on one vehicle: how much rarer than chance would have it. Assumed;
# makes about one job in fifteen a double.
PAIR_FACTOR = 0.25


def possible_faults(installation: Installation) -> tuple[Fault, ...]:
    """Return the catalogue entries that this installation can have."""
    return tuple(entry for entry in catalogue().fault if _possible(entry, installation))


def _possible(entry: Fault, installation: Installation) -> bool:
    needs = entry.needs
    chemistry = not needs.chemistry or Chemistry(installation.house_battery.chemistry) in (
        needs.chemistry
    )
    control = not needs.control or installation.alternator.control in needs.control
    return chemistry and control and (installation.solar is not None or not needs.solar)


@lru_cache(maxsize=16)
def prior(installation: Installation) -> dict[FaultId, float]:
    """Return each possible fault's probability before any reading; they sum to one.

    What is given as a share of all jobs keeps it; the other faults part the rest among them
    by how common they are.
    """
    entries = possible_faults(installation)
    known = sum(entry.share_of_jobs for entry in entries if entry.share_of_jobs is not None)
    common = {
        entry.id: entry.common * _control_share(entry, installation)
        for entry in entries
        if entry.share_of_jobs is None
    }
    whole = sum(common.values())
    return {
        entry.id: (1 - known) * common[entry.id] / whole
        if entry.share_of_jobs is None
        else entry.share_of_jobs
        for entry in entries
    }


def _control_share(entry: Fault, installation: Installation) -> float:
    # Of alternators nobody has looked at, half are taken to be of the kind the fault needs.
    unknown = installation.alternator.control is Control.UNKNOWN
    return 0.5 if entry.needs.control and unknown else 1.0


def way_share(entry: Fault, way: Way) -> float:
    """Return how often a fault shows in one of its ways."""
    return way.weight / sum(other.weight for other in entry.way)


def pair_chance(installation: Installation, second: FaultId, way: Way) -> float:
    """Return how likely a second fault shows in a way beside a first one, before any reading."""
    entry = fault(second)
    if not entry.pairs:
        return 1e-12
    return prior(installation)[second] * way_share(entry, way) * PAIR_FACTOR
