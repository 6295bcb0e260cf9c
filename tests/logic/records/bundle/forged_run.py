"""A phone that suffers forged files, and what must hold after each."""

from collections import Counter
from contextlib import contextmanager

from logic.errors import BundleError
from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle
from logic.records.store.exchange import Agreed
from logic.records.store.store import Store
from tests.logic.records.bundle.forger import Forger, parts_of
from tests.logic.records.scenes import answer, befriend, open_job, signed_van, van


class Run:
    """Phone b, which trusts phone a and the desk; a forger who has files of both."""

    def __init__(self, folder, store, genuine, victims):
        self.folder, self.store = folder, store
        self.genuine, self.victims = genuine, victims
        self.done = Counter()
        self.refused = 0
        self.parts = [parts_of(path) for path in genuine]
        self.of_the_workshop = {
            event["event_id"]: event for parts in self.parts for event in parts["events.jsonl"]
        }
        self.trusted = {key.public for key in store.workshop_keys().values() if key.is_trusted}

    @classmethod
    @contextmanager
    def begun(cls, folder):
        with (
            Store.open(folder / "a", "phone-a") as here,
            Store.open(folder / "desk", "desk") as desk,
            Store.open(folder / "b", "phone-b") as there,
        ):
            befriend(here, desk, there)
            vehicles = [signed_van(here, "LIB 042"), signed_van(desk, "VET 117")]
            own = van(there, "BEE 338")
            vehicles.append((own, open_job(there, own)))
            answer(there, own, vehicles[-1][1], "house_voltage", 12.71)
            paths = [folder / "a.zip", folder / "desk.zip", folder / "b.zip"]
            for store, path in zip((here, desk, there), paths, strict=True):
                export_bundle(store, path)
            import_bundle(there, paths[0])  # the desk's file has not come yet
            yield cls(folder, there, paths, vehicles)

    def suffer(self, seed, **agreed):
        """Take one forged file in and check what must hold."""
        path = self.folder / "forged.zip"
        ways = Forger(self.parts, self.victims, seed).forge(path)
        self.done.update(ways)
        try:
            came = import_bundle(
                self.store, path, agreed=Agreed(**agreed, keys=True, withdrawals=True)
            )
        except BundleError:
            self.refused += 1
        else:
            self.refused += came.brought_nothing
        self._check(ways)
        if seed % 40 == 39:
            self._genuine_still_comes()

    def _check(self, ways):
        store = self.store
        for row in store._db["event"].rows:
            genuine = self.of_the_workshop.get(row["event_id"])
            assert genuine, (ways, row)
            signed = {name: row[name] for name in ("key", "number", "before", "signature")}
            assert signed == {name: genuine[name] for name in signed}, (ways, row)
        hashes = {line["sha256"] for parts in self.parts for line in parts["sealed.jsonl"]}
        assert {sealed.sha256 for sealed in store.sealed_records()} <= hashes, ways
        assert self.trusted == {
            key.public for key in store.workshop_keys().values() if key.is_trusted
        }, ways
        for name in ("LIB 042", "BEE 338"):
            [found] = store.find_vehicles(name)
            vehicle = store.vehicle(found.vehicle_id)
            assert not vehicle.customer_erased
            assert vehicle.vehicle.registration == name

    def _genuine_still_comes(self):
        for path in self.genuine:
            import_bundle(self.store, path)
        here = {row["event_id"] for row in self.store._db["event"].rows}
        assert here == self.of_the_workshop.keys()
        assert len(list(self.store.sealed_records())) == 2
