"""Make what a release leaves behind: ``python -m tests.releases.make 0.1.0``.

A store, labels, a printed record and an exchange file.

Run once, on the release's own code; the files are then kept for ever and never made again.
"""

import json
import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from logic.case import Reading
from logic.records.baseline import readings_of
from logic.records.bundle.exporting import export_bundle
from logic.records.events import Event, JobReopened, StepSkipped
from logic.records.label.encoding import decode, encode
from logic.records.paper.report import write_pdf
from logic.records.record import Record
from logic.records.store.store import FILE, Store
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State
from tests.logic.records.sample_records import LIBRARY_VAN, PRIVATE, callback, commissioning, seal
from tests.logic.records.scenes import answer, open_job, private, record_of, signed_van, van
from tests.paths import RELEASES


def main(release: str) -> None:
    """Write what the release has not left behind yet."""
    for target, write in (
        (RELEASES / f"{release}.db", write_store),
        (RELEASES / f"{release}.labels.json", write_labels),
        (RELEASES / f"{release}.pdf", write_print),
        (RELEASES / f"{release}.voltwalk", write_bundle),
    ):
        if target.exists():
            print(f"{target} is there already and stays as it is.")
        else:
            write(target)


def write_labels(target: Path) -> None:
    """Write label texts with what they say: every point in every state, two installations."""
    labels = []
    for record in (commissioning(), callback(), *map(_of_every_point, State)):
        text = encode(seal(record))
        label = decode(text)
        taken = {(r.point, r.state): r.value for r in readings_of(record)}
        if {(r.point, r.state): r.value for r in label.readings} != taken:
            sys.exit("A label does not say what its record says.")
        labels.append({"text": text, "says": label.model_dump(mode="json")})
    target.write_text(json.dumps(labels, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def _of_every_point(state: State) -> Record:
    """Return a record with a value of its own at every point, on a truck of another kind."""
    first = 1 + list(State).index(state)
    readings = tuple(
        Reading(point=point, state=state, value=round(1.013 * (number + first) - 4.5, 3))
        for number, point in enumerate(Point)
    )
    truck = LIBRARY_VAN.model_dump() | {
        "nominal_voltage_v": 24,
        "location": "trailer",
        "start_battery": None,
        "solar": {"rated_power_w": 400, "open_circuit_voltage_v": 44.8},
        "meter": {"voltage_accuracy_percent": 0.5, "voltage_counts": 3},
        "fitted": {"reverse_charge": True, "battery_monitor": True},
    }
    truck["runs"]["solar_feed"] = {"length_m": 6.25, "area_mm2": 5.26, "joints": 2}
    installation = Installation.model_validate(truck)
    return commissioning(steps=(), readings=readings, installation=installation)


def write_store(target: Path) -> None:
    """Write one signed vehicle with two revisions, one half commissioned, settings and all."""
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


def write_print(target: Path) -> None:
    """Write a signed commissioning as it is printed."""
    write_pdf(seal(commissioning(), PRIVATE), {}.get, target)


def write_bundle(target: Path) -> None:
    """Write a vehicle with a signed job as it goes from phone to phone."""
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder), "phone-a") as store:
        signed_van(store)
        export_bundle(store, target)


if __name__ == "__main__":
    main(sys.argv[1])
