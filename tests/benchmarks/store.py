"""The store at full size: ``python -m tests.benchmarks.store [VEHICLES] [READINGS_EACH]``.

100,000 vehicles with 60 readings each unless told otherwise (about 4 GB in the temporary
folder). Prints each figure beside its limit; the exit code is 1 where a limit is missed.
"""

import json
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from logic.case import Judgement, Verdict
from logic.checklist.answers import ReadingAnswer
from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle
from logic.records.record import StepRecord
from logic.records.store import event_table, vehicle_table
from logic.records.store.database import timestamp, transaction
from logic.records.store.store import FILE, Store
from logic.vehicle.points import Point, State
from tests.logic.records.scenes import answer, befriend, signed_van
from tests.paths import CHECKOUT

LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"
START = datetime(2026, 1, 5, 7, tzinfo=UTC)
KEEPERS = ("mobile library van", "vet's ute with a vaccine fridge", "beekeeper's flatbed")
_SCHEMA = "SELECT sql FROM sqlite_master WHERE"
missed: list[str] = []


def main() -> int:
    sys.stdout.reconfigure(line_buffering=True)
    vehicles = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    readings = int(sys.argv[2]) if len(sys.argv) > 2 else 60
    with tempfile.TemporaryDirectory() as folder:
        large = Path(folder) / "large"
        fill(large, vehicles, readings)
        measure_listing(Path(folder), large)
        measure_use(large)
        measure_memory(large)
        measure_bundle(Path(folder), large, readings)
        measure_long_vehicles(Path(folder))
    return int(bool(missed))


def fill(folder: Path, vehicles: int, readings: int) -> None:
    """Write the events straight into the tables, then work out what is derived from them."""
    began = time.perf_counter()
    with Store.open(folder, "bench") as store:
        db = store._db
        # Only while filling: nothing here needs to survive a power cut.
        for pragma in ("journal_mode=MEMORY", "synchronous=OFF", "cache_size=-1000000"):
            db.conn.execute(f"PRAGMA {pragma}")
        with transaction(db):
            (index,) = db.execute(f"{_SCHEMA} name = 'event_of_vehicle'").fetchone()
            db.conn.execute("DROP INDEX event_of_vehicle")
            columns = ", ".join(event_table.COLUMNS[:7])  # unsigned, as release 0.1.0 wrote them
            marks = f"INSERT INTO event ({columns}) VALUES (?, ?, ?, ?, ?, ?, ?)"
            db.conn.executemany(marks, _rows(vehicles, readings))
            db.conn.execute(index)
            vehicle_table.rebuild(db)
        db.conn.execute("PRAGMA journal_mode=WAL")
    size = (folder / FILE).stat().st_size
    print(f"{vehicles} vehicles x {readings} readings: {size / 1e6:.0f} MB, ", end="")
    print(f"filled in {time.perf_counter() - began:.0f} s")


def _rows(vehicles: int, readings: int) -> Iterator[tuple[str | None, ...]]:
    chance = random.Random(1)
    for number in range(vehicles):
        vehicle_id, job_id = f"{chance.getrandbits(128):032x}", f"{chance.getrandbits(128):032x}"
        plate = "".join(chance.choices(LETTERS, k=3)) + f" {chance.randrange(1000):03}"
        at = START + timedelta(minutes=number)
        described = {"registration": plate, "description": KEEPERS[number % 3], "vin": ""}
        bodies = [
            (None, "vehicle_described", {"vehicle": described}),
            (job_id, "job_opened", {"job_kind": "commissioning", "checklist_id": "commissioning"}),
        ] + [
            (job_id, "step_answered", _answer(step, chance.uniform(11, 15)))
            for step in range(readings)
        ]
        for second, (job, kind, body) in enumerate(bodies):
            text = json.dumps({"kind": kind, **body})
            event_id = f"{chance.getrandbits(128):032x}"
            moment = timestamp(at + timedelta(seconds=second / 2))
            yield event_id, vehicle_id, job, moment, "bench", kind, text


def _answer(step: int, value: float) -> dict[str, object]:
    answered = {"kind": "reading", "value": round(value, 2), "typed": f"{value:.2f}"}
    return {"step_id": f"step_{step}", "answer": answered, "replaces": None}


