"""What a store gives to another device and takes from it, as rows; the file is the bundle's.

Taking in adds rows that are not here yet and nothing else, so the order of imports and their
number make no difference.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from logic.records.record import SealedRecord
from logic.records.store import event_table, sealed_table, vehicle_table
from logic.records.store.database import Row
from logic.records.store.private_tables import (
    customer_digest,
    erase_covered,
    write_customer,
)
from logic.vehicle.identity import Customer

if TYPE_CHECKING:
    from sqlite_utils import Database

EVENT_COLUMNS = event_table.COLUMNS
CUSTOMER_COLUMNS = ("event_id", "salt", "name", "contact")

_PHOTOS = (
    "SELECT DISTINCT coalesce(json_extract(body, '$.sha256'), json_extract(body,"
    " '$.answer.sha256'), json_extract(body, '$.installation.charger.plate_photo'))"
    " FROM event WHERE vehicle_id = ?"
    " AND kind IN ('photo_taken', 'step_answered', 'installation_described')"
)


class Snapshot:
    """A store as it was at one moment; see :meth:`Store.snapshot`."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def events(self, vehicle_id: str) -> Iterator[Row]:
        """Yield a vehicle's events as rows of ``EVENT_COLUMNS``, oldest first."""
        return event_table.rows_of(self._db, vehicle_id)

    def customers(self, vehicle_id: str) -> Iterator[Row]:
        """Yield what is known of a vehicle's customers as rows of ``CUSTOMER_COLUMNS``."""
        query = f"SELECT {', '.join(CUSTOMER_COLUMNS)} FROM customer WHERE vehicle_id = ?"
        yield from self._db.conn.execute(query, (vehicle_id,))

    def sealed(self, vehicle_id: str) -> tuple[SealedRecord, ...]:
        """Return a vehicle's signed records, oldest first."""
        return sealed_table.of_vehicle(self._db, vehicle_id)

    def photos(self, vehicle_id: str) -> set[str]:
        """Return the SHA-256 of each photo that a vehicle's events name."""
        return {sha256 for (sha256,) in self._db.conn.execute(_PHOTOS, (vehicle_id,)) if sha256}


class Merge:
    """Another device's rows being added, all or none; see :meth:`Store.merging`.

    ``vehicles`` are all that the rows belong to, ``known_vehicles`` those of them that were here
    before, ``grown_vehicles`` those with new events.
    """

    def __init__(self, db: Database) -> None:
        self._db = db
        self._customers_before = self._count_customers()
        self.vehicles: set[str] = set()
        self.known_vehicles: set[str] = set()
        self.grown_vehicles: set[str] = set()
        self.new_events = 0
        self.known_events = 0
        self.new_sealed = 0
        self.new_customers = 0

    def add_event(self, row: Row) -> bool:
        """Add a row of ``EVENT_COLUMNS``; return False where it contradicts the one that is here.

        One that is here already, with the same content, is left alone.
        """
        event_id, vehicle_id, *_ = row
        self._note_vehicle(vehicle_id)
        if event_table.write_row(self._db, row):
            self.new_events += 1
            self.grown_vehicles.add(vehicle_id)
            return True
        self.known_events += 1
        here = event_table.row_with_id(self._db, event_id)
        # Another version of the app may have written the same body in other words.
        return (
            here is not None and here[:-1] == row[:-1] and event_table.same_body(here[-1], row[-1])
        )

    def add_customer(self, row: Row) -> bool:
        """Add a row of ``CUSTOMER_COLUMNS``; return False where no event has its digest."""
        event_id, salt, name, contact = row
        query = "SELECT vehicle_id, json_extract(body, '$.sha256') FROM event WHERE event_id = ?"
        event = self._db.conn.execute(query, (event_id,)).fetchone()
        customer = Customer(name=name, contact=contact)
        if not event or event[1] != customer_digest(salt, customer):
            return False
        write_customer(self._db, (event_id, event[0], salt, name, contact))
        self._note_vehicle(event[0])
        return True

    def add_sealed(self, sealed: SealedRecord, text: bytes) -> None:
        """Add a signed record, checked by the caller; ``text`` is its canonical JSON."""
        self.new_sealed += sealed_table.write(self._db, sealed, text)
        self._note_vehicle(sealed.record.vehicle_id)

    def finish(self) -> None:
        """Erase again what was erased here, and work out the derived tables anew."""
        for vehicle_id in self.vehicles:
            erase_covered(self._db, vehicle_id)
            vehicle_table.refresh(self._db, vehicle_id)
        self.new_customers = max(0, self._count_customers() - self._customers_before)

    def _count_customers(self) -> int:
        return int(self._db.conn.execute("SELECT count(*) FROM customer").fetchone()[0])

    def _note_vehicle(self, vehicle_id: str) -> None:
        if vehicle_id in self.vehicles:
            return
        self.vehicles.add(vehicle_id)
        query = "SELECT 1 FROM vehicle WHERE vehicle_id = ?"
        if self._db.conn.execute(query, (vehicle_id,)).fetchone():
            self.known_vehicles.add(vehicle_id)
