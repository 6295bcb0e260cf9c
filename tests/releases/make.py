"""Make the stored database of a release: ``python tests/releases/make.py 0.1.0``.

Run once, on the release's own code; the file is then kept for ever and never made again.
"""

import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parents[1]), str(HERE.parent / "logic/records")]

from scenes import answer, open_job, private, record_of, signed_van, van  # noqa: E402

from logic.records.events import Event, JobReopened, StepSkipped  # noqa: E402
from logic.records.store.store import FILE, Store  # noqa: E402


def main(release: str) -> None:
    """Write one signed vehicle with two revisions, one half commissioned, settings and all."""
    target = HERE / f"{release}.db"
    if target.exists():
        sys.exit(f"{target} is there already and stays as it is.")
    with tempfile.TemporaryDirectory() as folder:
        with Store.open(Path(folder), "phone-a") as store:
            vehicle_id, job_id = signed_van(store)
            reopened = JobReopened(reason="fuse changed")
            store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=reopened))
            answer(store, vehicle_id, job_id, "house_voltage", 12.7)
            store.seal(record_of(vehicle_id, job_id), private())
            ute = van(store, "VET 41", description="vet's ute with a vaccine fridge")
            job_id = open_job(store, ute)
            skipped = StepSkipped(step_id="solar_volts", reason="no panel today")
            store.append(Event(vehicle_id=ute, job_id=job_id, body=skipped))
            store.set_setting("workshop", "Fernhollow Auto Electrical")
        with closing(sqlite3.connect(Path(folder) / FILE)) as connection:
            connection.execute("VACUUM INTO ?", (str(target),))


if __name__ == "__main__":
    main(sys.argv[1])
