"""Enter a scripted job in another process, kill it at a random moment, look what is left.

The other process says after each entry that it was told "saved"; whatever it said before
``SIGKILL`` struck must be in the store, whole, and the file must pass SQLite's full check.
"""

import os
import random
import signal
import sqlite3
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from logic.checklist.answers import ReadingAnswer
from logic.records.events import (
    Event,
    JobOpened,
    PhotoTaken,
    StepAnswered,
    VehicleDescribed,
    new_id,
)
from logic.records.store.bookmark import Bookmark
from logic.records.store.store import FILE, Store
from logic.vehicle.identity import Vehicle
from tests.logic.records.scenes import customer, private, record_of

Say = Callable[[str], None]


@dataclass(frozen=True)
class Killed:
    """One kill: what was said to be saved, what of it is missing, and the file's own check."""

    said: int
    missing: tuple[str, ...]
    check: str
    notices: tuple[str, ...]


def scripted_job(folder: Path, say: Say) -> None:
    """Enter vehicle after vehicle until killed; ``say`` each entry once it is saved."""
    with Store.open(folder, "phone-k") as store:
        say("")  # the store is open
        number = store.count_vehicles()
        while True:
            number += 1
            for event in _one_vehicle(store, f"FHK {number}"):
                say(event.event_id)
                store.set_bookmark(Bookmark(vehicle_id=event.vehicle_id, unfinished="12."))


def _one_vehicle(store: Store, plate: str) -> Iterator[Event]:
    vehicle_id, job_id = new_id(), new_id()

    def enter(body: object) -> Event:
        return store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))

    yield enter(VehicleDescribed(vehicle=Vehicle(registration=plate)))
    customer(store, vehicle_id, "Orchard bees")
    yield enter(JobOpened(job_kind="commissioning"))
    for step in range(12):
        answered = ReadingAnswer(value=12 + step / 100)
        yield enter(StepAnswered(step_id=f"step_{step}", answer=answered))
    yield enter(StepAnswered(step_id="step_3", answer=ReadingAnswer(value=14.2)))
    yield enter(PhotoTaken(step_id="step_4", sha256=store.add_photo(plate.encode() * 5000)))
    store.seal(record_of(vehicle_id, job_id), private())


def kill_once(
    folder: Path,
    chance: random.Random,
    most_words: int,
    longest: float = 0.01,
    job: Callable[[Path, Say], None] = scripted_job,
) -> Killed:
    """Run the job in a process of its own, kill it, look.

    It is killed at most ``longest`` seconds after its start or after one of its first
    ``most_words`` words, the first of which says that the store is open: counted in words, a
    slow machine gets as far as a fast one.
    """
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        _be_the_child(lambda say: job(folder, say), reading, writing)
    os.close(writing)
    with os.fdopen(reading) as pipe:
        said = [pipe.readline() for _ in range(chance.randint(0, most_words))]
        time.sleep(chance.uniform(0, longest))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        said += pipe.readlines()
    return _look(folder, [line.strip() for line in said if line.endswith("\n") and line.strip()])


def _be_the_child(job: Callable[[Say], None], reading: int, writing: int) -> None:
    # os._exit, so that nothing of the parent's (pytest, say) runs in here.
    try:
        os.close(reading)
        job(lambda line: os.write(writing, f"{line}\n".encode()))
    finally:
        traceback.print_exc()
        os._exit(1)


def _look(folder: Path, said: list[str]) -> Killed:
    with Store.open(folder, "phone-k") as store:
        kept = {event.event_id: event for event in store.events()}
        missing = [event_id for event_id in said if event_id not in kept]
        for event in kept.values():
            lost = isinstance(event.body, PhotoTaken) and not store.photo_path(event.body.sha256)
            missing += [event.body.sha256] if lost else []
        notices = store.notices
    with closing(sqlite3.connect(folder / FILE)) as connection:
        check = connection.execute("PRAGMA integrity_check").fetchone()[0]
    return Killed(len(said), tuple(missing), check, notices)