def measure_listing(folder: Path, large: Path) -> None:
    for vehicles in (10, 10_000):
        fill(folder / f"list-{vehicles}", vehicles, 1)
    times = {}
    for path in (folder / "list-10", folder / "list-10000", large):
        found = milliseconds(path, lambda store, _: store.find_vehicles(limit=10), 200)
        times[path.name] = statistics.median(found)
    many, most = (times[name] / times["list-10"] for name in ("list-10000", "large"))
    figure("first ten with 10,000 vehicles, times that with 10", many, 2, "x")
    figure("first ten in the large store, times that with 10", most, 2, "x")
    fifty = milliseconds(large, lambda store, _: store.find_vehicles(), 200)
    print(f"  first fifty in the large store: median {statistics.median(fifty):.2f} ms")


def measure_use(large: Path) -> None:
    with Store.open(large) as store:
        rows = store.find_vehicles(limit=1000, offset=1000) or store.find_vehicles()
    chance = random.Random(2)

    def fragment(length: int) -> str:
        plate = chance.choice(rows).registration
        at = chance.randrange(len(plate) - length + 1)
        return plate[at : at + length]

    searches: dict[str, Callable[[], str]] = {
        "one letter": lambda: chance.choice(LETTERS),
        "two": lambda: fragment(2),
        "three": lambda: fragment(3),
        "whole plate": lambda: fragment(7),
        "nothing like it": lambda: "QQQQ9",
        "a description": lambda: "vaccine fr",
    }
    for name, ask in searches.items():
        times = milliseconds(large, lambda store, _, ask=ask: store.find_vehicles(ask()), 60)
        figure(f"search, {name}: worst of 60", max(times), 50, "ms")
    opened = milliseconds(
        large, lambda store, _: store.vehicle(chance.choice(rows).vehicle_id), 300
    )
    figure("open a vehicle: median of 300", statistics.median(opened), 50, "ms")
    figure("open a vehicle: worst of 300", max(opened), 50, "ms")
    started = [timed(lambda: Store.open(large).close()) for _ in range(3)]
    print(f"  open the store (backup of the day taken beside it): {started[-1]:.1f} ms")
    job = chance.choice(rows)
    saved = milliseconds(
        large, lambda store, n: answer(store, job.vehicle_id, job.open_job, f"new_{n}", 12.6), 100
    )
    print(f"  save an answer, on storage: median {statistics.median(saved):.1f} ms")


MEMORY = """
import sys
from pathlib import Path
from logic.records.store.store import Store

def most():  # kB ever held; getrusage would count what the parent held before
    return Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]

with Store.open(Path(sys.argv[1])) as store:
    rows = store.find_vehicles(limit=500)
    for number in range(20):
        store.find_vehicles(f"{number:03}", limit=50)
        store.vehicle(rows[number].vehicle_id)
    print(most())
    for number in range(400):
        store.find_vehicles(f"{number:03}", limit=50)
        store.vehicle(rows[number].vehicle_id)
    print(most())
"""


def measure_memory(large: Path) -> None:
    told = subprocess.run(
        [sys.executable, "-c", MEMORY, str(large)],
        capture_output=True,
        text=True,
        check=True,
        cwd=CHECKOUT,
    ).stdout
    before, after = (int(number) / 1024 for number in told.split())
    print(f"  memory of a process that has opened the store: {before:.0f} MB")
    figure("memory grown by 400 searches and vehicles", after - before, 16, "MB")


def measure_bundle(folder: Path, large: Path, readings: int) -> None:
    with Store.open(folder / "thousand", "phone-b") as store:
        steps = tuple(record_step(step) for step in range(readings))
        for number in range(1000):
            signed_van(store, f"FH {number}", steps=steps)
        fill_thousand(store, readings)
        bundle = folder / "thousand.zip"
        for place in (folder / "empty", large):
            with Store.open(place) as other:
                befriend(store, other)
        written = timed(lambda: export_bundle(store, bundle))
        events = sum(1 for _ in store.events())
    print(f"  bundle of 1,000 vehicles, {events} events: {bundle.stat().st_size / 1e6:.1f} MB")
    print(f"  write it: {written / 1000:.1f} s")
    told: list[tuple[int, int]] = []
    with Store.open(folder / "empty", "phone-c") as store:
        cpu = time.process_time()
        taken = timed(lambda: import_bundle(store, bundle, lambda *step: told.append(step)))
        print(f"  import it: {time.process_time() - cpu:.1f} s of processor time")
        figure("import it into an empty store", taken / 1000, 20, "s")
        again = timed(lambda: import_bundle(store, bundle))
        figure("import it once more", again / 1000, 20, "s")
    with Store.open(large) as store:
        figure(
            "import it into the large store",
            timed(lambda: import_bundle(store, bundle)) / 1000,
            20,
            "s",
        )
    print(f"  progress told {len(told)} times, last {told[-1]}")


