"""What a damaged store without a backup still gives: ``python -m tests.benchmarks.rescue``.

Pages of a store with 600 entries are overwritten with noise at random, 30 times for each number
of pages unless told otherwise (``rescue TRIALS``). Prints the share of the entries that plain
SQL still reaches (by ranges of row numbers, leaving out what cannot be read), beside what is read
off the pages.
"""

import random
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path

from logic.records.store.carve import rows
from logic.records.store.store import FILE, Store
from tests.logic.records.scenes import answer, customer, open_job, signed_van, van

PAGE = 4096  # bytes
HIGHEST_ROW = 20_000  # where the damaged file does not say it itself


def main() -> None:
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        known = filled(folder)
        pages = (folder / FILE).stat().st_size // PAGE
        print(f"{len(known)} entries on {pages} pages; mean and worst of {trials} trials")
        print("pages spoilt    plain SQL        off the pages")
        for spoilt in (1, 5, 12):
            chosen = [random.Random(n).sample(range(pages), spoilt) for n in range(trials)]
            print(f"{spoilt:12}    {compared(folder, known, chosen)}")
        print(f"  the first    {compared(folder, known, [[0]])}")


def filled(folder: Path, vehicles: int = 12, answers: int = 40) -> set[str]:
    with Store.open(folder) as store:
        for number in range(vehicles):
            signed_van(store, f"FHA {number:03}")
            vehicle_id = van(store, f"FHB {number:03}")
            customer(store, vehicle_id, f"Keeper {number}", "long " * 30)
            job_id = open_job(store, vehicle_id)
            for step in range(answers):
                answer(store, vehicle_id, job_id, f"step_{step}", 12 + step / 100)
        return {event.event_id for event in store.events()}


def compared(folder: Path, known: set[str], trials: Iterable[list[int]]) -> str:
    path = folder / "spoilt.db"
    by_sql, off_pages = [], []
    for seed, pages in enumerate(trials):
        shutil.copy(folder / FILE, path)
        spoil(path, pages, seed)
        by_sql.append(len(reached_by_sql(path) & known) / len(known))
        carved = {row.values[1] for row in rows(path) if len(row.values) == 8}
        off_pages.append(len(carved & known) / len(known))
    shares = (f"{sum(all_) / len(all_):4.0%} {min(all_):4.0%}" for all_ in (by_sql, off_pages))
    return "        ".join(shares)


def spoil(path: Path, pages: list[int], seed: int) -> None:
    noise = random.Random(seed)
    with path.open("r+b") as file:
        for number in pages:
            file.seek(number * PAGE)
            file.write(noise.randbytes(PAGE))


def reached_by_sql(path: Path) -> set[str]:
    found: set[str] = set()
    with closing(sqlite3.connect(path)) as connection:
        connection.text_factory = lambda data: data.decode(errors="replace")
        try:
            connection.execute("PRAGMA writable_schema=ON")
            connection.execute("SELECT 1 FROM event LIMIT 1").fetchone()
        except sqlite3.DatabaseError:
            return found
        ranges = [(1, HIGHEST_ROW)]
        while ranges:
            low, high = ranges.pop()
            query = "SELECT event_id FROM event NOT INDEXED WHERE rowid BETWEEN ? AND ?"
            try:
                found |= {name for (name,) in connection.execute(query, (low, high))}
            except sqlite3.DatabaseError:
                if low < high:
                    middle = (low + high) // 2
                    ranges += [(low, middle), (middle + 1, high)]
    return found


if __name__ == "__main__":
    main()
