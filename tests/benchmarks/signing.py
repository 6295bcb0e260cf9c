"""What a signature costs: under an event, under a seal, and checking each.

``python -m tests.benchmarks.signing``
"""

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from logic.records.chain import is_signed, linked
from logic.records.keys import DeviceKey, own_key
from logic.records.seal import is_signed as is_sealed_by
from logic.records.seal import signed
from logic.records.store.event_table import as_exchanged, head_of, rows_of
from logic.records.store.store import Store
from tests.logic.records.scenes import signed_van

ROUNDS = 500


def milliseconds(what: Callable[[], object]) -> tuple[float, float]:
    """Return the median and the slowest of many calls, in ms."""
    taken = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        what()
        taken.append(1000 * (time.perf_counter() - began))
    return statistics.median(taken), max(taken)


def main() -> None:
    """Print a line for each."""
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder)) as store:
        vehicle_id, _ = signed_van(store)
        key, db = own_key(store.folder)[0], store._db
        event = as_exchanged(list(rows_of(db, vehicle_id))[-1])
        [sealed] = store.sealed_records()
        bare = {name: event[name] for name in event if name not in ("signature",)}
        table: dict[str, Callable[[], object]] = {
            "read the key's file": lambda: own_key(store.folder),
            "make a key": DeviceKey.fresh,
            "find the chain's head": lambda: head_of(db, key.public),
            "sign an event": lambda: linked(bare, key, 9, None),
            "check an event": lambda: is_signed(event),
            "sign a seal": lambda: signed(sealed.sha256, key),
            "check a seal": lambda: is_sealed_by(sealed.sha256, sealed.signature),
        }
        print(f"{'':24} median ms   slowest ms   of {ROUNDS}")
        for name, what in table.items():
            median, slowest = milliseconds(what)
            print(f"{name:24} {median:9.3f} {slowest:12.3f}")


if __name__ == "__main__":
    main()