def measure_long_vehicles(folder: Path, events: int = 100_000) -> None:
    """Open a vehicle of very many entries, in many jobs and in one, as its screen does."""
    for jobs in (1000, 1):
        place = folder / f"long-{jobs}"
        fill(place, 1, events)
        with Store.open(place, "bench") as store:
            [row] = store.find_vehicles()
            with transaction(store._db) as db:
                db.conn.execute("DROP TRIGGER event_never_changed")
                db.conn.execute(
                    "UPDATE event SET job_id = substr(job_id, 1, 28) || printf('%04x', seq % ?)"
                    " WHERE job_id IS NOT NULL",
                    (jobs,),
                )
                vehicle_table.rebuild(db)
        opened = milliseconds(place, lambda store, _, row=row: listed(store, row.vehicle_id), 5)
        name = f"{events} entries in {jobs} job{'s' * (jobs > 1)}"
        figure(f"open a vehicle of {name}", statistics.median(opened), 300, "ms")
        one = milliseconds(place, lambda store, _, row=row: first_job(store, row.vehicle_id), 5)
        print(f"  and read the first of its jobs: median {statistics.median(one):.0f} ms")


def listed(store: Store, vehicle_id: str) -> list[tuple[object, ...]]:
    """Return what a list of the vehicle's jobs shows of each that is signed."""
    state = store.vehicle(vehicle_id)
    return [(job.kind, job.opened_at, job.revision, bool(job.clashes)) for job in state.jobs]


def first_job(store: Store, vehicle_id: str) -> int:
    return len(store.vehicle(vehicle_id).jobs[0].answers)


def record_step(step: int) -> StepRecord:
    """One step of a signed record, at its usual length."""
    verdict = Verdict(
        point=Point.VEHICLE_FEED_DROP,
        state=State.IDLE,
        value=0.21,
        expected_low=0.1,
        expected_high=0.31,
        uncertainty=0.0123,
        verdict=Judgement.IN_RANGE,
        reason="0.21 V lost at 31 A is 6.8 mΩ; this run should be about 6 mΩ",
    )
    return StepRecord(
        step_id=f"step_{step}",
        stage_id="engine_idle",
        title="Drop in the vehicle feed",
        outcome="done",
        answer=ReadingAnswer(value=0.21, typed="0.21"),
        text="0.21 V",
        verdict=verdict,
        at=START,
    )


def fill_thousand(store: Store, readings: int) -> None:
    chance = random.Random(3)
    rows = [row.vehicle_id for row in store.find_vehicles(limit=1000)]
    with transaction(store._db) as db:
        for vehicle_id in rows:
            job_id = f"{chance.getrandbits(128):032x}"
            for step in range(readings):
                body = json.dumps(
                    {"kind": "step_answered", **_answer(step, chance.uniform(11, 15))}
                )
                moment = timestamp(START + timedelta(seconds=step))
                event_id = f"{chance.getrandbits(128):032x}"
                row = (event_id, vehicle_id, job_id, moment, "bench", "step_answered", body)
                event_table.write_row(db, (*row, *event_table.UNSIGNED))


def milliseconds(folder: Path, work: Callable[[Store, int], object], times: int) -> list[float]:
    with Store.open(folder) as store:
        return [timed(lambda n=n: work(store, n)) for n in range(times)]


def timed(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000


def figure(name: str, value: float, limit: float, unit: str) -> None:
    fits = value <= limit
    if not fits:
        missed.append(name)
    print(f"{'ok    ' if fits else 'MISSED'} {name}: {value:.2f} {unit} (limit {limit} {unit})")


if __name__ == "__main__":
    sys.exit(main())
